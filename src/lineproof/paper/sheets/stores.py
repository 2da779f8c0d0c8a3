"""What comes off the truck: leads, stands, microphones, direct boxes, equipment and racks."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Column, Row, Sheet, Table
from lineproof.paper.sheets.parts import (
    TICK,
    cells,
    columns,
    kilograms,
    kind_of,
    lead_cell,
    number,
    title_of,
    unit_title,
)
from lineproof.reckon.stores import (
    Cable,
    Count,
    cables,
    direct_boxes,
    microphones,
    racks,
    shelves,
    stands,
)


def store_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the cable list, the counts and the equipment list."""
    parts = [("cables", _cables(edition)), ("counts", _counts(edition))]
    parts.append(("equipment", _equipment(edition)))
    words = edition.words
    return tuple(
        Sheet(
            name=name,
            title=words(f"sheet.{name}"),
            for_whom=words("for.stores"),
            blocks=tables,
        )
        for name, tables in parts
        if tables
    )


def _cables(edition: Edition) -> tuple[Table, ...]:
    words = edition.words
    found = cables(edition.outcome.figures)
    if not found:
        return ()
    shelf = tuple(
        Row(
            cells=(
                Cell(text=title_of(edition, each.place)),
                Cell(text=_metres(each.length_m), figure=each.length_m),
                number(each.count),
                TICK,
            )
        )
        for each in shelves(found)
    )
    order = sorted(found, key=lambda c: (title_of(edition, c.place), c.spot.sort_key()))
    each = tuple(_cable_row(edition, cable) for cable in order)
    head = columns(words, "place", "length", "count", "done")
    every = columns(words, "place", "at-this-end", "plug", "length", "lead", "lines")
    return (
        Table(name="leads", title=words("part.leads"), columns=head, rows=shelf),
        Table(name="cables", title=words("part.cables"), columns=every, rows=each),
    )


def _metres(length_m: float | None) -> str:
    return "?" if length_m is None else f"{length_m:.0f} m"


def _cable_row(edition: Edition, cable: Cable) -> Row:
    far = str(cable.far) if cable.far else ""
    stock = " + ".join(map(str, cable.lengths_m))
    lines = ", ".join(str(key) for key in cable.lines)
    plug = str(cable.spot)
    lead = edition.leads_between.get((cable.place, cable.spot, cable.far))
    brought = Cell(text=f"{stock} m" if stock else "?", figure=float(sum(cable.lengths_m)))
    if tie := edition.tie_text(lead):
        plug = edition.words("said.over-tie", what=plug, tie=tie)
        brought = lead_cell(edition.words, lead)
    return Row(
        cells=(
            *cells(title_of(edition, cable.place), far, plug),
            Cell(text=_metres(cable.length_m), figure=cable.length_m),
            brought,
            Cell(text=lines),
        )
    )


def _counts(edition: Edition) -> tuple[Table, ...]:
    show, plan = edition.show, edition.outcome.plan
    parts = (
        ("microphones", microphones(show, plan)),
        ("direct-boxes", direct_boxes(show, plan)),
        ("stands", stands(show, plan)),
    )
    return tuple(_count_table(edition, name, found) for name, found in parts if found)


def _count_table(edition: Edition, name: str, found: tuple[Count, ...]) -> Table:
    words = edition.words
    if edition.has_acts:
        head = columns(words, "item", "most", "all-at-once", "done")
    else:
        head = columns(words, "item", "count", "done")
    rows = []
    for each in found:
        at_once = (number(each.all_at_once),) if edition.has_acts else ()
        rows.append(
            Row(
                cells=(
                    Cell(text=words.told("source", each.item)),
                    number(each.most),
                    *at_once,
                    TICK,
                )
            )
        )
    title = words(f"part.{name}")
    return Table(name="counts", of=title, title=title, columns=head, rows=tuple(rows))


def _equipment(edition: Edition) -> tuple[Table, ...]:
    tables = (_units(edition), _racks(edition))
    return tuple(table for table in tables if table.rows)


def _units(edition: Edition) -> Table:
    words = edition.words
    rows = tuple(
        Row(
            cells=(
                *cells(
                    unit_title(unit),
                    kind_of(edition, unit),
                    title_of(edition, unit.place),
                    unit.rack,
                ),
                Cell(text=", ".join(unit.circuits)),
                kilograms(unit.kind.mass_kg),
                Cell(text=_note(edition, unit.note, theirs=unit.theirs)),
                TICK,
            )
        )
        for unit in edition.units
    )
    head = _equipment_head(edition)
    return Table(name="equipment", title=words("part.units"), columns=head, rows=rows)


def _equipment_head(edition: Edition) -> tuple[Column, ...]:
    keys = ("unit", "kind", "place", "rack", "circuit", "mass", "note", "done")
    return columns(edition.words, *keys)


def _note(edition: Edition, note: str, *, theirs: bool) -> str:
    said = [edition.words("said.theirs")] if theirs else []
    return "; ".join([*said, *([note] if note else [])])


def _racks(edition: Edition) -> Table:
    words = edition.words
    seen = {unit.name for unit in edition.units}
    rows = tuple(
        Row(
            cells=(
                Cell(text=rack.rack or words("said.loose")),
                Cell(text=title_of(edition, rack.place)),
                Cell(text=", ".join(title_of(edition, name) for name in rack.units)),
                number(rack.rack_units),
                kilograms(rack.mass_kg),
            )
        )
        for rack in racks(edition.show)
        if seen.issuperset(rack.units)
    )
    head = columns(words, "rack", "place", "units", "rack-units", "mass")
    return Table(name="racks", title=words("part.racks"), columns=head, rows=rows)
