"""The law of a rescue: carried out from its card and drilled again, it gives what it promises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lineproof.base.spot import LineKey
from lineproof.drill.after import NetAfter
from lineproof.drill.bearing import Course, Leg
from lineproof.drill.calm import Calm, calm, calm_net, late
from lineproof.drill.dead import what_dies
from lineproof.drill.lose import after_faults, lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.plan.model import Plan
from lineproof.reckon.delay import Bounds, bounds_after
from lineproof.reckon.loads import loads
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue
from lineproof.show.model import Show
from tests.drill.second import Second
from tests.rescue.hands import CardError, Hands

#: A line and which of the ends of its row.
At = tuple[LineKey, int]


def broken_promises(known: Calm, rescue: Rescue) -> Iterator[str]:
    """Give where a card, carried out with the faults still standing, is not as it promises."""
    dead = what_dies(known.shared, rescue.faults)
    try:
        show, plan = Hands(known.show, known.plan, dead).carry_out(rescue.moves)
    except CardError as error:
        yield f"the card can't be carried out: {error}"
        return
    before = standings(known, rescue.faults)
    now = as_it_is_set(known, show, plan)
    after = standings(now, rescue.faults)
    for at in too_much(known, now, rescue.faults):
        after[at] = max(after[at], State.UNKNOWN, key=lambda state: state.rank)
    lost = {at for at, state in before.items() if state is State.LOST}
    if lost != set(named(known, rescue.lost)):
        yield "other ends are lost than the card says"
    back = {at for at in lost if arrives(after, at)}
    promised = set(named(known, rescue.back))
    if promised - back:
        yield f"promised and not back: {told(promised - back)}"
    if back - promised:
        yield f"back and not promised: {told(back - promised)}"
    worse = {at for at, state in before.items() if state.arrives and not arrives(after, at)}
    if worse:
        yield f"arrived before and no longer: {told(worse)}"
    # The same for mere arrival, with a graph library and none of the drill's code.
    second = Second(show, plan).lost(rescue.faults)
    gone = {
        (line.key, n)
        for line in show.lines
        for n, end in enumerate(line.ends)
        if (str(line.key), str(end)) in second
    }
    # It knows neither multicores nor ties.
    passive = {
        decided.key
        for decided in plan.lines
        if decided.ties or any(show.units[spot.unit].sockets_of for spot in decided.spots())
    }
    gone = {at for at in gone if at[0] not in passive}
    drilled = standings(now, rescue.faults)
    lost = {at for at, state in drilled.items() if state is State.LOST}
    mine_lost = {at for at in lost if at[0] not in passive}
    if gone != mine_lost:
        yield f"the second drill differs at {told(gone ^ mine_lost)}"


def standings(known: Calm, faults: Sequence[Fault]) -> dict[At, State]:
    """Give by line and end how it stands, loads, delays and clock looked at."""
    drilled = lose(known.show, known.plan, faults, ready=known)
    touched = {(v.line, each.end): each.standing.state for v in drilled.verdicts for each in v.ends}
    return {
        at: touched.get((at[0], str(end)), State.UNTOUCHED)
        for at, end in _ends(known)
    }


def too_much(known: Calm, now: Calm, faults: Sequence[Fault]) -> Iterator[At]:
    """Give the ends that arrive only over what is now too full or too late, and was not before.

    The drill itself asks what a fault makes worse: it takes what moves have done as given.
    """
    after = after_faults(now, tuple(faults))
    wrong: dict[str, tuple[set[str], set[tuple[str, str]]]] = {}
    for name, net in after.nets.items():
        was, bounds = known.nets[name], bounds_after(net.calm.bounds, net.bounds.paths)[0]
        full = names_of_full(bounds, known.show) - names_of_full(was.bounds, known.show)
        waits = names_of_late(bounds, known) - names_of_late(was.bounds, known)
        wrong[name] = (full, waits)
    if not any(full or waits for full, waits in wrong.values()):
        return

    def spoilt(net: NetAfter, leg: Leg) -> bool:
        full, waits = wrong[net.name]
        fabric, flow = net.tree.fabric, net.calm.flow_of.get((leg.send, leg.receiver))
        over = any(fabric.way_name(way) in full for way in net.way(leg))
        flows = net.bounds.paths.flows
        return over or (flow is not None and (flows[flow].name, leg.receiver) in waits)

    def sound(course: Course) -> bool:
        nets = [[net for net in after.nets.values() if net.carries(leg)] for leg in course.legs]
        legs = zip(course.legs, nets, strict=True)
        return all(any(not spoilt(net, leg) for net in some) for leg, some in legs)

    lines = {resting.line.key: resting for resting in now.lines}
    for (key, place), end in _ends(now):
        courses = [
            course
            for arrival in lines[key].arrivals
            for member in arrival.members
            for course in member.courses
            if arrival.end is end
        ]
        if not any(map(sound, courses)):
            yield key, place


def names_of_full(bounds: Bounds, show: Show) -> set[str]:
    fabric = bounds.paths.tree.fabric
    found = loads(bounds.paths, other_mbit=show.other_mbit)
    return {fabric.way_name(x.way) for x in found if x.streams and x.total_bps > x.speed_bps}


def names_of_late(bounds: Bounds, known: Calm) -> set[tuple[str, str]]:
    flows, nodes = bounds.paths.flows, bounds.paths.tree.fabric.nodes
    found = late(bounds, known.offsets_ns)
    return {(flows[flow].name, nodes[node].name) for flow, node in found}


def arrives(after: dict[At, State], at: At) -> bool:
    """Say whether an end arrives; one that nobody feeds any more does not."""
    return at in after and after[at].arrives


def _ends(known: Calm) -> Iterator[tuple[At, object]]:
    for resting in known.lines:
        for arrival in resting.arrivals:
            places = [n for n, end in enumerate(resting.line.ends) if end is arrival.end]
            yield (resting.line.key, places[0]), arrival.end


def named(known: Calm, ends: Sequence[EndAt]) -> list[At]:
    """Give a rescue's ends by their lines' keys."""
    found = []
    for at, n in ends:
        resting = known.lines[at]
        places = [k for k, end in enumerate(resting.line.ends) if end is resting.arrivals[n].end]
        found.append((resting.line.key, places[0]))
    return found


def as_it_is_set(known: Calm, show: Show, plan: Plan) -> Calm:
    """Give a show and plan after moves ready to be drilled, every receive buffer as it was set."""
    fresh = calm(show, plan)
    figures = fresh.figures.nets if fresh.figures else {}
    nets = {
        net: calm_net(show, plan.network, each.swept.calm, known.offsets_ns)
        for net, each in figures.items()
    }
    return replace(fresh, nets=nets, offsets_ns=known.offsets_ns)


def told(ends: set[At]) -> str:
    """Give ends in words."""
    return ", ".join(sorted(f"{key} at end {n + 1}" for key, n in ends))
