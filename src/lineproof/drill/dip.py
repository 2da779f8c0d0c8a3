"""A feed that is off for a second: what starts again, and how long that takes."""

from __future__ import annotations

from lineproof.drill.bearing import Arrival, Course
from lineproof.drill.calm import Calm
from lineproof.drill.dead import Dead
from lineproof.drill.verdict import Standing, State
from lineproof.kit.kinds import Does
from lineproof.reckon.gap import Gap


def after_dip(standing: Standing, arrival: Arrival, calm: Calm, dead: Dead) -> Standing:
    """Give how an end stands once all that lost power has started again.

    `standing` is how it stands while the feed is off. What stands in meanwhile keeps its state;
    what was lost or in doubt is as before, after the longest start-up on its way, then the clock,
    then the multicast membership. The least is the start-up alone.
    """
    if standing.state.arrives:
        return standing
    gaps = [_back(course, calm, dead) for member in arrival.members for course in member.courses]
    gaps += [
        _back(course, calm, dead)
        for member in arrival.members
        for needed in member.needs
        for course in needed
    ]
    longest = max(gaps, key=lambda gap: (gap.most_s, gap.least_s))
    return Standing(
        state=State.UNTOUCHED,
        gap=longest,
        why=f"{standing.why}; it comes back by itself",
    )


def _back(course: Course, calm: Calm, dead: Dead) -> Gap:
    """Give how long a course is silent after all that lost power has it again."""
    units = calm.show.units
    mine = [name for name in course.units if name in dead.units]
    switches = _switches(course, calm, dead)
    start = max((units[name].kind.start_s for name in (*mine, *switches)), default=0.0)
    parts = [f"start-up {start:g} s"]
    # A grandmaster that starts again is followed anew by all.
    masters = {calm.network.grandmaster(net) for net in calm.nets} & dead.units
    locks = [leg for leg in course.legs if masters or {leg.sender, leg.receiver} & dead.units]
    both = (unit for leg in locks for unit in (leg.sender, leg.receiver))
    lock = max((units[unit].kind.clock_lock_s for unit in both), default=0.0)
    if lock:
        parts.append(f"the clock locks {lock:g} s")
    ask = 0.0
    if course.legs and (switches or mine):
        habits = calm.habits
        # A switch that starts again knows no members until the next query was answered; a unit
        # that starts again reports by itself within the time of a response (RFC 2236 8, facts).
        ask = habits.query_response_s + (habits.query_interval_s if switches else 0.0)
        parts.append(f"multicast membership {ask:g} s")
    return Gap(
        least_s=start,
        most_s=start + lock + ask,
        parts=tuple(parts),
        assumed=("everything starts by itself when power is back", "no setting is lost"),
    )


def _switches(course: Course, calm: Calm, dead: Dead) -> tuple[str, ...]:
    """Give the dead bridges that the course's streams went over with nothing broken."""
    found: dict[str, None] = {}
    for net in calm.nets.values():
        fabric = net.tree.fabric
        for leg in course.legs:
            if net.joins(leg):
                path = net.tree.path(fabric.index[leg.sender], fabric.index[leg.receiver]) or ()
                found.update((fabric.nodes[fabric.head[way]].name, None) for way in path)
    return tuple(
        name
        for name in found
        if name in dead.units and calm.show.units[name].kind.does is Does.SWITCH
    )
