"""Drop boxes: whose sockets come out at the far end of a multicore."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import folded
from lineproof.base.spot import Side, Spot
from lineproof.kit.kinds import Socket
from lineproof.show.ends import EndError, read_target
from lineproof.show.model import Show, Target, Unit

_BETWEEN = re.compile(r"[\s,]+")
_SIDES = (Side.IN, Side.OUT)


@dataclass(frozen=True, kw_only=True)
class Multicores:
    """Which socket of a drop box is which socket of the box behind it: `behind`, by spot.

    Two drop boxes may name the same sockets: one multipin is then plugged after the other.
    """

    behind: Mapping[Spot, Spot]

    @cached_property
    def out_front(self) -> Mapping[Spot, Spot]:
        """Give the drop box's socket by that of the box behind it; of several the first."""
        return {box: drop for drop, box in reversed(tuple(self.behind.items()))}

    @cached_property
    def sharing(self) -> tuple[tuple[str, ...], ...]:
        """Give the pairs of drop boxes that name a socket both."""
        users: dict[Spot, list[str]] = {}
        for drop, box in self.behind.items():
            users.setdefault(box, []).append(drop.unit)
        pairs = {p for names in users.values() for p in itertools.combinations(names, 2)}
        return tuple(sorted(pairs))

    @cached_property
    def hosts(self) -> Mapping[str, str]:
        """Give the unit behind each drop box; of several the first."""
        found: dict[str, str] = {}
        for drop, box in self.behind.items():
            found.setdefault(drop.unit, box.unit)
        return found

    def offered(self, units: Mapping[str, Unit], front: str, side: Side) -> tuple[Socket, ...]:
        """Give the sockets into which one may plug there; a drop box offers those behind it."""
        found = []
        for socket in units[front].kind.sockets_on(side):
            spot = Spot(unit=front, side=side, number=socket.number)
            behind = self.behind.get(spot)
            if behind is not None:
                found.append(units[behind.unit].kind.sockets_on(side)[behind.number - 1])
            elif spot not in self.out_front and front not in self.hosts:
                found.append(socket)
        return tuple(found)

    def real(self, spot: Spot) -> Spot:
        """Give the socket behind, if the spot is a drop box's; else the spot itself."""
        return self.behind.get(spot, spot)


def multicores(show: Show) -> Multicores:
    """Give all drop boxes of a show; what can't be read, or names what isn't there, joins nothing.

    The sockets named are taken in order: the first input is the drop box's first input.
    """
    behind: dict[Spot, Spot] = {}
    for unit in show.units.values():
        behind.update(_joined(show.units, unit))
    return Multicores(behind=behind)


def _joined(units: Mapping[str, Unit], drop: Unit) -> list[tuple[Spot, Spot]]:
    """Give (drop's socket, box's socket) in order; no socket of the box twice."""
    found: list[tuple[Spot, Spot]] = []
    given = dict.fromkeys(_SIDES, 0)
    for target in targets(drop.sockets_of):
        box = next((u for n, u in units.items() if folded(n) == folded(target.name)), None)
        if box is None or box.name == drop.name:
            continue
        side = target.side or Side.IN
        if side not in given:
            continue
        count = len(box.kind.sockets_on(side))
        for number in target.numbers or range(1, count + 1):
            given[side] += 1
            here = Spot(unit=drop.name, side=side, number=given[side])
            there = Spot(unit=box.name, side=side, number=number)
            fits = number <= count and here.number <= len(drop.kind.sockets_on(side))
            if fits and all(there != other for _, other in found):
                found.append((here, there))
    return found


def targets(text: str) -> list[Target]:
    """Give the words of `sockets-of` that can be read: `box-1:9-16 box-1:out-1-4`."""
    found = []
    for word in _BETWEEN.split(text.strip()):
        try:
            found += [read_target(word)] if word else []
        except EndError:
            continue
    return found


def wrong_with(text: str, drop: Unit, units: Mapping[str, Unit]) -> str | None:
    """Say what keeps the words of `sockets-of` from being sockets of a unit, or None."""
    for word in _BETWEEN.split(text.strip()):
        try:
            target = read_target(word)
        except EndError as error:
            return str(error)
        box = next((u for n, u in units.items() if folded(n) == folded(target.name)), None)
        if box is None:
            return f"there is no unit {target.name!r}"
        side = target.side or Side.IN
        count = len(box.kind.sockets_on(side)) if side in _SIDES else 0
        if target.numbers and target.numbers[-1] > count:
            return f"{word!r}: {box.name} ({box.kind.name}) has {count or 'no'} {side.value}"
    joined = len(_joined(units, drop))
    asked = sum(len(t.numbers) for t in targets(text))
    if asked > joined:
        return f"{drop.name} ({drop.kind.name}) has fewer sockets than the {asked} named"
    return None
