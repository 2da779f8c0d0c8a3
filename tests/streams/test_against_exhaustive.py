"""Against every packing there is, one by one, on small needs drawn from seeds."""

from __future__ import annotations

from lineproof.decide.streams.pack import pack
from tests.streams.served import wrong
from tests.streams.small_needs import best, draw


def test_no_packing_is_better_and_every_bound_holds(seed: int) -> None:
    worse, false_bounds, broken = [], [], []
    for number in range(200):
        needs = draw(1000 * (seed - 1) + number)
        packing, (over, cost) = pack(needs), best(needs)
        if (packing.over, packing.cost) != (over, cost):
            worse.append((number, packing.over, packing.cost, over, cost))
        if packing.least_over > over or (packing.over == over and packing.bound > cost):
            false_bounds.append(number)
        broken += wrong(needs, packing.streams)
    assert (worse, false_bounds, broken) == ([], [], [])


def test_a_good_packing_comes_fast_and_says_that_it_may_not_be_the_best() -> None:
    for number in range(200):
        needs = draw(number)
        packing, reached = pack(needs, thorough=False), best(needs)
        assert (packing.over, packing.cost) >= reached
        assert packing.bound <= reached[1]
        assert wrong(needs, packing.streams) == []
