"""Switching on and off: in which order, and how long to wait."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import cells, columns, title_of, unit_title
from lineproof.reckon.order import Step, switching_on
from lineproof.show.model import Unit


def switching_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give one sheet: on from top to bottom, off the other way round."""
    words = edition.words
    steps = switching_on(edition.show)
    if not steps:
        return ()
    sheet = Sheet(
        name="switching",
        title=words("sheet.switching"),
        for_whom=words("for.crew"),
        blocks=(
            Text(paragraphs=(words("caution.mains"), words("said.switching")), loud=True),
            _table(edition, "switch-on", steps),
            _table(edition, "switch-off", tuple(reversed(steps))),
        ),
    )
    return (sheet,)


def _table(edition: Edition, name: str, steps: tuple[Step, ...]) -> Table:
    on = name == "switch-on"
    words = edition.words
    rows = []
    for n, step in enumerate(steps, start=1):
        ticks = Cell(ticks=tuple(_unit_text(edition, unit) for unit in step.units))
        wait = [Cell(text=f"{step.wait_s:g} s", figure=step.wait_s)] if on else []
        rows.append(Row(cells=(*cells(f"{n}", words(f"stage.{step.stage}")), ticks, *wait)))
    head = columns(words, "step", "what", "switched", *(["wait"] if on else []))
    return Table(name=name, title=words(f"part.{name}"), columns=head, rows=tuple(rows))


def _unit_text(edition: Edition, unit: Unit) -> str:
    """Give a unit with its place and its circuits, as one looks for it."""
    place = title_of(edition, unit.place)
    return f"{unit_title(unit)}: {', '.join([place, *unit.circuits])}"
