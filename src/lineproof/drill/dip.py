"""A feed that is off for a second: what is silent meanwhile, and when it is heard again."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.drill.bearing import Arrival, Course, Leg
from lineproof.drill.calm import Calm
from lineproof.drill.dead import Dead
from lineproof.drill.verdict import Standing, State
from lineproof.reckon.gap import Gap

_ASSUMED = ("everything starts by itself when power is back", "no setting is lost")


def after_dip(
    standing: Standing, arrival: Arrival, calm: Calm, dead: Dead, circuits: Iterable[str]
) -> Standing:
    """Give how an end stands once all that lost power has started again.

    `standing` is how it stands while the feed is off. What stands in meanwhile keeps its state;
    what was lost or in doubt is as before, after the longest start-up on its way, then the clock,
    then the multicast membership. The least is what starts longest by itself.
    """
    if standing.state.arrives:
        return standing
    off = tuple(circuits)
    courses = [course for member in arrival.members for course in member.courses]
    courses += [
        course for member in arrival.members for needed in member.needs for course in needed
    ]
    gaps = [_back(course, calm, dead, off) for course in courses]
    return Standing(
        state=State.UNTOUCHED,
        gap=max(gaps, key=_length),
        why=f"{standing.why}; it comes back by itself",
    )


def _back(course: Course, calm: Calm, dead: Dead, circuits: tuple[str, ...]) -> Gap:
    """Give how long a course is silent after all that lost power has it again."""
    units = calm.show.units
    mine = [name for name in course.units if name in dead.units]
    start = max((units[name].kind.start_s for name in mine), default=0.0)
    parts = (f"start-up {start:g} s",) if start else ()
    gaps = [Gap(least_s=start, most_s=start, parts=parts, assumed=_ASSUMED)]
    gaps += [gap for leg in course.legs if (gap := _leg_back(leg, calm, circuits)) is not None]
    longest = max(gaps, key=_length)
    return Gap(
        least_s=max(gap.least_s for gap in gaps),
        most_s=longest.most_s,
        parts=longest.parts,
        assumed=_ASSUMED,
    )


def _leg_back(leg: Leg, calm: Calm, circuits: tuple[str, ...]) -> Gap | None:
    """Give when a leg's stream is heard again, on whichever net first; None where none fell."""
    found = []
    for net, each in calm.nets.items():
        flow = each.flow_of.get((leg.send, leg.receiver))
        if flow is not None:
            name = each.bounds.paths.flows[flow].name
            found += [
                Gap(least_s=path.least_s, most_s=path.most_s, parts=path.parts)
                for circuit in circuits
                if (path := calm.resounds.get((circuit, net, name, leg.receiver))) is not None
            ]
    return min(found, key=_length, default=None)


def _length(gap: Gap) -> tuple[float, float]:
    return (gap.most_s, gap.least_s)
