"""The moves of a rescue as steps on paper: moves that run on with their numbers are one step."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
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
    if len(step.new) > 1:
        return _heard_told(edition, step)
    if len(step.moves) > 1:
        return _many_told(edition, step)
    if step.first.do is Do.LAY:
        return _laid(edition, step.first)
    return _one_told(edition, step.first)


def _heard_told(edition: Edition, step: Step) -> str:
    """Tell several units to hear the same."""
    units, side = ", ".join(n.rpartition(":")[0] for n in step.new), step.new[0].rpartition(":")[2]
    if len(step.numbers) == 1:
        ((old, new),) = step.numbers
        told = {"old": f"{step.old}-{old}", "new": f"{side}-{new}"}
        return edition.words("step.route-at", units=units, **told)
    pairs = _heard(edition, step)
    return edition.words("step.routes-at", units=units, old=step.old, new=side, pairs=pairs)


def _heard(edition: Edition, step: Step) -> str:
    """Give what is heard channel by channel: who sits at the receiving unit goes by its own."""
    heard = sorted((new, old) for old, new in step.numbers)
    return runs_told(heard, edition.words("step.from"))


_MANY = {Do.PLUG: "step.plugs", Do.PATCH: "step.patches", Do.ROUTE: "step.routes"}


def _many_told(edition: Edition, step: Step) -> str:
    words, do = edition.words, step.first.do
    routes = do is Do.ROUTE
    pairs = _heard(edition, step) if routes else runs_told(step.numbers, words("step.to"))
    return words(_MANY[do], count=len(step.moves), old=step.old, new=step.new[0], pairs=pairs)


_ONE = {
    Do.CABLE: "step.cable",
    Do.PLUG: "step.plug",
    Do.PATCH: "step.patch",
    Do.ROUTE: "step.route",
    Do.START: "step.play",
}


def _one_told(edition: Edition, move: Move) -> str:
    key = "step.mix" if move.what.startswith("mix ") else _ONE[move.do]
    old = {Do.PATCH: _patched(move), Do.ROUTE: move.what}.get(move.do, move.old)
    name = move.what.removeprefix(f"{_CABLE} ")
    return edition.words(key, name=name, line=_lines(edition, move), old=old, new=move.new)


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
