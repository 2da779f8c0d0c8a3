"""Knots of a net, against the blocks that networkx finds; pairs that cut a ring twice."""

from __future__ import annotations

import itertools
import random

import networkx as nx  # type: ignore[import-untyped]

from lineproof.drill.pairs import all_pairs
from lineproof.drill.parting import knots
from lineproof.drill.sweep import swept
from lineproof.graph.faults import Fault
from tests.drill.shows import ready
from tests.drill.test_laws import CHAINED


def by_networkx(count: int, runs: list[tuple[int, int]]) -> set[frozenset[int]]:
    """Give the runs block by block; each has a node in its middle, as blocks know no doubles."""
    graph = nx.Graph()
    graph.add_nodes_from(range(count))
    for at, (one, other) in enumerate(runs):
        graph.add_edge(one, ("middle", at))
        graph.add_edge(("middle", at), other)
    blocks = []
    for edges in nx.biconnected_component_edges(graph):
        middles = {end[1] for edge in edges for end in edge if isinstance(end, tuple)}
        blocks.append(frozenset(middles))
    return set(blocks)


def test_knots_are_the_blocks_of_the_net(seed: int) -> None:
    rng = random.Random(f"knots-{seed}")
    rings = 0
    for _ in range(300):
        count = rng.randint(2, 12)
        pairs = list(itertools.permutations(range(count), 2))
        runs = [rng.choice(pairs) for _ in range(rng.randint(1, 16))]
        of_run = knots(count, runs)
        found = {
            frozenset(run for run, knot in enumerate(of_run) if knot == each)
            for each in set(of_run)
        }
        assert found == by_networkx(count, runs), runs
        rings += sum(len(knot) > 1 for knot in found)
    assert rings > 200


def test_two_runs_of_a_ring_part_it_and_one_of_a_spur_does_so_alone() -> None:
    fast = swept(ready(CHAINED))
    found = all_pairs(fast)
    at = {fault: n for n, members in enumerate(fast.classes.members) for fault in members}
    ring = [at[Fault(what="run", name=name)] for name in ("t-1", "t-2", "t-3")]
    assert not any(found.single[run] for run in ring)
    assert all(found.lost(one, other) for one, other in itertools.combinations(ring, 2))
    assert found.single[at[Fault(what="run", name="spur")]]
