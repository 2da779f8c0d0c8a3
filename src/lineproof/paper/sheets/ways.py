"""The way of each line as a picture: place, then unit by unit, a row for every end."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.base.part import ALSO, split_part
from lineproof.base.spot import Side, Spot
from lineproof.graph.signal import By, Way, carried_by
from lineproof.paper.edition import Edition
from lineproof.paper.fit import shortened
from lineproof.paper.fonts import bold, printable, regular
from lineproof.paper.sheet import Picture, Sheet
from lineproof.paper.sheets.parts import arrivals, title_of
from lineproof.paper.svg import PALE, Drawing
from lineproof.show.model import Line

#: The width of an upright A4 sheet between its margins: a picture shrinks only beyond it.
WIDE_MM = 186.0
TITLE_MM = 7.5
ROW_MM = 9.0
CHIP_MM = 7.0
GAP_MM = 8.0
SIZE_PT = 10.0
#: A longer name is cut, with dots: the line and its spots stand in full on the other sheets.
WIDEST_MM = 44.0


@dataclass(frozen=True, kw_only=True)
class Chip:
    """One stop of a way: a place, or a unit with its spots in the order of the signal.

    `network` says that the signal comes to it over the network.
    """

    name: str
    spots: str = ""
    network: bool = False

    @property
    def width_mm(self) -> float:
        """Give how wide it is drawn."""
        name = bold().width_mm(self.name, SIZE_PT)
        gap = 1.5 if self.spots else 0.0
        return name + gap + regular().width_mm(self.spots, SIZE_PT) + 4


def way_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give one sheet with a picture for every line whose way is known."""
    pictures = tuple(p for line in edition.lines if (p := way_picture(edition, line)) is not None)
    if not pictures:
        return ()
    words = edition.words
    sheet = Sheet(
        name="ways",
        title=words("sheet.ways"),
        for_whom=words("said.dashed"),
        blocks=pictures,
        # Type must not shrink with a long way: then the sheet lies on its side.
        landscape=any(picture.width_mm > WIDE_MM for picture in pictures),
    )
    return (sheet,)


def way_picture(edition: Edition, line: Line) -> Picture | None:
    """Give the picture of a line's ways, or None where none is known to this reader."""
    seen = {split_part(name)[0] for name, _ in arrivals(edition, line)}
    ways = [w for w in edition.outcome.figures.ways.get(line.key, ()) if w.end in seen]
    if not ways:
        return None
    rows = together([chips_of(edition, way) for way in ways])
    widths = [sum(chip.width_mm for chip in row) + GAP_MM * (len(row) - 1) for row in rows]
    act = f" ({edition.acts_of([line])})" if edition.has_acts else ""
    title = shortened(printable(f"{line.key.number} {line.title}{act}"), 14, WIDE_MM - 2)
    wide = max(WIDE_MM, *(width + 1 for width in widths))
    high = TITLE_MM + ROW_MM * len(rows)
    says = edition.words(
        "picture.way",
        line=line.key,
        name=line.title,
        steps="; ".join(" – ".join(map(str, way.spots)) for way in ways),
    )
    drawing = Drawing(width_mm=wide, height_mm=high, says=says)
    drawing.text(0, 5, title, size_pt=14, bold=True)
    _draw(rows, drawing)
    name = f"way-{str(line.key).replace('/', '-')}"
    return Picture(
        name=name, says=printable(says), svg=drawing.svg(), width_mm=wide, height_mm=high
    )


def chips_of(edition: Edition, way: Way) -> tuple[Chip, ...]:
    """Give the stops of a way: where it starts if that is a place, then every unit."""
    start = _start_of(edition, way)
    # A mix has no spot of its own; it starts in the unit that the first spot is of.
    elsewhere = not way.spots or way.spots[0].unit != start
    chips = [_chip_of(title_of(edition, start))] if elsewhere else []
    for spots in _by_unit(way.spots):
        before = way.spots[way.spots.index(spots[0]) - 1] if spots[0] != way.spots[0] else None
        network = before is not None and carried_by(before, spots[0]) is By.NETWORK
        words = ", ".join(f"{spot.side.value}-{spot.number}" for spot in spots)
        if tie := _tie_before(edition, way, spots[0]):
            chips.append(_chip_of(tie))
        chips.append(replace(_chip_of(spots[0].unit), spots=words, network=network))
    if way.spots and (tie := _tie_before(edition, way, None)):
        chips.append(_chip_of(tie))
    return tuple(chips)


