"""What every run carries in both directions, in bits on the wire, and groups by switch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.graph.net import Fabric, Node
from lineproof.reckon.delay import Ahead
from lineproof.reckon.tree_paths import Paths


@dataclass(frozen=True, kw_only=True)
class Load:
    """What one run carries in one direction, `way` by index, from port to port by name.

    `streams_bps`: the streams with preamble and gap. `other_bps`: traffic that the show declares,
    on every run between switches. `clock_bps`: the clock's messages. `streams` by name.
    """

    way: int
    run: str
    from_unit: str
    to_unit: str
    speed_bps: int
    streams: tuple[str, ...]
    streams_bps: int
    other_bps: int = 0
    clock_bps: int = 0

    @property
    def total_bps(self) -> int:
        """Give all that the run carries in this direction."""
        return self.streams_bps + self.other_bps + self.clock_bps

    @property
    def share(self) -> float:
        """Give the part of the run's speed that is taken: 1 is full."""
        return self.total_bps / self.speed_bps


def loads(paths: Paths, *, other_mbit: float | None = None) -> tuple[Load, ...]:
    """Give the load of every living run in both directions, by run; empty directions too.

    Declared other traffic is set on every run between two switches that the tree uses, in full and
    in both directions: nobody knows where it goes.
    """
    tree = paths.tree
    fabric, on = tree.fabric, paths.on
    other = round((other_mbit or 0.0) * 1_000_000)
    clock = Ahead.of(fabric).rate_bps
    found = []
    for way in range(2 * len(fabric.runs)):
        r = way >> 1
        if not fabric.alive(r):
            continue
        run, carries = fabric.runs[r], r in tree.tree_runs
        between = all(_switch(fabric.nodes[end]) for end in run.ends)
        flows = on.get(way, ())
        found.append(
            Load(
                way=way,
                run=run.name,
                from_unit=fabric.nodes[fabric.tail(way)].name,
                to_unit=fabric.nodes[fabric.head[way]].name,
                speed_bps=run.speed_mbit * 1_000_000,
                streams=tuple(paths.flows[i].name for i in flows),
                streams_bps=sum(paths.flows[i].rate_bps for i in flows),
                other_bps=other if between and carries else 0,
                clock_bps=clock if carries else 0,
            )
        )
    return tuple(found)


def _switch(node: Node) -> bool:
    return node.bridge and not node.chained


def rates_bps(paths: Paths) -> Mapping[int, int]:
    """Give only the streams' bits a second by way: what a sweep over many faults compares."""
    found: dict[int, int] = {}
    for flow, steps in zip(paths.flows, paths.steps, strict=True):
        for way in steps:
            found[way] = found.get(way, 0) + flow.rate_bps
    return found


def groups_by_switch(paths: Paths) -> Mapping[str, int]:
    """Give how many multicast groups each snooping switch must remember, by name.

    One for every stream that it gives to a member; what only passes towards the querier needs no
    entry of its own, yet most switches make one, so it counts.
    """
    fabric: Fabric = paths.tree.fabric
    seen: dict[int, set[int]] = {i: set() for i, node in enumerate(fabric.nodes) if node.snoops}
    for i, (flow, steps) in enumerate(zip(paths.flows, paths.steps, strict=True)):
        if flow.multicast:
            for way in steps:
                for node in (fabric.tail(way), fabric.head[way]):
                    if node in seen:
                        seen[node].add(i)
    return {fabric.nodes[i].name: len(seen[i]) for i in sorted(seen)}
