"""From the tree to the picture behind the room, and to its file."""

from __future__ import annotations

from pathlib import Path

from lineproof.base.finding import Finding
from lineproof.show import rules, words
from lineproof.show.fields import Fields
from lineproof.show.inside import Outside, path_inside
from lineproof.show.model import KnownPoint, Picture
from lineproof.show.picture import MOST_BYTES, NotDrawn, PictureFile, picture_of
from lineproof.show.tree import Entries

#: A picture of a venue is neither smaller nor larger; else a point was written in other metres.
LEAST_M, MOST_M = 2.0, 20_000.0


def build_picture(top: Fields) -> Picture | None:
    """Give the picture the show names, None where it names none or it can't be read.

    Whether its file is there is for `read_picture`: a show whose picture stayed behind is the same
    show.
    """
    node = top.node("picture")
    if not isinstance(node, Entries):
        return None
    fields = Fields(node, words.PICTURE, top.findings, title="picture")
    file, first, second = fields.word("file"), _point(fields, "first"), _point(fields, "second")
    if file is None or first is None or second is None:
        return None
    if first.pixel == second.pixel or first.at_m == second.at_m:
        what = "the two points of picture are one: they say neither its scale nor how it is turned"
        do = "name two points that are far from each other"
        where = fields.at("second")
        top.findings.append(rules.WRONG_VALUE.finding(what=what, where=where, do=do))
        return None
    return Picture(file=file.value, first=first, second=second, where=file.where)


def _point(fields: Fields, key: str) -> KnownPoint | None:
    node = fields.node(key)
    if not isinstance(node, Entries):
        return None
    point = Fields(node, words.POINT, fields.findings, title=f"{key} point of picture")
    pixel, at_m = point.pixel("pixel"), point.point("at")
    return None if pixel is None or at_m is None else KnownPoint(pixel=pixel, at_m=at_m)


def read_picture(
    folder: Path, picture: Picture | None, findings: list[Finding]
) -> PictureFile | None:
    """Give the picture's file as it lies in the folder; None and a finding if it can't be drawn."""
    if picture is None:
        return None
    try:
        file = picture_of(_bytes(folder, picture.file))
        _fits(picture, file)
    except NotDrawn as error:
        what = f"the picture {picture.file!r} {error.what}"
        finding = rules.PICTURE_NOT_DRAWN.finding(what=what, where=picture.where, do=error.do)
        findings.append(finding)
        return None
    return file


def _bytes(folder: Path, name: str) -> bytes:
    """Give the file's bytes, one more than are taken at most."""
    try:
        path = path_inside(folder, name)
        if path is None:
            raise NotDrawn("is not in the show's folder", "put it there, or correct its name")
        with path.open("rb") as source:
            return source.read(MOST_BYTES + 1)
    except Outside:
        do = "put the file itself into the folder, no link to it, and name it from there"
        raise NotDrawn("lies outside the show's folder", do) from None
    except OSError as error:
        what = f"can't be read: {error.strerror or error}"
        raise NotDrawn(what, "let the file be read, or copy it again") from None


def _fits(picture: Picture, file: PictureFile) -> None:
    """Raise NotDrawn where the points don't lie in the picture, or make no venue of it."""
    wide, high = file.size
    for point in (picture.first, picture.second):
        if point.pixel[0] > wide or point.pixel[1] > high:
            what = (
                f"has {wide:,} × {high:,} pixels, so [{point.pixel[0]}, {point.pixel[1]}] lies "
                "beside it"
            )
            do = "look up both pixels again, from the top left corner, right and down"
            raise NotDrawn(what, do)
    metres = max(wide, high) * picture.metres_a_pixel
    if not LEAST_M <= metres <= MOST_M:
        figure = f"{metres:,.0f}" if metres >= LEAST_M else f"{metres:.2g}"
        what = f"would be {figure} m long by its two points"
        raise NotDrawn(what, "check `at` of both points (in metres), and their pixels")
