"""The spanning tree that a net's switches elect (IEEE 802.1Q 13, 802.1D-2004 17), and its roles."""

from __future__ import annotations

import enum
import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import natural
from lineproof.graph.net import Fabric, Node

#: IEEE 802.1D-2004 table 17-3: 20 Tbit/s divided by the speed.
_COST_OF_1_MBIT = 20_000_000


def port_cost(speed_mbit: int) -> int:
    """Give the path cost that a port of this speed adds (long costs).

    >>> port_cost(1000), port_cost(100)
    (20000, 200000)
    """
    return max(1, _COST_OF_1_MBIT // speed_mbit)


class Role(enum.Enum):
    """What a switch port is to the tree; alternate and backup ports discard."""

    ROOT = "root"
    DESIGNATED = "designated"
    ALTERNATE = "alternate"
    BACKUP = "backup"

    @property
    def discards(self) -> bool:
        """Say whether the port takes and gives no frames."""
        return self in (Role.ALTERNATE, Role.BACKUP)


@dataclass(frozen=True, kw_only=True)
class Tree:
    """The tree of a net as it is elected, each part of a parted net with its own.

    By node: `up` is the way towards the root (-1 at a root or a dead node), `depth` the runs to
    it, `root` the root's index (-1 if dead), `cost` the root path cost (of electing bridges only,
    else -1). `roles` by the way out of a port, for ports towards other bridges. `blocked`: runs
    that carry nothing from end to end. `loops`: runs that close a loop which nothing breaks.
    """

    fabric: Fabric
    up: tuple[int, ...]
    depth: tuple[int, ...]
    root: tuple[int, ...]
    cost: tuple[int, ...]
    roles: Mapping[int, Role]
    blocked: frozenset[int]
    loops: tuple[int, ...]

    @property
    def roots(self) -> tuple[str, ...]:
        """Give the root bridges, one for each part of the net that has electing bridges."""
        found = {root for root in self.root if root >= 0 and self.fabric.nodes[root].elects}
        return tuple(self.fabric.nodes[i].name for i in sorted(found))

    @property
    def blocked_runs(self) -> tuple[str, ...]:
        """Give the names of the blocked runs."""
        return tuple(self.fabric.runs[r].name for r in sorted(self.blocked))

    @property
    def discarding(self) -> tuple[str, ...]:
        """Give the ports that discard, as `sw-1:8`."""
        fabric = self.fabric
        ways = sorted(way for way, role in self.roles.items() if role.discards)
        return tuple(f"{fabric.nodes[fabric.tail(w)].name}:{fabric.port(w)}" for w in ways)

    @cached_property
    def tree_runs(self) -> frozenset[int]:
        """Give the runs that carry frames."""
        return frozenset(way >> 1 for way in self.up if way >= 0)

    def path(self, start: int, end: int) -> tuple[int, ...] | None:
        """Give the ways from one node to another, None where the net is parted."""
        if self.root[start] < 0 or self.root[start] != self.root[end]:
            return None
        going, coming = [], []
        while start != end:
            if self.depth[start] >= self.depth[end]:
                going.append(self.up[start])
                start = self.fabric.head[self.up[start]]
            else:
                coming.append(self.up[end] ^ 1)
                end = self.fabric.head[self.up[end]]
        return (*going, *reversed(coming))


def bridge_rank(node: Node) -> tuple[int, bool, int, object]:
    """Give the bridge identifier as a key, lower wins: priority, then hardware address.

    Where no address is known the order of names stands in, after those that are known.
    """
    return (node.priority, node.mac is None, node.mac or 0, natural(node.name))


@dataclass(frozen=True, kw_only=True)
class Election:
    """What the election goes by: electing bridges by rank, and the segments they stand on.

    A segment is a run, or all runs that bridges without a spanning tree join. `ports` of a
    segment: (bridge, way out of it).
    """

    fabric: Fabric
    rank: tuple[int, ...]
    ports: Mapping[int, list[tuple[int, int]]]
    segments_of: Mapping[int, list[tuple[int, int]]]

    def port_id(self, way: int) -> tuple[int, int]:
        """Give the port identifier: priority, then number."""
        run, side = self.fabric.runs[way >> 1], way & 1
        return (run.port_priorities[side], run.ports[side])


def spanning_tree(fabric: Fabric) -> Tree:
    """Give the tree that is elected among what is alive.

    Compared in order, lower wins: root identifier, root path cost, the sender's bridge identifier,
    its port identifier, the own port identifier (802.1D-2004 17.6). Chained units and switches
    that can't be set up take no part and are taken to pass the messages on (assumed).
    """
    election = prepare(fabric, segments_of_runs(fabric))
    cost = _costs(election)
    roles = _roles(election, cost)
    shut = frozenset(way >> 1 for way, role in roles.items() if role.discards)
    up, depth, root, loops = _orient(fabric, shut, election.segments_of)
    return Tree(
        fabric=fabric,
        up=tuple(up),
        depth=tuple(depth),
        root=tuple(root),
        cost=tuple(cost),
        roles=roles,
        blocked=shut,
        loops=tuple(loops),
    )


def segments_of_runs(fabric: Fabric) -> dict[int, int]:
    """Give the segment of every living run between bridges, named by its lowest run."""
    nodes = fabric.nodes
    segment = {
        r: r
        for r, run in enumerate(fabric.runs)
        if nodes[run.ends[0]].bridge and nodes[run.ends[1]].bridge and fabric.alive(r)
    }
    plain = [i for i, node in enumerate(nodes) if node.bridge and not node.elects]
    changed = bool(plain)
    while changed:
        changed = False
        for i in plain:
            mine = [way >> 1 for way in fabric.ways_from[i] if way >> 1 in segment]
            lowest = min((segment[r] for r in mine), default=-1)
            for r in mine:
                if segment[r] != lowest:
                    segment[r], changed = lowest, True
    return segment


def prepare(fabric: Fabric, segments: Mapping[int, int]) -> Election:
    """Give what the election among the living goes by."""
    nodes = fabric.nodes
    order = sorted(
        (i for i, n in enumerate(nodes) if n.elects and i not in fabric.dead_nodes),
        key=lambda i: bridge_rank(nodes[i]),
    )
    rank = [-1] * len(nodes)
    for place, i in enumerate(order):
        rank[i] = place
    ports: dict[int, list[tuple[int, int]]] = {}
    segments_of: dict[int, list[tuple[int, int]]] = {i: [] for i in order}
    for r, segment in segments.items():
        for side, end in enumerate(fabric.runs[r].ends):
            if rank[end] >= 0:
                ports.setdefault(segment, []).append((end, 2 * r + side))
                segments_of[end].append((segment, 2 * r + side))
    return Election(fabric=fabric, rank=tuple(rank), ports=ports, segments_of=segments_of)


def _costs(election: Election) -> list[int]:
    """Give the root path costs; in each part the lowest identifier is root."""
    runs, rank = election.fabric.runs, election.rank
    cost = [-1] * len(rank)
    for start in election.segments_of:
        if cost[start] >= 0:
            continue
        ahead = [(0, start)]
        while ahead:
            so_far, bridge = heapq.heappop(ahead)
            if cost[bridge] >= 0:
                continue
            cost[bridge] = so_far
            for segment, _ in election.segments_of[bridge]:
                for other, way in election.ports[segment]:
                    if cost[other] < 0:
                        # The receiving port's cost is added, not the sending one's.
                        step = port_cost(runs[way >> 1].speed_mbit)
                        heapq.heappush(ahead, (so_far + step, other))
    return cost


def _roles(election: Election, cost: list[int]) -> dict[int, Role]:
    """Give the role of every port that stands on a segment with other bridges."""
    rank, runs = election.rank, election.fabric.runs
    roles: dict[int, Role] = {}
    designated: dict[int, tuple[int, int]] = {}
    for segment, ports in election.ports.items():
        designated[segment] = min(
            ports, key=lambda p: (cost[p[0]], rank[p[0]], election.port_id(p[1]))
        )
    for bridge, mine in election.segments_of.items():
        best, best_way = None, -1
        for segment, way in mine:
            sender, sends = designated[segment]
            if (sender, sends) == (bridge, way):
                roles[way] = Role.DESIGNATED
                continue
            roles[way] = Role.BACKUP if sender == bridge else Role.ALTERNATE
            offered = (
                cost[sender] + port_cost(runs[way >> 1].speed_mbit),
                rank[sender],
                election.port_id(sends),
                election.port_id(way),
            )
            if sender != bridge and (best is None or offered < best):
                best, best_way = offered, way
        if best_way >= 0 and cost[bridge] > 0:
            roles[best_way] = Role.ROOT
    return roles


def _orient(
    fabric: Fabric, shut: frozenset[int], order: Iterable[int]
) -> tuple[list[int], list[int], list[int], list[int]]:
    """Give up, depth and root of every node, and the runs that close a loop."""
    count = len(fabric.nodes)
    up, depth, root = [-1] * count, [0] * count, [-1] * count
    loops: set[int] = set()
    nodes, head, ways_from = fabric.nodes, fabric.head, fabric.ways_from
    passes = [run not in shut and fabric.alive(run) for run in range(len(fabric.runs))]
    # Electing bridges by rank, then bridges, then all others, by name.
    for start in (*order, *fabric.bridges_first):
        if root[start] >= 0 or start in fabric.dead_nodes:
            continue
        root[start] = start
        reached = [start]
        for node in reached:
            if node != start and not nodes[node].bridge:
                continue
            for way in ways_from[node]:
                other = head[way]
                if not passes[way >> 1] or way == up[node]:
                    continue
                if root[other] < 0:
                    up[other], depth[other], root[other] = way ^ 1, depth[node] + 1, start
                    reached.append(other)
                elif nodes[other].bridge and up[other] != way ^ 1:
                    loops.add(way >> 1)
    return up, depth, root, sorted(loops)
