"""The pages in a real browser: clicked, typed into, on a phone, by keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from lineproof.web.pages import PAGES

from .browsing import Served, context, watched
from .conftest import worked_out

pytestmark = pytest.mark.needs("chromium", "chromium")

#: Every page with something on it.
EVERY = (*(href for _, href in PAGES), "/lines/41", "/room?cut=box-1", "/revisions?before=none")


@pytest.fixture(scope="module")
def served(issued_small: Path) -> Iterator[Served]:
    """Give the small show served; nobody may change it."""
    with Served(issued_small) as server:
        yield server


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    """Give a page on which nothing may go wrong unseen."""
    with watched(browser, served.address) as made:
        yield made


@pytest.mark.parametrize("path", EVERY)
def test_every_page_opens_without_a_complaint_and_asks_only_this_server(
    page: Page, path: str
) -> None:
    page.goto(path)
    expect(page.locator("main h1").first).to_be_attached()
    expect(page.locator("nav a[aria-current=page]")).to_have_count(1)


def test_the_letters_are_those_of_the_paper(page: Page) -> None:
    page.goto("/")
    page.evaluate("document.fonts.ready")
    assert page.evaluate("document.fonts.check('16px \"Atkinson Hyperlegible\"')")
    assert "Atkinson Hyperlegible" in page.evaluate(
        "[...document.fonts].filter(f => f.status === 'loaded').map(f => f.family).join()"
    )


def test_so_are_those_of_a_drawing(page: Page) -> None:
    def seen() -> bytes:
        page.goto("/papers?sheet=stage")
        page.evaluate("document.querySelector('.onpaper img').decode()")
        return page.locator(".onpaper img").screenshot()

    def without_letters(route: Route) -> None:
        answer = route.fetch()
        text = re.sub("<style>.*</style>", "", answer.text(), flags=re.DOTALL)
        route.fulfill(response=answer, body=text)

    whole = seen()
    assert seen() == whole
    page.route("**/papers/picture/*", without_letters)
    assert seen() != whole


def test_three_things_are_broken_by_click_and_by_name_and_put_right(page: Page) -> None:
    page.goto("/room")
    page.locator("#plan .unit[data-name='rec-1']").click()
    expect(page.locator(".broken")).to_contain_text("rec-1")
    expect(page.locator(".sentence")).to_contain_text("no lines of 24 silent")
    page.fill("#cut", "REC-2")
    page.press("#cut", "Enter")
    expect(page.locator(".ends")).to_contain_text("rec-1|rec-2")
    page.locator("#others [data-break='circuit:stage']").click()
    expect(page.locator(".deadlist")).to_contain_text("side")
    expect(page.locator("#plan .unit.dead[data-name='side'] .cross")).to_be_visible()
    expect(page.locator("[data-mend]")).to_have_count(3)
    assert page.url.endswith("/room?cut=rec-1&cut=rec-2&cut=circuit%3Astage")
    page.locator("[data-mend='circuit:stage']").click()
    expect(page.locator("[data-mend]")).to_have_count(2)
    page.locator("#right").click()
    expect(page.locator(".sentence")).to_contain_text("Nothing is broken")
    expect(page.locator("#plan .dead")).to_have_count(0)
    assert page.url.endswith("/room")


def test_a_cable_is_hit_though_it_is_thin(page: Page) -> None:
    page.goto("/room")
    line = page.locator("#plan line.net-b[data-cut='run:side-b']")
    box = line.bounding_box()
    assert box is not None
    # A few pixels beside its middle, where the other net's cable is not.
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 - 4)
    expect(page.locator("[data-mend='run:side-b']")).to_be_visible()
    expect(page.locator("#plan line.dead[data-cut='run:side-b']")).to_have_count(1)


def test_dragging_moves_the_room_and_breaks_nothing(page: Page) -> None:
    page.goto("/room")
    for _ in range(4):
        page.click("#larger")
    before = page.evaluate("document.getElementById('sheet').scrollLeft")
    box = page.locator("#sheet").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 400, box["y"] + 300)
    page.mouse.down()
    page.mouse.move(box["x"] + 250, box["y"] + 280, steps=6)
    page.mouse.up()
    assert page.evaluate("document.getElementById('sheet').scrollLeft") > before + 100
    expect(page.locator("[data-mend]")).to_have_count(0)


def test_a_name_is_found_in_the_room(page: Page) -> None:
    page.goto("/room?find=loop")
    expect(page.locator("#plan .unit.sought")).to_have_attribute("data-name", "loop")
    page.fill("#search", "ears")
    expect(page.locator("#plan .unit.sought")).to_have_attribute("data-name", "ears")


def test_the_list_is_filtered_as_one_types(page: Page) -> None:
    page.goto("/lines?by=group")
    page.fill("#find", "voices")
    expect(page.locator("tbody tr:visible")).to_have_count(3)
    expect(page.locator("#found")).to_have_text("3 found")
    expect(page.locator(".group:visible")).to_have_count(1)
    page.fill("#find", "")
    expect(page.locator("tbody tr:visible")).to_have_count(24)


def test_by_keyboard_alone_a_thing_is_broken_and_put_right(page: Page) -> None:
    page.goto("/")
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("To the page")
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("Room")
    page.keyboard.press("Enter")
    page.wait_for_url("**/room")
    page.locator("#cut").focus()
    page.keyboard.type("box-1")
    page.keyboard.press("Escape")  # the list of names
    page.keyboard.press("Enter")
    expect(page.locator("[data-mend='box-1']")).to_be_visible()
    reached = False
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "right":
            reached = True
            break
    assert reached
    page.keyboard.press("Enter")
    expect(page.locator("[data-mend]")).to_have_count(0)


def test_the_drawing_moves_and_grows_by_keys(page: Page) -> None:
    page.goto("/room")
    page.locator("#sheet").focus()
    width = "Number(document.getElementById('plan').getAttribute('width'))"
    before = page.evaluate(width)
    page.keyboard.press("+")
    page.keyboard.press("+")
    assert page.evaluate(width) > before * 1.5
    left = page.evaluate("document.getElementById('sheet').scrollLeft")
    page.keyboard.press("ArrowRight")
    page.wait_for_function(f"document.getElementById('sheet').scrollLeft > {left}")
    page.keyboard.press("0")
    page.wait_for_function(f"{width} <= {before} + 1")


@pytest.mark.parametrize("path", EVERY)
def test_a_phone_shows_every_page_without_scrolling_sideways(
    browser: Browser, served: Served, path: str
) -> None:
    made = context(browser, base_url=served.address, viewport={"width": 360, "height": 740})
    page = made.new_page()
    page.goto(path)
    expect(page.locator("main")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    made.close()


def test_without_scripts_things_can_still_be_broken(browser: Browser, served: Served) -> None:
    made = context(browser, base_url=served.address, java_script_enabled=False)
    page = made.new_page()
    page.goto("/room?cut=rec-1")
    page.fill("#cut", "rec-2")
    page.press("#cut", "Enter")
    expect(page.locator(".ends")).to_contain_text("rec-1|rec-2")
    page.locator("#right").click()
    expect(page.locator("[data-mend]")).to_have_count(0)
    made.close()


def test_an_open_page_follows_the_folder_and_keeps_its_place(
    browser: Browser, folder: Path
) -> None:
    with Served(folder) as server:
        made = context(browser, base_url=server.address, viewport={"width": 1280, "height": 400})
        page = made.new_page()
        page.goto("/lines")
        page.fill("#find", "stage")
        page.evaluate("window.scrollTo(0, 200)")
        page.evaluate("window.kept = true")
        table = folder / "lines.csv"
        text = table.read_text("utf-8")
        table.write_text(text.replace(",Kick,", ",Big drum,"), "utf-8")
        expect(page.locator("tbody")).to_contain_text("Big drum")
        assert page.input_value("#find") == "stage"
        assert page.evaluate("document.activeElement.id") == "find"
        assert page.evaluate("window.scrollY") == 200
        assert page.evaluate("window.kept") is True
        expect(page.locator("tr:visible", has_text="Playback L")).to_have_count(0)
        made.close()


def test_what_is_broken_stays_broken_when_the_folder_changes(
    browser: Browser, folder: Path
) -> None:
    with Served(folder) as server:
        made = context(browser, base_url=server.address)
        page = made.new_page()
        page.goto("/room")
        page.locator("#plan .unit[data-name='box-1']").click()
        expect(page.locator("[data-mend='box-1']")).to_be_visible()
        show = folder / "show.yaml"
        show.write_text(show.read_text("utf-8").replace("Harbour Revue", "Quay Revue"), "utf-8")
        expect(page.locator(".show")).to_contain_text("Quay Revue")
        expect(page.locator("[data-mend='box-1']")).to_be_visible()
        expect(page.locator("#plan .unit.dead")).to_have_count(1)
        made.close()


def test_many_open_pages_all_follow(browser: Browser, folder: Path) -> None:
    # A browser keeps six connections to one host: with a stream for each, the seventh would hang.
    with Served(folder) as server:
        made = context(browser, base_url=server.address)
        pages = [made.new_page() for _ in range(8)]
        for each in pages:
            each.goto("/lines")
        # The page that leads is closed; another one leads.
        pages.pop(0).close()
        show = folder / "show.yaml"
        show.write_text(show.read_text("utf-8").replace("Harbour Revue", "Quay Revue"), "utf-8")
        for each in pages:
            expect(each.locator(".show")).to_contain_text("Quay Revue")
        made.close()


def test_the_server_gone_is_told(browser: Browser, folder: Path) -> None:
    made = context(browser)
    page = made.new_page()
    with Served(folder) as server:
        page.goto(f"{server.address}/lines")
        expect(page.locator("#line")).to_be_hidden()
    expect(page.locator("#line")).to_contain_text("not heard", timeout=20_000)
    assert re.search("Kick", page.inner_text("tbody"))
    made.close()


def test_a_page_about_faults_does_not_stand_empty_while_a_large_show_is_worked_out(
    browser: Browser, issued_small: Path
) -> None:
    early, whole = (worked_out(issued_small, stage) for stage in ("spots", "singles"))
    with Served(issued_small) as server:
        server.watch.stop()
        made = context(browser, base_url=server.address)
        pages = {path: made.new_page() for path in ("/drill", "/lines")}
        for path, page in pages.items():
            page.goto(path)
            expect(page.locator("tbody tr").first).to_be_visible()
            page.evaluate("document.querySelector('main').dataset.old = 'yes'")
        server.watch.hold(early)
        expect(pages["/lines"].locator("main[data-old]")).to_have_count(0)
        expect(pages["/drill"].locator("main[data-old] tbody tr").first).to_be_visible()
        server.watch.hold(whole)
        expect(pages["/drill"].locator("main[data-old]")).to_have_count(0)
        expect(pages["/drill"].locator("tbody tr").first).to_be_visible()
        made.close()
