"""How far a tree reaches, against a general-purpose graph library and the standard's limits."""

from __future__ import annotations

import random
from dataclasses import replace

import networkx as nx
import pytest

from lineproof.graph.net import Fabric, FabricRun, Node
from lineproof.graph.net_faults import NetFault
from lineproof.reckon.delay_faults import sweep
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.reckon.tree_reach import MOST_ACROSS, MOST_AGE, across, farthest
from tests.net import random_fabric


def bridges(tree: Tree) -> nx.Graph:
    fabric = tree.fabric
    graph = nx.Graph()
    alive = [i for i, n in enumerate(fabric.nodes) if n.bridge and i not in fabric.dead_nodes]
    graph.add_nodes_from(alive)
    ends = (fabric.runs[r].ends for r in tree.tree_runs)
    graph.add_edges_from(pair for pair in ends if all(fabric.nodes[i].bridge for i in pair))
    return graph


@pytest.mark.parametrize("number", range(40))
def test_reach_is_the_longest_way_in_the_tree(number: int, seed: int) -> None:
    rng = random.Random(f"reach-{seed}-{number}")
    fabric = random_fabric.fabric(rng, rng.randint(1, 14), 6, extra=rng.randint(0, 6))
    fabric = fabric.without(runs=[r.name for r in fabric.runs if rng.random() < 0.1])
    tree = spanning_tree(fabric)
    graph = bridges(tree)
    hops = dict(nx.all_pairs_shortest_path_length(graph))
    roots = [fabric.index[name] for name in tree.roots]
    assert farthest(tree) == max(max(hops[root].values()) for root in roots)
    assert across(tree) == 1 + max(max(each.values()) for each in hops.values())


def chain(count: int) -> Fabric:
    """Give a chain of switches, the root at its end."""
    nodes = tuple(
        Node(name=f"sw-{i}", bridge=True, elects=True, mac=i, priority=32768 if i else 4096)
        for i in range(count)
    )
    runs = tuple(
        FabricRun(name=f"run-{i}", ends=(i, i + 1), ports=(2, 1), speed_mbit=1000)
        for i in range(count - 1)
    )
    return Fabric(net="a", nodes=nodes, runs=runs)


def test_the_standards_figures() -> None:
    # IEEE 802.1D-1998 8.10.2: seven bridges; facts 03: maximum age 20 by default.
    assert (MOST_ACROSS, MOST_AGE) == (7, 20)
    tree = spanning_tree(chain(21))
    assert (farthest(tree), across(tree)) == (20, 21)


def test_a_switch_that_passes_messages_on_as_they_are_makes_them_no_older() -> None:
    plain = chain(6)
    nodes = [replace(node, elects=i != 2) for i, node in enumerate(plain.nodes)]
    tree = spanning_tree(replace(plain, nodes=tuple(nodes)))
    assert (farthest(tree), across(tree)) == (4, 6)


def test_a_ring_reaches_farther_once_it_is_cut() -> None:
    # Ten in a ring: five from the root either way; cut beside the root, nine.
    open_ring = chain(10)
    closing = FabricRun(name="closing", ends=(9, 0), ports=(2, 3), speed_mbit=1000)
    ring = replace(open_ring, runs=(*open_ring.runs, closing))
    cuts = [NetFault(what="run", name=run.name, runs=(run.name,)) for run in ring.runs]
    age = sweep(ring, (), cuts).age
    assert (age.undisturbed, age.worst) == (5, 9)
    assert age.fault in ("run-0", "closing")
