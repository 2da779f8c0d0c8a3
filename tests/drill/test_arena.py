"""A generated arena: 2,000 pairs of all that can fail, other ones each time; every single fault."""

from __future__ import annotations

import random
from functools import cache

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.pairs import all_pairs
from lineproof.drill.planes import places_of
from lineproof.drill.sweep import Sight, swept
from lineproof.graph.faults import things
from lineproof.show.generate import generate
from lineproof.show.read import read_files
from tests.drill.three_ways import differences, lost, plainly, told

pytestmark = pytest.mark.soak


@cache
def arena() -> Calm:
    show = read_files(generate("arena", seed=1)).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    return calm(show, plan)


def test_2000_pairs_lose_what_a_graph_library_can_not_reach(seed: int) -> None:
    known = arena()
    rng, listed = random.Random(seed), things(known.show, known.network)
    sets = [tuple(rng.sample(listed, 2)) for _ in range(2_000)]
    assert list(differences(known, sets)) == []
    # Pairs that take nothing would prove nothing; about every other takes something.
    assert sum(bool(lost(plainly(known, faults))) for faults in sets[:50]) > 5


def test_every_single_fault_too() -> None:
    known = arena()
    singles = [(fault,) for fault in things(known.show, known.network)]
    assert list(differences(known, singles)) == []


def test_all_pairs_are_what_the_sweep_says_of_each(seed: int) -> None:
    """Pairs of anything, and pairs that take switches or runs between them, case by case."""
    known = arena()
    fast = swept(known)
    found, rng = all_pairs(fast), random.Random(seed)
    switches = {name for web in fast.webs.values() for name in web.names}
    trunks = {run for web in fast.webs.values() for _, _, run in web.trunks}
    core = [
        at
        for at, members in enumerate(fast.classes.members)
        if any(fault.name in switches | trunks for fault in members)
    ]
    for among in (range(len(fast.classes)), core):
        pairs = [(min(two), max(two)) for two in (rng.sample(among, 2) for _ in range(20_000))]
        lost: list[set[int]] = [set() for _ in pairs]
        for at, stands in enumerate(Sight(swept=fast, planes=fast.cases(pairs)).shapes):
            for case in places_of(stands[4]):
                lost[case].add(at)
        assert [found.lost(*pair) for pair in pairs] == [frozenset(each) for each in lost]


def test_nothing_is_touched_with_nothing_broken() -> None:
    known = arena()
    assert told(plainly(known, ())) == {}
    assert list(differences(known, [()])) == []
