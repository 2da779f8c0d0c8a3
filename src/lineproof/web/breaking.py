"""Breaking things on purpose: names to faults, and what several of them do together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lineproof.base.names import folded
from lineproof.drill.blunder import drill
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import Dead, what_dies
from lineproof.drill.verdict import Drilled
from lineproof.graph.faults import Fault, faults, mistakes
from lineproof.outcome import Outcome
from lineproof.web.worked import Worked

#: So many things broken together are kept, for who goes back and forth between them.
MOST_TRIED = 24


def known(worked: Worked) -> Mapping[str, Fault]:
    """Give every fault and mistake that can be tried, by its name without case."""
    outcome = worked.outcome
    return worked.made("known", lambda: _known(outcome)) if outcome is not None else {}


def _known(outcome: Outcome) -> Mapping[str, Fault]:
    show, plan = outcome.show, outcome.plan
    every = (*faults(show, plan.network), *mistakes(show, plan))
    return {folded(str(fault)): fault for fault in every}


def at_rest(worked: Worked, outcome: Outcome) -> Calm:
    """Give the show made ready for many faults, once."""
    if outcome.drill is not None:
        return outcome.drill.calm
    return worked.made("calm", lambda: calm(outcome.show, outcome.plan, outcome.network))


def dead_with(worked: Worked, broken: Sequence[Fault]) -> Dead | None:
    """Give everything that dies with these faults, None where there is no show."""
    outcome = worked.outcome
    if outcome is None:
        return None
    return what_dies(at_rest(worked, outcome).shared, broken)


def at_once(worked: Worked, broken: Sequence[Fault]) -> Drilled | None:
    """Give what one fault does as the sweep has it already: states and ends, no gaps and no words.

    None where the sweep does not know: several faults at once, a mistake, or not worked out yet.
    """
    outcome = worked.outcome
    if outcome is None or outcome.drill is None or len(broken) != 1:
        return None
    return worked.made("swept", lambda: {d.fault: d for d in outcome.singles}).get(broken[0])


def break_all(worked: Worked, broken: Sequence[Fault]) -> Drilled | None:
    """Give what these faults do together, None where nothing is broken."""
    outcome = worked.outcome
    if outcome is None or not broken:
        return None
    faults_ = tuple(broken)

    def tried() -> Drilled:
        return drill(outcome.show, outcome.plan, faults_, ready=at_rest(worked, outcome))

    return worked.once.recent("broken", faults_, tried, most=MOST_TRIED)
