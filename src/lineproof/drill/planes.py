"""Many cases at once: whether a thing is dead in each of them, as the bits of one whole number.

Bit k belongs to case k. A case is any set of faults: one, a pair, three drawn at random.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.drill.calm import Calm, CalmNet
from lineproof.drill.dead import Shared, hangs_on, strikes
from lineproof.graph.faults import NET, PORT, RUN, UNIT, Fault
from lineproof.kit.kinds import Does


def bits(cases: Iterable[int], count: int) -> int:
    """Give a whole number with these bits of `count` set.

    >>> bits([0, 3], 4)
    9
    """
    row = bytearray((count + 7) // 8)
    for case in cases:
        row[case >> 3] |= 1 << (case & 7)
    return int.from_bytes(row, "little")


def places_of(plane: int) -> list[int]:
    """Give the bits that are set, lowest first.

    >>> places_of(9)
    [0, 3]
    """
    found = []
    data = plane.to_bytes((plane.bit_length() + 7) // 8, "little")
    # Most planes are nearly empty: what is empty is passed over in one go.
    for filled in _FILLED.finditer(data):
        first = 8 * filled.start()
        for byte in filled.group():
            found += [first + bit for bit in _BITS_OF[byte]]
            first += 8
    return found


_FILLED = re.compile(rb"[^\0]+")
_BITS_OF = tuple(tuple(bit for bit in range(8) if byte >> bit & 1) for byte in range(256))


@dataclass(frozen=True, kw_only=True)
class Classes:
    """Faults by what they strike: those of one class are one to every line.

    `members`: the faults of each class, in the order of the list but ports last: people know a
    cable by its name. `striking`: the classes that
    strike a thing, by its pair.
    """

    members: tuple[tuple[Fault, ...], ...]
    striking: Mapping[tuple[str, str], tuple[int, ...]]

    def __len__(self) -> int:
        return len(self.members)


def classes(known: Shared, faults: Iterable[Fault]) -> Classes:
    """Give the faults by what they strike, in the order of the list."""
    found: dict[frozenset[tuple[str, str]], list[Fault]] = {}
    for fault in faults:
        found.setdefault(strikes(known, fault), []).append(fault)
    striking: dict[tuple[str, str], list[int]] = {}
    for at, struck in enumerate(found):
        for each in struck:
            striking.setdefault(each, []).append(at)
    return Classes(
        members=tuple(tuple(sorted(f, key=lambda each: each.what == PORT)) for f in found.values()),
        striking={each: tuple(by) for each, by in striking.items()},
    )


@dataclass(frozen=True, kw_only=True)
class Hung:
    """How a unit hangs on a net: by a run (none for a bridge itself) on a bridge."""

    run: str
    bridge: int


@dataclass(frozen=True, kw_only=True)
class Web:
    """A net as the planes see it: bridges and the runs between them, and what hangs where.

    `direct`: runs that join two units without a bridge, by the pair of them.
    """

    names: tuple[str, ...]
    trunks: tuple[tuple[int, int, str], ...]
    hung: Mapping[str, tuple[Hung, ...]]
    direct: Mapping[frozenset[str], tuple[str, ...]]

    @classmethod
    def of(cls, net: CalmNet) -> Web:
        """Give a net with nothing broken."""
        fabric = net.tree.fabric
        bridges = [i for i, node in enumerate(fabric.nodes) if node.bridge]
        place = {i: at for at, i in enumerate(bridges)}
        trunks: list[tuple[int, int, str]] = []
        direct: dict[frozenset[str], tuple[str, ...]] = {}
        hung: dict[str, list[Hung]] = {
            fabric.nodes[i].name: [Hung(run="", bridge=place[i])] for i in bridges
        }
        for run in fabric.runs:
            one, other = run.ends
            if one in place and other in place:
                trunks.append((place[one], place[other], run.name))
            elif one in place or other in place:
                unit, bridge = (one, other) if other in place else (other, one)
                hanging = Hung(run=run.name, bridge=place[bridge])
                hung.setdefault(fabric.nodes[unit].name, []).append(hanging)
            else:
                pair = frozenset(fabric.nodes[end].name for end in run.ends)
                direct[pair] = (*direct.get(pair, ()), run.name)
        return cls(
            names=tuple(fabric.nodes[i].name for i in bridges),
            trunks=tuple(trunks),
            hung={name: tuple(found) for name, found in hung.items()},
            direct=direct,
        )


@dataclass(frozen=True, kw_only=True)
class Planes:
    """Every thing's plane over `count` cases, worked out when it is asked for.

    `masks`: by class of faults the cases that it strikes in.
    """

    calm: Calm
    classes: Classes
    masks: Sequence[int]
    count: int
    webs: Mapping[str, Web]
    _known: dict[object, int] = field(default_factory=dict, compare=False)

    @cached_property
    def full(self) -> int:
        """Give the plane with every case in it."""
        return (1 << self.count) - 1

    def struck(self, what: str, name: str) -> int:
        """Give the cases in which a thing is struck itself."""
        plane = 0
        for by in self.classes.striking.get((what, name), ()):
            plane |= self.masks[by]
        return plane

    @cached_property
    def units(self) -> Mapping[str, int]:
        """Give the cases in which each unit is dead: struck, or without any source of power."""
        sources = self.calm.shared.sources
        found = {name: self.struck(UNIT, name) for name in self.calm.show.units}
        switches = {more for each in sources.values() for kind, _, more in each if kind == "feed"}
        changed = True
        while changed:
            changed = False
            for unit, each in sources.items():
                plane = self.full
                for source in each:
                    first, second = hangs_on(unit, source)
                    off = self.struck(*first)
                    off |= found.get(second[1], 0) if second[0] == UNIT else self.struck(*second)
                    plane &= off
                if plane & ~found[unit]:
                    found[unit] |= plane
                    changed = changed or unit in switches
        return found

    def run(self, name: str) -> int:
        """Give the cases in which a run is cut."""
        key = (RUN, name)
        if key not in self._known:
            self._known[key] = self.struck(RUN, name)
        return self._known[key]

    @cached_property
    def blind(self) -> int:
        """Give the cases of which nobody knows what goes over the network, as none is planned."""
        plane = 0
        for name, dead in self.units.items():
            if self.calm.show.units[name].kind.does is Does.SWITCH:
                plane |= dead
        for what, name in self.classes.striking:
            if what == NET:
                plane |= self.struck(what, name)
        return plane

    def joins_not(self, net: str, sender: str, receiver: str) -> int:
        """Give the cases in which a net does not join two units."""
        key = (net, sender, receiver)
        if key not in self._known:
            self._known[key] = self._parted(net, sender, receiver)
        return self._known[key]

    def _parted(self, net: str, sender: str, receiver: str) -> int:
        web, plane = self.webs[net], self.full
        for run in web.direct.get(frozenset((sender, receiver)), ()):
            plane &= self.run(run)
        for here in web.hung.get(sender, ()):
            for there in web.hung.get(receiver, ()):
                cut = self.run(here.run) if here.run else 0
                cut |= self.run(there.run) if there.run else 0
                plane &= cut | self.bridges_parted(net, here.bridge, there.bridge)
        plane |= self.units.get(sender, 0) | self.units.get(receiver, 0)
        return plane | self.struck(NET, net)

    def bridges_parted(self, net: str, one: int, other: int) -> int:
        """Give the cases in which two bridges do not reach each other, or one is dead."""
        if one > other:
            one, other = other, one
        key = ("bridges", net, one, other)
        if key not in self._known:
            there, joined = self._parts[net][other], 0
            for first, plane in self._parts[net][one].items():
                joined |= plane & there.get(first, 0)
            self._known[key] = self.full & ~joined
        return self._known[key]

    @cached_property
    def _parts(self) -> dict[str, list[dict[int, int]]]:
        """Give by net and bridge the part of the net it is in: by the part's first bridge, cases.

        A search from the first bridge finds its part in all cases; one from each next bridge only
        has to find the parts of those cases in which no search came there before.
        """
        found = {}
        for net, web in self.webs.items():
            alive = [self.full & ~self.units.get(name, 0) for name in web.names]
            beside = _passes(web, alive, self.run)
            parts: list[dict[int, int]] = [{} for _ in web.names]
            known = [0] * len(web.names)
            for first, living in enumerate(alive):
                if fresh := living & ~known[first]:
                    for at, plane in _reached(beside, first, fresh).items():
                        parts[at][first] = plane
                        known[at] |= plane
            found[net] = parts
        return found


#: By bridge its neighbours, each with the cases in which some run leads there.
_Passes = list[list[tuple[int, int]]]


def _passes(web: Web, alive: Sequence[int], cut: Callable[[str], int]) -> _Passes:
    joined: dict[tuple[int, int], int] = {}
    for one, other, run in web.trunks:
        passes = alive[one] & alive[other] & ~cut(run)
        joined[one, other] = joined.get((one, other), 0) | passes
    beside: _Passes = [[] for _ in web.names]
    for (one, other), passes in joined.items():
        beside[one].append((other, passes))
        beside[other].append((one, passes))
    return beside


def _reached(beside: _Passes, start: int, cases: int) -> dict[int, int]:
    """Give by bridge those of the cases in which `start` reaches it, all in one search."""
    reach, ahead = {start: cases}, {start: cases}
    while ahead:
        at = next(iter(ahead))
        come = ahead.pop(at)
        for other, passes in beside[at]:
            if (more := come & passes) and (more := more & ~reach.get(other, 0)):
                reach[other] = reach.get(other, 0) | more
                ahead[other] = ahead.get(other, 0) | more
    return reach
