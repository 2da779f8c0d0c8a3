"""The picture a show names: what is read, what is told, and that it decides nothing."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lineproof.base.finding import Finding, Grade
from lineproof.show.canonical import mark
from lineproof.show.changes import changes
from lineproof.show.model import KnownPoint, Picture, Show
from lineproof.show.picture import MOST_BYTES
from lineproof.show.read import read_show
from tests.picture.made import PICTURE, chunk, png, put_show
from tools import house

HALL = png(500, 400)
RULE = "picture-not-drawn"


def told(folder: Path) -> list[Finding]:
    return [f for f in read_show(folder).findings if f.rule == RULE]


def show_in(folder: Path) -> Show:
    show = read_show(folder).show
    assert show is not None
    return show


def test_a_picture_is_read_with_the_two_points_that_place_it(tmp_path: Path) -> None:
    reading = read_show(put_show(tmp_path, hall_png=HALL))
    assert reading.findings == ()
    assert reading.show is not None
    assert reading.show.picture == Picture(
        file="hall.png",
        first=KnownPoint(pixel=(90, 60), at_m=(-8.0, 0.0)),
        second=KnownPoint(pixel=(410, 300), at_m=(8.0, 12.0)),
    )
    # 400 pixels apart in the picture, 20 m in the room (3, 4, 5).
    assert reading.show.picture.metres_a_pixel == pytest.approx(0.05)
    assert reading.picture is not None
    assert reading.picture.data == HALL
    assert (reading.picture.media_type, reading.picture.size) == ("image/png", (500, 400))


def test_a_show_without_a_picture_has_none(tmp_path: Path) -> None:
    reading = read_show(put_show(tmp_path, picture=""))
    assert reading.findings == ()
    assert reading.picture is None


def test_a_point_may_be_copied_from_a_place_with_its_height(tmp_path: Path) -> None:
    show = show_in(put_show(tmp_path, PICTURE.replace("[-8, 0]", "[-8, 0, 1.2]"), hall_png=HALL))
    assert show.picture is not None
    assert show.picture.first.at_m == (-8.0, 0.0)


def test_a_file_is_taken_for_what_it_is_and_not_for_its_name(tmp_path: Path) -> None:
    named = PICTURE.replace("hall.png", "hall.jpg")
    reading = read_show(put_show(tmp_path, named, hall_jpg=HALL))
    assert reading.picture is not None
    assert reading.picture.media_type == "image/png"
    assert reading.findings == ()


SAVE = "save it as PNG with any picture program, and name that file"
#: What lies there as hall.png, and what is told of it.
WRONG = {
    "an SVG": (
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        "is an SVG drawing, no PNG, JPEG or WebP, whatever its name says",
        SAVE,
    ),
    "a PDF": (b"%PDF-1.4", "is a PDF, no PNG, JPEG or WebP, whatever its name says", SAVE),
    "too many bytes": (
        HALL + b"\0" * MOST_BYTES,
        "is larger than 8 MB",
        "save it with fewer pixels, or as JPEG",
    ),
    "too many pixels": (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", b"\0\0\x27\x10\0\0\x27\x10\x08\0\0\0\0"),
        "has 10,000 × 10,000 pixels; at most 24 million are drawn",
        "save it smaller, and correct the pixels of its two points",
    ),
    "half a head": (
        HALL[:20],
        "is broken: it doesn't say how large it is",
        "save it anew, or copy it again",
    ),
    "a smaller one": (
        png(400, 400),
        "has 400 × 400 pixels, so [410, 300] lies beside it",
        "look up both pixels again, from the top left corner, right and down",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_file_that_can_not_be_drawn_is_told_where_it_is_named(tmp_path: Path, case: str) -> None:
    data, what, do = WRONG[case]
    reading = read_show(put_show(tmp_path, hall_png=data))
    (finding,) = reading.findings
    assert (finding.rule, finding.grade) == (RULE, Grade.NOTE)
    assert finding.what == f"the picture 'hall.png' {what}"
    assert finding.do == do
    assert [str(where) for where in finding.where] == ["show.yaml:8:17"]
    assert reading.picture is None


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("hal.png", "is not in the show's folder"),
        ("", "is not in the show's folder"),
        ("plans", "is not in the show's folder"),
        ("pipe.png", "is not in the show's folder"),
        ("round.png", "is not in the show's folder"),
        ("a" * 300, "is not in the show's folder"),
        ("../secret.png", "lies outside the show's folder"),
        ("plans/../../secret.png", "lies outside the show's folder"),
        ("..\\secret.png", "lies outside the show's folder"),
        ("link.png", "lies outside the show's folder"),
        ("out/secret.png", "lies outside the show's folder"),
        ("/etc/passwd", "lies outside the show's folder"),
    ],
)
def test_only_a_file_inside_the_folder_is_read(tmp_path: Path, name: str, what: str) -> None:
    (tmp_path / "secret.png").write_bytes(HALL)
    text = PICTURE.replace("hall.png", f"'{name}'" if name else "'.'")
    folder = put_show(tmp_path / "show", text)
    (folder / "plans").mkdir()
    (folder / "link.png").symlink_to(tmp_path / "secret.png")
    (folder / "out").symlink_to(tmp_path)
    (folder / "round.png").symlink_to(folder / "round.png")
    os.mkfifo(folder / "pipe.png")
    (finding,) = told(folder)
    assert finding.what == f"the picture {name or '.'!r} {what}"
    assert [str(where) for where in finding.where] == ["show.yaml:8:17"]
    assert read_show(folder).picture is None


def test_a_link_that_stays_inside_is_followed(tmp_path: Path) -> None:
    folder = put_show(tmp_path, plan_png=HALL)
    (folder / "hall.png").symlink_to("plan.png")
    assert told(folder) == []
    assert read_show(folder).picture is not None


@pytest.mark.parametrize(
    ("second", "metres"), [("[8000, 12000]", "36,067"), ("[-8.05, 0.03]", "0.15")]
)
def test_points_that_make_no_venue_are_told(tmp_path: Path, second: str, metres: str) -> None:
    # Millimetres for metres, as drawings have them; and two points that are nearly one.
    folder = put_show(tmp_path, PICTURE.replace("[8, 12]", second), hall_png=png(1000, 400))
    (finding,) = told(folder)
    assert finding.what == f"the picture 'hall.png' would be {metres} m long by its two points"
    assert finding.do == "check `at` of both points (in metres), and their pixels"


#: What is written instead, what is told of it, and what stands where it is told.
SLIPS = (
    (
        ("[410, 300]", "[90, 60]"),
        "the two points of picture are one: they say neither its scale nor how it is turned",
        "{pixel: [90, 60], at: [8, 12]}",
    ),
    (
        ("[410, 300]", "[410]"),
        (
            "pixel of second point of picture: a list can't be read; "
            "expected two whole numbers, as in [312, 540]"
        ),
        "[410]",
    ),
    (
        ("[-8, 0]", "'-8, 0'"),
        (
            "at of first point of picture: '-8, 0' can't be read; "
            "expected two numbers in metres, as in [-6, 2]"
        ),
        "'-8, 0'",
    ),
    (("file: hall.png, ", ""), "picture has no 'file'; expected a text", "{first"),
    (
        ("second:", "secnod:"),
        "'secnod' of picture is unknown; did you mean 'second'?",
        "secnod",
    ),
)


@pytest.mark.parametrize(("change", "what", "there"), SLIPS)
def test_what_is_written_wrong_is_a_stop_as_everywhere(
    tmp_path: Path, change: tuple[str, str], what: str, there: str
) -> None:
    old, new = change
    assert PICTURE.count(old) == 1
    text = PICTURE.replace(old, new)
    reading = read_show(put_show(tmp_path, text, hall_png=HALL))
    (finding,) = reading.findings
    assert (finding.grade, finding.what) == (Grade.STOP, what)
    column = text.index(there) + 1
    assert [str(where) for where in finding.where] == [f"show.yaml:8:{column}"]


def test_neither_the_picture_nor_its_bytes_change_the_mark_or_the_show(tmp_path: Path) -> None:
    none = show_in(put_show(tmp_path / "none", picture=""))
    there = show_in(put_show(tmp_path / "there", hall_png=HALL))
    gone = show_in(put_show(tmp_path / "gone"))
    moved = show_in(put_show(tmp_path / "moved", PICTURE.replace("[8, 12]", "[9, 13]")))
    for show in (there, gone, moved):
        assert mark(show) == mark(none)
        assert changes(none, show) == ()
        assert show == none
    # A show whose picture stayed behind still says which it was.
    assert gone.picture == there.picture


def test_the_shipped_hall_has_its_house_where_the_script_draws_it(root: Path) -> None:
    reading = read_show(root / "shows" / "hall")
    assert [f for f in reading.findings if f.rule == RULE] == []
    assert reading.picture is not None
    assert len(reading.picture.data) < 20_000
    assert reading.picture.size == (
        (house.RIGHT - house.LEFT) * house.PIXELS_A_METRE,
        (house.LOW - house.TOP) * house.PIXELS_A_METRE,
    )
    assert reading.show is not None
    assert reading.show.picture is not None
    for point in (reading.show.picture.first, reading.show.picture.second):
        x, y = point.at_m
        wanted = ((x - house.LEFT) * house.PIXELS_A_METRE, (y - house.TOP) * house.PIXELS_A_METRE)
        assert point.pixel == wanted


def test_the_page_that_explains_it_shows_what_the_hall_has(root: Path) -> None:
    page = (root / "docs/how-to/open.md").read_text("utf-8")
    show = (root / "shows/hall/show.yaml").read_text("utf-8")
    rows = show[show.index("  file: house.png") :].splitlines()[:3]
    assert "\n".join(f"    {row}" for row in rows) in page
