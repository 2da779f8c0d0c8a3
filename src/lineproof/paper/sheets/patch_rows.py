"""The rows of the patch: what stands beside one spot."""

from __future__ import annotations

from collections.abc import Callable

from lineproof.base.spot import Side, Spot
from lineproof.graph.signal import By, carried_by
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row
from lineproof.paper.sheets.parts import (
    EMPTY,
    TICK,
    arrival_text,
    arrivals,
    cells,
    lead_cell,
    phantom_of,
    source_of,
    spots_text,
    starts_of,
    title_of,
    unit_title,
)
from lineproof.show.model import Line

#: Gives the cells that stand after spot, line, name and act.
CellsOf = Callable[[Edition, Line, Spot], tuple[Cell, ...]]


def spot_rows(edition: Edition, spot: Spot, cells_of: CellsOf) -> list[Row]:
    """Give the rows of a spot: one for each line, lines that look the same in one row.

    The same microphone in several acts is one row with its acts.
    """
    found: dict[tuple[object, ...], list[Line]] = {}
    for line in edition.by_spot.get(spot, ()):
        own = owned(edition, line, spot)
        change = edition.change_at(line, *own)
        look = (line.key.number, line.title, cells_of(edition, line, spot), own, change)
        found.setdefault(look, []).append(line)
    return [_row(edition, spot, lines, cells_of) for lines in found.values()]


def _row(edition: Edition, spot: Spot, lines: list[Line], cells_of: CellsOf) -> Row:
    line = lines[0]
    own = owned(edition, line, spot)
    acts = cells(edition.acts_of(lines)) if edition.has_acts else ()
    name = str(spot.number) if cells_of is not other_cells else f"{spot.side.value}-{spot.number}"
    return Row(
        cells=(
            *cells(name, line.key.number, line.title),
            *acts,
            *cells_of(edition, line, spot),
        ),
        change=edition.change_at(line, *own),
        spots=own,
    )


def owned(edition: Edition, line: Line, spot: Spot) -> tuple[Spot, ...]:
    """Give the spots a row is about: a strip's row is about what the mixer receives for it, too."""
    if spot.side is not Side.STRIP:
        return (spot,)
    here = [s for s in way_to(edition, line, spot) if s.unit == spot.unit]
    return (spot, *(s for s in here if s.side is Side.RECEIVE))


def received_on_strip(edition: Edition, unit: str) -> frozenset[Spot]:
    """Give the receive channels of a unit that stand beside a strip."""
    return frozenset(
        spot
        for strip in edition.spots_of(unit, Side.STRIP)
        for line in edition.by_spot[strip]
        for spot in owned(edition, line, strip)
    )


def is_kept(edition: Edition, spot: Spot) -> bool:
    """Say whether a socket nothing is plugged into has more to tell than that it is free."""
    return bool(_kept_for(edition, spot) or edition.left_empty(spot))


def free_row(edition: Edition, spots: tuple[Spot, ...], count: int) -> Row:
    """Give the row of a socket nothing is plugged into; room to write by hand.

    Several stand in one row where nobody uses any of that side.
    """
    if not spots:
        return Row(cells=(EMPTY,) * count, spare=True)
    spot, last = spots[0], spots[-1]
    number = f"{spot.number}" if spot == last else f"{spot.number}–{last.number}"
    texts = (number, "", _kept_for(edition, spot) or edition.words("said.free"))
    blank = (EMPTY,) * (count - len(texts))
    return Row(cells=(*cells(*texts), *blank), change=edition.left_empty(spot), spare=True)


def _kept_for(edition: Edition, spot: Spot) -> str:
    """Give for whom a freed spot is kept; only the crew hears of lines that are gone."""
    if not edition.for_crew:
        return ""
    freed = next((f for f in edition.outcome.plan.freed if f.spot == spot), None)
    return edition.words("said.kept", line=freed.line, name=freed.name) if freed else ""


# -- cells ---------------------------------------------------------------------------------------


def in_cells(edition: Edition, line: Line, spot: Spot) -> tuple[Cell, ...]:
    """Give source, phantom, stand, where it comes from, its lead, a tick."""
    lead = edition.lead(line, spot)
    before = _over_multicore(edition, line, spot)
    source = str(lead.far) if lead and lead.far else before or source_of(edition, line)
    start = starts_of(edition, line)
    if tie := edition.tie_text(lead):
        start = edition.words("said.over-tie", what=start, tie=tie)
    texts = cells(source, phantom_of(line), line.stand, start)
    return (*texts, lead_cell(edition.words, lead), TICK)


