"""The spanning tree against worked cases and against a general-purpose library.

The seven cases and the costs: facts, section 3, after IEEE 802.1D-2004 17 (from memory there).
"""

from __future__ import annotations

import csv
import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import networkx as nx
import pytest

from lineproof.graph.net import Fabric, FabricRun, Node, mac_number
from lineproof.plan.network import PortAt
from lineproof.reckon.tree import Role, port_cost, spanning_tree
from lineproof.reckon.tree_doubts import ordered_by_name, trusted_on_loops
from tests.net.random_fabric import fabric as random_fabric

HERE = Path(__file__).parent
CASES = json.loads((HERE / "03_spanning_tree_examples.json").read_text("utf-8"))


def of_case(case: dict[str, Any]) -> Fabric:
    names = [switch["name"] for switch in case["switches"]]
    nodes = tuple(
        Node(
            name=switch["name"],
            bridge=True,
            elects=True,
            priority=switch["priority"],
            mac=mac_number(switch["mac"]),
        )
        for switch in case["switches"]
    )
    runs = tuple(
        FabricRun(
            name=link["id"],
            ends=(names.index(link["a"]), names.index(link["b"])),
            ports=(link["a_port"], link["b_port"]),
            port_priorities=(link.get("a_port_priority", 128), link.get("b_port_priority", 128)),
            speed_mbit=link["mbit"],
        )
        for link in case["links"]
    )
    return Fabric(net="a", nodes=nodes, runs=runs)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_worked_cases(case: dict[str, Any]) -> None:
    fabric = of_case(case)
    tree = spanning_tree(fabric)
    names = [node.name for node in fabric.nodes]
    expected = case["expected"]
    assert tree.roots == (expected["root"],)
    assert dict(zip(names, tree.cost, strict=True)) == expected["root_path_cost"]
    ports = {
        (names[fabric.tail(way)], fabric.port(way), fabric.runs[way >> 1].name): (
            role.value,
            "discarding" if role.discards else "forwarding",
        )
        for way, role in tree.roles.items()
    }
    assert ports == {
        (p["switch"], p["port"], p["link"]): (p["role"], p["state"]) for p in expected["ports"]
    }
    assert list(tree.discarding) == expected["blocked"]


def test_the_ring_after_a_cut_is_the_second_case() -> None:
    whole, cut = of_case(CASES[0]), of_case(CASES[1])
    assert spanning_tree(whole.without(runs=["BC"])).cost == spanning_tree(cut).cost
    by_port = whole.without(ports=[PortAt(unit="B", number=1)])
    assert spanning_tree(by_port).discarding == ()


def test_costs_by_speed() -> None:
    with (HERE / "03_path_cost.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 12
    for row in rows:
        assert port_cost(int(row["mbit_per_s"])) == int(row["long_32_bit"])


@pytest.mark.parametrize("number", range(60))
def test_random_fabrics_against_shortest_paths(number: int, seed: int) -> None:
    rng = random.Random(f"{seed}-{number}")
    fabric = random_fabric(
        rng, rng.randint(2, 14), 3, extra=rng.randint(0, 12), speeds=(100, 1000, 10000)
    )
    dead = [f"run-{r}" for r in range(len(fabric.runs)) if rng.random() < 0.1]
    fabric = fabric.without(runs=dead)
    tree = spanning_tree(fabric)
    bridges = {i for i, node in enumerate(fabric.nodes) if node.bridge}
    graph = nx.MultiGraph()
    graph.add_nodes_from(bridges)
    for r, run in enumerate(fabric.runs):
        if fabric.alive(r) and bridges.issuperset(run.ends):
            graph.add_edge(*run.ends, key=r, weight=20_000_000 // run.speed_mbit)
    carried = set()
    for part in nx.connected_components(graph):
        root = min(part, key=lambda i: (fabric.nodes[i].priority, fabric.nodes[i].mac))
        cost = nx.shortest_path_length(graph, root, weight="weight")
        assert {i: tree.cost[i] for i in part} == cost
        used = {r for r in tree.tree_runs if set(fabric.runs[r].ends) <= part}
        assert len(used) == len(part) - 1
        spanned = nx.Graph([fabric.runs[r].ends for r in used])
        spanned.add_node(root)
        assert set(spanned) == part
        assert nx.is_connected(spanned)
        carried |= used
    assert tree.blocked == {key for _, _, key in graph.edges(keys=True)} - carried
    assert tree.loops == ()
    # Each run has one designated end, and no port beside a root port leads up.
    for r in tree.blocked:
        roles = [tree.roles[2 * r], tree.roles[2 * r + 1]]
        assert roles.count(Role.DESIGNATED) == 1


def ring(*, mac: bool, plain: int = 0) -> Fabric:
    """Give a ring of four; the last `plain` take no part in the election."""
    nodes = tuple(
        Node(
            name=f"sw-{i}",
            bridge=True,
            elects=i < 4 - plain,
            mac=i if mac else None,
            priority=4096 if i == 0 else 32768,
        )
        for i in range(4)
    )
    runs = tuple(
        FabricRun(name=f"r-{i}", ends=(i, (i + 1) % 4), ports=(1, 2), speed_mbit=1000)
        for i in range(4)
    )
    return Fabric(net="a", nodes=nodes, runs=runs)


def test_without_hardware_addresses_the_names_decide_and_it_is_said() -> None:
    fabric = ring(mac=False)
    assert ordered_by_name(fabric) == ("sw-1", "sw-3")
    assert spanning_tree(fabric).discarding == ("sw-2:1",)
    assert ordered_by_name(ring(mac=True)) == ()


def test_nothing_is_guessed_where_costs_decide() -> None:
    fabric = ring(mac=False).without(runs=["r-2"])
    assert ordered_by_name(fabric) == ()


def test_a_switch_that_cannot_be_set_up_is_part_of_a_segment() -> None:
    fabric = ring(mac=True, plain=1)
    tree = spanning_tree(fabric)
    # sw-3 joins sw-2 and sw-0 as one cable would: a triangle, and sw-1 beats sw-2 on r-1.
    assert tree.loops == ()
    assert tree.discarding == ("sw-2:2",)
    assert tree.cost == (0, 20_000, 20_000, -1)


def test_who_must_pass_the_messages_on_is_told_only_where_there_is_a_loop() -> None:
    fabric = ring(mac=True, plain=1)
    assert trusted_on_loops(fabric) == ("sw-3",)
    assert trusted_on_loops(fabric.without(runs=["r-0"])) == ()
    assert trusted_on_loops(ring(mac=True)) == ()


def test_a_loop_among_switches_without_a_spanning_tree_is_told() -> None:
    tree = spanning_tree(ring(mac=True, plain=4))
    assert len(tree.loops) == 1
    assert tree.roots == ()


def test_each_half_of_a_parted_net_elects_its_own_root() -> None:
    fabric = ring(mac=True).without(runs=["r-0", "r-2"])
    tree = spanning_tree(fabric)
    assert tree.roots == ("sw-0", "sw-1")
    assert tree.path(0, 3) == (2 * 3 + 1,)
    assert tree.path(0, 1) is None


def test_a_dead_unit_takes_its_runs_along() -> None:
    tree = spanning_tree(ring(mac=True).without(units=["sw-1"]))
    assert tree.root[1] == -1
    assert tree.blocked == frozenset()


def test_ports_of_equal_cost_go_by_priority_before_number() -> None:
    case = of_case(CASES[5])
    same = replace(case, runs=tuple(replace(r, port_priorities=(128, 128)) for r in case.runs))
    assert spanning_tree(same).discarding == ("B:1",)
