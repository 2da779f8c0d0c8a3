"""The pictures: well formed, to scale, nothing cut off, nothing covered."""

from __future__ import annotations

import math
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lineproof.outcome import Outcome
from lineproof.paper.book import book
from lineproof.paper.fonts import FAMILY, bold, regular
from lineproof.paper.sheet import Picture
from tests.paper.press import LINES, SHOW, edition_of, outcome_of, sheet_named, small, wired

SVG = "{http://www.w3.org/2000/svg}"
EVIL = "<script>\"&'</script>"


def evil() -> Outcome:
    lines = LINES.replace("Lute", '"' + EVIL.replace('"', '""') + '"').replace("Kick", "W" * 200)
    return outcome_of(SHOW.replace("Stage middle", "W" * 60), lines)


OUTCOMES = {"small": small(), "acts": outcome_of(), "evil": evil(), "wired": wired()}


def pictures(outcome: Outcome) -> list[Picture]:
    return [p for sheet in book(edition_of(outcome)) for p in sheet.pictures]


def texts(picture: Picture) -> list[tuple[float, float, float, float, str]]:
    """Give the box of every text: left, top, right, bottom in millimetres."""
    found = []
    for text in ET.fromstring(picture.svg).iter(f"{SVG}text"):
        size = float(text.get("font-size", "0"))
        font = bold() if text.get("font-weight") else regular()
        width = font.width_mm(text.text or "", size * 72 / 25.4)
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")] * width
        found.append((x, y - 0.75 * size, x + width, y + 0.25 * size, text.text or ""))
    return found


@pytest.mark.parametrize("name", OUTCOMES)
def test_no_text_of_a_picture_is_cut_off(name: str) -> None:
    found = pictures(OUTCOMES[name])
    assert found
    for picture in found:
        outside = [
            text
            for left, top, right, bottom, text in texts(picture)
            if left < 0 or top < 0 or right > picture.width_mm or bottom > picture.height_mm
        ]
        assert outside == [], picture.name


@pytest.mark.parametrize("name", OUTCOMES)
def test_no_text_of_a_picture_covers_another(name: str) -> None:
    for picture in pictures(OUTCOMES[name]):
        boxes = texts(picture)
        for n, (left, top, right, bottom, text) in enumerate(boxes):
            for l2, t2, r2, b2, other in boxes[n + 1 :]:
                apart = right <= l2 or r2 <= left or bottom <= t2 + 0.3 or b2 <= top + 0.3
                assert apart, f"{picture.name}: {text!r} and {other!r}"


def test_every_line_has_a_picture_that_passes_all_its_spots() -> None:
    outcome = small()
    ways = sheet_named(book(edition_of(outcome)), "ways")
    assert len(ways.pictures) == len(outcome.plan.lines)
    by_name = {picture.name: picture for picture in ways.pictures}
    for decided in outcome.plan.lines:
        said = " ".join(text for *_, text in texts(by_name[f"way-{decided.key}"]))
        for spot in decided.spots():
            assert spot.unit in said, decided.key
            assert re.search(rf"\b{spot.side.value}-{spot.number}\b", said)


def test_a_picture_says_in_words_what_it_shows() -> None:
    (picture,) = [p for p in pictures(outcome_of()) if p.name == "way-9"]
    assert picture.says == (
        "The way of line 9, Host: box-1:in-3 – box-1:send-3 – desk:receive-3 – desk:strip-9"
    )


def test_what_people_wrote_is_text_in_the_picture() -> None:
    for picture in pictures(evil()):
        assert "<script" not in picture.svg
        root = ET.fromstring(picture.svg)
        assert {element.tag for element in root.iter()} <= {
            SVG + tag for tag in ("svg", "title", "rect", "polyline", "text")
        }
        assert root.get("font-family") == FAMILY


def test_the_room_is_to_scale() -> None:
    outcome = small()
    picture = sheet_named(book(edition_of(outcome)), "stage").pictures[0]
    root = ET.fromstring(picture.svg)
    dots = [
        (float(r.get("x", "0")) + 1.5, float(r.get("y", "0")) + 1.5)
        for r in root.iter(f"{SVG}rect")
        if r.get("fill") == "#000000"
    ]
    places = [p.at_m for p in outcome.show.places.values() if p.at_m]
    assert len(dots) == len(places)
    scales = {
        round(math.dist(dots[a], dots[b]) / math.dist(places[a][:2], places[b][:2]), 3)
        for a in range(len(dots))
        for b in range(a)
        if places[a][:2] != places[b][:2]
    }
    assert max(scales) - min(scales) < 0.01
    # The rule at the foot: the last line drawn, as long as its words say.
    rule = [line.get("points", "") for line in root.iter(f"{SVG}polyline")][-1].split()
    length = float(rule[2].split(",")[0]) - float(rule[1].split(",")[0])
    metres = float(next(text for *_, text in texts(picture) if " m ·" in text).split()[0])
    assert length / metres == pytest.approx(max(scales), abs=0.4 / metres)


def test_a_room_without_positions_has_no_picture() -> None:
    show = re.sub(r"\{at: \[[^]]*\](?:, )?", "{", SHOW)
    sheets = book(edition_of(outcome_of(show)))
    assert "stage" not in [sheet.name for sheet in sheets]


def test_files_of_pictures_have_names_every_system_takes(tmp_path: Path) -> None:
    for picture in pictures(outcome_of()):
        assert re.fullmatch(r"[\w.-]+", picture.name)
