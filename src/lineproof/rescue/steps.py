"""The moves of a rescue as steps: moves that run on with their numbers are one thing to do."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from lineproof.rescue.moves import Do, Move

#: A spot or a port: what stands before its number, and the number.
_NUMBERED = re.compile(r"(.*\D)-(\d+)")
#: Runs of numbers in one step; what is longer is parted, so that a card can count its steps.
_MOST_RUNS = 24


@dataclass(frozen=True, kw_only=True)
class Step:
    """Moves that are one thing to do: all of one sort, between the same two sides.

    `old` and `new` are what stands before the numbers (`box-1:in`), the new ones of every unit
    at which the same is to be done; `numbers` are those of each move at one unit, the old one
    first. All three are empty for a move that stays by itself.
    """

    moves: tuple[Move, ...]
    old: str = ""
    new: tuple[str, ...] = ()
    numbers: tuple[tuple[int, int], ...] = ()

    @property
    def first(self) -> Move:
        """Give the first of its moves."""
        return self.moves[0]


def steps_of(moves: Iterable[Move]) -> tuple[Step, ...]:
    """Give the moves as steps, in the order of the first move of each.

    Leads, patches and routes between the same two sides come together whatever their numbers:
    they go onto free spots, so their order does not matter. Units that are to hear the same on
    the same channels are one step as well. Everything else stays by itself.
    """
    found: dict[object, list[Move]] = {}
    for n, move in enumerate(moves):
        ends = _ends(move)
        alike = (move.do, move.place, move.unit, ends[0][0], ends[1][0]) if ends else n
        found.setdefault(alike, []).append(move)
    return _heard_alike([step for each in found.values() for step in _steps(each)])


def _heard_alike(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Give the steps, those in which several units are to hear the same as one."""
    found: dict[object, list[Step]] = {}
    for n, step in enumerate(steps):
        if step.first.do is Do.ROUTE and step.new:
            side = step.new[0].rpartition(":")[2]
            found.setdefault((step.old, side, step.numbers), []).append(step)
        else:
            found[n] = [step]
    return tuple(
        Step(
            moves=tuple(move for step in each for move in step.moves),
            old=each[0].old,
            new=tuple(new for step in each for new in step.new),
            numbers=each[0].numbers,
        )
        for each in found.values()
    )


def _steps(moves: Sequence[Move]) -> Iterator[Step]:
    ends = _ends(moves[0])
    if ends is None:
        yield from (Step(moves=(move,)) for move in moves)
        return
    numbered = [(found[0][1], found[1][1], move) for move in moves if (found := _ends(move))]
    for some in _short(sorted(numbered, key=lambda found: found[:2])):
        yield Step(
            moves=tuple(move for _, _, move in some),
            old=ends[0][0],
            new=(ends[1][0],),
            numbers=tuple((old, new) for old, new, _ in some),
        )


def _short(each: list[tuple[int, int, Move]]) -> Iterator[list[tuple[int, int, Move]]]:
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
    old = {Do.PLUG: move.old, Do.ROUTE: move.what, Do.PATCH: patched(move)}.get(move.do, "")
    one, other = _NUMBERED.fullmatch(old), _NUMBERED.fullmatch(move.new)
    if one is None or other is None:
        return None
    return (one[1], int(one[2])), (other[1], int(other[2]))


def patched(move: Move) -> str:
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
