"""Sockets within a class: lists in order, pairs on neighbours, every single in the next hole."""

from __future__ import annotations

from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Spot
from lineproof.decide.classes import SlotClass
from lineproof.decide.levels import Solution
from lineproof.decide.model import PatchModel, PlugPair
from lineproof.decide.problem import PlugId, plug_id
from lineproof.decide.share import Crowded, Item, Limit, share


@dataclass(kw_only=True)
class _Room:
    """What is still free in one class: whole slots, and halves left over by singles."""

    slots: list[int]
    holes: dict[int, list[int]] = field(default_factory=lambda: {0: [], 1: []})


def fill(model: PatchModel, solution: Solution) -> dict[PlugId, Spot]:
    """Give the socket of every plug that is put, in the order of the lines' numbers.

    Raises CrowdedClass when plugs of different acts can't share it.
    """
    spots: dict[PlugId, Spot] = {}
    for c, cls in enumerate(model.classes):
        items = _items(model, solution, c)
        limits = _limits(model, solution, c, items)
        if limits or _must_share(cls, items):
            sockets = _shared(model, cls, items, limits)
        else:
            sockets = _in_order(cls, items)
        for (item, _), number in zip(items, sockets, strict=True):
            if isinstance(item, PlugPair):
                spots[plug_id(item.left)] = _spot(cls, number)
                spots[plug_id(item.right)] = _spot(cls, number + 1)
            else:
                spots[item] = _spot(cls, number)
    return spots


Items = list[tuple[PlugPair | PlugId, int]]


def _must_share(cls: SlotClass, items: Items) -> bool:
    pairs = sum(1 for item, _ in items if isinstance(item, PlugPair))
    singles = len(items) - pairs
    if cls.alike:
        return singles + 2 * pairs > 2 * len(cls.slots)
    fullest = max(
        (sum(1 for i, h in items if h == half and not isinstance(i, PlugPair)) for half in (0, 1)),
        default=0,
    )
    return fullest + pairs > len(cls.slots)


def _in_order(cls: SlotClass, items: Items) -> list[int]:
    room = _Room(slots=list(cls.slots))
    return [
        room.slots.pop(0) if isinstance(item, PlugPair) else _single(cls, room, h)
        for item, h in items
    ]


def _limits(model: PatchModel, solution: Solution, c: int, items: Items) -> list[Limit]:
    """Give how few sockets of the class a unit may hear, where it hears more plugs than that."""
    at: dict[PlugId, tuple[int, int]] = {}
    for n, (item, _) in enumerate(items):
        if isinstance(item, PlugPair):
            at[plug_id(item.left)], at[plug_id(item.right)] = (n, 0), (n, 1)
        else:
            at[item] = (n, 0)
    found = []
    for heard in model.heard.get(c, ()):
        there = frozenset(at[i] for i, var in heard.plugs if i in at and solution.value(var))
        most = solution.value(heard.sockets)
        if len(there) > most:
            found.append(Limit(items=there, sockets=most))
    return found


def _shared(model: PatchModel, cls: SlotClass, items: Items, limits: list[Limit]) -> list[int]:
    asked = [
        Item(acts=item.left.acts, right_acts=item.right.acts, pair=True)
        if isinstance(item, PlugPair)
        else Item(acts=model.plugs[item].acts, half=None if cls.alike else h)
        for item, h in items
    ]
    try:
        return share(cls, asked, model.problem.running, limits)
    except Crowded:
        lines = [key for item, _ in items for key in _lines(model, item)]
        raise CrowdedClass(frozenset(lines)) from None


class CrowdedClass(Exception):
    """Plugs that hold on to one socket through several acts don't fit; `lines` are theirs."""

    def __init__(self, lines: frozenset[LineKey]) -> None:
        super().__init__()
        self.lines = lines


def _lines(model: PatchModel, item: PlugPair | PlugId) -> tuple[LineKey, ...]:
    if isinstance(item, PlugPair):
        return (*item.left.lines, *item.right.lines)
    return model.plugs[item].lines


def _items(model: PatchModel, solution: Solution, c: int) -> Items:
    """Give the pairs and singles of a class in list order; a pair stands where its first does."""
    found: list[tuple[tuple[object, ...], PlugPair | PlugId, int]] = []
    for at, var in model.pairs_in.get(c, ()):
        if solution.value(var):
            pair = model.pairs[at]
            first = min(pair.left.line.sort_key(), pair.right.line.sort_key())
            found.append(((first, pair.left.part), pair, 0))
    for ident, h, var in model.singles_in.get(c, ()):
        if solution.value(var):
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
