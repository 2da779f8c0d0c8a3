"""Draws the house of the hall show, which is nobody's: `python -m tools.house` writes its picture.

What lies where follows the places in shows/hall/show.yaml; two points of the drawing stand there
under `picture:`.
"""

from __future__ import annotations

import math
import sys

from tools.shell import ROOT, say

FILE = ROOT / "shows" / "hall" / "house.png"
#: The part of the room that is drawn, in its own metres: x to the right, y away from the stage.
LEFT, TOP, RIGHT, LOW = -48.0, -28.0, 22.0, 52.0
PIXELS_A_METRE = 10

Point = tuple[float, float]
#: How wide a wall is drawn, and everything else.
WALL, THIN = 4.0, 1.2


def main() -> int:
    """Write the picture."""
    import typst

    data = typst.compile(source().encode(), format="png", ppi=72.0)
    assert isinstance(data, bytes)
    FILE.write_bytes(data)
    say(f"{FILE.relative_to(ROOT)} written, {len(data):,} bytes")
    return 0


def source() -> str:
    """Give the drawing as typst reads it; a point of the page is a pixel."""
    wide, high = (RIGHT - LEFT) * PIXELS_A_METRE, (LOW - TOP) * PIXELS_A_METRE
    rows = [f"#set page(width: {wide}pt, height: {high}pt, margin: 0pt, fill: white)"]
    rows += [_path(points, width) for points, width in (*_walls(), *_inside(), *_yard())]
    return "\n".join(rows)


def _path(points: list[Point], width: float) -> str:
    """Give an open path through points of the room."""
    first, *rest = [_page(point) for point in points]
    lines = ", ".join(f"curve.line({point})" for point in rest)
    return f"#place(top + left, curve(stroke: {width}pt + black, curve.move({first}), {lines}))"


def _page(point: Point) -> str:
    x, y = (point[0] - LEFT) * PIXELS_A_METRE, (point[1] - TOP) * PIXELS_A_METRE
    return f"({x:.1f}pt, {y:.1f}pt)"


def _box(left: float, top: float, right: float, low: float) -> list[Point]:
    return [(left, top), (right, top), (right, low), (left, low), (left, top)]


def _arc(radius: float, begins: float, ends: float, *, middle_y: float) -> list[Point]:
    """Give an arc about a point behind the stage's edge; angles in degrees from the front."""
    steps = range(math.floor(begins), math.ceil(ends) + 1, 2)
    angles = [math.radians(step) for step in steps]
    return [(radius * math.sin(a), middle_y + radius * math.cos(a)) for a in angles]


def _walls() -> list[tuple[list[Point], float]]:
    """Give stage house, auditorium and foyer, with the openings between them."""
    stage = [(-11.0, 0.0), (-17.5, 0.0), (-17.5, -13.0), (17.5, -13.0), (17.5, 0.0), (11.0, 0.0)]
    left = [(-17.5, 0.0), (-20.0, 12.0), (-20.0, 38.0), (-3.0, 38.0)]
    right = [(-x, y) for x, y in left]
    foyer = [(-20.0, 38.0), (-20.0, 50.0), (-4.0, 50.0)]
    other = [(-x, y) for x, y in foyer]
    return [(each, WALL) for each in (stage, left, right, foyer, other)]


def _inside() -> list[tuple[list[Point], float]]:
    """Give the stage's edge, rows of seats with an aisle, the balcony's rail, the booth."""
    rail = _arc(28.0, -38.0, 38.0, middle_y=-6.0)
    seats = [
        _arc(radius, begins, ends, middle_y=-8.0)
        for radius in (14.0, 16.0, 18.0, 20.0, 22.0, 24.0, 26.0, 28.0, 31.0, 33.0, 35.0, 37.0)
        for begins, ends in ((-28.0, -4.0), (4.0, 28.0))
    ]
    edge = _arc(15.0, -46.0, 46.0, middle_y=-11.0)
    return [
        (edge, 2.0),
        (rail, 2.0),
        (_box(-3.0, 30.5, 3.0, 33.5), 2.0),
        *((s, THIN) for s in seats),
    ]


def _yard() -> list[tuple[list[Point], float]]:
    """Give the yard beside the stage with its fence, and where a van may stand."""
    fence = [(-17.5, -26.0), (-46.0, -26.0), (-46.0, -6.0), (-17.5, -6.0)]
    return [(fence, THIN), (_box(-43.5, -22.0, -36.5, -18.0), 2.0)]


if __name__ == "__main__":
    sys.exit(main())
