"""What every run carries, worked out twice: by receiver here, by run there.

What snooping does and what a blocked run carries was seen on the bridges of the Linux kernel in
network namespaces (116 run directions, multicast with and without a querier).
"""

from __future__ import annotations

import itertools
import random
from collections import Counter
from dataclasses import replace

import networkx as nx
import pytest

from bench.bench_net import arena
from bench.plain_net import plain_rates
from lineproof.graph.net import Fabric, FabricRun, Node
from lineproof.reckon.loads import groups_by_switch, loads, rates_bps
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.reckon.tree_paths import Flow, Paths, paths
from tests.net import random_fabric


def forest(tree: Tree) -> nx.Graph:
    """Give the runs that carry frames, as a graph of a general-purpose library."""
    graph = nx.Graph()
    fabric = tree.fabric
    graph.add_nodes_from(i for i in range(len(fabric.nodes)) if i not in fabric.dead_nodes)
    graph.add_edges_from((*fabric.runs[r].ends, {"run": r}) for r in tree.tree_runs)
    assert nx.is_forest(graph)
    return graph


def by_receiver(tree: Tree, flows: tuple[Flow, ...]) -> Counter[tuple[str, str, str]]:
    """Give (stream, from, to) for every hop, each receiver and the querier followed by itself."""
    graph, fabric = forest(tree), tree.fabric
    found: set[tuple[str, str, str]] = set()
    for flow in flows:
        if flow.sender not in graph:
            continue
        ends = list(flow.receivers)
        if flow.multicast:
            ends += [
                q for q in fabric.queriers if q in graph and nx.has_path(graph, flow.sender, q)
            ][:1]
        for end in ends:
            if end in graph and nx.has_path(graph, flow.sender, end):
                names = [fabric.nodes[i].name for i in nx.shortest_path(graph, flow.sender, end)]
                found |= {(flow.name, a, b) for a, b in itertools.pairwise(names)}
    return Counter(found)


def by_run(ways: Paths) -> Counter[tuple[str, str, str]]:
    return Counter(
        (name, load.from_unit, load.to_unit) for load in loads(ways) for name in load.streams
    )


@pytest.mark.parametrize("number", range(40))
def test_each_run_carries_exactly_what_uses_it(number: int, seed: int) -> None:
    rng = random.Random(f"loads-{seed}-{number}")
    # Runs side by side would hide behind one another's names.
    fabric = single(random_fabric.fabric(rng, rng.randint(2, 8), 8, extra=rng.randint(0, 6)))
    dead = [run.name for run in fabric.runs if rng.random() < 0.08]
    fabric = fabric.without(runs=dead)
    flows = random_fabric.flows(rng, fabric, 20)
    tree = spanning_tree(fabric)
    part = [i for i, root in enumerate(tree.root) if root == tree.root[0]]
    flows = tuple(f for f in flows if f.sender in part or not f.multicast)
    ways = paths(tree, flows)
    assert by_run(ways) == by_receiver(tree, flows)
    rates = {flow.name: flow.rate_bps for flow in flows}
    for load in loads(ways):
        assert load.streams_bps == sum(rates[name] for name in load.streams)
    assert {load.way: load.streams_bps for load in loads(ways) if load.streams} == rates_bps(ways)


def single(fabric: Fabric) -> Fabric:
    """Leave out runs beside another between the same two nodes."""
    seen: dict[frozenset[int], FabricRun] = {}
    for run in fabric.runs:
        seen.setdefault(frozenset(run.ends), run)
    return replace(fabric, runs=tuple(seen.values()))


@pytest.mark.parametrize("number", range(10))
def test_a_receivers_own_run_carries_what_it_asked_for_and_no_more(number: int, seed: int) -> None:
    rng = random.Random(f"own-{seed}-{number}")
    fabric = random_fabric.fabric(rng, 5, 8, extra=3)
    flows = random_fabric.flows(rng, fabric, 20)
    asked: dict[str, list[str]] = {n.name: [] for n in fabric.nodes if not n.bridge}
    for flow in flows:
        for receiver in flow.receivers:
            asked[fabric.nodes[receiver].name].append(flow.name)
    got = {load.to_unit: list(load.streams) for load in loads(paths(spanning_tree(fabric), flows))}
    assert {name: got[name] for name in asked} == asked


@pytest.mark.parametrize("number", [0, 1])
def test_conservation_on_an_arena(number: int) -> None:
    case = arena()
    fabric, flows = case.fabrics[number], case.flows[number]
    tree = spanning_tree(fabric)
    ways = paths(tree, flows)
    told = loads(ways)
    # By receiver, with a general-purpose library, and by run.
    assert rates_bps(ways) == plain_rates(fabric, flows)
    # What goes into every switch comes out of it, or ends there because it asks; and every
    # receiver's own run brings what it asked for.
    asked = Counter(r for flow in flows for r in flow.receivers)
    come = Counter(fabric.head[load.way] for load in told for _ in load.streams)
    assert {i: come[i] for i in asked} == dict(asked)
    for node in (i for i, each in enumerate(fabric.nodes) if each.bridge):
        into = {n for load in told if fabric.head[load.way] == node for n in load.streams}
        out = {n for load in told if fabric.tail(load.way) == node for n in load.streams}
        ends = {f.name for f in flows if f.multicast} if node in fabric.queriers[:1] else set()
        assert out <= into
        assert into - out <= ends
    # Whatever runs carry in all is what streams take, way by way.
    carried = sum(load.streams_bps for load in told)
    steps = zip(flows, ways.steps, strict=True)
    assert carried == sum(flow.rate_bps * len(taken) for flow, taken in steps)


