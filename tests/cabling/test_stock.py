"""Cables of the stock against every way of giving them out."""

import itertools
import random

import pytest

from lineproof.decide.cabling.stock import from_stock
from lineproof.kit.load import load_kit
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.show.model import Show, Stock


def run(name: str, metres: float, medium: str = "copper") -> PlannedRun:
    ends = (PortAt(unit=name, number=1), PortAt(unit="sw", number=1))
    return PlannedRun(name=name, net="a", ends=ends, medium=medium, length_m=metres)


def show(*lengths: int, count: int = 1) -> Show:
    stock = {
        f"c-{n}": Stock(name=f"c-{n}", cable="copper", length_m=metres, count=count)
        for n, metres in enumerate(lengths)
    }
    return Show(title="", rate_hz=48000, kit=load_kit(), stock=stock)


def given_out(own: Show, runs: list[PlannedRun]) -> tuple[int, float]:
    """Give how many runs have a cable, and the metres left over."""
    taken = [(r, own.stock[r.stock]) for r in from_stock(own, runs) if r.stock]
    return len(taken), sum(stock.length_m - r.length_m for r, stock in taken)


def best(lengths: list[int], wanted: list[int]) -> tuple[int, int]:
    """Try every way: most runs with a cable, then least left over."""
    found = (0, 0)
    for size in range(1, min(len(lengths), len(wanted)) + 1):
        for runs in itertools.combinations(wanted, size):
            for cables in itertools.permutations(lengths, size):
                if all(c >= r for c, r in zip(cables, runs, strict=True)):
                    left = sum(cables) - sum(runs)
                    if size > found[0] or left < found[1]:
                        found = (size, left)
    return found


@pytest.mark.parametrize("seed", range(60))
def test_as_many_as_can_be_and_least_left_over(seed: int) -> None:
    chance = random.Random(seed)
    lengths = [chance.randrange(5, 70) for _ in range(chance.randrange(1, 6))]
    wanted = [chance.randrange(5, 60) for _ in range(chance.randrange(1, 5))]
    runs = [run(f"r-{n}", metres) for n, metres in enumerate(wanted)]
    assert given_out(show(*lengths), runs) == best(lengths, wanted)


def test_copper_beyond_its_reach_is_not_taken() -> None:
    """A reel of 80 m is no cable for a port, however short the run."""
    assert given_out(show(80), [run("r", 20)]) == (0, 0)


def test_a_run_keeps_its_cable() -> None:
    own = show(20, 50)
    (before,) = from_stock(show(50), [run("r", 15)])
    kept = PlannedRun(**{**before.__dict__, "stock": "c-1"})
    assert from_stock(own, [kept])[0].stock == "c-1"
    assert from_stock(own, [run("r", 15)])[0].stock == "c-0"


def test_another_sort_of_cable_is_not_taken() -> None:
    assert given_out(show(50), [run("r", 15, "multi-mode")]) == (0, 0)
