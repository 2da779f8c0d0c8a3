"""Place by place, in walking order: what is plugged and what comes out there."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Row, Sheet, Table, Text
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
    leads = [lead for lead in edition.outcome.figures.leads if lead.place == place]
    seen = [(lead, line) for lead in leads if (line := edition.line(lead.line)) is not None]
    here = [u for u in edition.show.units.values() if u.place == place]
    if not seen and not here:
        return []
    title = title_of(edition, place)
    stands = ", ".join(unit_title(unit) for unit in here)
    blocks: list[Block] = []
    if seen:
        seen.sort(key=lambda pair: (pair[0].spot.sort_key(), pair[1].key.sort_key()))
        rows = tuple(_row(edition, lead, line) for lead, line in seen)
        acts = ("act",) if edition.has_acts else ()
        keys = ("into", "line", "name", *acts, "at-this-end", "phantom", "stand", "lead", "done")
        head = columns(edition.words, *keys)
        blocks.append(Table(name="places", of=place, title=title, columns=head, rows=rows))
        title = ""
    if here:
        text = edition.words("said.here-stand", units=stands)
        blocks.append(Text(title=title, paragraphs=(text,)))
    return blocks


def _row(edition: Edition, lead: Lead, line: Line) -> Row:
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    phantom = phantom_of(line) if lead.at_start else ""
    return Row(
        cells=(
            *cells(str(lead.spot), line.key.number, line.title),
            *acts,
            *cells(str(lead.far) if lead.far else source_of(line), phantom, line.stand),
            lead_cell(lead),
            TICK,
        ),
        change=edition.change_at(line, lead.spot),
    )
