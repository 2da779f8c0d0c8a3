"""Which ends rest on which things and legs, looked up once, so that only ends hurt are judged."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from lineproof.drill.bearing import Arrival, Course, Leg, Resting
from lineproof.drill.dead import Dead

#: An end: by place in the plan its line, and its place among the line's ends.
At = tuple[int, int]
#: What legs have in common that always stand alike.
Alike = tuple[object, ...]


@dataclass(frozen=True, kw_only=True)
class Rests:
    """By thing, and by leg, the ends that rest on it.

    `by_name`: by the name of a unit, run, duct or place; things of one name stand together.
    `by_leg`: by what legs have in common that always stand alike, the first of them and the ends.
    """

    by_name: Mapping[str, tuple[At, ...]]
    by_leg: Mapping[Alike, tuple[Leg, tuple[At, ...]]]

    def hurt(
        self, dead: Dead, sound: Callable[[Leg, Alike], bool]
    ) -> Mapping[int, tuple[int, ...]]:
        """Give by line the ends that may not stand as with nothing broken, in order.

        `sound`: whether a leg stands as with nothing broken.
        """
        found: set[At] = set()
        for names in (dead.units, dead.runs, dead.ducts, dead.places):
            for name in names:
                found.update(self.by_name.get(name, ()))
        for key, (leg, ends) in self.by_leg.items():
            if not sound(leg, key):
                found.update(ends)
        lines: dict[int, list[int]] = {}
        for line, end in sorted(found):
            lines.setdefault(line, []).append(end)
        return {line: tuple(ends) for line, ends in lines.items()}


def rests(lines: Iterable[Resting], alike: Callable[[Leg], Alike]) -> Rests:
    """Give what every end rests on; legs of which `alike` gives the same always stand alike."""
    by_name: dict[str, list[At]] = {}
    by_leg: dict[Alike, list[At]] = {}
    first: dict[Alike, Leg] = {}
    for at, resting in enumerate(lines):
        for end, arrival in enumerate(resting.arrivals):
            names: dict[str, None] = {}
            legs: dict[Alike, Leg] = {}
            for course in _courses(arrival):
                for several in (course.units, course.ducts, course.runs, course.places):
                    names.update(dict.fromkeys(several))
                legs.update((alike(leg), leg) for leg in course.legs)
            for name in names:
                by_name.setdefault(name, []).append((at, end))
            for key, leg in legs.items():
                by_leg.setdefault(key, []).append((at, end))
                first.setdefault(key, leg)
    return Rests(
        by_name={name: tuple(ends) for name, ends in by_name.items()},
        by_leg={key: (first[key], tuple(ends)) for key, ends in by_leg.items()},
    )


def _courses(arrival: Arrival) -> Iterator[Course]:
    for member in arrival.members:
        yield from member.courses
        for needed in member.needs:
            yield from needed
