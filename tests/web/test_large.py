"""Larger shows in a real browser: a hall and an arena, opened, broken, on a phone, by keyboard."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import pytest
from fastapi.testclient import TestClient
from playwright.sync_api import Browser, Page, expect

from lineproof.cli.main import main
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.web.app import app
from lineproof.web.breaking import known
from lineproof.web.pages import PAGES
from lineproof.web.watch import Watch
from lineproof.web.worked import Worked

from .browsing import Served, watched
from .conftest import issued

pytestmark = pytest.mark.needs("chromium", "chromium")

#: What the first visit may bring over the wire.
MOST_BYTES = 150_000


@pytest.fixture(scope="module")
def hall_served(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Give the hall, planned, issued and served; nobody may change it."""
    with Served(issued(root, "hall", tmp_path_factory.mktemp("face"))) as server:
        yield server


@pytest.fixture(scope="module")
def arena_served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Give an arena of 500 lines, planned once, issued and served; nobody may change it."""
    folder = tmp_path_factory.mktemp("face") / "arena"
    assert main(["new", "--size", "arena", "--seed", "1", str(folder)]) == 0
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    assert main(["issue", str(folder), "--by", "Test"]) in (0, 1)
    with Served(folder) as server:
        yield server


@pytest.fixture(params=["hall_served", "arena_served"], ids=["hall", "arena"])
def large(request: pytest.FixtureRequest) -> Served:
    """Give one of the larger shows, served."""
    made = request.getfixturevalue(request.param)
    assert isinstance(made, Served)
    return made


@pytest.fixture
def page(browser: Browser, large: Served) -> Iterator[Page]:
    """Give a page on which nothing may go wrong unseen."""
    with watched(browser, large.address) as made:
        yield made


def every(worked: Worked) -> list[str]:
    """Give every page, with one line and one fault of the show."""
    assert worked.outcome is not None
    line = worked.outcome.show.lines[0].key
    worst = worked.outcome.singles[0].fault
    return [*(href for _, href in PAGES), f"/lines/{line}", f"/room?cut={worst}"]


@pytest.mark.parametrize("width", [1280, 360], ids=["laptop", "phone"])
def test_every_page_opens_whole_and_needs_no_scrolling_sideways(
    browser: Browser, large: Served, width: int
) -> None:
    with watched(browser, large.address, viewport={"width": width, "height": 740}) as page:
        for path in every(large.watch.now):
            page.goto(path)
            expect(page.locator("main h1").first).to_be_attached()
            expect(page.locator("nav a[aria-current=page]").first).to_be_attached()
            expect(page.locator("html.lively")).to_be_attached()
            assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def silent(worked: Worked, faults: list[Fault]) -> int:
    """Give how many lines are lost at some end, by the plain method."""
    outcome = worked.outcome
    assert outcome is not None
    drilled = lose(outcome.show, outcome.plan, faults)
    return sum(v.state is State.LOST for v in drilled.verdicts)


def test_three_things_are_broken_and_the_result_is_what_the_drill_says(
    page: Page, large: Served
) -> None:
    worked = large.watch.now
    assert worked.outcome is not None
    show = worked.outcome.show
    box, desk = (
        next(u.name for u in show.units.values() if u.kind.name.startswith(kind))
        for kind in ("box-", "mixer-")
    )
    circuit = next(iter(show.circuits))
    page.goto("/room")
    page.locator(f"#plan .unit[data-name='{box}']").click()
    expect(page.locator(f"[data-mend='{box}']")).to_be_visible()
    page.fill("#cut", desk)
    page.press("#cut", "Enter")
    expect(page.locator(f"[data-mend='{desk}']")).to_be_visible()
    page.fill("#cut", f"circuit:{circuit}")
    page.press("#cut", "Enter")
    expect(page.locator("[data-mend]")).to_have_count(3)
    told = page.locator(".sentence")
    expect(told).to_contain_text("With 3 things broken")
    faults = [known(worked)[name] for name in (box, desk, f"circuit:{circuit}")]
    assert re.findall(r"(\w+) lines? of (\d+) silent", told.inner_text()) == [
        (str(silent(worked, faults)), str(len(worked.outcome.plan.lines)))
    ]
    # What has lost its power is crossed out in the drawing, as the words have it.
    dead = page.locator(".deadlist").inner_text().removeprefix("Dead: ").split(", ")
    drawn = page.locator("#plan .unit.dead").evaluate_all("all => all.map(u => u.dataset.name)")
    assert sorted(drawn) == sorted(dead)
    assert {box, desk} < set(dead)
    page.locator("#right").click()
    expect(page.locator("#plan .dead")).to_have_count(0)


def test_a_net_that_is_broken_is_drawn_broken(page: Page) -> None:
    page.goto("/room?cut=net:b")
    expect(page.locator("#plan line.net-b").first).to_be_attached()
    expect(page.locator("#plan line.net-b:not(.dead)")).to_have_count(0)
    expect(page.locator("#plan line.net-a.dead")).to_have_count(0)


def test_by_keyboard_alone_the_worst_fault_is_found_and_tried(page: Page, large: Served) -> None:
    page.goto("/")
    reached = False
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('.big') !== null"):
            reached = True
            break
    assert reached
    worst = page.locator(".big").inner_text()
    assert large.watch.now.outcome is not None
    page.keyboard.press("Enter")
    page.wait_for_url("**/room?cut=*")
    assert unquote(page.url).endswith(f"cut={worst}")
    expect(page.locator(".sentence")).to_contain_text("With 1 thing broken")
    # From there to the field for names, by the way that skips what stands above the page.
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("To the page")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "cut"


def test_a_first_visit_brings_little_over_the_wire(large: Served) -> None:
    client = TestClient(app(Watch.of(large.watch.now)), base_url="http://127.0.0.1")

    def weight(path: str) -> int:
        answer = client.get(path, headers={"Accept-Encoding": "gzip"})
        return int(answer.headers["content-length"])

    for _, href in PAGES:
        text = client.get(href).text
        asked = {href, *re.findall(r'(?:src|href)="(/static/[^"]+)"', text)}
        asked |= {f"/static/{name}" for name in ("follow.js", "filter.js", "room.js", "rescue.js")}
        asked |= {f"/static/{name}" for name in ("regular.ttf", "bold.ttf")}
        assert sum(map(weight, asked)) < MOST_BYTES, href
