"""What moves make too full or too late: new streams, and trees that run another way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lineproof.drill.after import NetAfter
from lineproof.drill.bearing import Course, Leg
from lineproof.drill.calm import Calm, CalmNet, late, overloaded
from lineproof.drill.lose import After
from lineproof.reckon.delay import Bounds, bounds_after


@dataclass(frozen=True, kw_only=True)
class Fuller:
    """What is wrong with one net after moves, and was not before anything broke.

    `ways` on which more is sent than the run can carry; `late`: the (stream, receiver) whose
    packets may come later than the receiver waits.
    """

    net: NetAfter
    ways: frozenset[int]
    late: frozenset[tuple[int, int]]

    def trouble(self, leg: Leg) -> str:
        """Say what is wrong for a leg that the net carries, "" for nothing."""
        fabric = self.net.tree.fabric
        for way in self.net.way(leg) if self.ways else ():
            if way in self.ways:
                return f"net {self.net.name}: {fabric.way_name(way)} is over its speed"
        flow = self.net.calm.flow_of.get((leg.send, leg.receiver))
        if flow is not None and (flow, fabric.index[leg.receiver]) in self.late:
            return f"net {self.net.name}: packets may come later than {leg.receiver} waits"
        return ""


def doubts(known: Calm, after: After) -> Callable[[Course], str] | None:
    """Give what to doubt of a course after moves, None where nothing is too full or too late.

    `known`: before anything broke or moved; `after`: once the moves are made, faults standing.
    The drill asks what a fault makes worse, so it excuses what moves alone have made.
    """
    worse = {name: _fuller(known.nets[name], net) for name, net in after.nets.items()}
    if not any(each.ways or each.late for each in worse.values()):
        return None

    def told(course: Course) -> str:
        return next((why for leg in course.legs if (why := _wrong(leg, worse))), "")

    return told


def _wrong(leg: Leg, worse: Mapping[str, Fuller]) -> str:
    """Say what is wrong on every net that carries a leg."""
    troubles = [each.trouble(leg) for each in worse.values() if each.net.carries(leg)]
    return troubles[0] if troubles and all(troubles) else ""


def _fuller(before: CalmNet, net: NetAfter) -> Fuller:
    excused = _way_names(before.bounds, before.overloaded)
    fabric = net.tree.fabric
    full = overloaded(net.bounds, net.other_mbit)
    waited = _late_names(before.bounds, before.late)
    too_late = late(net.bounds, net.offsets_ns)
    if net.still and _late_names(net.bounds, too_late) - waited:
        # Delays that were not worked out anew are too long at most.
        bounds = bounds_after(net.calm.bounds, net.bounds.paths)[0]
        too_late = late(bounds, net.offsets_ns)
    return Fuller(
        net=net,
        ways=frozenset(way for way in full if fabric.way_name(way) not in excused),
        late=frozenset(key for key in too_late if not _late_names(net.bounds, {key}) <= waited),
    )


def _way_names(bounds: Bounds, ways: frozenset[int]) -> frozenset[str]:
    return frozenset(bounds.paths.tree.fabric.way_name(way) for way in ways)


def _late_names(
    bounds: Bounds, keys: frozenset[tuple[int, int]] | set[tuple[int, int]]
) -> frozenset[tuple[str, str]]:
    flows, nodes = bounds.paths.flows, bounds.paths.tree.fabric.nodes
    return frozenset((flows[flow].name, nodes[node].name) for flow, node in keys)
