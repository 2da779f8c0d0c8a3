"""Sockets within a class: lists in order, pairs on neighbours, every single in the next hole."""

from __future__ import annotations

from dataclasses import dataclass, field

from lineproof.base.spot import Spot
from lineproof.decide.classes import PlugId, SlotClass, plug_id
from lineproof.decide.levels import Solution
from lineproof.decide.model import PatchModel, PlugPair


@dataclass(kw_only=True)
class _Room:
    """What is still free in one class: whole slots, and halves left over by singles."""

    slots: list[int]
    holes: dict[int, list[int]] = field(default_factory=lambda: {0: [], 1: []})


def fill(model: PatchModel, solution: Solution) -> dict[PlugId, Spot]:
    """Give the socket of every plug that is put, in the order of the lines' numbers."""
    spots: dict[PlugId, Spot] = {}
    for c, cls in enumerate(model.classes):
        room = _Room(slots=list(cls.slots))
        for item, h in _items(model, solution, c):
            if isinstance(item, PlugPair):
                slot = room.slots.pop(0)
                spots[plug_id(item.left)] = _spot(cls, slot)
                spots[plug_id(item.right)] = _spot(cls, slot + 1)
            else:
                spots[item] = _spot(cls, _single(cls, room, h))
    return spots


def _items(model: PatchModel, solution: Solution, c: int) -> list[tuple[PlugPair | PlugId, int]]:
    """Give the pairs and singles of a class in list order; a pair stands where its first does."""
    found: list[tuple[tuple[object, ...], PlugPair | PlugId, int]] = []
    for (at, cc), var in model.paired.items():
        if cc == c and solution.value(var):
            pair = model.pairs[at]
            first = min(pair.left.line.sort_key(), pair.right.line.sort_key())
            found.append(((first, pair.left.part), pair, 0))
    for (ident, cc, h), var in model.single.items():
        if cc == c and solution.value(var):
            found.append(((ident[0].sort_key(), ident[1]), ident, h))
    found.sort(key=lambda item: item[0])
    return [(item, h) for _, item, h in found]


def _single(cls: SlotClass, room: _Room, h: int) -> int:
    """Give the lowest socket for a single that leaves whole slots to the pairs.

    In a class of alike halves a hole is left only where a single has taken the other half; so
    p pairs and s singles always fit when 2 p + s <= 2 N.
    """
    if cls.alike:
        if room.holes[1]:
            return room.holes[1].pop(0)
        slot = room.slots.pop(0)
        room.holes[1].append(slot + 1)
        return slot
    if room.holes[h]:
        return room.holes[h].pop(0)
    slot = room.slots.pop(0)
    room.holes[1 - h].append(slot + (1 - h))
    return slot + h


def _spot(cls: SlotClass, number: int) -> Spot:
    return Spot(unit=cls.unit, side=cls.side, number=number)