def ring(*, snoops: tuple[bool, bool, bool] = (True, True, True), querier: bool = True) -> Fabric:
    """Give three switches in a ring, each with a unit; sw-0 is root, the run 1-2 is blocked."""
    switches = [
        Node(
            name=f"sw-{i}",
            bridge=True,
            elects=True,
            snoops=snoops[i],
            mac=i,
            priority=4096 if i == 0 else 32768,
        )
        for i in range(3)
    ]
    pairs = [(0, 1), (1, 2), (2, 0), (0, 3), (1, 4), (2, 5)]
    runs = tuple(
        FabricRun(name=f"{a}-{b}", ends=(a, b), ports=(n + 1, n + 1), speed_mbit=1000)
        for n, (a, b) in enumerate(pairs)
    )
    nodes = (*switches, Node(name="u-0"), Node(name="u-1"), Node(name="u-2"))
    return Fabric(net="a", nodes=nodes, runs=runs, queriers=(0,) if querier else ())


def stream(sender: int, *receivers: int, multicast: bool = True) -> Flow:
    return Flow(
        name="s/1",
        sender=sender,
        receivers=receivers,
        multicast=multicast,
        packet_bits=9872,
        packet_ns=1_000_000,
        rate_bps=9_872_000,
    )


def ways_of(fabric: Fabric, flow: Flow, *, snooping: bool = True) -> list[str]:
    ways = paths(spanning_tree(fabric), [flow], snooping=snooping)
    return [f"{load.from_unit} {load.to_unit}" for load in loads(ways) if load.streams]


def test_multicast_goes_to_members_and_towards_the_querier() -> None:
    # From u-1 to nobody but its neighbour's switch: sw-0 asks, so sw-0 gets it too.
    assert ways_of(ring(), stream(4, 4)) == ["sw-1 sw-0", "u-1 sw-1"]
    assert ways_of(ring(), stream(4, 5)) == ["sw-1 sw-0", "sw-0 sw-2", "u-1 sw-1", "sw-2 u-2"]


def test_unicast_goes_to_its_receiver_only() -> None:
    wanted = ["sw-0 sw-1", "u-0 sw-0", "sw-1 u-1"]
    assert ways_of(ring(), stream(3, 4, multicast=False)) == wanted


EVERYWHERE = ["sw-0 sw-1", "sw-1 sw-2", "sw-0 sw-2", "u-0 sw-0", "sw-1 u-1", "sw-2 u-2"]


def test_without_snooping_every_stream_is_everywhere_and_in_the_blocked_run() -> None:
    assert spanning_tree(ring()).blocked_runs == ("1-2",)
    assert ways_of(ring(), stream(3, 4), snooping=False) == EVERYWHERE


def test_without_a_querier_snooping_is_as_none() -> None:
    assert ways_of(ring(querier=False), stream(3, 4)) == EVERYWHERE


def test_the_second_querier_takes_over_when_the_first_is_dead() -> None:
    fabric = replace(ring(), queriers=(1, 2))
    assert ways_of(fabric, stream(3, 3)) == ["sw-0 sw-1", "u-0 sw-0"]
    assert ways_of(fabric.without(units=["sw-1"]), stream(3, 3)) == ["sw-0 sw-2", "u-0 sw-0"]


def test_one_switch_that_does_not_snoop_floods_its_own_ports_only() -> None:
    # sw-1 gives the stream to u-1, which did not ask, and into the blocked run; sw-2 sees nothing
    # of it but that.
    fabric = replace(ring(snoops=(True, False, True)), queriers=(1,))
    assert ways_of(fabric, stream(3, 3)) == ["sw-0 sw-1", "sw-1 sw-2", "u-0 sw-0", "sw-1 u-1"]


def test_flooded_frames_still_stop_at_a_snooping_switch() -> None:
    fabric = ring(snoops=(False, True, True))
    assert ways_of(fabric, stream(3, 3)) == ["sw-0 sw-1", "sw-0 sw-2", "u-0 sw-0"]


def test_declared_traffic_stands_on_every_run_between_switches_that_the_tree_uses() -> None:
    ways = paths(spanning_tree(ring()), [stream(3, 4)])
    other = {load.way: load.other_bps for load in loads(ways, other_mbit=120)}
    assert {way for way, bps in other.items() if bps} == {0, 1, 4, 5}
    assert set(other.values()) == {0, 120_000_000}


def test_groups_a_switch_must_remember() -> None:
    ways = paths(spanning_tree(ring()), [stream(3, 4), stream(4, 3, multicast=False)])
    assert groups_by_switch(ways) == {"sw-0": 1, "sw-1": 1, "sw-2": 0}
