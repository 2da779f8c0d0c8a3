"""The picture behind the room: where its pixels stand on the page."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from lineproof.show.model import Picture
from lineproof.show.picture import PictureFile
from lineproof.web.views.room_plan import Plan, Point
from lineproof.web.worked import Worked

#: The one address at which the picture is given out, if the show names one.
PICTURE = "/room/picture"


@dataclass(frozen=True, kw_only=True)
class Backdrop:
    """The picture as it is drawn: its `size` in pixels, and what brings a pixel to the page.

    The `matrix` is that of SVG: x' = ax + cy + e, y' = bx + dy + f. `turns`: a note in the file
    may say how a camera was held, and is heeded.
    """

    href: str
    size: tuple[int, int]
    matrix: tuple[float, float, float, float, float, float]
    turns: bool


def mark_of(file: PictureFile) -> str:
    """Give a mark that changes with the picture, so that a browser may keep what it has."""
    return hashlib.sha256(file.data).hexdigest()[:10]


def named_picture(worked: Worked) -> tuple[Picture, PictureFile] | None:
    """Give the picture the show names with its file, None where there is none to draw."""
    named = worked.outcome.show.picture if worked.outcome else None
    return None if named is None or worked.picture is None else (named, worked.picture)


def corners(picture: Picture, file: PictureFile) -> tuple[Point, ...]:
    """Give the four corners in the room's metres."""
    wide, high = file.size
    scale, shift = _to_metres(picture)
    places = (scale * complex(x, y) + shift for x in (0, wide) for y in (0, high))
    return tuple((place.real, place.imag) for place in places)


def backdrop(picture: Picture, file: PictureFile, plan: Plan) -> Backdrop:
    """Give the picture where the plan's dots have its two points."""
    scale, shift = _to_metres(picture)
    turn = plan.scale * (-1j if plan.turned else 1)
    whole, at = turn * scale, turn * shift + complex(*plan.origin)
    parts = (whole.real, whole.imag, -whole.imag, whole.real)
    a, b, c, d = (round(part, 6) for part in parts)
    return Backdrop(
        href=f"{PICTURE}?v={mark_of(file)}",
        size=file.size,
        matrix=(a, b, c, d, round(at.real, 2), round(at.imag, 2)),
        turns=file.media_type == "image/jpeg",
    )


def _to_metres(picture: Picture) -> tuple[complex, complex]:
    """Give scale and shift that bring a pixel to metres, both as complex numbers.

    Right and down in both: so a turn, a scale and a shift do, and these are one multiplication and
    one sum of complex numbers.
    """
    first, second = picture.first, picture.second
    away = complex(*second.pixel) - complex(*first.pixel)
    scale = (complex(*second.at_m) - complex(*first.at_m)) / away
    return scale, complex(*first.at_m) - scale * complex(*first.pixel)
