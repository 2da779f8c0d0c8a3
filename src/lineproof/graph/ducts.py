"""How a cable can lie: the ways along ducts between any two places."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.show.model import Place, Show

#: Between places no farther apart a cable is laid loose where no duct leads (practice).
LOOSE_M = 10.0
#: How much longer a loose cable is than the straight line (practice).
DETOUR = 1.2


def ways_along_ducts(show: Show, start: str) -> Mapping[str, float]:
    """Give the metres along ducts from `start` to every place that ducts join to it.

    >>> from lineproof.show.model import Duct, Place, Show
    >>> from lineproof.kit.load import load_kit
    >>> ducts = [
    ...     Duct(name="d", between=("a", "b"), length_m=5),
    ...     Duct(name="e", between=("b", "c"), length_m=7),
    ... ]
    >>> show = Show(title="", rate_hz=48000, kit=load_kit(), ducts={d.name: d for d in ducts})
    >>> ways_along_ducts(show, "a")
    {'a': 0.0, 'b': 5.0, 'c': 12.0}
    """
    joined: dict[str, list[tuple[float, str]]] = {}
    for duct in show.ducts.values():
        a, b = duct.between
        joined.setdefault(a, []).append((duct.length_m, b))
        joined.setdefault(b, []).append((duct.length_m, a))
    done: dict[str, float] = {}
    ahead = [(0.0, start)]
    while ahead:
        metres, place = heapq.heappop(ahead)
        if place in done:
            continue
        done[place] = metres
        for length, other in joined.get(place, []):
            if other not in done:
                heapq.heappush(ahead, (metres + length, other))
    return done


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way of a cable: its ducts in order, its metres, and how many of them lie loose.

    Lengths are whole millimetres, without what the ends need.
    """

    ducts: tuple[str, ...] = ()
    length_mm: int = 0
    loose_mm: int = 0

    def turned(self) -> Way:
        """Give the same way from its other end."""
        return Way(ducts=self.ducts[::-1], length_mm=self.length_mm, loose_mm=self.loose_mm)


@dataclass(frozen=True)
class _Step:
    """A duct, or a few loose metres, from one place to the next."""

    to: str
    length_mm: int
    duct: str


@dataclass(frozen=True, kw_only=True)
class Neighbours:
    """Two places with none other of those asked for between them, and how far apart they are."""

    length_mm: int
    places: tuple[str, str]


#: Ways kept between two places, the shortest first.
MOST_WAYS = 12


