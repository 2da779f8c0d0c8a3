"""The patch: a sheet for every stage box, mixer and recorder, one for all other equipment.

Every spot of the plan stands on exactly one of these sheets.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.spot import Side, Spot
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table
from lineproof.paper.sheets.parts import (
    EMPTY,
    TICK,
    arrival_text,
    arrivals,
    cells,
    columns,
    lead_cell,
    leads_at,
    phantom_of,
    source_of,
    spots_text,
    starts_of,
    title_of,
    unit_title,
)
from lineproof.show.model import Line, Unit

BOXES = frozenset([Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT])
RECORDERS = frozenset([Does.COMPUTER, Does.RECORDER])


def patch_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give boxes first, then mixers, recorders, and one sheet for what is left."""
    boxes = [u for u in edition.units if u.kind.does in BOXES]
    mixers = [u for u in edition.units if u.kind.does is Does.MIXER]
    recorders = [u for u in edition.units if u.kind.does in RECORDERS]
    single = [*boxes, *mixers, *recorders]
    sheets = [_unit_sheet(edition, unit) for unit in single if _in_use(edition, unit)]
    others = [u for u in edition.units if u not in single and _in_use(edition, u)]
    return (*sheets, *([_others(edition, others)] if others else []))


def _in_use(edition: Edition, unit: Unit) -> bool:
    return unit.kind.does in BOXES or any(edition.spots_of(unit.name, side) for side in Side)


def _unit_sheet(edition: Edition, unit: Unit) -> Sheet:
    kind = unit.kind.does
    make = _box if kind in BOXES else _mixer if kind is Does.MIXER else _recorder
    tables = tuple(table for table in make(edition, unit) if table.rows)
    words = edition.words
    where = words("said.stands-at", place=title_of(edition, unit.place))
    numbered = words("said.unit-number", number=unit.number) if unit.number else ""
    return Sheet(
        name=f"patch-{unit.name}",
        title=unit_title(unit),
        for_whom=" · ".join(part for part in (unit.kind.label, where, numbered) if part),
        blocks=tables,
    )


# -- boxes -------------------------------------------------------------------------------------


def _box(edition: Edition, unit: Unit) -> Iterator[Table]:
    yield _sockets_in(edition, unit, free=True)
    yield _sockets_out(edition, unit, free=True)
    # A box with an inside patch has its channels decided; else socket n is channel n.
    yield _channels(edition, unit, Side.SEND)
    yield _channels(edition, unit, Side.RECEIVE)


def _sockets_in(edition: Edition, unit: Unit, *, free: bool) -> Table:
    acts = ("act",) if edition.has_acts else ()
    keys = ("socket", "line", "name", *acts, "source", "phantom", "stand", "from", "lead", "done")
    rows = []
    for spot in _spots(edition, unit, Side.IN, free=free):
        groups = _roles(edition.by_spot.get(spot, ()))
        rows += [_in_row(edition, spot, lines) for lines in groups]
        if not groups:
            rows.append(_free_row(edition, spot, len(keys)))
    return _table(edition, unit, "in", keys, rows)


def _spots(edition: Edition, unit: Unit, side: Side, *, free: bool) -> tuple[Spot, ...]:
    used = edition.spots_of(unit.name, side)
    if not free:
        return used
    count = edition.show.count(unit, side)
    every = {Spot(unit=unit.name, side=side, number=n) for n in range(1, count + 1)} | {*used}
    return tuple(sorted(every, key=lambda spot: spot.number))


def _roles(lines: tuple[Line, ...]) -> tuple[tuple[Line, ...], ...]:
    """Give lines of several acts that look the same at the socket as one row."""
    found: dict[tuple[object, ...], list[Line]] = {}
    for line in lines:
        starts = tuple(map(str, line.starts))
        look = (line.key.number, line.title, source_of(line), phantom_of(line), line.stand, starts)
        found.setdefault(look, []).append(line)
    return tuple(tuple(same) for same in found.values())


def _in_row(edition: Edition, spot: Spot, lines: tuple[Line, ...]) -> Row:
    line = lines[0]
    acts = cells(edition.acts_of(lines)) if edition.has_acts else ()
    lead = leads_at(edition).get(spot)
    source = str(lead.far) if lead and lead.far else source_of(line)
    return Row(
        cells=(
            *cells(str(spot.number), line.key.number, line.title),
            *acts,
            *cells(source, phantom_of(line), line.stand, starts_of(edition, line)),
            lead_cell(lead),
            TICK,
        ),
        change=edition.change_at(line, spot),
        spots=(spot,),
    )


