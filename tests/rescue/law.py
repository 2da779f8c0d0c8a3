"""The law of a rescue: carried out from its card and drilled again, it gives what it promises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.drill.after import NetAfter
from lineproof.drill.bearing import Course, Leg, resting
from lineproof.drill.calm import Calm, calm_net, late
from lineproof.drill.dead import shared, what_dies
from lineproof.drill.lose import after_faults, lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import PORT, Fault
from lineproof.graph.net import fabric
from lineproof.graph.signal import ways
from lineproof.plan.model import Plan
from lineproof.reckon.delay import Bounds, bounds, bounds_after
from lineproof.reckon.loads import loads
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import flows_on, paths
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
    broken = frozenset(fault.name for fault in rescue.faults if fault.what == PORT)
    try:
        show, plan = Hands(known.show, known.plan, dead, broken).carry_out(rescue.moves)
    except CardError as error:
        yield f"the card can't be carried out: {error}"
        return
    before = standings(known, rescue.faults)
    now = as_it_is_set(known, show, plan)
    after = standings(now, rescue.faults)
    yield from _other_than_drilled_twice(now, after, rescue.faults)
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
    yield from _heard_by_others(known, rescue)


def _other_than_drilled_twice(
    now: Calm, after: dict[At, State], faults: Sequence[Fault]
) -> Iterator[str]:
    """Hold mere arrival against a graph library with none of the drill's code.

    It knows neither multicores nor ties.
    """
    show, second = now.show, Second(now.show, now.plan).lost(faults)
    passive = {
        decided.key
        for decided in now.plan.lines
        if decided.ties or any(show.units[spot.unit].sockets_of for spot in decided.spots())
    }
    ends = ((line.key, n, str(end)) for line in show.lines for n, end in enumerate(line.ends))
    gone = {(key, n) for key, n, end in ends if (str(key), end) in second}
    lost = {at for at, state in after.items() if state is State.LOST}
    differ = {at for at in gone ^ lost if at[0] not in passive}
    if differ:
        yield f"the second drill differs at {told(differ)}"


def _heard_by_others(known: Calm, rescue: Rescue) -> Iterator[str]:
    """Give the new streams that bring a line to a unit which must not have it."""
    before = {stream.name for stream in known.network.streams}
    for stream in rescue.plan.network.streams:
        for decided in rescue.plan.lines if stream.name not in before else ():
            line = rescue.show.line(decided.key)
            spots = [way.spots for way in ways(rescue.show, decided)]
            sent = {s.number for some in spots for s in some if _is_sent(s, stream.sender)}
            if line is None or sent.isdisjoint(stream.channels):
                continue
            own = {member.name for _, member in line.end_members()}
            own |= {spot.unit for some in spots for spot in some}
            barred = set(stream.receivers if line.private else line.never) - own
            if not barred.isdisjoint(stream.receivers):
                yield f"line {line.key} is in {stream.name}, which {sorted(barred)} may not hear"


def _is_sent(spot: Spot, sender: str) -> bool:
    return spot.side is Side.SEND and spot.unit == sender


def is_whole(known: Calm) -> bool:
    """Say whether every end arrives with nothing broken; a drawn show may want what isn't there."""
    return set(standings(known, ()).values()) <= {State.UNTOUCHED}


def standings(known: Calm, faults: Sequence[Fault]) -> dict[At, State]:
    """Give by line and end how it stands, loads, delays and clock looked at."""
    drilled = lose(known.show, known.plan, faults, ready=known)
    touched = {(v.line, each.end): each.standing.state for v in drilled.verdicts for each in v.ends}
    return {at: touched.get((at[0], str(end)), State.UNTOUCHED) for at, end in _ends(known)}


def too_much(known: Calm, now: Calm, faults: Sequence[Fault]) -> Iterator[At]:
    """Give the ends that arrive only over what is now too full or too late, and was not before.

    The drill itself asks what a fault makes worse: it takes what moves have done as given.
    """
    after = after_faults(now, tuple(faults))
    wrong: dict[str, tuple[set[str], set[tuple[str, str]]]] = {}
    for name, net in after.nets.items():
        was, delays = known.nets[name].bounds, net.bounds
        if net.still:  # its delays are those with nothing broken
            delays = bounds_after(net.calm.bounds, delays.paths)[0]
        full = names_of_full(delays, known.show) - names_of_full(was, known.show)
        waits = names_of_late(delays, known) - names_of_late(was, known)
        wrong[name] = (full, waits)
    if not any(full or waits for full, waits in wrong.values()):
        return

    def spoilt(net: NetAfter, leg: Leg) -> bool:
        full, waits = wrong[net.name]
        flow = net.calm.flow_of.get((leg.send, leg.receiver))
        over = any(net.tree.fabric.way_name(way) in full for way in net.way(leg))
        flows = net.bounds.paths.flows
        return over or (flow is not None and (flows[flow].name, leg.receiver) in waits)

    def sound(course: Course) -> bool:
        nets = [[net for net in after.nets.values() if net.carries(leg)] for leg in course.legs]
        legs = zip(course.legs, nets, strict=True)
        return all(any(not spoilt(net, leg) for net in some) for leg, some in legs)

    lines = {each.line.key: each for each in now.lines}
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


def names_of_full(delays: Bounds, show: Show) -> set[str]:
    name = delays.paths.tree.fabric.way_name
    found = loads(delays.paths, other_mbit=show.other_mbit)
    return {name(each.way) for each in found if each.streams and each.total_bps > each.speed_bps}


def names_of_late(delays: Bounds, known: Calm) -> set[tuple[str, str]]:
    flows, nodes = delays.paths.flows, delays.paths.tree.fabric.nodes
    found = late(delays, known.offsets_ns)
    return {(flows[flow].name, nodes[node].name) for flow, node in found}


def arrives(after: dict[At, State], at: At) -> bool:
    """Say whether an end arrives; one that nobody feeds any more does not."""
    return at in after and after[at].arrives


def _ends(known: Calm) -> Iterator[tuple[At, object]]:
    for each in known.lines:
        for arrival in each.arrivals:
            places = [n for n, end in enumerate(each.line.ends) if end is arrival.end]
            yield (each.line.key, places[0]), arrival.end


def named(known: Calm, ends: Sequence[EndAt]) -> list[At]:
    """Give a rescue's ends by their lines' keys."""
    found = []
    for at, n in ends:
        line, wanted = known.lines[at].line, known.lines[at].arrivals[n].end
        places = [k for k, end in enumerate(line.ends) if end is wanted]
        found.append((line.key, places[0]))
    return found


def as_it_is_set(known: Calm, show: Show, plan: Plan) -> Calm:
    """Give a show and plan after moves ready to be drilled, every receive buffer as it was set."""
    network, nets = plan.network, {}
    for net in known.nets:
        tree = spanning_tree(fabric(show, network, net))
        flows = flows_on(show, tree.fabric, network.streams)
        delays = bounds(paths(tree, flows))
        nets[net] = calm_net(show, network, delays, known.offsets_ns)
    return Calm(
        show=show,
        plan=plan,
        lines=resting(show, plan),
        shared=shared(show, network),
        nets=nets,
        offsets_ns=known.offsets_ns,
    )


def told(ends: set[At]) -> str:
    """Give ends in words."""
    return ", ".join(sorted(f"{key} at end {n + 1}" for key, n in ends))
