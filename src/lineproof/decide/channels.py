"""Numbers within one unit: receive channels, strips, sends and own sockets."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Request:
    """One thing that needs a number in a unit.

    In order of precedence: `pinned` by hand, `kept` from before, `implied` by a box's number,
    `wish` (the line's own number). `pair` names the request that wants the even neighbour of
    this one.
    """

    ident: str
    pinned: int | None = None
    kept: int | None = None
    implied: int | None = None
    wish: int | None = None
    pair: str | None = None


class NoNumber(Exception):
    """A unit has fewer numbers than requests; the model before should have seen it."""


def give_numbers(
    requests: list[Request],
    count: int,
    *,
    held: Collection[int] = (),
    freed: Collection[int] = (),
    claimed: Collection[int] = (),
) -> dict[str, int]:
    """Give a number from 1 to `count` to every request, each number once.

    `requests` stand in list order. `held` numbers are nobody's to give; `claimed` ones (a numbered
    box may want them later) and `freed` ones (kept for a line that went) are given, in this order,
    only when nothing else is left. Pins come first, then what was kept, what a box's number
    implies, a line's own number; then pairs on odd and even neighbours, and the rest in order.
    Raises NoNumber when there are too few.

    >>> asked = [Request(ident="a", wish=3), Request(ident="b"), Request(ident="c", pinned=1)]
    >>> give_numbers(asked, 4)
    {'c': 1, 'a': 3, 'b': 2}
    """
    given: dict[str, int] = {}
    taken = set(held)
    for take in ("pinned", "kept", "implied", "wish"):
        for request in requests:
            number = getattr(request, take)
            if request.ident in given or number is None or not 1 <= number <= count:
                continue
            if number in taken or (take in ("implied", "wish") and number in freed):
                continue
            given[request.ident] = number
            taken.add(number)
    tiers = ({*freed, *claimed}, {*freed}, set[int]())
    _give_rest([r for r in requests if r.ident not in given], given, taken, count, tiers)
    return given


def _give_rest(
    rest: list[Request],
    given: dict[str, int],
    taken: set[int],
    count: int,
    tiers: tuple[set[int], ...],
) -> None:
    open_idents = {r.ident for r in rest}
    for request in rest:
        if request.ident in given:
            continue
        mate = request.pair if request.pair in open_idents and request.pair not in given else None
        numbers = _first(lambda shut: _neighbours(shut, count), taken, tiers) if mate else None
        if mate and numbers:
            given[request.ident], given[mate] = numbers
            taken.update(numbers)
            continue
        number = _first(lambda shut: _lowest(shut, count), taken, tiers)
        if number is None:
            raise NoNumber(request.ident)
        given[request.ident] = number
        taken.add(number)


def _first(
    find: Callable[[set[int]], T | None], taken: set[int], tiers: tuple[set[int], ...]
) -> T | None:
    """Give what `find` finds with the fewest scruples: each tier shuts fewer numbers."""
    return next((found for tier in tiers if (found := find(taken | tier)) is not None), None)


def _neighbours(taken: set[int], count: int) -> tuple[int, int] | None:
    free = (n for n in range(1, count, 2) if n not in taken and n + 1 not in taken)
    first = next(free, None)
    return None if first is None else (first, first + 1)


def _lowest(taken: set[int], count: int) -> int | None:
    return next((n for n in range(1, count + 1) if n not in taken), None)
