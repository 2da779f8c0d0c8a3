"""Loads and delay bounds as one would write them down with a graph library: the plain way."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import networkx as nx  # type: ignore[import-untyped]

from lineproof.graph.net import Fabric
from lineproof.reckon.delay import CABLE_NS_PER_M, UNBOUNDED, Ahead
from lineproof.reckon.delay_port import Bundle, Input, port_delay_ns
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import Flow

#: IEEE 802.3: a port's speed may be off by so much.
_OFF = 1e-4


def plain_ways(fabric: Fabric, flows: Sequence[Flow]) -> list[dict[int, list[int]]]:
    """Give, for each stream, the ways to each of its receivers, and (-1) to the querier."""
    graph = nx.Graph()
    for way in spanning_tree(fabric).up:
        if way >= 0:
            graph.add_edge(fabric.tail(way), fabric.head[way], run=way >> 1)
    graph.add_nodes_from(
        i for i, n in enumerate(fabric.nodes) if n.bridge and i not in fabric.dead_nodes
    )
    return [dict(_ways(fabric, graph, flow)) for flow in flows]


def _ways(fabric: Fabric, graph: nx.Graph, flow: Flow) -> Iterator[tuple[int, list[int]]]:
    if flow.sender not in graph:
        return
    part = nx.node_connected_component(graph, flow.sender)
    targets = [(receiver, receiver) for receiver in flow.receivers]
    asks = next((q for q in fabric.queriers if q in part), None)
    if flow.multicast and asks is not None:
        targets.append((-1, asks))
    for name, target in targets:
        if target in part:
            nodes = nx.shortest_path(graph, flow.sender, target)
            found = []
            for a, b in itertools.pairwise(nodes):
                run = graph[a][b]["run"]
                found.append(2 * run + (fabric.runs[run].ends[0] != a))
            yield name, found


def plain_rates(fabric: Fabric, flows: Sequence[Flow]) -> dict[int, int]:
    """Give the streams' load by way."""
    rates: dict[int, int] = {}
    for flow, ways in zip(flows, plain_ways(fabric, flows), strict=True):
        for way in {way for path in ways.values() for way in path}:
            rates[way] = rates.get(way, 0) + flow.rate_bps
    return rates


def plain_delays(fabric: Fabric, flows: Sequence[Flow]) -> dict[tuple[int, int], int]:
    """Give the delay bound by (stream, receiver) in ns: every port anew, every stream by itself."""
    ways = plain_ways(fabric, flows)
    ports = nx.DiGraph()
    came: dict[int, dict[int, int]] = {}
    for i, paths in enumerate(ways):
        for path in paths.values():
            for before, way in itertools.pairwise([-1, *path]):
                came.setdefault(way, {})[i] = before
                ports.add_edge(before, way)
    late: dict[tuple[int, int], float] = {}
    waits: dict[int, float] = {}
    ahead = Ahead.of(fabric)
    for way in nx.topological_sort(ports):
        if way >= 0:
            waits[way] = _port(fabric, flows, way, came[way], late, ahead)
    return {
        (i, receiver): _sum(fabric, path, waits)
        for i, paths in enumerate(ways)
        for receiver, path in paths.items()
        if receiver >= 0
    }


def _port(
    fabric: Fabric,
    flows: Sequence[Flow],
    way: int,
    came: dict[int, int],
    late: dict[tuple[int, int], float],
    ahead: Ahead,
) -> float:
    inputs = []
    speed = fabric.runs[way >> 1].speed_mbit / 1000
    for before in sorted(set(came.values())):
        mine = [i for i, source in came.items() if source == before]
        bundles = tuple(
            Bundle(flows[i].packet_bits, flows[i].packet_ns, late.get((before, i), 0.0))
            for i in mine
        )
        fastest = fabric.runs[before >> 1].speed_mbit / 1000 * (1 + _OFF) if before >= 0 else 0.0
        inputs.append(Input(bundles, max(flows[i].packet_bits for i in mine), fastest))
    wait = port_delay_ns(inputs, speed * (1 - _OFF) - ahead.rate_bps / 1e9, ahead.bits)
    for i, before in came.items():
        least = flows[i].packet_bits / (speed * (1 + _OFF))
        late[way, i] = late.get((before, i), 0.0) + wait - least
    return wait


def _sum(fabric: Fabric, path: Sequence[int], waits: dict[int, float]) -> int:
    total = 0.0
    for n, way in enumerate(path):
        total += waits[way] + fabric.runs[way >> 1].length_m * CABLE_NS_PER_M
        total += fabric.nodes[fabric.tail(way)].forward_ns if n else 0
    return UNBOUNDED if math.isinf(total) else math.ceil(total)
