"""Switching on and off: in which order, and how long to wait."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import TICK, cells, columns, title_of, unit_title
from lineproof.reckon.order import Step, switching_on


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
        title = words(f"stage.{step.stage}")
        for unit in step.units:
            what = cells(f"{n}", title, unit_title(unit), title_of(edition, unit.place))
            circuits = Cell(text=", ".join(unit.circuits))
            last = unit is step.units[-1]
            wait = Cell(text=f"{step.wait_s:g} s", figure=step.wait_s) if last else Cell()
            rows.append(Row(cells=(*what, circuits, *([wait] if on else []), TICK)))
    keys = ("step", "what", "unit", "place", "circuit", *(["wait"] if on else []), "done")
    head = columns(words, *keys)
    return Table(name=name, title=words(f"part.{name}"), columns=head, rows=tuple(rows))