def _over_multicore(edition: Edition, line: Line, spot: Spot) -> str:
    """Give the socket of the drop box that a multicore joins to this one, "" where none does."""
    before = way_to(edition, line, spot)[-2:-1]
    joined = bool(before) and carried_by(before[0], spot) is By.MULTICORE
    return str(before[0]) if joined else ""


def out_cells(edition: Edition, line: Line, spot: Spot) -> tuple[Cell, ...]:
    """Give what feeds it, where it goes, its lead, a tick."""
    lead = edition.lead(line, spot)
    to = "" if lead is None else str(lead.far) if lead.far else title_of(edition, lead.place)
    if tie := edition.tie_text(lead):
        to = edition.words("said.over-tie", what=to, tie=tie)
    elif lead is None:
        to = _drop_behind(edition, line, spot)
    return (*cells(_before(edition, line, spot), to), lead_cell(edition.words, lead), TICK)


def _drop_behind(edition: Edition, line: Line, spot: Spot) -> str:
    """Give the socket of the drop box at which what leaves here comes out, "" where none is."""
    for way in edition.outcome.figures.ways.get(line.key, ()):
        for hop in way.hops():
            if hop.from_spot == spot and hop.by is By.MULTICORE:
                return str(hop.to_spot)
    return ""


def strip_cells(edition: Edition, line: Line, strip: Spot) -> tuple[Cell, ...]:
    """Give phantom, the channel or socket that feeds the strip, where that comes from, a tick."""
    here = [s for s in way_to(edition, line, strip) if s.unit == strip.unit and s != strip]
    fed = f"{here[-1].side.value}-{here[-1].number}" if here else ""
    return (*cells(phantom_of(line), fed, _origin(edition, line, strip)), TICK)


def send_cells(edition: Edition, line: Line, spot: Spot) -> tuple[Cell, ...]:
    """Give everywhere a send channel goes: not where only another start of the line is heard."""
    ways = edition.outcome.figures.ways.get(line.key, ())
    here = [set(way.spots) for way in ways if spot in way.spots]
    there = [
        (name, spots)
        for name, spots in arrivals(edition, line)
        if name != spot.unit and (not here or any(way.issuperset(spots) for way in here))
    ]
    return cells(", ".join(arrival_text(edition, name, spots) for name, spots in there))


def receive_cells(edition: Edition, line: Line, spot: Spot) -> tuple[Cell, ...]:
    """Give where a receive channel comes from: the first socket, else the channel sent."""
    return cells(_origin(edition, line, spot))


def other_cells(edition: Edition, line: Line, spot: Spot) -> tuple[Cell, ...]:
    """Give unit, place, what feeds it, a tick."""
    unit = edition.show.units[spot.unit]
    starts = spot.side in (Side.OUT, Side.SEND) and unit.kind.does is not Does.AMPLIFIER
    fed = "" if starts else _before(edition, line, spot)
    return (*cells(unit_title(unit), title_of(edition, unit.place), fed), TICK)


def way_to(edition: Edition, line: Line, spot: Spot) -> tuple[Spot, ...]:
    """Give the spots of one of the line's ways, in order, as far as `spot`."""
    for way in edition.outcome.figures.ways.get(line.key, ()):
        if spot in way.spots:
            return way.spots[: way.spots.index(spot) + 1]
    return (spot,)


def _before(edition: Edition, line: Line, spot: Spot) -> str:
    """Give the spot a line comes from, outside the unit if it can be; else where it starts."""
    way = way_to(edition, line, spot)
    outside = [s for s in way if s.unit != spot.unit]
    inside = [s for s in way if s.unit == spot.unit and s != spot]
    return spots_text((outside or inside)[-1:]) or starts_of(edition, line)


def _origin(edition: Edition, line: Line, spot: Spot) -> str:
    """Give the first socket outside the unit, else the last channel there, else the place."""
    way = [s for s in way_to(edition, line, spot) if s.unit != spot.unit]
    if not way:
        return starts_of(edition, line)
    return str(next((s for s in way if s.side is Side.IN), way[-1]))
