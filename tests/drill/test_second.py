"""The plain method against the second one, fault by fault, pair by pair."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.lose import lose
from lineproof.graph.faults import Fault, things
from lineproof.show.generate import generate
from lineproof.show.read import read_files
from tests.drill.second import Second
from tests.drill.shows import ROOM, ready


def differences(known: Calm, sets: Iterable[tuple[Fault, ...]]) -> Iterator[str]:
    second = Second(known.show, known.plan)
    for faults in sets:
        drilled = lose(known.show, known.plan, faults, ready=known, only_arrival=True)
        ours = {(str(v.line), end) for v in drilled.verdicts for end in v.lost}
        theirs = second.lost(faults)
        if ours != theirs:
            yield f"{drilled.title}: {sorted(ours ^ theirs)[:5]}"


@pytest.mark.parametrize("name", ["small", "hall", ROOM])
def test_every_single_fault_loses_what_a_graph_library_can_not_reach(name: str) -> None:
    known = ready(name)
    singles = [(fault,) for fault in things(known.show, known.network)]
    assert list(differences(known, singles)) == []


def test_every_pair_of_the_small_show_too() -> None:
    known = ready("small")
    pairs = list(itertools.combinations(things(known.show, known.network), 2))
    assert len(pairs) > 1_000
    assert list(differences(known, pairs)) == []


def test_pairs_of_a_room_with_two_nets_too() -> None:
    known = ready(ROOM)
    listed = things(known.show, known.network)
    rng = random.Random(5)
    assert list(differences(known, [tuple(rng.sample(listed, 2)) for _ in range(300)])) == []


@pytest.mark.soak
def test_pairs_of_an_arena_too(seed: int) -> None:
    show = read_files(generate("arena", seed=1)).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    known = calm(show, plan)
    listed = things(show, plan.network)
    rng = random.Random(seed)
    assert list(differences(known, [tuple(rng.sample(listed, 2)) for _ in range(2_000)])) == []
