"""The room from above, to scale: places, the boxes there, and how many leads go to them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.paper.edition import Edition
from lineproof.paper.fit import shortened
from lineproof.paper.fonts import bold, printable, regular
from lineproof.paper.sheet import Picture, Sheet
from lineproof.paper.svg import Drawing
from lineproof.show.model import Place

#: What is left of an upright and of a flipped A4 sheet, in millimetres.
UPRIGHT_MM = (186.0, 232.0)
FLIPPED_MM = (270.0, 146.0)
#: Room beside the outermost places for their words.
WORDS_MM = (70.0, 34.0)
FOOT_MM = 9.0
#: A longer name of a place is cut, with dots.
WIDEST_MM = 80.0

Box = tuple[float, float, float, float]


def room_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the room, where at least two places say where they are."""
    places = tuple(p for p in edition.show.places.values() if p.at_m is not None)
    if len(places) < 2:
        return ()
    view = _view(places)
    words = edition.words
    sheet = Sheet(
        name="stage",
        title=words("sheet.stage"),
        for_whom=words("for.crew"),
        blocks=(room_picture(edition, view),),
        landscape=view.landscape,
    )
    return (sheet,)


@dataclass(frozen=True, kw_only=True)
class View:
    """Turns metres of the room into millimetres of the sheet, at one scale both ways."""

    places: tuple[Place, ...]
    size_mm: tuple[float, float]
    scale: float  # millimetres on paper for a metre of the room
    corner_m: tuple[float, float]

    @property
    def landscape(self) -> bool:
        """Say whether the sheet lies on its side."""
        return self.size_mm == FLIPPED_MM

    def at(self, place: Place) -> tuple[float, float]:
        """Give where a place lies on the sheet, in millimetres."""
        assert place.at_m is not None
        x, y = place.at_m[0] - self.corner_m[0], place.at_m[1] - self.corner_m[1]
        return (6.0 + x * self.scale, 8.0 + y * self.scale)


def _view(places: tuple[Place, ...]) -> View:
    """Give the view that shows the room larger: on an upright sheet or on a flipped one."""
    xs, ys = ([p.at_m[n] for p in places if p.at_m] for n in (0, 1))
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    views = [
        View(
            places=places,
            size_mm=size,
            scale=min(
                (size[0] - WORDS_MM[0]) / max(wide, 0.5), (size[1] - WORDS_MM[1]) / max(deep, 0.5)
            ),
            corner_m=(min(xs), min(ys)),
        )
        for size in (UPRIGHT_MM, FLIPPED_MM)
    ]
    return max(views, key=lambda view: view.scale)


def room_picture(edition: Edition, view: View) -> Picture:
    """Give the picture: a square a place, a line where leads go, words that cover nothing."""
    width, height = view.size_mm
    says = edition.words("picture.stage")
    drawing = Drawing(width_mm=width, height_mm=height, says=says)
    pairs = _leads(edition)
    for a, b in pairs:
        drawing.line(view.at(a), view.at(b))
    taken: list[Box] = []
    for place in view.places:
        x, y = view.at(place)
        drawing.box(x - 1.5, y - 1.5, 3, 3, fill="#000000")
        taken.append((x - 1.5, y - 1.5, 3, 3))
    for (a, b), count in pairs.items():
        _count(drawing, view, (a, b), count, taken)
    in_order = sorted(view.places, key=lambda p: (view.at(p)[1], natural(p.name)))
    notes = [_note(edition, view, place, taken) for place in in_order]
    for note in notes:
        note.point(drawing)
    for note in notes:
        note.write(drawing)
    _rule(edition, drawing, view)
    return Picture(name="stage", says=says, svg=drawing.svg(), width_mm=width, height_mm=height)


def _leads(edition: Edition) -> dict[tuple[Place, Place], int]:
    """Give how many leads go between two places that say where they are."""
    pairs: dict[tuple[Place, Place], int] = {}
    places = edition.show.places
    cables = {(lead.place, lead.spot, lead.far) for lead in edition.outcome.figures.leads}
    for name, spot, _ in sorted(cables, key=str):
        there = places[edition.show.units[spot.unit].place]
        here = places.get(name)
        if here is not None and here != there and here.at_m and there.at_m:
            pairs[here, there] = pairs.get((here, there), 0) + 1
    return pairs