class DuctWays:
    """The ways of one show, each looked for once.

    A way may go a few loose metres, once, and only where no ducts join the two places: a place
    without a duct can't be reached but from within 10 m.
    """

    def __init__(self, show: Show) -> None:
        self.show = show
        self._steps = _steps(show)
        self._ways: dict[tuple[str, str, int | None, int], tuple[Way, ...]] = {}

    def shortest(
        self, start: str, end: str, avoid: Iterable[str] = (), *, most_mm: int | None = None
    ) -> Way | None:
        """Give the shortest way that keeps out of the ducts to avoid, None where there is none.

        `most_mm`: a longer way is none.
        """
        barred = frozenset(avoid)
        done: set[tuple[str, bool]] = set()
        # The ducts themselves settle ties, so that the order of rows changes nothing.
        ahead: list[tuple[int, tuple[str, ...], str, int]] = [(0, (), start, 0)]
        while ahead:
            length, ducts, place, loose = heapq.heappop(ahead)
            if place == end:
                return Way(ducts=ducts, length_mm=length, loose_mm=loose)
            if (place, loose > 0) in done:
                continue
            done.add((place, loose > 0))
            for step in self._steps.get(place, ()):
                if step.duct in barred or (not step.duct and loose):
                    continue
                total = length + step.length_mm
                if (most_mm is None or total <= most_mm) and (step.to, loose > 0) not in done:
                    more = (*ducts, step.duct) if step.duct else ducts
                    heapq.heappush(
                        ahead, (total, more, step.to, loose if step.duct else step.length_mm)
                    )
        return None

    def between(
        self, start: str, end: str, *, most_mm: int | None = None, depth: int = 2
    ) -> tuple[Way, ...]:
        """Give the shortest way and others that keep out of some of its ducts, by length.

        Past each duct of the shortest, and again of what is then found, `depth` times over:
        enough for two ways with no duct in common, unless more than two bar one another.
        """
        if natural(end) < natural(start):
            there = self.between(end, start, most_mm=most_mm, depth=depth)
            return tuple(way.turned() for way in there)
        key = (start, end, most_mm, depth)
        if key not in self._ways:
            self._ways[key] = self._search(start, end, most_mm, depth)
        return self._ways[key]

    def neighbours(self, places: Iterable[str], avoid: Iterable[str] = ()) -> list[Neighbours]:
        """Give the pairs of these places with none other between them, the nearest pair first.

        The shortest net of ways over all the places is among them (Mehlhorn 1988, from memory).
        """
        barred = frozenset(avoid)
        near: dict[str, tuple[int, str]] = {}
        ahead = [(0, place, place) for place in places]
        heapq.heapify(ahead)
        while ahead:
            length, owner, place = heapq.heappop(ahead)
            if place in near:
                continue
            near[place] = (length, owner)
            for step in self._steps.get(place, ()):
                if step.duct not in barred and step.to not in near:
                    heapq.heappush(ahead, (length + step.length_mm, owner, step.to))
        best: dict[tuple[str, str], int] = {}
        for place, (length, owner) in near.items():
            for step in self._steps.get(place, ()):
                other_length, other = near.get(step.to, (0, owner))
                if step.duct not in barred and owner < other:
                    total = length + step.length_mm + other_length
                    best[owner, other] = min(total, best.get((owner, other), total))
        found = (Neighbours(length_mm=mm, places=pair) for pair, mm in best.items())
        return sorted(found, key=lambda n: (n.length_mm, n.places))

    def _search(self, start: str, end: str, most_mm: int | None, depth: int) -> tuple[Way, ...]:
        found: dict[tuple[str, ...], Way] = {}
        ahead: list[frozenset[str]] = [frozenset()]
        for _ in range(depth + 1):
            after: dict[frozenset[str], None] = {}
            for avoid in ahead:
                way = self.shortest(start, end, avoid, most_mm=most_mm)
                if way is not None:
                    found.setdefault(way.ducts, way)
                    after.update(dict.fromkeys(avoid | {duct} for duct in way.ducts))
            ahead = list(after)
        return tuple(sorted(found.values(), key=lambda w: (w.length_mm, w.ducts))[:MOST_WAYS])


def _steps(show: Show) -> dict[str, list[_Step]]:
    """Give the steps from every place: ducts, and loose metres to where no ducts lead."""
    steps: dict[str, list[_Step]] = {}
    for duct in show.ducts.values():
        a, b = duct.between
        length = round(duct.length_m * 1000)
        steps.setdefault(a, []).append(_Step(b, length, duct.name))
        steps.setdefault(b, []).append(_Step(a, length, duct.name))
    area = _areas(show, steps)
    for one in show.places.values():
        for other in show.places.values():
            straight = _straight_m(one, other)
            if area[one.name] != area[other.name] and straight is not None and straight <= LOOSE_M:
                length = max(1, math.ceil(straight * DETOUR * 1000))
                steps.setdefault(one.name, []).append(_Step(other.name, length, ""))
    return steps


def _areas(show: Show, steps: Mapping[str, list[_Step]]) -> dict[str, int]:
    """Give a number to every place, the same for those that ducts join."""
    area: dict[str, int] = {}
    for number, start in enumerate(show.places):
        ahead = [start]
        while ahead:
            place = ahead.pop()
            if place not in area:
                area[place] = number
                ahead += [step.to for step in steps.get(place, ())]
    return area


def _straight_m(one: Place, other: Place) -> float | None:
    if one.at_m is None or other.at_m is None:
        return None
    return math.dist(one.at_m, other.at_m)
