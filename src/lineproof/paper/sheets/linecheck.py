"""The line-check sheet: list order, a box to tick at every end, time and initials."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table
from lineproof.paper.sheets.parts import (
    EMPTY,
    arrival_text,
    arrivals,
    cells,
    columns,
    phantom_of,
    plugs_text,
    source_of,
    starts_of,
)
from lineproof.show.model import Line


def line_check_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give one sheet, with a table for each act."""
    words = edition.words
    tables = tuple(_table(edition, act, lines) for act, lines in edition.by_act())
    if not tables:
        return ()
    sheet = Sheet(
        name="line-check",
        title=words("sheet.line-check"),
        for_whom=words("for.line-check"),
        blocks=tables,
        landscape=True,
    )
    return (sheet,)


def _table(edition: Edition, act: str, lines: tuple[Line, ...]) -> Table:
    words = edition.words
    keys = ("line", "name", "source", "phantom", "plug", "heard-at", "time!", "initials!")
    return Table(
        name="line-check",
        of=act if edition.has_acts else "",
        title=act if edition.has_acts else "",
        columns=columns(words, *keys),
        rows=tuple(_row(edition, line) for line in lines),
    )


def _row(edition: Edition, line: Line) -> Row:
    plug = plugs_text(edition, line) or starts_of(edition, line)
    ends = tuple(arrival_text(edition, name, spots) for name, spots in arrivals(edition, line))
    return Row(
        cells=(
            *cells(line.key.number, line.title, source_of(edition, line), phantom_of(line), plug),
            Cell(ticks=ends),
            EMPTY,
            EMPTY,
        ),
        change=edition.change_of(line),
    )