def _count(
    drawing: Drawing, view: View, pair: tuple[Place, Place], count: int, taken: list[Box]
) -> None:
    (x1, y1), (x2, y2) = view.at(pair[0]), view.at(pair[1])
    text = f"{count} ×"
    width = regular().width_mm(text, 10) + 2
    x, y = _free((x1 + x2 - width) / 2, (y1 + y2) / 2 - 3, width, 6, view, taken)
    drawing.box(x, y, width, 6, fill="#ffffff")
    drawing.text(x + 1, y + 4.3, text)


@dataclass(frozen=True, kw_only=True)
class Note:
    """The words of a place: its name and its units, in a box that covers nothing else."""

    dot: tuple[float, float]
    box: Box
    title: str
    rows: tuple[str, ...]

    def point(self, drawing: Drawing) -> None:
        """Draw a thin line from the place to its words, where they had to go further away."""
        (x, y), (left, top, width, height) = self.dot, self.box
        near = (min(max(x, left), left + width), min(max(y, top), top + height))
        if math.dist(self.dot, near) > 4.0:
            drawing.line(self.dot, near, width=0.2)

    def write(self, drawing: Drawing) -> None:
        """Write the words on paper of their own."""
        left, top, width, height = self.box
        drawing.paper(left, top, width, height)
        drawing.text(left, top + 4, self.title, size_pt=12, bold=True)
        for n, row in enumerate(self.rows, start=1):
            drawing.text(left, top + 4 + 4.5 * n, row)


def _note(edition: Edition, view: View, place: Place, taken: list[Box]) -> Note:
    title = shortened(printable(place.label or place.name), 12, WIDEST_MM)
    rows = tuple(_rows([u.name for u in edition.show.units.values() if u.place == place.name]))
    widths = [regular().width_mm(printable(row), 10) for row in rows]
    width = max([bold().width_mm(title, 12), *widths]) + 1
    height = 5.5 + 4.5 * len(rows)
    x, y = view.at(place)
    left, top = _free(x + 3, y - 2.5, width, height, view, taken)
    return Note(dot=(x, y), box=(left, top, width, height), title=title, rows=rows)


def _rows(names: list[str]) -> list[str]:
    """Give names in rows of about 55 mm."""
    rows: list[str] = []
    for name in names:
        longer = f"{rows[-1]}, {name}" if rows else name
        if rows and regular().width_mm(longer, 10) <= 55:
            rows[-1] = longer
        else:
            rows.append(name)
    return [row + ("," if n < len(rows) else "") for n, row in enumerate(rows, start=1)]


def _free(
    x: float, y: float, width: float, height: float, view: View, taken: list[Box]
) -> tuple[float, float]:
    """Give the nearest spot on the sheet, rings outwards, where a box covers nothing drawn."""
    wide, high = view.size_mm[0], view.size_mm[1] - FOOT_MM
    rings = [(0.0, 0.0)] + [
        (r * 4.0 * math.cos(a * math.pi / 6), r * 4.0 * math.sin(a * math.pi / 6))
        for r in range(1, 60)
        for a in range(12)
    ]
    for dx, dy in rings:
        left = min(max(x + dx, 0.3), max(wide - width - 0.3, 0.3))
        top = min(max(y + dy, 0.3), high - height)
        box = (left, top, width, height)
        if not _meets(box, taken):
            break
    taken.append(box)
    return box[0], box[1]


def _meets(box: Box, taken: list[Box]) -> bool:
    left, top, right, bottom = box[0], box[1], box[0] + box[2], box[1] + box[3]
    for x, y, width, height in taken:
        if left < x + width and x < right and top < y + height and y < bottom:
            return True
    return False


def _rule(edition: Edition, drawing: Drawing, view: View) -> None:
    """Draw a rule of whole metres at the foot, and which way the audience is."""
    metres = next(m for m in (1, 2, 5, 10, 20, 50, 100, 1000, 10_000) if m * view.scale > 12)
    y = view.size_mm[1] - 2
    end = metres * view.scale
    drawing.line((0.3, y - 2), (0.3, y), (end, y), (end, y - 2))
    words = edition.words
    text = f"{words('picture.metres', length=metres)} · {words('picture.audience')}"
    drawing.text(end + 3, y, text)
