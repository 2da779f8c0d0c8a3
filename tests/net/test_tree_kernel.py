"""The spanning tree against the bridges of the Linux kernel, which elect their own.

They run the classic protocol; who wins is the same in both. Waits for real timers.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lineproof.graph.net import Fabric
from lineproof.reckon.tree import Tree, port_cost, spanning_tree
from tests.net import random_fabric

#: Costs that the kernel takes go up to 65535: 1 Gbit/s and faster.
SPEEDS = (1000, 2500, 10000)


def asked(fabrics: list[Fabric], cuts: list[int]) -> dict[str, Any]:
    bridges, links, cut = [], [], []
    for n, fabric in enumerate(fabrics):
        for i, node in enumerate(fabric.nodes):
            assert node.mac is not None
            mac = f"{(node.mac & 0xFFFFFFFFFF) | 0x020000000000:012x}"
            pairs = ":".join(mac[k : k + 2] for k in range(0, 12, 2))
            bridges.append([f"b{n}-{i}", node.priority, pairs])
        cut.append(len(links) + cuts[n])
        for run in fabric.runs:
            a, b = run.ends
            links.append([f"b{n}-{a}", f"b{n}-{b}", port_cost(run.speed_mbit)])
    return {"bridges": bridges, "links": links, "cut": cut}


def by_kernel(question: dict[str, Any]) -> list[dict[str, Any]]:
    if subprocess.run(["unshare", "-Urn", "true"], capture_output=True, check=False).returncode:
        pytest.skip("network namespaces (not allowed here)")
    script = Path(__file__).parent / "kernel_bridges.py"
    done = subprocess.run(
        ["unshare", "-Urn", sys.executable, script],
        input=json.dumps(question),
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    answer: list[dict[str, Any]] = json.loads(done.stdout)
    return answer


def expected(trees: list[Tree]) -> dict[str, Any]:
    costs, ports, first = {}, {}, 0
    for n, tree in enumerate(trees):
        costs |= {f"b{n}-{i}": cost for i, cost in enumerate(tree.cost)}
        for r in range(len(tree.fabric.runs)):
            for side, end in enumerate("ab"):
                role = tree.roles.get(2 * r + side)
                discards = "blocking" if role is not None and role.discards else "forwarding"
                ports[f"{first + r}{end}"] = "disabled" if role is None else discards
        first += len(tree.fabric.runs)
    return {"costs": costs, "ports": ports}


@pytest.mark.needs("unshare", "util-linux")
@pytest.mark.needs("ip", "iproute2")
def test_the_kernel_elects_the_same_trees_before_and_after_a_cut(seed: int) -> None:
    rng = random.Random(f"kernel-{seed}")
    fabrics = [
        random_fabric.fabric(rng, rng.randint(2, 7), 0, extra=rng.randint(1, 7), speeds=SPEEDS)
        for _ in range(10)
    ]
    trees = [spanning_tree(fabric) for fabric in fabrics]
    # A run of the tree goes, so that the rest must be elected anew.
    cuts = [min(tree.tree_runs) for tree in trees]
    after = [
        spanning_tree(fabric.without(runs=[fabric.runs[cut].name]))
        for fabric, cut in zip(fabrics, cuts, strict=True)
    ]
    assert sum(len(tree.blocked) for tree in trees) >= 10
    found = by_kernel(asked(fabrics, cuts))
    assert found[0] == expected(trees)
    assert found[1] == expected(after)
