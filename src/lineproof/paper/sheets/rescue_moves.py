"""The moves of a rescue as steps on paper: moves that run on with their numbers are one step."""

from __future__ import annotations

from collections.abc import Sequence

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Part
from lineproof.paper.sheets.drill_names import line_title
from lineproof.paper.sheets.parts import title_of
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.steps import Step, patched, runs_told, steps_of

#: What the moves of a rescue call a cable.
_CABLE = "network cable"


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
    old = {Do.PATCH: patched(move), Do.ROUTE: move.what}.get(move.do, move.old)
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
