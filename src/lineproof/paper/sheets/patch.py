"""The patch: a sheet for every stage box, mixer and recorder, one for all other equipment.

Every spot of the plan stands on exactly one of these sheets.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.spot import Side, Spot
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Row, Sheet, Table
from lineproof.paper.sheets.parts import columns, kind_of, title_of, unit_title
from lineproof.paper.sheets.patch_rows import (
    free_row,
    in_cells,
    is_kept,
    other_cells,
    out_cells,
    receive_cells,
    received_on_strip,
    send_cells,
    spot_rows,
    strip_cells,
)
from lineproof.show.model import Unit

BOXES = frozenset([Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT])
RECORDERS = frozenset([Does.COMPUTER, Does.RECORDER])


def patch_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give boxes first, then mixers, recorders, and one sheet for what is left."""
    boxes = [u for u in edition.units if u.kind.does in BOXES]
    mixers = [u for u in edition.units if u.kind.does is Does.MIXER]
    recorders = [u for u in edition.units if u.kind.does in RECORDERS]
    single = [*boxes, *mixers, *recorders]
    sheets = [_unit_sheet(edition, unit) for unit in single if _has_sheet(edition, unit)]
    others = [u for u in edition.units if u not in single and _in_use(edition, u)]
    return (*sheets, *([_others(edition, others)] if others else []))


def _in_use(edition: Edition, unit: Unit) -> bool:
    return any(edition.spots_of(unit.name, side) for side in Side)


def _has_sheet(edition: Edition, unit: Unit) -> bool:
    """Say whether there is something to print: a box's free sockets are worth knowing, too."""
    return _in_use(edition, unit) or (unit.kind.does in BOXES and bool(unit.kind.sockets))


def _unit_sheet(edition: Edition, unit: Unit) -> Sheet:
    make = _mixer if unit.kind.does is Does.MIXER else _box_or_recorder
    words = edition.words
    said = [words(f"for.{edition.reader.kind.value}"), kind_of(edition, unit)]
    said.append(words("said.stands-at", place=title_of(edition, unit.place)))
    if unit.number:
        said.append(words("said.unit-number", number=unit.number))
    return Sheet(
        name=f"patch-{unit.name}",
        title=unit_title(unit),
        for_whom=" · ".join(said),
        blocks=tuple(table for table in make(edition, unit) if table.rows),
    )


def _box_or_recorder(edition: Edition, unit: Unit) -> Iterator[Table]:
    free = unit.kind.does in BOXES
    yield _receives(edition, unit) if not free else _sockets_in(edition, unit, free=free)
    yield _sends(edition, unit) if not free else _sockets_out(edition, unit, free=free)
    yield _sockets_in(edition, unit) if not free else _receives(edition, unit)
    yield _sockets_out(edition, unit) if not free else _sends(edition, unit)
    yield _strips(edition, unit)


def _mixer(edition: Edition, unit: Unit) -> Iterator[Table]:
    yield _strips(edition, unit)
    yield _sockets_in(edition, unit)
    yield _sockets_out(edition, unit)
    yield _sends(edition, unit)
    yield _receives(edition, unit)


# -- the tables of one unit ----------------------------------------------------------------------


def _sockets_in(edition: Edition, unit: Unit, *, free: bool = False) -> Table:
    keys = ("socket", "source", "phantom", "stand", "from", "lead", "done")
    return _sockets(edition, unit, Side.IN, keys, free=free)


def _sockets_out(edition: Edition, unit: Unit, *, free: bool = False) -> Table:
    keys = ("socket", "fed-by", "goes-to", "lead", "done")
    return _sockets(edition, unit, Side.OUT, keys, free=free)


def _sockets(
    edition: Edition, unit: Unit, side: Side, keys: tuple[str, ...], *, free: bool
) -> Table:
    cells_of = in_cells if side is Side.IN else out_cells
    spots = set(edition.spots_of(unit.name, side))
    if free:
        count = edition.show.count(unit, side)
        spots |= {Spot(unit=unit.name, side=side, number=n) for n in range(1, count + 1)}
    rows: list[Row] = []
    columns_in_all = len(keys) + 2 + edition.has_acts
    if free and not any(edition.by_spot.get(spot) or is_kept(edition, spot) for spot in spots):
        found = [free_row(edition, tuple(sorted(spots, key=lambda s: s.number)), columns_in_all)]
        return _table(edition, unit, side.value, keys, found if spots else [])
    for spot in sorted(spots, key=lambda s: s.number):
        found = spot_rows(edition, spot, cells_of)
        rows += found or [free_row(edition, (spot,), columns_in_all)]
    return _table(edition, unit, side.value, keys, rows)


def _strips(edition: Edition, unit: Unit) -> Table:
    keys = ("strip", "phantom", "fed-by", "from-spot", "done")
    rows = [
        row
        for spot in edition.spots_of(unit.name, Side.STRIP)
        for row in spot_rows(edition, spot, strip_cells)
    ]
    return _table(edition, unit, "strip", keys, rows)


def _sends(edition: Edition, unit: Unit) -> Table:
    rows = [
        row
        for spot in edition.spots_of(unit.name, Side.SEND)
        for row in spot_rows(edition, spot, send_cells)
    ]
    return _table(edition, unit, "send", ("spot", "goes-to"), rows)


def _receives(edition: Edition, unit: Unit) -> Table:
    """Give the channels that are received, without those that stand beside a strip."""
    on_strips = received_on_strip(edition, unit.name)
    rows = [
        row
        for spot in edition.spots_of(unit.name, Side.RECEIVE)
        if spot not in on_strips
        for row in spot_rows(edition, spot, receive_cells)
    ]
    tracks = unit.kind.does in RECORDERS
    keys = ("track" if tracks else "spot", "from-spot")
    return _table(edition, unit, "tracks" if tracks else "receive", keys, rows)


def _table(
    edition: Edition, unit: Unit, part: str, keys: tuple[str, ...], rows: list[Row]
) -> Table:
    """Give a table whose rows begin with spot, line and name."""
    first, *more = keys
    acts = ("act",) if edition.has_acts else ()
    return Table(
        name=f"patch-{part}",
        of=unit.name,
        title=edition.words(f"part.{part}"),
        columns=columns(edition.words, first, "line", "name", *acts, *more),
        rows=tuple(rows),
    )


def _others(edition: Edition, units: list[Unit]) -> Sheet:
    words = edition.words
    rows = [
        row
        for unit in units
        for side in Side
        for spot in edition.spots_of(unit.name, side)
        for row in spot_rows(edition, spot, other_cells)
    ]
    acts = ("act",) if edition.has_acts else ()
    head = columns(words, "spot", "line", "name", *acts, "unit", "place", "fed-by", "done")
    table = Table(name="patch-others", columns=head, rows=tuple(rows))
    return Sheet(
        name="patch-others",
        title=words("sheet.others"),
        for_whom=words(f"for.{edition.reader.kind.value}"),
        blocks=(table,),
    )
