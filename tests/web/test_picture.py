"""The picture behind the room: given out safely, to scale, turned along, hidden at will."""

from __future__ import annotations

import base64
import subprocess
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from playwright.sync_api import Browser, Page, expect

from lineproof.cli.main import main
from lineproof.show.picture import picture_of
from lineproof.web.app import app
from lineproof.web.look import DARK, LEAST_DRAWN, LIGHT, SEEN_DARK, SEEN_LIGHT, contrast
from lineproof.web.views.ready import ready
from lineproof.web.views.room import room
from lineproof.web.watch import Watch
from lineproof.web.worked import read_folder, worked_at
from tests.picture.made import by_ffmpeg, held_so, png, put_show

from .browsing import Served, context
from .conftest import Ask, worked_out

Dark = Callable[[int, int], bool]

#: Where the little show's places are, and what a deep and a wide room make of them.
ROOMS = {
    "wide": {"stage": (-15.0, 0.0), "front": (15.0, 4.0)},
    "deep": {"stage": (0.0, 0.0), "front": (3.0, 20.0)},
}
#: The two places in a picture of 600 × 500 pixels, which has an angle and a scale of its own.
IN_PICTURE = {
    "wide": {"stage": (100, 310), "front": (500, 220)},
    "deep": {"stage": (280, 80), "front": (340, 430)},
}


def planned(folder: Path, shape: str = "deep", name: str = "hall.png", **files: bytes) -> Path:
    """Give a little show, planned, with a picture whose two known points are its places."""
    at = ROOMS[shape]
    points = [
        f"{key}: {{pixel: {list(IN_PICTURE[shape][place])}, at: {list(at[place])}}}"
        for key, place in (("first", "stage"), ("second", "front"))
    ]
    put_show(folder, f"picture: {{file: {name}, {', '.join(points)}}}\n", **files)
    show = folder / "show.yaml"
    text = show.read_text("utf-8")
    for place, old in (("stage", "[0, 0, 0]"), ("front", "[0, 20, 0]")):
        assert text.count(f"{place}: {{at: {old}}}") == 1
        text = text.replace(f"{place}: {{at: {old}}}", f"{place}: {{at: {[*at[place], 0]}}}")
    show.write_text(text, "utf-8")
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    return folder


HALL = png(600, 500)
#: Far longer than any answer takes.
LONGEST_S = 60


# -- given out -------------------------------------------------------------------------------------


def test_the_picture_is_given_out_at_one_address_as_what_it_is(tmp_path: Path, ask: Ask) -> None:
    worked = worked_out(planned(tmp_path, hall_png=HALL))
    client = ask(worked)
    page = client.get("/room").text
    view = client.get("/api/room").json()["picture"]
    assert view["href"].startswith("/room/picture?v=")
    assert f'href="{view["href"]}"' in page
    assert "hall.png" not in page
    answer = client.get(view["href"])
    assert answer.status_code == 200
    assert answer.content == HALL
    assert answer.headers["content-type"] == "image/png"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    # Kept for as long as it is the same; under no other mark.
    assert "immutable" in answer.headers["cache-control"]
    assert client.get("/room/picture").headers["cache-control"] == "no-cache"
    assert client.get("/room/picture?v=other").headers["cache-control"] == "no-cache"


def test_its_type_is_that_of_its_first_bytes(tmp_path: Path, ask: Ask) -> None:
    folder = planned(tmp_path, name="hall.html", hall_html=HALL + b"<script>alert(1)</script>")
    answer = ask(worked_out(folder)).get("/room/picture")
    assert answer.headers["content-type"] == "image/png"


SVG = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"


@pytest.mark.parametrize("data", [SVG, b"<html></html>", b"%PDF-1.4", b"", HALL[:20]])
def test_what_is_no_picture_is_never_given_out(tmp_path: Path, ask: Ask, data: bytes) -> None:
    client = ask(worked_out(planned(tmp_path, hall_png=data)))
    answer = client.get("/room/picture")
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/plain")
    assert answer.text == "no picture"
    page = client.get("/room").text
    assert "<image" not in page
    assert "backdrop" not in page


def test_nothing_outside_the_folder_is_given_out(tmp_path: Path, ask: Ask) -> None:
    (tmp_path / "secret.png").write_bytes(HALL)
    for number, name in enumerate(("../secret.png", "hall.png", str(tmp_path / "secret.png"))):
        folder = planned(tmp_path / f"show-{number}", name=f"'{name}'")
        (folder / "hall.png").symlink_to(tmp_path / "secret.png")
        assert ask(worked_out(folder)).get("/room/picture").status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/room/picture/",
        "/room/picture/hall.png",
        "/room/picture/..%2fshow.yaml",
        "/room/hall.png",
        "/hall.png",
        "/static/hall.png",
        "/papers/picture/hall.png",
        "/papers/file/hall.png",
    ],
)
def test_it_has_no_other_address(tmp_path: Path, ask: Ask, path: str) -> None:
    client = ask(worked_out(planned(tmp_path, hall_png=HALL)))
    answer = client.get(path, follow_redirects=False)
    assert answer.status_code in (307, 404)
    assert HALL not in answer.content


