"""Where the tree of a net is less certain than it looks, and why."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.names import natural
from lineproof.graph.net import Fabric
from lineproof.reckon.tree import (
    Election,
    Role,
    Tree,
    port_cost,
    prepare,
    segments_of_runs,
    spanning_tree,
)


def trusted_on_loops(fabric: Fabric) -> tuple[str, ...]:
    """Give the bridges without a spanning tree that lie on a loop, by name.

    The loop is broken only if they pass on the messages of those that have one, which nobody
    promises: keep them off loops.
    """
    found = []
    for i, node in enumerate(fabric.nodes):
        if node.bridge and not node.elects and i not in fabric.dead_nodes:
            around = [fabric.head[w] for w in fabric.ways_from[i] if _between(fabric, w >> 1)]
            part = _parts_without(fabric, i)
            if len({part[other] for other in around}) < len(around):
                found.append(node.name)
    return tuple(sorted(found, key=natural))


def _between(fabric: Fabric, run: int) -> bool:
    """Say whether a living run joins two bridges."""
    return fabric.alive(run) and all(fabric.nodes[end].bridge for end in fabric.runs[run].ends)


def _parts_without(fabric: Fabric, removed: int) -> dict[int, int]:
    """Give the part of the net in which each bridge lies once one is taken out."""
    part: dict[int, int] = {removed: removed}
    for start, node in enumerate(fabric.nodes):
        if start in part or not node.bridge:
            continue
        part[start] = start
        reached = [start]
        for each in reached:
            for way in fabric.ways_from[each]:
                other = fabric.head[way]
                if other not in part and _between(fabric, way >> 1):
                    part[other] = start
                    reached.append(other)
    return part


def ordered_by_name(fabric: Fabric) -> tuple[str, ...]:
    """Give the switches between which the order of names decided something, by name.

    Their priorities are equal and a hardware address is missing, so the real tree may be another.
    """
    tree = spanning_tree(fabric)
    election = prepare(fabric, segments_of_runs(fabric))
    found = {i for pair in _close_calls(election, tree) for i in pair}
    return tuple(fabric.nodes[i].name for i in sorted(found, key=lambda i: fabric.name_order[i]))


def _close_calls(election: Election, tree: Tree) -> Iterator[tuple[int, int]]:
    """Give pairs of bridges that only their addresses, one of them unknown, could tell apart."""
    nodes, cost = election.fabric.nodes, tree.cost

    def close(a: int, b: int) -> bool:
        unknown = nodes[a].mac is None or nodes[b].mac is None
        return a != b and unknown and nodes[a].priority == nodes[b].priority

    for bridge in election.segments_of:
        if close(tree.root[bridge], bridge):
            yield (tree.root[bridge], bridge)
    for ports in election.ports.values():
        winner = next(b for b, way in ports if tree.roles[way] is Role.DESIGNATED)
        yield from ((winner, b) for b, _ in ports if cost[b] == cost[winner] and close(winner, b))
    for mine in election.segments_of.values():
        offers = [
            (cost[sender] + port_cost(election.fabric.runs[way >> 1].speed_mbit), role, sender)
            for segment, way in mine
            if (role := tree.roles[way]) in (Role.ROOT, Role.ALTERNATE)
            for sender, sends in election.ports[segment]
            if tree.roles[sends] is Role.DESIGNATED
        ]
        best = [(price, sender) for price, role, sender in offers if role is Role.ROOT]
        for price, chosen in best:
            yield from ((chosen, s) for p, _, s in offers if p == price and close(chosen, s))
