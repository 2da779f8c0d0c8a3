"""The plain method against the second one, fault by fault, pair by pair; the sweep on the same."""

from __future__ import annotations

import itertools
import random

import pytest

from lineproof.graph.faults import things
from tests.drill.shows import ROOM, ready
from tests.drill.test_laws import CHAINED
from tests.drill.three_ways import differences


@pytest.mark.parametrize("name", ["small", "hall", ROOM, CHAINED])
def test_every_single_fault_loses_what_a_graph_library_can_not_reach(name: str) -> None:
    known = ready(name)
    singles = [(fault,) for fault in things(known.show, known.network)]
    assert list(differences(known, singles)) == []


def test_every_pair_of_the_small_show_too() -> None:
    known = ready("small")
    pairs = list(itertools.combinations(things(known.show, known.network), 2))
    assert len(pairs) > 1_000
    assert list(differences(known, pairs)) == []


@pytest.mark.parametrize("name", [ROOM, CHAINED])
def test_pairs_of_a_room_with_two_nets_and_of_a_ring_too(name: str) -> None:
    known = ready(name)
    listed = things(known.show, known.network)
    rng = random.Random(5)
    assert list(differences(known, [tuple(rng.sample(listed, 2)) for _ in range(300)])) == []