def _start_of(edition: Edition, way: Way) -> str:
    """Give where a way starts; a further socket of a split hears what is plugged at the first."""
    start = way.start
    if start.startswith(ALSO):
        decided = edition.outcome.plan.line(way.line)
        start = next(iter(decided.start), start) if decided is not None else start
    return start.partition(":")[0]


def _tie_before(edition: Edition, way: Way, spot: Spot | None) -> str:
    """Give the line of a tie by which a way comes to a spot, or (None) to its end; else ""."""
    for lead in edition.leads_over_ties.get(way.line, ()):
        if lead.part not in (way.start, way.end):
            continue
        # A lead out of a unit to a place ends there; any other ends at its own socket.
        out = lead.spot.side is Side.OUT
        at = (lead.far if out else lead.spot) if spot is not None else None
        if (spot is not None and at == spot) or (spot is None and out and lead.far is None):
            return edition.tie_text(lead)
    return ""


def together(rows: list[tuple[Chip, ...]]) -> list[tuple[Chip, ...]]:
    """Give rows in which ends that hear the same place by the same numbers are one stop.

    As `desk, side  receive-3, strip-3`: one decision, told once.
    """
    found: dict[tuple[tuple[Chip, ...], str, str], list[Chip]] = {}
    for row in rows:
        # Only what the network brings; each lead is a thing of its own.
        same = (row[:-1], row[-1].spots, row[-1].name if not row[-1].network else "")
        found.setdefault(same, []).append(row[-1])
    return [
        (*before, replace(chips[0], name=names))
        for (before, _, _), chips in found.items()
        for names in _in_rows([chip.name for chip in chips])
    ]


def _in_rows(names: list[str]) -> list[str]:
    """Give names one behind the other, as many in a row as a stop is wide."""
    rows: list[str] = []
    for name in names:
        longer = f"{rows[-1]}, {name}" if rows else name
        if rows and bold().width_mm(longer, SIZE_PT) <= WIDEST_MM:
            rows[-1] = longer
        else:
            rows.append(name)
    return rows


def _chip_of(name: str) -> Chip:
    return Chip(name=shortened(printable(name), SIZE_PT, WIDEST_MM))


def _by_unit(spots: tuple[Spot, ...]) -> list[list[Spot]]:
    found: list[list[Spot]] = []
    for spot in spots:
        if found and found[-1][-1].unit == spot.unit:
            found[-1].append(spot)
        else:
            found.append([spot])
    return found


def _draw(rows: list[tuple[Chip, ...]], drawing: Drawing) -> None:
    """Draw the rows; what several begin with is drawn once, in the first of them."""
    ends: dict[tuple[Chip, ...], tuple[float, float]] = {}
    for n, row in enumerate(rows):
        middle = TITLE_MM + ROW_MM * n + CHIP_MM / 2
        for count in range(1, len(row) + 1):
            if row[:count] in ends:
                continue
            before = ends.get(row[: count - 1])
            x = before[0] + GAP_MM if before else 0.2
            if before:
                _join(drawing, before, (x, middle), dashed=row[count - 1].network)
            _chip(drawing, x, middle, row[count - 1])
            ends[row[:count]] = (x + row[count - 1].width_mm, middle)


def _join(
    drawing: Drawing, before: tuple[float, float], after: tuple[float, float], *, dashed: bool
) -> None:
    (x1, y1), (x2, y2) = before, after
    turn = x1 + GAP_MM / 2
    points = [(x1, y1), (x2, y2)] if y1 == y2 else [(x1, y1), (turn, y1), (turn, y2), (x2, y2)]
    drawing.line(*points, dashed=dashed)


def _chip(drawing: Drawing, x: float, middle: float, chip: Chip) -> None:
    fill = "#ffffff" if chip.spots else PALE
    drawing.box(x, middle - CHIP_MM / 2, chip.width_mm, CHIP_MM, fill=fill)
    drawing.text(x + 2, middle + 1.3, chip.name, size_pt=SIZE_PT, bold=True)
    if chip.spots:
        beside = x + 3.5 + bold().width_mm(chip.name, SIZE_PT)
        drawing.text(beside, middle + 1.3, chip.spots, size_pt=SIZE_PT)
