"""Cables of the show's stock given to runs: as many as can be, with least left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lineproof.base.names import natural
from lineproof.decide.cabling.ground import COPPER
from lineproof.decide.cabling.reach import copper_reach_m
from lineproof.plan.network import PlannedRun
from lineproof.show.model import Show, Stock


def from_stock(show: Show, runs: Sequence[PlannedRun]) -> tuple[PlannedRun, ...]:
    """Give the runs with the cables they take; one that had a long enough cable keeps it.

    The longest run takes the shortest cable that is long enough, and so on down: as many runs get
    one as can, and least is left over (a cable that fits a long run fits any shorter one, so
    whoever took another could change with this one).
    """
    left = {name: stock.count for name, stock in show.stock.items()}
    taken: dict[str, str] = {}
    for run in runs:
        stock = show.stock.get(run.stock)
        if stock is not None and left[stock.name] and _fits(show, run, stock):
            left[stock.name] -= 1
            taken[run.name] = stock.name
    by_length = sorted(show.stock.values(), key=lambda s: (s.length_m, natural(s.name)))
    for run in sorted(runs, key=lambda r: (-r.length_m, natural(r.name))):
        if run.name not in taken:
            fits = (s for s in by_length if left[s.name] and _fits(show, run, s))
            stock = next(fits, None)
            if stock is not None:
                left[stock.name] -= 1
                taken[run.name] = stock.name
    return tuple(replace(run, stock=taken.get(run.name, "")) for run in runs)


def _fits(show: Show, run: PlannedRun, stock: Stock) -> bool:
    too_long = run.medium == COPPER and stock.length_m > copper_reach_m(show, run.ducts)
    return stock.cable == run.medium and stock.length_m >= run.length_m and not too_long
