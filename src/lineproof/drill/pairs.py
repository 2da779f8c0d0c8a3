"""All pairs of faults: what two together take that neither takes alone, as minimal causes."""

from __future__ import annotations

import itertools
from bisect import bisect
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lineproof.drill.dead import hangs_on
from lineproof.drill.parting import parting
from lineproof.drill.planes import Planes, places_of
from lineproof.drill.shapes import Path, Shape
from lineproof.drill.sweep import Sight, Swept, element_plane
from lineproof.graph.faults import UNIT

#: Pairs worked out at once, as cases of their own: more take more memory than time.
_BLOCK = 1 << 14

#: Two classes of faults, the lower first.
Pair = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Pairs:
    """What pairs take: by pair of classes the shapes that only both together lose.

    `single`: the shapes that a class loses alone. `tried`: pairs of faults, all of them; `joint`:
    how many pairs of classes were tried together because they meet in one net or one supply.
    """

    single: tuple[frozenset[int], ...]
    together: Mapping[Pair, frozenset[int]]
    tried: int
    joint: int

    def lost(self, one: int, other: int) -> frozenset[int]:
        """Give all shapes that two classes lose together."""
        both = self.together.get((min(one, other), max(one, other)), frozenset())
        return self.single[one] | self.single[other] | both


def all_pairs(swept: Swept, progress: Callable[[str], None] | None = None) -> Pairs:
    """Give what every pair of faults takes.

    A pair can lose an end only where both touch what the end rests on, so most pairs are never
    looked at. Only pairs that both touch the switches of one net, or sources of one unit, can do
    more than their touches put together; those are worked out as cases of their own.
    """
    say = progress or (lambda _: None)
    sight = swept.alone
    found: _Found = defaultdict(list)
    say("pairs that meet at one end")
    touches = _Touches(swept, swept.singles)
    for at, shape in enumerate(swept.shapes):
        mine = (at,)
        for ones, others in touches.products(shape, sight.shapes[at][4]):
            for pair in _ordered(ones, others):
                found[pair].append(mine)
    together = sorted(_meeting(swept))
    for start in range(0, len(together), _BLOCK):
        say(f"pairs that meet in one net or supply: {start} of {len(together)}")
        _add_joint(swept, sight, together[start : start + _BLOCK], found)
    count = sum(map(len, swept.classes.members))
    return Pairs(
        single=swept.lost_alone,
        together=_flat(found),
        tried=count * (count - 1) // 2,
        joint=len(together),
    )


#: By pair the shapes it loses, in lots: shapes that many pairs lose alike come in one.
_Found = defaultdict[Pair, list[tuple[int, ...]]]


def _ordered(ones: Sequence[int], others: Sequence[int]) -> Iterator[Pair]:
    """Give every one with every other, the lower class first; both are sorted."""
    for one in ones:
        above = bisect(others, one)
        yield from zip(others[:above], itertools.repeat(one))
        yield from zip(itertools.repeat(one), others[above:])


def _flat(found: _Found) -> dict[Pair, frozenset[int]]:
    """Give by pair, in order, all shapes it loses; pairs that lose the same share one set."""
    known: dict[tuple[tuple[int, ...], ...], frozenset[int]] = {}
    flat = {}
    for pair in sorted(found):
        key = tuple(found[pair])
        if key not in known:
            known[key] = frozenset().union(*key)
        flat[pair] = known[key]
    return flat


