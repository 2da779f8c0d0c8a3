"""The plain method: one fault, worked out line by line, value in and value out."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.drill.verdict import Drilled, State, Verdict
from lineproof.graph.faults import Fault, dead_units
from lineproof.graph.signal import By, Way, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import End, Line, Show


def lose(show: Show, plan: Plan, fault: Fault) -> Drilled:
    """Give what the fault does to every planned line.

    A way is cut by a dead unit on it. Which switch carries which stream is not planned yet: where
    a switch dies, whatever goes over the network is unknown, and never called untouched.
    """
    dead = dead_units(show, fault)
    blind = any(show.units[name].kind.does is Does.SWITCH for name in dead)
    lines = [(show.line(decided.key), decided) for decided in plan.lines]
    verdicts = [_verdict(show, line, d, dead, blind=blind) for line, d in lines if line is not None]
    return Drilled(fault=fault, verdicts=tuple(verdicts))


def _verdict(
    show: Show, line: Line, decided: LinePlan, dead: frozenset[str], *, blind: bool
) -> Verdict:
    found = list(ways(show, decided)) if dead else []
    states = {end: _end_state(end, found, dead, blind=blind) for end in line.ends if found}
    worst = max(states.values(), key=lambda s: s.rank, default=State.UNTOUCHED)
    lost = tuple(str(end) for end, state in states.items() if state is State.LOST)
    return Verdict(line=line.key, state=worst, lost=lost)


def _end_state(end: End, found: list[Way], dead: frozenset[str], *, blind: bool) -> State:
    members = [[w for w in found if w.end == str(member)] for member in end.members]
    planned = [member for member in members if member]
    if not planned:
        return State.UNTOUCHED
    states = [_best(member, dead, blind=blind) for member in planned]
    best, worst = min(states, key=lambda s: s.rank), max(states, key=lambda s: s.rank)
    if best is State.UNTOUCHED and worst is not State.UNTOUCHED:
        return State.OTHER_END
    return best


def _best(member: Iterable[Way], dead: frozenset[str], *, blind: bool) -> State:
    """Give the state at one member: any of the line's ways to it will do.

    The first is what is heard while all is well; what comes by another stands in for it.
    """
    first, *others = [_way_state(way, dead, blind=blind) for way in member]
    stand_in = [State.STANDBY if s is State.UNTOUCHED else s for s in others]
    return min((first, *stand_in), key=lambda s: s.rank)


def _way_state(way: Way, dead: frozenset[str], *, blind: bool) -> State:
    if dead.intersection(way.units()):
        return State.LOST
    if blind and any(hop.by is By.NETWORK for hop in way.hops()):
        return State.UNKNOWN
    return State.UNTOUCHED
