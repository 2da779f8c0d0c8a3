"""Breaking things on purpose: names to faults, and what several of them do together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lineproof.base.names import folded
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import Dead, what_dies
from lineproof.drill.lose import lose
from lineproof.drill.verdict import Drilled
from lineproof.graph.faults import Fault, faults
from lineproof.outcome import Outcome
from lineproof.web.worked import Worked


def known(worked: Worked) -> Mapping[str, Fault]:
    """Give every fault that can be tried, by its name without case."""
    outcome = worked.outcome
    if outcome is None:
        return {}
    network = outcome.plan.network
    return worked.made("known", lambda: {folded(str(f)): f for f in faults(outcome.show, network)})


def at_rest(worked: Worked, outcome: Outcome) -> Calm:
    """Give the show made ready for many faults, once."""
    return worked.made("calm", lambda: calm(outcome.show, outcome.plan, outcome.network))


def dead_with(worked: Worked, broken: Sequence[Fault]) -> Dead | None:
    """Give everything that dies with these faults, None where there is no show."""
    outcome = worked.outcome
    if outcome is None:
        return None
    return what_dies(at_rest(worked, outcome).shared, broken)


def break_all(worked: Worked, broken: Sequence[Fault]) -> Drilled | None:
    """Give what these faults do together, None where nothing is broken."""
    outcome = worked.outcome
    if outcome is None or not broken:
        return None
    faults_ = tuple(broken)

    def tried() -> Drilled:
        return lose(outcome.show, outcome.plan, faults_, ready=at_rest(worked, outcome))

    return worked.made(("broken", faults_), tried)
