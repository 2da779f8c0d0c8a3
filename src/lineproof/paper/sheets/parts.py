"""What sheets have in common: columns by their key, cells, and how lines and spots are told."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.base.part import split_part
from lineproof.base.spot import Side, Spot
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Column, Look
from lineproof.paper.translate import Words
from lineproof.reckon.figures import Lead
from lineproof.reckon.stores import stock_lengths
from lineproof.show.model import Line, Unit

#: Columns set large wherever they stand; of the network: runs, streams, ports, what is to be set.
BIG = frozenset(
    [
        *("line", "name", "socket", "strip", "track", "spot", "into", "plug", "mute", "off"),
        *("run", "stream", "port", "from-port", "to-port", "ip", "set-to"),
    ]
)
TICKS = frozenset(["done", "heard-at", "switched"])
FIGURES = frozenset(
    [
        *("sheet", "lead", "count", "mass", "rack-units", "most", "all-at-once", "length", "wait"),
        *("order", "priority1", "priority2", "class", "packet", "depth", "mark", "feeds", "rate"),
        *("forth", "back", "most-forth", "most-back", "undisturbed", "after-fault", "margin"),
    ]
)

#: Room for lists of names, which are longer than any cell, and for the names of two ends.
LEAST_MM = {"channels": 52.0, "receivers": 46.0, "fault": 40.0, "run-name": 40.0, "units": 50.0}


def columns(words: Words, *keys: str) -> tuple[Column, ...]:
    """Give columns by key; some are ticks, a key with `!` behind is left for a pen."""
    return tuple(_column(words, key) for key in keys)


def _column(words: Words, key: str) -> Column:
    bare = key.rstrip("!")
    title = words(f"column.{bare}")
    if key != bare:
        return Column(title=title, look=Look.WRITE, least_mm=18.0)
    if key in TICKS:
        return Column(title=title, look=Look.TICK)
    if key in BIG:
        return Column(title=title, look=Look.BIG)
    look = Look.FIGURE if key in FIGURES else Look.BODY
    return Column(title=title, look=look, least_mm=LEAST_MM.get(key, 0.0))


def cells(*texts: str) -> tuple[Cell, ...]:
    """Give plain cells."""
    return tuple(Cell(text=text) for text in texts)


#: One empty box to tick off.
TICK = Cell(ticks=("",))
EMPTY = Cell()


def source_of(edition: Edition, line: Line) -> str:
    """Give what is plugged in, in the list's own words where it has some."""
    if line.source_text or line.source is None:
        return line.source_text
    return edition.words.told("source", line.source.label)


def kind_of(edition: Edition, unit: Unit) -> str:
    """Give what a unit's kind is called: the catalogue's own in the papers' language."""
    return edition.words.told("kind", unit.kind.label)


def phantom_of(line: Line) -> str:
    """Give "48 V" where the source wants it."""
    return "48 V" if line.needs_phantom else ""


def title_of(edition: Edition, name: str) -> str:
    """Give what papers print for a unit or a place: its label, else its name."""
    if (unit := edition.show.units.get(name)) is not None:
        return unit.title
    place = edition.show.places.get(name)
    return (place.label or place.name) if place is not None else name


def unit_title(unit: Unit) -> str:
    """Give a unit's name, with its label where it has one: spots are written with the name."""
    return f"{unit.label} ({unit.name})" if unit.label else unit.name


def starts_of(edition: Edition, line: Line) -> str:
    """Give where a line starts: a place or a unit in words, or the spot that is written down."""
    starts = line.starts
    return ", ".join(str(s) if s.numbers else title_of(edition, s.name) for s in starts)


def lead_cell(words: Words, lead: Lead | None) -> Cell:
    """Give the stock lengths of a lead, as in `50 + 10 m`; a question mark where nobody knows.

    Over a tie there are two leads, of which only the sum is known.
    """
    if lead is None:
        return EMPTY
    if lead.length_m is None:
        return Cell(text="?")
    if lead.over is not None:
        text = words("said.two-leads", length=f"{lead.length_m:.0f}")
        return Cell(text=text, figure=lead.length_m)
    stock = stock_lengths(lead.length_m)
    return Cell(text=f"{' + '.join(map(str, stock))} m", figure=float(sum(stock)))


def kilograms(mass_kg: float) -> Cell:
    """Give a mass in kg."""
    return Cell(text=f"{mass_kg:g} kg", figure=mass_kg)


def number(value: float) -> Cell:
    """Give a figure without a measure; an empty cell for nothing."""
    return Cell(text=f"{value:g}", figure=value) if value else EMPTY


def spots_text(spots: Iterable[Spot]) -> str:
    """Give spots as people write them, one behind the other."""
    return ", ".join(str(spot) for spot in spots)


def plugs_text(edition: Edition, line: Line) -> str:
    """Give the sockets into which a line is plugged at its start, with the tie in between."""
    each = []
    for plug in edition.plugs(line):
        tie = edition.tie_text(edition.lead(line, plug))
        each.append(edition.words("said.over-tie", what=plug, tie=tie) if tie else str(plug))
    return ", ".join(each)


def arrivals(edition: Edition, line: Line) -> tuple[tuple[str, tuple[Spot, ...]], ...]:
    """Give every end of a line that this reader may see, with the spots there."""
    units = edition.show.units
    found = edition.decided(line).ends.items()
    return tuple(
        (part, spots)
        for part, spots in found
        if (name := _unit_of(part)) not in units
        or edition.reader.may_see_end(line, units[name], edition.show)
    )


def _unit_of(part: str) -> str:
    """Give the unit or place of an end, without its spot and without the start that feeds it."""
    return split_part(part)[0].partition(":")[0]


def arrival_text(edition: Edition, name: str, spots: tuple[Spot, ...]) -> str:
    """Give one end as it is ticked off, as in `desk:7`: the unit and the number to look for.

    A strip on a mixer, a track or channel elsewhere, the socket of a unit with sockets only. What
    a standby brings to a strip that another start feeds is told by its own channel.
    """
    end, start = split_part(name)
    if start:
        own = next((str(spot) for spot in spots if spot.unit == end), title_of(edition, end))
        return edition.words("said.from-standby", end=own, start=start)
    here = [spot for spot in spots if spot.unit == name]
    order = (Side.STRIP, Side.RECEIVE, Side.IN, Side.OUT)
    at = next((s for side in order for s in here if s.side is side), None)
    if at is None:
        return title_of(edition, name)
    return f"{name}:{at.number}"