def test_what_is_put_in_its_place_later_is_looked_at_first(tmp_path: Path, ask: Ask) -> None:
    folder = planned(tmp_path / "show", hall_png=HALL)
    worked = worked_out(folder)
    secret = tmp_path / "secret.txt"
    secret.write_bytes(b"the secret")
    (folder / "hall.png").unlink()
    (folder / "hall.png").symlink_to(secret)
    assert ask(worked).get("/room/picture").content == HALL
    assert ask(worked_out(folder)).get("/room/picture").status_code == 404


def test_a_show_that_can_not_be_read_just_now_keeps_its_picture(tmp_path: Path, ask: Ask) -> None:
    folder = planned(tmp_path, hall_png=HALL)
    before = worked_out(folder)
    (folder / "show.yaml").write_text("title: [never closed\n", "utf-8")
    now = worked_at(folder, read_folder(folder), "figures", before)
    assert ask(now).get("/room/picture").content == HALL
    assert room(now).picture == room(before).picture


def test_the_picture_of_a_kept_page_waits_until_the_show_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked = worked_out(planned(tmp_path, hall_png=HALL))
    watch = Watch(tmp_path)
    client = TestClient(app(watch), base_url="http://127.0.0.1:8461")
    with ThreadPoolExecutor(1) as pool:
        asked = pool.submit(client.get, "/room/picture")
        # Other answers don't wait for it.
        assert client.get("/static/main.js").status_code == 200
        watch.hold(worked)
        assert asked.result(LONGEST_S).content == HALL
    monkeypatch.setattr("lineproof.web.app.PICTURE_S", 0.2)
    never = TestClient(app(Watch(tmp_path)), base_url="http://127.0.0.1:8461")
    answer = never.get("/room/picture")
    assert (answer.status_code, answer.headers["cache-control"]) == (404, "no-store")


def test_a_picture_put_behind_an_issued_show_leaves_its_paper_as_it_was(folder: Path) -> None:
    before = ready(worked_out(folder))
    (folder / "hall.png").write_bytes(HALL)
    with (folder / "show.yaml").open("a", encoding="utf-8") as show:
        show.write(
            "picture: {file: hall.png, first: {pixel: [1, 1], at: [-9, -6]}, "
            "second: {pixel: [500, 400], at: [9, 24]}}\n"
        )
    worked = worked_out(folder)
    after = ready(worked)
    assert room(worked).picture is not None
    assert (after.sentence, after.changes, after.head.mark) == (
        before.sentence,
        before.changes,
        before.head.mark,
    )


# -- drawn -----------------------------------------------------------------------------------------


def over(ground: str, other: int, part: float) -> str:
    """Give a ground with so much of a grey over it (simple alpha compositing)."""
    parts = (int(ground[n : n + 2], 16) for n in (1, 3, 5))
    return "#" + "".join(f"{round(own * (1 - part) + other * part):02x}" for own in parts)


@pytest.mark.parametrize(
    ("palette", "part"), [(LIGHT, SEEN_LIGHT), (DARK, SEEN_DARK)], ids=["light", "dark"]
)
@pytest.mark.parametrize("grey", [0, 128, 255])
def test_lines_keep_their_contrast_whatever_the_picture_shows(
    palette: dict[str, str], part: float, grey: int
) -> None:
    ground = over(palette["panel"], grey, part)
    for line in ("net-a", "net-b", "ink", "stop", "risk", "link", "quiet"):
        assert contrast(palette[line], ground) >= LEAST_DRAWN, line


@pytest.mark.parametrize("shape", ROOMS)
def test_the_drawing_is_as_large_as_the_picture_within_reason(tmp_path: Path, shape: str) -> None:
    """All of a picture is on the page where it is not much larger than the room itself."""
    view = room(worked_out(planned(tmp_path, shape, hall_png=HALL)))
    assert view.picture is not None
    a, b, c, d, e, f = view.picture.matrix
    xs = [a * x + c * y + e for x in (0, 600) for y in (0, 500)]
    ys = [b * x + d * y + f for x in (0, 600) for y in (0, 500)]
    assert min(xs) >= -0.5
    assert min(ys) >= -0.5
    assert max(xs) <= view.size[0] + 0.5
    assert max(ys) <= view.size[1] + 0.5


