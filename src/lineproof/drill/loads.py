"""What runs carry after a fault, from what they carried before: only streams that moved count."""

from __future__ import annotations

from collections.abc import Mapping

from lineproof.graph.net import Node
from lineproof.reckon.delay import Ahead
from lineproof.reckon.tree_paths import Paths


def rates_after(before: Paths, carried: Mapping[int, int], after: Paths) -> dict[int, int]:
    """Give the streams' new bits a second of every way on which a stream came or went.

    `carried`: the bits a second by way before, as `rates_bps` gives them. The same streams before
    and after.
    """
    changed: dict[int, int] = {}
    for flow, old, new in zip(after.flows, before.steps, after.steps, strict=True):
        if old is not new:
            for way in old.keys() - new.keys():
                changed[way] = changed.get(way, carried.get(way, 0)) - flow.rate_bps
            for way in new.keys() - old.keys():
                changed[way] = changed.get(way, carried.get(way, 0)) + flow.rate_bps
    return changed


def newly_full(
    before: Paths, carried: Mapping[int, int], after: Paths, other_mbit: float | None
) -> frozenset[int]:
    """Give the ways that carry streams, and more than their run can, and are fuller than before.

    Fuller is only a way with more of streams, or of a run that the tree did not use before.
    """
    tree = after.tree
    fabric, used = tree.fabric, tree.tree_runs
    rates = rates_after(before, carried, after)
    fuller = {way for way, rate in rates.items() if rate > carried.get(way, 0)}
    fuller |= {way for run in used - before.tree.tree_runs for way in (2 * run, 2 * run + 1)}
    other, clock = round((other_mbit or 0.0) * 1_000_000), Ahead.of(fabric).rate_bps
    found = []
    for way in fuller:
        run, total = fabric.runs[way >> 1], rates.get(way, carried.get(way, 0))
        if total and way >> 1 in used:
            total += clock
            if all(_switch(fabric.nodes[end]) for end in run.ends):
                total += other
        if total > run.speed_mbit * 1_000_000:
            found.append(way)
    return frozenset(found)


def _switch(node: Node) -> bool:
    return node.bridge and not node.chained
