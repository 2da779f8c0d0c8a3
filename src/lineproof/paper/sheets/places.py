"""Place by place, in walking order: what is plugged and what comes out there."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import (
    TICK,
    cells,
    columns,
    lead_cell,
    phantom_of,
    source_of,
    title_of,
    unit_title,
)
from lineproof.reckon.figures import Lead
from lineproof.reckon.order import walking_order
from lineproof.show.model import Line


def place_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give one sheet with a table for every place where something is plugged."""
    blocks: list[Block] = []
    for place in walking_order(edition.show):
        blocks += _place(edition, place)
    words = edition.words
    if not blocks:
        return ()
    return (
        Sheet(
            name="places",
            title=words("sheet.places"),
            for_whom=words("for.walking"),
            blocks=tuple(blocks),
        ),
    )


def _place(edition: Edition, place: str) -> list[Block]:
    units = edition.show.units
    leads = [
        lead
        for lead in edition.outcome.figures.leads
        if lead.place == place or (lead.over is not None and units[lead.spot.unit].place == place)
    ]
    seen = [(lead, line) for lead in leads if (line := edition.line(lead.line)) is not None]
    here = [u for u in edition.show.units.values() if u.place == place]
    if not seen and not here:
        return []
    title = title_of(edition, place)
    stands = ", ".join(unit_title(unit) for unit in here)
    blocks: list[Block] = []
    if seen:
        rows = _rows(edition, place, seen)
        acts = ("act",) if edition.has_acts else ()
        keys = ("into", "line", "name", *acts, "at-this-end", "phantom", "stand", "lead", "done")
        head = columns(edition.words, *keys)
        blocks.append(Table(name="places", of=place, title=title, columns=head, rows=rows))
        title = ""
    if here:
        text = edition.words("said.here-stand", units=stands)
        blocks.append(Text(title=title, paragraphs=(text,)))
    return blocks


def _rows(edition: Edition, place: str, seen: list[tuple[Lead, Line]]) -> tuple[Row, ...]:
    """Give the rows of a place by socket; what looks the same in several acts is one row.

    A lead over a tie is plugged at both its ends.
    """
    found: dict[tuple[tuple[Cell, ...], tuple[Cell, ...], str], list[Line]] = {}
    for lead, line in sorted(seen, key=lambda it: (it[0].spot.sort_key(), it[1].key.sort_key())):
        change = edition.change_at(line, lead.spot)
        here = lead.place == place
        into = (edition.tie_text(lead) if here else "") or str(lead.spot)
        first = cells(into, line.key.number, line.title)
        rest = (_cells if here else _far_cells)(edition, lead, line)
        found.setdefault((first, rest, change), []).append(line)
    return tuple(
        Row(cells=(*first, *_acts(edition, lines), *rest), change=change)
        for (first, rest, change), lines in found.items()
    )


def _acts(edition: Edition, lines: list[Line]) -> tuple[Cell, ...]:
    return cells(edition.acts_of(lines)) if edition.has_acts else ()


def _cells(edition: Edition, lead: Lead, line: Line) -> tuple[Cell, ...]:
    phantom = phantom_of(line) if lead.at_start else ""
    texts = cells(str(lead.far) if lead.far else source_of(edition, line), phantom, line.stand)
    return (*texts, lead_cell(edition.words, lead), TICK)


def _far_cells(edition: Edition, lead: Lead, line: Line) -> tuple[Cell, ...]:
    """Give the cells at the far end of a tie: there its line is plugged on into the socket."""
    phantom = phantom_of(line) if lead.at_start else ""
    return (*cells(edition.tie_text(lead), phantom, "", ""), TICK)