def test_a_picture_of_a_whole_town_leaves_the_room_its_size(tmp_path: Path) -> None:
    plain = room(worked_out(planned(tmp_path / "plain")))
    small = {"stage": (3000, 3000), "front": (3000, 3010)}
    folder = planned(tmp_path / "town", hall_png=png(4000, 4000))
    text = (folder / "show.yaml").read_text("utf-8")
    for place, pixel in IN_PICTURE["deep"].items():
        text = text.replace(str(list(pixel)), str(list(small[place])))
    (folder / "show.yaml").write_text(text, "utf-8")
    town = room(worked_out(folder))
    assert town.picture is not None
    # Some 8 km of town behind 20 m of room: places are at most half as far apart as without it,
    # and the drawing at most twice as wide and high as its own part.
    assert town.size[0] < 5 * plain.size[0]
    assert town.size[1] < 5 * plain.size[1]
    for place in town.places:
        assert 0 <= place.dot[0] <= town.size[0]
        assert 0 <= place.dot[1] <= town.size[1]


@contextmanager
def opened(browser: Browser, folder: Path, **more: object) -> Iterator[Page]:
    """Give the room's page of a folder, on which nothing may go wrong unseen."""
    with Served(folder) as served:
        made = context(browser, base_url=served.address, **more)
        page = made.new_page()
        wrong: list[str] = []
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
        page.goto("/room")
        page.wait_for_load_state("networkidle")
        yield page
        made.close()
        assert wrong == []


needs_browser = pytest.mark.needs("chromium", "chromium")
ON_SCREEN = """([x, y]) => {
  const drawn = document.querySelector("#plan .backdrop");
  const at = new DOMPoint(x, y).matrixTransform(drawn.getScreenCTM());
  return [at.x, at.y];
}"""
DOTS = """() => [...document.querySelectorAll("#plan .leads circle")].map((dot) => {
  const box = dot.getBoundingClientRect();
  return [box.x + box.width / 2, box.y + box.height / 2];
})"""


@needs_browser
@pytest.mark.parametrize("shape", ROOMS)
def test_both_known_points_lie_on_their_places(
    tmp_path: Path, browser: Browser, shape: str
) -> None:
    folder = planned(tmp_path, shape, hall_png=HALL)
    with opened(browser, folder) as page:
        expect(page.locator(".foot")).to_contain_text("right" if shape == "deep" else "below")
        dots = sorted(page.evaluate(DOTS))
        points = sorted(
            page.evaluate(ON_SCREEN, list(pixel)) for pixel in IN_PICTURE[shape].values()
        )
        for dot, point in zip(dots, points, strict=True):
            assert dot == pytest.approx(point, abs=1.0)


#: Opens a picture and gives how light its pixels are, 0 to 255.
PIXELS = """async ([data, points]) => {
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const seen = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  const canvas = new OffscreenCanvas(seen.width, seen.height).getContext("2d");
  canvas.drawImage(seen, 0, 0);
  return points.map(([x, y]) => canvas.getImageData(x, y, 1, 1).data[0]);
}"""
ALONE = """() => {
  for (const other of document.querySelectorAll("#plan > g")) other.remove();
  document.getElementById("sheet").scrollIntoView();
}"""
#: The middle of each quarter of a picture of 600 × 500: top left, top right, low left, low right.
QUARTERS = ((150, 125), (450, 125), (150, 375), (450, 375))


def lightness(page: Page, points: list[list[float]]) -> list[int]:
    """Give how light the page is at points of the screen."""
    shot = base64.b64encode(page.screenshot()).decode()
    blank = page.context.new_page()
    found: list[int] = blank.evaluate(PIXELS, [shot, points])
    blank.close()
    return found


def quarters(page: Page) -> list[bool]:
    """Say which quarters of the picture are dark on the screen, where its pixels should be."""
    page.evaluate(ALONE)
    points = [page.evaluate(ON_SCREEN, list(quarter)) for quarter in QUARTERS]
    light = lightness(page, points)
    middle = (min(light) + max(light)) / 2
    assert max(light) - min(light) > 40
    return [each < middle for each in light]


@needs_browser
@pytest.mark.parametrize("shape", ROOMS)
def test_what_is_dark_in_the_picture_is_dark_there(
    tmp_path: Path, browser: Browser, shape: str
) -> None:
    folder = planned(tmp_path, shape, hall_png=png(600, 500, lambda x, y: x < 300 and y < 250))
    with opened(browser, folder, viewport={"width": 1600, "height": 1300}) as page:
        assert quarters(page) == [True, False, False, False]


