"""Knots of a net, against the blocks that networkx finds; pairs that cut a ring twice."""

from __future__ import annotations

import itertools
import random

import networkx as nx  # type: ignore[import-untyped]

from lineproof.drill.calm import calm
from lineproof.drill.pairs import all_pairs
from lineproof.drill.parting import knots
from lineproof.drill.planes import places_of
from lineproof.drill.sweep import Sight, swept
from lineproof.graph.faults import Fault
from tests.drill.shows import ready, text_planned
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


def meshed(rng: random.Random) -> str:
    """Give a show whose switches are joined at random: rings, spurs, double runs; ducts shared."""
    count = rng.randint(4, 6)
    places = [f"room-{n}" for n in range(count)]
    free = {n: list(range(8, 2, -1)) for n in range(count)}
    ducts = {f"duct-{n}": rng.sample(places, 2) for n in range(6)}
    joins = [(n, rng.randrange(n)) for n in range(1, count)]
    crossings = list(itertools.permutations(range(count), 2))
    joins += [rng.choice(crossings) for _ in range(rng.randint(1, 4))]
    rows = ["title: Cobweb", "rate: 48 kHz", "places:"]
    rows += [f"  {name}: {{at: [{n * 4}, 0, 0]}}" for n, name in enumerate(places)]
    rows.append("ducts:")
    rows += [f"  {d}: {{between: [{a}, {b}], length: 9 m}}" for d, (a, b) in ducts.items()]
    rows.append("circuits: {left: {supply: 230 V}, right: {supply: 230 V}}")
    rows.append("units:")
    for n, place in enumerate(places):
        circuit = rng.choice(("left", "right", "[left, right]"))
        rows.append(f"  sw-{n}: {{kind: switch-8, place: {place}, circuit: {circuit}}}")
    for n, kind in enumerate(("box-16-8", "mixer-16", "computer-32")):
        rows.append(f"  unit-{n}: {{kind: {kind}, place: {rng.choice(places)}}}")
    rows.append("runs:")
    for n, (one, other) in enumerate(joins):
        ends = f"from: 'sw-{one}:{free[one].pop()}', to: 'sw-{other}:{free[other].pop()}'"
        rows.append(f"  t-{n}: {{{ends}}}")
    rows += ["lines:", "  - {number: 1, name: Reed, from: unit-0, source: dynamic mic, to: unit-1}"]
    rows += ["  - {number: 2, name: Mix, from: unit-1, source: main mix, to: unit-2}"]
    return "\n".join(rows) + "\n"


def test_pairs_that_part_nets_joined_at_random_are_those_of_trying_all(seed: int) -> None:
    rng = random.Random(f"cobweb-{seed}")
    together = 0
    for _ in range(12):
        fast = swept(calm(*text_planned(meshed(rng))))
        found = all_pairs(fast)
        pairs = list(itertools.combinations(range(len(fast.classes)), 2))
        lost: list[set[int]] = [set() for _ in pairs]
        for at, stands in enumerate(Sight(swept=fast, planes=fast.cases(pairs)).shapes):
            for case in places_of(stands[4]):
                lost[case].add(at)
        assert [found.lost(*pair) for pair in pairs] == [frozenset(each) for each in lost]
        together += len(found.together)
    assert together > 0