class _Touches:
    """What single faults touch, and whether two touches together lose an end."""

    def __init__(self, swept: Swept, planes: Planes) -> None:
        self.swept, self.planes = swept, planes
        self._paths: dict[Path, tuple[int, tuple[tuple[int, ...], ...]]] = {}

    def products(self, shape: Shape, lost: int) -> Iterator[tuple[list[int], list[int]]]:
        """Give the classes any of which loses a shape with any of some others, and those others.

        `lost`: the classes that lose it alone, which are left out. Classes that touch the same are
        tried as one; two of these together touch no more than one does.
        """
        planes = dict.fromkeys(plane for path in _paths_of(shape) for plane in self._planes(path))
        touched = 0
        for plane in planes:
            touched |= plane
        left = touched & ~lost
        for alike in _alike(left, planes):
            left &= ~alike
            if more := left and self._lost_with(shape, _lowest(alike)) & left:
                yield places_of(alike), places_of(more)

    def _planes(self, path: Path) -> Iterator[int]:
        broken, legs = self._touched(path)
        yield broken
        yield from itertools.chain.from_iterable(legs)

    def _touched(self, path: Path) -> tuple[int, tuple[tuple[int, ...], ...]]:
        if path not in self._paths:
            nets = self.swept.before.nets
            legs = [
                tuple(self.planes.joins_not(net, *leg) for net in nets(leg)) for leg in path.legs
            ]
            # A leg that no net joins even with nothing broken is unknown, never lost.
            known = tuple(leg for leg in legs if leg)
            self._paths[path] = (element_plane(self.planes, path), known)
        return self._paths[path]

    def _lost_with(self, shape: Shape, one: int) -> int:
        """Give the classes that lose the shape if class `one` has struck before."""
        full = self.planes.full
        plane = full
        for paths, needs in shape:
            member = full
            for path in paths:
                member &= self._path_with(path, one)
            for needed in needs:
                each = full
                for path in needed:
                    each &= self._path_with(path, one)
                member |= each
            plane &= member
        return plane

    def _path_with(self, path: Path, one: int) -> int:
        broken, legs = self._touched(path)
        if broken >> one & 1:
            return self.planes.full
        plane = broken
        for leg in legs:
            each = self.planes.full
            for net in leg:
                if not net >> one & 1:
                    each &= net
            plane |= each
        return plane


def _alike(classes: int, planes: Iterable[int]) -> list[int]:
    """Give the classes of a plane in groups of which each lies in or beside every given plane."""
    groups = [classes] if classes else []
    for plane in planes:
        groups = [part for group in groups for part in (group & plane, group & ~plane) if part]
    return groups


def _lowest(plane: int) -> int:
    return (plane & -plane).bit_length() - 1


def _paths_of(shape: Shape) -> Iterator[Path]:
    for paths, needs in shape:
        yield from paths
        yield from itertools.chain.from_iterable(needs)


def _meeting(swept: Swept) -> set[Pair]:
    """Give the pairs of classes that may do more together than their touches show."""
    found: set[Pair] = set()
    planes = swept.singles
    for net in planes.webs:
        found |= parting(swept, net)
    sources = swept.calm.shared.sources
    for unit, each in sources.items():
        if len(each) > 1:
            off = _taking(planes, unit, each) & ~planes.units[unit]
            found.update(itertools.combinations(places_of(off), 2))
    return found


def _taking(planes: Planes, unit: str, sources: Iterable[tuple[str, str, str]]) -> int:
    """Give the classes that take at least one source of a unit."""
    plane = 0
    for source in sources:
        for what, name in hangs_on(unit, source):
            plane |= planes.units.get(name, 0) if what == UNIT else planes.struck(what, name)
    return plane


def _add_joint(swept: Swept, sight: Sight, pairs: Sequence[Pair], found: _Found) -> None:
    """Add what the pairs lose together and neither alone, worked out case by case."""
    planes = swept.cases(pairs)
    both = Sight(swept=swept, planes=planes)
    alike: dict[int, list[int]] = {}
    alone: dict[int, int] = {}
    for at, stands in enumerate(both.shapes):
        lost = sight.shapes[at][4]
        if lost not in alone:
            plane = 0
            for by in places_of(lost):
                plane |= planes.masks[by]
            alone[lost] = plane
        alike.setdefault(stands[4] & ~alone[lost], []).append(at)
    lots: list[list[tuple[int, ...]]] = [[] for _ in pairs]
    for plane, shapes in alike.items():
        lot = tuple(shapes)
        for case in places_of(plane):
            lots[case].append(lot)
    for pair, more in zip(pairs, lots, strict=True):
        if more:
            found[pair].extend(more)
