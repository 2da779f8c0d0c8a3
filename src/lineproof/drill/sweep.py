"""The fast sweep: the state of every end in many cases at once, held to `lose` by tests."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.spot import LineKey
from lineproof.drill.calm import Calm
from lineproof.drill.planes import Classes, Planes, Web, bits, classes, places_of
from lineproof.drill.shapes import Path, Shape, shape_of
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault, things
from lineproof.show.model import Need

#: How a thing stands in many cases: one plane for each state but the best, with the cases in which
#: it is that state or worse. So the worse of two is `|`, the better of two `&`.
Stands = tuple[int, int, int, int, int]


@dataclass(frozen=True, kw_only=True)
class Swept:
    """A show made ready for the sweep: classes of faults, shapes, and who has which shape.

    `line_shapes`: the shapes of every line's ends, in the order of the plan; `must_shapes`: of
    those only that a *must* or *safety* line must reach.
    """

    calm: Calm
    classes: Classes
    shapes: tuple[Shape, ...]
    keys: tuple[LineKey, ...]
    line_shapes: tuple[tuple[int, ...], ...]
    must_shapes: tuple[tuple[int, ...], ...]
    webs: dict[str, Web] = field(compare=False)

    def planes(self, masks: Sequence[int], count: int) -> Planes:
        """Give the planes over `count` cases, by class of faults the cases that it strikes in."""
        return Planes(
            calm=self.calm, classes=self.classes, masks=masks, count=count, webs=self.webs
        )

    @cached_property
    def singles(self) -> Planes:
        """Give the planes of every class by itself: case n is class n."""
        return self.planes([1 << n for n in range(len(self.classes))], len(self.classes))

    @cached_property
    def alone(self) -> Sight:
        """Give how every shape stands under every class by itself."""
        return Sight(swept=self, planes=self.singles)

    @cached_property
    def lost_alone(self) -> tuple[frozenset[int], ...]:
        """Give by class of faults the shapes that it loses by itself."""
        found: list[list[int]] = [[] for _ in range(len(self.classes))]
        for at, stands in enumerate(self.alone.shapes):
            for by in places_of(stands[4]):
                found[by].append(at)
        return tuple(map(frozenset, found))

    @cached_property
    def before(self) -> Before:
        """Give the nets that join two units with nothing broken."""
        return Before(self.planes([0] * len(self.classes), 1))

    @cached_property
    def lines_of(self) -> tuple[tuple[int, ...], ...]:
        """Give the lines, by place in the plan, that have an end of each shape."""
        found: list[dict[int, None]] = [{} for _ in self.shapes]
        for at, shapes in enumerate(self.line_shapes):
            for shape in shapes:
                found[shape][at] = None
        return tuple(map(tuple, found))

    @cached_property
    def must(self) -> frozenset[int]:
        """Give the shapes that some *must* or *safety* line has."""
        return frozenset(shape for shapes in self.must_shapes for shape in shapes)

    def used_bridges(self, net: str) -> tuple[tuple[int, int], ...]:
        """Give the pairs of bridges of a net between which some line goes, the lower first."""
        hung = self.webs[net].hung
        found = {
            (min(here.bridge, there.bridge), max(here.bridge, there.bridge))
            for sender, receiver in self._legs
            for here in hung.get(sender, ())
            for there in hung.get(receiver, ())
        }
        return tuple(sorted(found))

    @cached_property
    def _legs(self) -> frozenset[tuple[str, str]]:
        """Give every pair of units between which some line goes over the network."""
        members = (member for shape in self.shapes for member in shape)
        paths = (path for first, needs in members for path in itertools.chain(first, *needs))
        return frozenset(leg for path in paths for leg in path.legs)

    def cases(self, sets: Sequence[Iterable[int]]) -> Planes:
        """Give the planes over cases, each a set of classes."""
        by_class: dict[int, list[int]] = {}
        for case, struck in enumerate(sets):
            for each in struck:
                by_class.setdefault(each, []).append(case)
        count = len(sets)
        masks = [bits(by_class.get(at, ()), count) for at in range(len(self.classes))]
        return self.planes(masks, count)


class Before:
    """Which nets join which units with nothing broken, each pair looked up once."""

    def __init__(self, planes: Planes) -> None:
        self.planes = planes
        self._nets: dict[tuple[str, str], tuple[str, ...]] = {}

    def nets(self, leg: tuple[str, str]) -> tuple[str, ...]:
        """Give the nets that join the two units."""
        if leg not in self._nets:
            joins_not = self.planes.joins_not
            nets = (net for net in self.planes.webs if not joins_not(net, *leg))
            self._nets[leg] = tuple(nets)
        return self._nets[leg]


def swept(calm: Calm, faults: Iterable[Fault] | None = None) -> Swept:
    """Give a show ready for the sweep of all that can fail; or of these faults."""
    show, network = calm.show, calm.network
    listed = things(show, network) if faults is None else tuple(faults)
    shapes: dict[Shape, int] = {}
    line_shapes, must_shapes = [], []
    for resting in calm.lines:
        mine, must = [], []
        needed = resting.line.need in (Need.MUST, Need.SAFETY)
        for arrival in resting.arrivals:
            at = shapes.setdefault(shape_of(arrival), len(shapes))
            mine.append(at)
            if needed and not arrival.end.want:
                must.append(at)
        line_shapes.append(tuple(mine))
        must_shapes.append(tuple(must))
    return Swept(
        calm=calm,
        classes=classes(calm.shared, listed),
        shapes=tuple(shapes),
        keys=tuple(resting.line.key for resting in calm.lines),
        line_shapes=tuple(line_shapes),
        must_shapes=tuple(must_shapes),
        webs={net: Web.of(each) for net, each in calm.nets.items()},
    )


@dataclass(frozen=True, kw_only=True)
class Sight:
    """How every shape stands over the cases of some planes."""

    swept: Swept
    planes: Planes
    _paths: dict[Path, Stands] = field(default_factory=dict, compare=False)
    _legs: dict[tuple[str, str], Stands] = field(default_factory=dict, compare=False)

    @cached_property
    def shapes(self) -> tuple[Stands, ...]:
        """Give how each shape stands."""
        return tuple(self._shape(shape) for shape in self.swept.shapes)

    def lines(self) -> list[Stands]:
        """Give how every line stands: its worst end."""
        return [
            worse(*(self.shapes[shape] for shape in shapes)) for shapes in self.swept.line_shapes
        ]

    def _shape(self, shape: Shape) -> Stands:
        members = [self._member(paths, needs) for paths, needs in shape]
        if len(members) == 1:
            return members[0]
        worst, best = worse(*members), better(*members)
        some = worst[3]  # some member does not arrive
        full = self.planes.full
        ends: Stands = (full, full, 0, 0, 0)  # "other end" at least
        one, two = worse(best, ends), worst
        a, b, c, d, e = ((o & some) | (t & ~some) for o, t in zip(one, two, strict=True))
        return (a, b, c, d, e)

    def _member(self, paths: tuple[Path, ...], needs: tuple[tuple[Path, ...], ...]) -> Stands:
        full = self.planes.full
        standby: Stands = (full, full, full, 0, 0)
        others = [worse(self._path(path), standby) for path in paths[1:]]
        best = better(self._path(paths[0]), *others)
        needed = (better(*(self._path(path) for path in each)) for each in needs)
        return worse(best, *needed)

    def _path(self, path: Path) -> Stands:
        if path not in self._paths:
            plane = element_plane(self.planes, path)
            broken: Stands = (plane, plane, plane, plane, plane)
            self._paths[path] = worse(broken, *(self._leg(leg) for leg in path.legs))
        return self._paths[path]

    def _leg(self, leg: tuple[str, str]) -> Stands:
        if leg not in self._legs:
            self._legs[leg] = self._stands(leg)
        return self._legs[leg]

    def _stands(self, leg: tuple[str, str]) -> Stands:
        planes = self.planes
        if not planes.webs:
            return (planes.blind, planes.blind, planes.blind, planes.blind, 0)
        nets = self.swept.before.nets(leg)
        if not nets:
            return (planes.full, planes.full, planes.full, planes.full, 0)
        lost, weak = planes.full, 0
        for net in nets:
            parted = planes.joins_not(net, *leg)
            lost &= parted
            weak |= parted
        return (weak, lost, lost, lost, lost)


def element_plane(planes: Planes, path: Path) -> int:
    """Give the cases in which something of a path is dead, its legs apart."""
    plane = 0
    for unit in path.units:
        plane |= planes.units.get(unit, 0)
    for run in path.runs:
        plane |= planes.run(run)
    for what, name in path.things:
        plane |= planes.struck(what, name)
    return plane


def worse(*stands: Stands) -> Stands:
    """Give the worst of several, case by case; nothing at all stands best."""
    if len(stands) == 1:
        return stands[0]
    a = b = c = d = e = 0
    for one in stands:
        a |= one[0]
        b |= one[1]
        c |= one[2]
        d |= one[3]
        e |= one[4]
    return (a, b, c, d, e)


def better(*stands: Stands) -> Stands:
    """Give the best of several, case by case."""
    a, b, c, d, e = stands[0]
    for one in stands[1:]:
        a &= one[0]
        b &= one[1]
        c &= one[2]
        d &= one[3]
        e &= one[4]
    return (a, b, c, d, e)


_STATES = tuple(State)


def state_in(stands: Stands, case: int) -> State:
    """Give the state in one case."""
    return _STATES[sum(plane >> case & 1 for plane in stands)]
