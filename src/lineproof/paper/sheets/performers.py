"""A sheet for every performer: what of theirs is plugged where, and what they hear."""

from __future__ import annotations

from lineproof.base.names import folded
from lineproof.paper.edition import Edition
from lineproof.paper.readers import For, players
from lineproof.paper.sheet import Block, Row, Sheet, Table
from lineproof.paper.sheets.inputs import is_output
from lineproof.paper.sheets.parts import (
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


def performer_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give a sheet for each player or group of whom this reader gets lines."""
    if edition.reader.kind is For.GUEST:
        return ()
    found = []
    for who, lines in players(edition.show).items():
        seen = tuple(line for line in lines if edition.line(line.key) is not None)
        plays = any(not is_output(edition, line) for line in seen)
        if plays and _is_reader(edition, who, seen):
            found.append(_sheet(edition, who, seen))
    return tuple(found)


def _is_reader(edition: Edition, who: str, lines: tuple[Line, ...]) -> bool:
    """Say whether the sheet is for this reader: their own, or one of their act's."""
    name = folded(edition.reader.name)
    acts = {folded(line.key.act) for line in lines}
    return edition.for_crew or name == folded(who) or name in acts


def _sheet(edition: Edition, who: str, lines: tuple[Line, ...]) -> Sheet:
    words = edition.words
    plays = [line for line in lines if not is_output(edition, line)]
    hears = [line for line in lines if is_output(edition, line)]
    blocks: list[Block] = []
    acts = ("act",) if edition.has_acts else ()
    if plays:
        keys = ("line", "name", *acts, "source", "stand", "from", "plug", "phantom", "note")
        rows = tuple(_plays(edition, line) for line in plays)
        title, head = words("part.plays"), columns(words, *keys)
        blocks.append(Table(name="performers", of=who, title=title, columns=head, rows=rows))
    if hears:
        rows = tuple(_hears(edition, line) for line in hears)
        title, head = words("part.hears"), columns(words, "line", "name", *acts, "arrives", "note")
        blocks.append(Table(name="hears", of=who, title=title, columns=head, rows=rows))
    return Sheet(
        name=f"performer-{who}",
        title=words("sheet.performer", name=who),
        for_whom=words("for.player"),
        blocks=tuple(blocks),
        landscape=True,
    )


def _plays(edition: Edition, line: Line) -> Row:
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    return Row(
        cells=(
            *cells(line.key.number, line.title),
            *acts,
            *cells(source_of(edition, line), line.stand, starts_of(edition, line)),
            *cells(plugs_text(edition, line), phantom_of(line), line.note),
        ),
        change=edition.change_of(line),
    )


def _hears(edition: Edition, line: Line) -> Row:
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    ends = ", ".join(arrival_text(edition, name, spots) for name, spots in arrivals(edition, line))
    return Row(
        cells=(*cells(line.key.number, line.title), *acts, *cells(ends, line.note)),
        change=edition.change_of(line),
    )