def _free_row(edition: Edition, spot: Spot, count: int) -> Row:
    kept = _kept_for(edition, spot)
    texts = (str(spot.number), "", kept or edition.words("said.free"))
    blank = (EMPTY,) * (count - len(texts))
    return Row(cells=(*cells(*texts), *blank), change=edition.left_empty(spot), spare=True)


def _kept_for(edition: Edition, spot: Spot) -> str:
    """Give for whom a freed spot is kept; only the crew hears of lines that are gone."""
    if not edition.for_crew:
        return ""
    freed = next((f for f in edition.outcome.plan.freed if f.spot == spot), None)
    return edition.words("said.kept", line=freed.line, name=freed.name) if freed else ""


def _sockets_out(edition: Edition, unit: Unit, *, free: bool) -> Table:
    acts = ("act",) if edition.has_acts else ()
    keys = ("socket", "line", "name", *acts, "fed-by", "goes-to", "lead", "done")
    rows = []
    for spot in _spots(edition, unit, Side.OUT, free=free):
        groups = _roles(edition.by_spot.get(spot, ()))
        rows += [_out_row(edition, spot, lines) for lines in groups]
        if not groups:
            rows.append(_free_row(edition, spot, len(keys)))
    return _table(edition, unit, "out", keys, rows)


def _out_row(edition: Edition, spot: Spot, lines: tuple[Line, ...]) -> Row:
    line = lines[0]
    acts = cells(edition.acts_of(lines)) if edition.has_acts else ()
    lead = leads_at(edition).get(spot)
    to = "" if lead is None else str(lead.far) if lead.far else title_of(edition, lead.place)
    return Row(
        cells=(
            *cells(str(spot.number), line.key.number, line.title),
            *acts,
            *cells(_before(edition, line, spot), to),
            lead_cell(lead),
            TICK,
        ),
        change=edition.change_at(line, spot),
        spots=(spot,),
    )


# -- mixers ------------------------------------------------------------------------------------


def _mixer(edition: Edition, unit: Unit) -> Iterator[Table]:
    yield _strips(edition, unit)
    yield _sockets_in(edition, unit, free=False)
    yield _sockets_out(edition, unit, free=False)
    yield _channels(edition, unit, Side.SEND)
    on_strips = {s for row in _strips(edition, unit).rows for s in row.spots}
    yield _channels(edition, unit, Side.RECEIVE, without=frozenset(on_strips))


def _strips(edition: Edition, unit: Unit) -> Table:
    acts = ("act",) if edition.has_acts else ()
    keys = ("strip", "line", "name", *acts, "phantom", "fed-by", "from-spot", "done")
    rows = []
    for spot in edition.spots_of(unit.name, Side.STRIP):
        rows += [_strip_row(edition, spot, line) for line in edition.by_spot[spot]]
    return _table(edition, unit, "strip", keys, rows)


def _strip_row(edition: Edition, strip: Spot, line: Line) -> Row:
    way = _way_through(edition, line, strip)
    here = [spot for spot in way if spot.unit == strip.unit and spot != strip]
    before = [spot for spot in way if spot.unit != strip.unit]
    fed = here[-1] if here else None
    # What it has received stands in this table and in no other.
    own = (strip, *(spot for spot in here if spot.side is Side.RECEIVE))
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    place = "" if before else starts_of(edition, line)
    return Row(
        cells=(
            *cells(str(strip.number), line.key.number, line.title),
            *acts,
            *cells(phantom_of(line), f"{fed.side.value}-{fed.number}" if fed else ""),
            *cells(str(_first_socket(before)) if before else place),
            TICK,
        ),
        change=edition.change_at(line, *own),
        spots=own,
    )


def _first_socket(spots: list[Spot]) -> Spot:
    """Give the socket the line is plugged into, else the channel in which it starts."""
    return next((spot for spot in spots if spot.side is Side.IN), spots[-1])


