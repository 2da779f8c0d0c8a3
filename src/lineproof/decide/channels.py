"""Numbers within one unit: receive channels, strips, sends and own sockets."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Request:
    """One thing that needs a number in a unit.

    In order of precedence: `pinned` by hand, `kept` from before, `implied` by a box's number,
    `wishes` (its lines' own numbers, the first that is free). `pair` names the request that
    wants the even neighbour of this one. `acts`: when it is needed.
    """

    ident: str
    pinned: int | None = None
    kept: int | None = None
    implied: int | None = None
    wishes: tuple[int, ...] = ()
    pair: str | None = None
    acts: frozenset[str] = frozenset({""})


class NoNumber(Exception):
    """A unit has fewer numbers than requests; the model before should have seen it."""


def always(_: frozenset[str], __: frozenset[str]) -> bool:
    """Say that any two requests clash, whatever their acts: channels are kept all night."""
    return True


@dataclass(frozen=True, kw_only=True)
class Numbers:
    """The numbers of one side of a unit, from 1 to `count`.

    `held` are nobody's to give; `claimed` ones (a numbered box may want them later) and `freed`
    ones (kept for a line that went) are given, in this order, only when nothing else is left.
    `clash` says whether requests of two sets of acts can't have the same number.
    """

    count: int
    held: Collection[int] = ()
    freed: Collection[int] = ()
    claimed: Collection[int] = ()
    clash: Callable[[frozenset[str], frozenset[str]], bool] = always
    _taken: dict[int, list[Request]] = field(default_factory=dict)

    def free(self, number: int, *requests: Request) -> bool:
        """Say whether all the requests could have the number."""
        if not 1 <= number <= self.count or number in self.held:
            return False
        others = self._taken.get(number, [])
        return not any(self.clash(r.acts, o.acts) for r in requests for o in others)

    @property
    def in_use(self) -> set[int]:
        """Give the numbers that somebody has, in whichever act."""
        return set(self._taken)

    def take(self, number: int, request: Request) -> int:
        """Give the number to the request."""
        self._taken.setdefault(number, []).append(request)
        return number


def give_numbers(requests: list[Request], numbers: Numbers) -> dict[str, int]:
    """Give every request a number; no two that clash the same one.

    `requests` stand in list order. Pins come first, then what was kept, what a box's number
    implies, a line's own number; then pairs on odd and even neighbours, and the rest in order.
    Raises NoNumber when there are too few.

    >>> asked = [Request(ident="a", wishes=(3,)), Request(ident="b"), Request(ident="c", pinned=1)]
    >>> give_numbers(asked, Numbers(count=4))
    {'c': 1, 'a': 3, 'b': 2}
    """
    given: dict[str, int] = {}
    for ask in _PRECEDENCE:
        for request in requests:
            _give_first(request, ask(request, numbers), given, numbers)
    _give_rest([r for r in requests if r.ident not in given], given, numbers)
    return given


def _unkept(asked: tuple[int | None, ...], numbers: Numbers) -> tuple[int | None, ...]:
    return tuple(n for n in asked if n not in numbers.freed)


#: What a request asks for, the strongest claim first.
_PRECEDENCE: tuple[Callable[[Request, Numbers], tuple[int | None, ...]], ...] = (
    lambda request, _: (request.pinned,),
    lambda request, _: (request.kept,),
    lambda request, numbers: _unkept((request.implied,), numbers),
    lambda request, numbers: _unkept(request.wishes, numbers),
)


def _give_first(
    request: Request, asked: tuple[int | None, ...], given: dict[str, int], numbers: Numbers
) -> None:
    """Give the request the first of the numbers asked for that is free, if it has none yet."""
    if request.ident not in given:
        free = (n for n in asked if n is not None and numbers.free(n, request))
        number = next(free, None)
        if number is not None:
            given[request.ident] = numbers.take(number, request)


def _give_rest(rest: list[Request], given: dict[str, int], numbers: Numbers) -> None:
    by_ident = {r.ident: r for r in rest}
    for request in rest:
        if request.ident in given:
            continue
        tiers = _tiers(numbers)
        mate = by_ident.get(request.pair or "")
        if mate is not None and mate.ident not in given:
            odd = _first(tiers, lambda shut, r=request, m=mate: _neighbours(numbers, shut, r, m))  # type: ignore[misc]
            if odd is not None:
                given[request.ident] = numbers.take(odd, request)
                given[mate.ident] = numbers.take(odd + 1, mate)
                continue
        number = _first(tiers, lambda shut, r=request: _lowest(numbers, shut, r))  # type: ignore[misc]
        if number is None:
            raise NoNumber(request.ident)
        given[request.ident] = numbers.take(number, request)


def _tiers(numbers: Numbers) -> tuple[frozenset[int], ...]:
    """Give what is left alone, with fewer scruples from one to the next.

    A number that another act uses would have to be turned over: one that nobody has comes first.
    """
    kept = ({*numbers.freed, *numbers.claimed}, {*numbers.freed}, set[int]())
    return tuple(frozenset(k | more) for k in kept for more in (numbers.in_use, set[int]()))


def _first(
    tiers: tuple[frozenset[int], ...], find: Callable[[frozenset[int]], T | None]
) -> T | None:
    """Give what `find` finds with the most scruples: each tier shuts fewer numbers."""
    return next((found for tier in tiers if (found := find(tier)) is not None), None)


def _neighbours(
    numbers: Numbers, shut: frozenset[int], left: Request, right: Request
) -> int | None:
    for odd in range(1, numbers.count, 2):
        both = numbers.free(odd, left) and numbers.free(odd + 1, right)
        if both and shut.isdisjoint((odd, odd + 1)):
            return odd
    return None


def _lowest(numbers: Numbers, shut: frozenset[int], request: Request) -> int | None:
    open_numbers = (n for n in range(1, numbers.count + 1) if n not in shut)
    return next((n for n in open_numbers if numbers.free(n, request)), None)
