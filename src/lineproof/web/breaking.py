"""Breaking things on purpose: names to faults, what several of them do together, the rescue."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from lineproof.base.names import folded, nearest
from lineproof.drill.blunder import drill
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import Dead, what_dies
from lineproof.drill.verdict import Drilled
from lineproof.graph.faults import MISTAKE, Fault, faults, mistakes
from lineproof.outcome import Outcome
from lineproof.rescue.hand import AtHand
from lineproof.rescue.rescue import Rescue, rescue
from lineproof.web.worked import Worked

#: Things broken at once; more is no longer a fault but another show.
MOST_CUTS = 24
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


def named(worked: Worked, names: Iterable[str]) -> tuple[tuple[Fault, ...], tuple[str, ...]]:
    """Give the faults of these names, each once, and what is wrong with the other names."""
    there = known(worked)
    faults: dict[str, Fault] = {}
    wrong = []
    for name in list(dict.fromkeys(n.strip() for n in names if n.strip()))[:MOST_CUTS]:
        fault = there.get(folded(name)) or there.get(folded(name.removeprefix("unit:")))
        if fault is not None:
            faults[str(fault)] = fault
        else:
            near = nearest(name, [str(f) for f in there.values()])
            hint = f"; did you mean {near}?" if near else ""
            wrong.append(f"nothing that can be broken is called {name[:80]!r}{hint}")
    made = [name for name, fault in faults.items() if fault.what == MISTAKE]
    if made and len(faults) > 1:
        wrong.append(f"a mistake is tried by itself: put all else right to try {made[0]}")
        faults = {name: fault for name, fault in faults.items() if fault.what != MISTAKE}
    return tuple(faults.values()), tuple(wrong)


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


def known_rescue(worked: Worked, broken: Sequence[Fault]) -> tuple[bool, Rescue | None]:
    """Say whether the rescue from these faults is known, and give it: None where nothing is lost.

    Single faults have theirs once rescues were worked out, but for dips.
    """
    outcome = worked.outcome
    if outcome is None or outcome.rescued is None or len(broken) != 1:
        return False, None
    drilled = worked.made("swept", lambda: {d.fault: d for d in outcome.singles})
    return broken[0] in drilled, outcome.rescued.of(broken[0])


def rescue_of(worked: Worked, broken: Sequence[Fault]) -> Rescue | None:
    """Give the rescue from these faults together; it takes seconds in a large show."""
    outcome = worked.outcome
    if outcome is None or not broken:
        return None
    faults_ = tuple(broken)

    def found() -> Rescue:
        ready = at_rest(worked, outcome)
        hand = worked.made("hand", lambda: AtHand(ready.show, ready.plan))
        return rescue(ready, faults_, hand=hand)

    return worked.once.recent("rescue", faults_, found, most=MOST_TRIED)