def _way_through(edition: Edition, line: Line, spot: Spot) -> tuple[Spot, ...]:
    """Give the spots of one of the line's ways, in order, as far as `spot`."""
    for way in edition.outcome.figures.ways.get(line.key, ()):
        if spot in way.spots:
            return way.spots[: way.spots.index(spot) + 1]
    return (spot,)


def _before(edition: Edition, line: Line, spot: Spot) -> str:
    """Give the spot a line comes from, one step before `spot`; the mix itself where none is."""
    way = _way_through(edition, line, spot)
    outside = [s for s in way if s.unit != spot.unit]
    inside = [s for s in way if s.unit == spot.unit and s != spot]
    if outside:
        return str(outside[-1])
    return spots_text(inside[-1:]) or starts_of(edition, line)


# -- channels, recorders -----------------------------------------------------------------------


def _channels(
    edition: Edition, unit: Unit, side: Side, *, without: frozenset[Spot] = frozenset()
) -> Table:
    acts = ("act",) if edition.has_acts else ()
    sends = side is Side.SEND
    first = "spot" if unit.kind.does not in RECORDERS or sends else "track"
    keys = (first, "line", "name", *acts, "goes-to" if sends else "from-spot")
    rows = [
        _channel_row(edition, spot, line)
        for spot in edition.spots_of(unit.name, side)
        if spot not in without
        for line in edition.by_spot[spot]
    ]
    return _table(edition, unit, side.value, keys, rows)


def _channel_row(edition: Edition, spot: Spot, line: Line) -> Row:
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    if spot.side is Side.SEND:
        there = [(n, s) for n, s in arrivals(edition, line) if n != spot.unit]
        other = ", ".join(arrival_text(edition, name, spots) for name, spots in there)
    else:
        other = _origin(edition, line, spot)
    return Row(
        cells=(*cells(str(spot.number), line.key.number, line.title), *acts, Cell(text=other)),
        change=edition.change_at(line, spot),
        spots=(spot,),
    )


def _origin(edition: Edition, line: Line, spot: Spot) -> str:
    way = [s for s in _way_through(edition, line, spot) if s.unit != spot.unit]
    return str(_first_socket(way)) if way else starts_of(edition, line)


def _recorder(edition: Edition, unit: Unit) -> Iterator[Table]:
    yield _channels(edition, unit, Side.RECEIVE)
    yield _channels(edition, unit, Side.SEND)
    yield _sockets_in(edition, unit, free=False)
    yield _sockets_out(edition, unit, free=False)
    yield _strips(edition, unit)


def _table(
    edition: Edition, unit: Unit, part: str, keys: tuple[str, ...], rows: list[Row]
) -> Table:
    title = edition.words(f"part.{part}")
    if part == "receive" and unit.kind.does in RECORDERS:
        title = edition.words("part.tracks")
    return Table(
        name=f"patch-{part}",
        of=unit.name,
        title=title,
        columns=columns(edition.words, *keys),
        rows=tuple(rows),
    )


# -- everything else ---------------------------------------------------------------------------


def _others(edition: Edition, units: list[Unit]) -> Sheet:
    words = edition.words
    acts = ("act",) if edition.has_acts else ()
    keys = ("unit", "place", "spot", "line", "name", *acts, "fed-by", "done")
    rows = [
        _other_row(edition, unit, spot, line)
        for unit in units
        for side in Side
        for spot in edition.spots_of(unit.name, side)
        for line in edition.by_spot[spot]
    ]
    table = Table(name="patch-others", columns=columns(words, *keys), rows=tuple(rows))
    return Sheet(
        name="patch-others",
        title=words("sheet.others"),
        for_whom=words(f"for.{edition.reader.kind.value}"),
        blocks=(table,),
    )


def _other_row(edition: Edition, unit: Unit, spot: Spot, line: Line) -> Row:
    acts = cells(edition.acts_of([line])) if edition.has_acts else ()
    fed = _before(edition, line, spot) if spot.side in (Side.IN, Side.RECEIVE, Side.STRIP) else ""
    return Row(
        cells=(
            *cells(unit_title(unit), title_of(edition, unit.place)),
            *cells(f"{spot.side.value}-{spot.number}", line.key.number, line.title),
            *acts,
            *cells(fed),
            TICK,
        ),
        change=edition.change_at(line, spot),
        spots=(spot,),
    )