@needs_browser
@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize(("orientation", "dark"), [(1, 0), (3, 3), (6, 1), (8, 2)])
def test_a_picture_from_a_camera_is_drawn_as_it_was_held(
    tmp_path: Path, browser: Browser, orientation: int, dark: int
) -> None:
    """Turned by a quarter it lies in the file as 500 × 600 (Exif orientation, CIPA DC-008)."""
    wide, high = (600, 500) if orientation < 5 else (500, 600)
    (tmp_path / "plain.png").write_bytes(
        png(wide, high, lambda x, y: x < wide / 2 and y < high / 2)
    )
    command = ["ffmpeg", "-v", "error", "-y", "-i", "plain.png", "plain.jpg"]
    subprocess.run(command, cwd=tmp_path, check=True, timeout=60)
    jpeg = held_so((tmp_path / "plain.jpg").read_bytes(), orientation)
    assert picture_of(jpeg).size == (600, 500)
    folder = planned(tmp_path / "show", "wide", hall_png=jpeg)
    with opened(browser, folder, viewport={"width": 1600, "height": 1300}) as page:
        assert quarters(page) == [n == dark for n in range(4)]


@needs_browser
@pytest.mark.needs("ffmpeg", "ffmpeg")
@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.webp"])
def test_the_browser_finds_the_same_size(tmp_path: Path, browser: Browser, name: str) -> None:
    data = by_ffmpeg(tmp_path, name, (211, 123), "-frames:v", "1")
    page = browser.new_page()
    size = page.evaluate(
        """async (data) => {
          const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
          const seen = await createImageBitmap(new Blob([bytes]));
          return [seen.width, seen.height];
        }""",
        base64.b64encode(data).decode(),
    )
    page.close()
    assert picture_of(data).size == tuple(size)


@needs_browser
def test_a_button_hides_it_until_it_is_wanted_again(tmp_path: Path, browser: Browser) -> None:
    folder = planned(tmp_path, hall_png=HALL)
    with opened(browser, folder) as page:
        button, drawn = page.get_by_role("button", name="Picture"), page.locator("#plan .backdrop")
        expect(button).to_have_attribute("aria-pressed", "true")
        expect(drawn).to_be_visible()
        button.focus()
        page.keyboard.press("Space")
        expect(button).to_have_attribute("aria-pressed", "false")
        expect(drawn).to_be_hidden()
        # It stays hidden when the page follows the folder, and when it is opened again.
        show = folder / "show.yaml"
        show.write_text(show.read_text("utf-8").replace("title: Example", "title: Other"), "utf-8")
        expect(page.locator(".show")).to_contain_text("Other")
        expect(drawn).to_be_hidden()
        page.reload()
        expect(drawn).to_be_hidden()
        button.click()
        expect(button).to_have_attribute("aria-pressed", "true")
        expect(drawn).to_be_visible()


@needs_browser
def test_the_room_is_broken_and_moved_as_if_there_were_no_picture(
    tmp_path: Path, browser: Browser
) -> None:
    with opened(browser, planned(tmp_path, hall_png=HALL)) as page:
        page.locator("#plan .unit[data-name='box-1']").click()
        expect(page.locator("[data-mend='box-1']")).to_be_visible()
        page.locator("#right").click()
        expect(page.locator("[data-mend]")).to_have_count(0)
        for _ in range(4):
            page.locator("#larger").click()
        sheet = page.locator("#sheet")
        before = sheet.evaluate("sheet => [sheet.scrollLeft, sheet.scrollTop]")
        box = sheet.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 300, box["y"] + 300)
        page.mouse.down()
        page.mouse.move(box["x"] + 200, box["y"] + 240, steps=5)
        page.mouse.up()
        after = sheet.evaluate("sheet => [sheet.scrollLeft, sheet.scrollTop]")
        assert after == [
            pytest.approx(before[0] + 100, abs=2),
            pytest.approx(before[1] + 60, abs=2),
        ]
        expect(page.locator("[data-mend]")).to_have_count(0)


@needs_browser
@pytest.mark.parametrize(
    ("dark", "onwhite"), [(lambda x, y: x % 40 == 0, True), (lambda x, y: x % 40 > 5, False)]
)
def test_a_drawing_on_white_is_turned_round_in_the_dark(
    tmp_path: Path, browser: Browser, dark: Dark, onwhite: bool
) -> None:
    folder = planned(tmp_path, hall_png=png(600, 500, dark))
    with opened(browser, folder, color_scheme="dark") as page:
        wanted = "grayscale(1) invert(1)" if onwhite else "grayscale(1)"
        expect(page.locator("#plan .backdrop")).to_have_css("filter", wanted)
