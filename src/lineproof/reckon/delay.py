"""An upper bound on the delay of every stream to every receiver, whatever meets whatever."""

from __future__ import annotations

import math
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import cached_property

from lineproof.graph.net import Fabric
from lineproof.reckon.delay_port import SPARE_NS, Bundle, Input, peak, port_delay_ns
from lineproof.reckon.delay_state import Line, Ports, Source
from lineproof.reckon.tree import Tree
from lineproof.reckon.tree_paths import Paths

#: The longest tagged frame with preamble and gap (IEEE 802.3: 1522 + 20): of a lower class, just
#: begun, so it is let go first. Larger frames have no place on an audio net.
LOW_FRAME_BITS = 1542 * 8
#: Clock messages on the wire, tagged (IEEE 1588-2008 13 and annex D, from memory): Sync, Follow_Up
#: and Delay_Req 44 bytes, Delay_Resp 54, Announce 64; + UDP 8, IP 20, Ethernet 22, line 20.
_SYNC_BITS, _RESPONSE_BITS, _ANNOUNCE_BITS = 114 * 8, 124 * 8, 134 * 8
#: The shortest frame with preamble and gap: a message of the spanning tree, or of a querier.
_SHORTEST_BITS = 84 * 8
#: How many units ask for the clock's delay within one passage, at most. They ask once a second at
#: times drawn at random (IEEE 1588-2008 9.5.11.2, from memory); of 400 units more than 16 fall into
#: the same 2 ms with a chance of 3 in 10^17. Up to 16 units it holds without chance.
_MOST_ASKING = 16
#: IEEE 802.3: a port's speed may be off by so much.
_SPEED_TOLERANCE = 1e-4
#: Copper and fibre alike.
CABLE_NS_PER_M = 5.0
#: Instead of a delay where there is no bound.
UNBOUNDED = -1


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What may go before any stream at every port: bits at once, and bits a second.

    A frame of a lower class that has just begun, and all that stands above the streams.
    """

    bits: int
    rate_bps: int = 0

    @classmethod
    def of(cls, fabric: Fabric) -> Ahead:
        """Give what a net must reckon with: a lower frame, the clock, the net's own messages."""
        units = sum(not node.elects for node in fabric.nodes)
        asking = min(units, _MOST_ASKING)
        clock = 2 * _SYNC_BITS + _ANNOUNCE_BITS + asking * (_SYNC_BITS + _RESPONSE_BITS)
        rate = 8 * 2 * _SYNC_BITS + _ANNOUNCE_BITS + units * (_SYNC_BITS + _RESPONSE_BITS)
        own = 2 * _SHORTEST_BITS
        return cls(bits=LOW_FRAME_BITS + clock + own, rate_bps=rate + own)


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """Delay bounds of a net: by port as waits, by stream and receiver as sums."""

    paths: Paths
    ahead: Ahead
    sources: tuple[Source, ...]
    source_of: tuple[int, ...]
    ports: Ports

    @cached_property
    def period(self) -> tuple[int, ...]:
        """Give the packet time of each source, ns."""
        return tuple(source.packet_ns for source in self.sources)

    @cached_property
    def shortest(self) -> tuple[int, ...]:
        """Give the shortest packet of each source, bits."""
        return tuple(source.shortest_bits for source in self.sources)

    @cached_property
    def longest(self) -> tuple[int, ...]:
        """Give the longest packet of each source, bits."""
        return tuple(source.longest_bits for source in self.sources)

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Give what each way can do."""
        fabric, taken = self.paths.tree.fabric, self.ahead.rate_bps / 1e9
        found = []
        for way in range(2 * len(fabric.runs)):
            run = fabric.runs[way >> 1]
            speed, cable = run.speed_mbit / 1000, run.length_m * CABLE_NS_PER_M
            found.append(
                Line(
                    left=speed * (1 - _SPEED_TOLERANCE) - taken,
                    fastest=speed * (1 + _SPEED_TOLERANCE),
                    cable_ns=cable,
                    onward_ns=cable + fabric.nodes[fabric.tail(way)].forward_ns,
                )
            )
        return tuple(found)

    def delay_ns(self, flow: int, receiver: int) -> int | None:
        """Give the most from sending to the end of arrival, in ns; None where nothing arrives.

        UNBOUNDED where more is sent than a run on the way can carry.
        """
        each = self.paths.flows[flow]
        if not self.paths.arrives(flow, receiver) or each.sender == receiver:
            return None
        way = arrival(self.paths.tree, each.sender, receiver)
        most = self.ports.sum_ns[way][self.source_of[flow]]
        return UNBOUNDED if math.isinf(most) else math.ceil(most)

    def delays_ns(self) -> Mapping[tuple[int, int], int]:
        """Give the same for every (stream, receiver) that is reached, in order."""
        found = {}
        for i, flow in enumerate(self.paths.flows):
            for receiver in flow.receivers:
                most = self.delay_ns(i, receiver)
                if most is not None:
                    found[i, receiver] = most
        return found

    def unbounded(self) -> tuple[int, ...]:
        """Give the ways that have no bound: too much is offered there, or before."""
        waits = self.ports.wait_ns
        return tuple(way for way in sorted(waits) if math.isinf(waits[way]))


def arrival(tree: Tree, sender: int, receiver: int) -> int:
    """Give the way by which what `sender` sends comes to `receiver`, in one part of the net."""
    if tree.depth[sender] > tree.depth[receiver]:
        node = sender
        while tree.depth[node] > tree.depth[receiver] + 1:
            node = tree.fabric.head[tree.up[node]]
        if tree.fabric.head[tree.up[node]] == receiver:
            return tree.up[node]
    return tree.up[receiver] ^ 1


def bounds(paths: Paths, ahead: Ahead | None = None) -> Bounds:
    """Give the delay bounds of all streams over their ways.

    Total flow analysis with line shaping, port by port from the senders on (a tree has no cycle).
    Assumed: senders send one packet of a stream a period; the streams of all senders share one
    queue at each port, first come first served; only the clock stands above it; stored and
    forwarded at every hop; a bridge hands on after `forward_ns`, always the same.
    """
    keys = [(flow.sender, flow.packet_ns) for flow in paths.flows]
    sizes: dict[tuple[int, int], list[int]] = {}
    for key, flow in zip(keys, paths.flows, strict=True):
        sizes.setdefault(key, []).append(flow.packet_bits)
    place = {key: i for i, key in enumerate(sizes)}
    made = Bounds(
        paths=paths,
        ahead=ahead or Ahead.of(paths.tree.fabric),
        sources=tuple(Source(*key, min(bits), max(bits)) for key, bits in sizes.items()),
        source_of=tuple(place[key] for key in keys),
        ports=Ports(bits={}, came={}, wait_ns={}, busy_ns={}, late_ns={}, sum_ns={}),
    )
    for source, flow, steps in zip(made.source_of, paths.flows, paths.steps, strict=True):
        made.ports.lay(source, steps, flow.packet_bits)
    _work_out(made, made.ports.bits.keys())
    return made


def bounds_after(before: Bounds, paths: Paths) -> tuple[Bounds, frozenset[int]]:
    """Give the same as `bounds` after a fault, and the ways on which anything differs.

    `paths` must come from `paths_after` of `before.paths`. Only what has changed is worked out.
    """
    ports = before.ports.copy()
    changed = []
    for source, flow, old, new in zip(
        before.source_of, paths.flows, before.paths.steps, paths.steps, strict=True
    ):
        if old is not new:
            # Only where it goes elsewhere now, or comes from elsewhere.
            gone, came = dict(old.items() - new.items()), dict(new.items() - old.items())
            changed.append((source, flow.packet_bits, gone, came))
    touched = {way for _, _, gone, came in changed for way in (*gone, *came)}
    for way in touched:
        ports.bits[way] = dict(ports.bits.get(way, {}))
        ports.came[way] = dict(ports.came.get(way, {}))
    for source, bits, gone, came in changed:
        ports.lay(source, gone, -bits)
        ports.lay(source, came, bits)
    for way in touched:
        if not ports.bits[way]:
            ports.drop(way)
    made = replace(before, paths=paths, ports=ports)
    for known in ("period", "shortest", "longest", "lines"):
        made.__dict__[known] = getattr(before, known)
    return made, frozenset(touched | _work_out(made, touched))


def _work_out(made: Bounds, touched: AbstractSet[int]) -> set[int]:
    """Work out the ports touched, in order, and what follows from them; give those that moved."""
    tree, ports = made.paths.tree, made.ports
    up, depth, head = tree.up, tree.depth, tree.fabric.head

    def order(way: int) -> tuple[bool, int, int]:
        tail = head[way ^ 1]
        rises = up[tail] == way
        return (not rises, -depth[tail] if rises else depth[tail], way)

    moved: set[int] = set()
    for way in sorted(ports.bits, key=order):
        if way in touched:
            ports.busy_ns.pop(way, None)
        elif moved.isdisjoint(ports.came[way].values()):
            continue
        before = (ports.late_ns.get(way), ports.sum_ns.get(way))
        _port(made, way)
        if before != (ports.late_ns[way], ports.sum_ns[way]):
            moved.add(way)
    return moved


def _port(made: Bounds, way: int) -> None:
    """Work out one port: how long it takes, and what that means for all that goes on."""
    ports, came, line = made.ports, made.ports.came[way], made.lines[way]
    late_ns, sum_ns, shortest = ports.late_ns, ports.sum_ns, made.shortest
    arrives = {
        source: late_ns[before][source] if (before := came[source]) >= 0 else 0.0
        for source in ports.bits[way]
    }
    room = min([made.period[source] - late for source, late in arrives.items()])
    # The same streams as before, and still no second packet of any: the same wait.
    if way not in ports.busy_ns or not ports.busy_ns[way] < room - SPARE_NS:
        ports.wait_ns[way] = _wait(made, way, room)
    wait = ports.wait_ns[way]
    handed_on = wait + line.onward_ns
    late_ns[way] = {
        source: late + wait - shortest[source] / line.fastest for source, late in arrives.items()
    }
    sum_ns[way] = {
        source: sum_ns[before][source] + handed_on
        if (before := came[source]) >= 0
        else wait + line.cable_ns
        for source in arrives
    }


def _wait(made: Bounds, way: int, room: float) -> float:
    """Give the most that a port takes; `room`: the least of period - lateness, ns."""
    ports, longest, left = made.ports, made.longest, made.lines[way].left
    came, ahead = ports.came[way], made.ahead.bits
    ports.busy_ns.pop(way, None)
    if left <= 0:
        return math.inf
    busy = (ahead + sum(ports.bits[way].values())) / left
    if not busy < room - SPARE_NS:
        return port_delay_ns(_inputs(made, way), left, ahead)
    # Empty again before any stream can bring a second packet: bits and longest packet by the way
    # they come are all that counts.
    ports.busy_ns[way] = busy
    groups: dict[int, list[int]] = {}
    for source, bits in ports.bits[way].items():
        group = groups.setdefault(came[source], [0, 0])
        group[0] += bits
        group[1] = max(group[1], longest[source])
    parts = [
        (bits, most, made.lines[before].fastest if before >= 0 else 0.0)
        for before, (bits, most) in sorted(groups.items())
    ]
    return (ahead + peak(parts, left)) / left


def _inputs(made: Bounds, way: int) -> list[Input]:
    """Give what reaches a port, by the way it comes."""
    ports = made.ports
    bits, came = ports.bits[way], ports.came[way]
    groups: dict[int, list[Bundle]] = {}
    longest: dict[int, int] = {}
    for source in sorted(bits):
        before = came[source]
        late = ports.late_ns[before][source] if before >= 0 else 0.0
        groups.setdefault(before, []).append(Bundle(bits[source], made.period[source], late))
        longest[before] = max(longest.get(before, 0), made.longest[source])
    return [
        Input(
            tuple(groups[before]),
            longest[before],
            made.lines[before].fastest if before >= 0 else 0.0,
        )
        for before in sorted(groups)
    ]
