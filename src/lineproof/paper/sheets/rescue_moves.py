"""The moves of a rescue as steps on paper: moves that run on with their numbers are one step."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Part
from lineproof.paper.sheets.drill_names import line_title
from lineproof.paper.sheets.parts import title_of
from lineproof.rescue.moves import Do, Move

#: A spot or a port: what stands before its number, and the number.
_NUMBERED = re.compile(r"(.*\D)-(\d+)")
#: What the moves of a rescue call a cable.
_CABLE = "network cable"
#: Runs of numbers in one step; what is longer is parted, so that a card can count its steps.
_MOST_RUNS = 24


@dataclass(frozen=True, kw_only=True)
class Step:
    """Moves that are one thing to do: all of one sort, at one unit, between the same two sides.

    `old` and `new` are what stands before the numbers (`box-1:in`); `numbers` are those of each
    move, the old one first; none where a move has no numbers, or only one.
    """

    moves: tuple[Move, ...]
    old: str = ""
    new: str = ""
    numbers: tuple[tuple[int, int], ...] = ()

    @property
    def first(self) -> Move:
        """Give the first of its moves."""
        return self.moves[0]


def steps_of(moves: Iterable[Move]) -> tuple[Step, ...]:
    """Give the moves as steps, in the order of the first move of each.

    Leads, patches and routes between the same two sides come together whatever their numbers:
    they go onto free spots, so their order does not matter. Everything else stays by itself.
    """
    found: dict[object, list[Move]] = {}
    for n, move in enumerate(moves):
        ends = _ends(move)
        alike = (move.do, move.place, move.unit, ends[0][0], ends[1][0]) if ends else n
        found.setdefault(alike, []).append(move)
    return tuple(step for each in found.values() for step in _steps(each))


def _steps(moves: Sequence[Move]) -> Iterable[Step]:
    ends = [_ends(move) for move in moves]
    if len(moves) == 1 or ends[0] is None:
        yield from (Step(moves=(move,)) for move in moves)
        return
    each = sorted(
        ((e[0][1], e[1][1], move) for e, move in zip(ends, moves, strict=True) if e is not None),
        key=lambda found: found[:2],
    )
    for some in _short(each):
        yield Step(
            moves=tuple(move for _, _, move in some),
            old=ends[0][0][0],
            new=ends[0][1][0],
            numbers=tuple((old, new) for old, new, _ in some),
        )


def _short(each: list[tuple[int, int, Move]]) -> Iterable[list[tuple[int, int, Move]]]:
    """Give the moves in lots of a few runs each."""
    lot: list[tuple[int, int, Move]] = []
    runs = 0
    for found in each:
        goes_on = bool(lot) and (found[0], found[1]) == (lot[-1][0] + 1, lot[-1][1] + 1)
        if not goes_on:
            if runs == _MOST_RUNS:
                yield lot
                lot, runs = [], 0
            runs += 1
        lot.append(found)
    yield lot


def _ends(move: Move) -> tuple[tuple[str, int], tuple[str, int]] | None:
    """Give from where to where a lead, patch or route goes, each without and as its number."""
    old = {Do.PLUG: move.old, Do.ROUTE: move.what, Do.PATCH: _patched(move)}.get(move.do, "")
    one, other = _NUMBERED.fullmatch(old), _NUMBERED.fullmatch(move.new)
    if one is None or other is None:
        return None
    return (one[1], int(one[2])), (other[1], int(other[2]))


def _patched(move: Move) -> str:
    """Give the spot that is patched: the move tells it as in `receive-8 of side`."""
    side = move.what.removesuffix(f" of {move.unit}")
    return f"{move.unit}:{side}"


def runs_told(numbers: Iterable[tuple[int, int]], between: str) -> str:
    """Give pairs of numbers, those that run on together as one.

    >>> runs_told([(1, 1), (2, 2), (3, 3), (7, 4)], "to")
    '1–3 to 1–3, 7 to 4'
    """
    runs: list[list[tuple[int, int]]] = []
    for old, new in numbers:
        if runs and runs[-1][-1] == (old - 1, new - 1):
            runs[-1].append((old, new))
        else:
            runs.append([(old, new)])
    told = []
    for run in runs:
        (old, new), (old_last, new_last) = run[0], run[-1]
        if len(run) == 1:
            told.append(f"{old} {between} {new}")
        else:
            told.append(f"{old}–{old_last} {between} {new}–{new_last}")
    return ", ".join(told)


def parts_of(edition: Edition, moves: Sequence[Move]) -> tuple[Part, ...]:
    """Give the steps under the place where each is done, in walking order, then at screens."""
    found: dict[str, list[str]] = {}
    for step in steps_of(moves):
        place = step.first.place if step.first.do.by_hand else ""
        found.setdefault(place, []).append(step_told(edition, step))
    return tuple(
        Part(
            title=title_of(edition, place) if place else edition.words("part.screens"),
            steps=tuple(told),
        )
        for place, told in found.items()
    )


def step_told(edition: Edition, step: Step) -> str:
    """Give a step in words."""
    move, words, count = step.first, edition.words, len(step.moves)
    match move.do:
        case Do.CABLE:
            name = move.what.removeprefix(f"{_CABLE} ")
            return words("step.cable", name=name, old=move.old, new=move.new)
        case Do.LAY:
            return _laid(edition, move)
        case Do.START:
            key = "step.mix" if move.what.startswith("mix ") else "step.play"
            return words(key, line=_lines(edition, move), new=move.new, old=move.old)
        case Do.PLUG if step.numbers:
            pairs = runs_told(step.numbers, words("step.to"))
            return words("step.plugs", count=count, old=step.old, new=step.new, pairs=pairs)
        case Do.PLUG:
            return words("step.plug", line=_lines(edition, move), old=move.old, new=move.new)
        case Do.PATCH if step.numbers:
            pairs = runs_told(step.numbers, words("step.to"))
            return words("step.patches", old=step.old, new=step.new, pairs=pairs)
        case Do.PATCH:
            return words("step.patch", old=_patched(move), new=move.new)
        case Do.ROUTE if step.numbers:
            pairs = runs_told(((new, old) for old, new in step.numbers), words("step.from"))
            return words("step.routes", send=step.old, new=step.new, pairs=pairs)
        case _:
            return words("step.route", send=move.what, new=move.new)


def _laid(edition: Edition, move: Move) -> str:
    words = edition.words
    medium = words.told("medium", move.what.removesuffix(f" {_CABLE}"))
    unit = edition.show.units.get(move.new.partition(":")[0])
    place = title_of(edition, unit.place) if unit is not None and unit.place else ""
    far = words("step.at", what=move.new, place=place) if place else move.new
    length = f"{move.length_m:.0f}"
    return words("step.lay", medium=medium, length=length, old=move.old, new=far)


def _lines(edition: Edition, move: Move) -> str:
    told = [line_title(edition, key) for key in move.lines[:2]]
    more = len(move.lines) - len(told)
    return ", ".join(told) + (edition.words("drill.and-more", count=more) if more > 0 else "")
