"""The rescue in a real browser: asked for after what a fault does, marked, gone when mended."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from lineproof.rescue.gains import Gain, Standing
from lineproof.web.once import Once

from .browsing import Served, context, watched
from .test_axe import LOOKS, violations

pytestmark = pytest.mark.needs("chromium", "chromium")


@pytest.fixture(scope="module")
def served(issued_small: Path) -> Iterator[Served]:
    """Give the small show served with its rescues; nobody may change it."""
    with Served(issued_small, upto="rescue") as server:
        yield server


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    """Give a page on which nothing may go wrong unseen."""
    with watched(browser, served.address) as made:
        yield made


def test_the_rescue_from_a_desk_appears_and_goes(page: Page) -> None:
    page.goto("/room")
    page.locator("#plan .unit[data-name='desk']").click()
    expect(page.locator("#rescue")).to_contain_text("2 starts, 6 routes")
    expect(page.locator("#rescue .steps li").first).to_contain_text("from side:send-1")
    page.locator("#right").click()
    expect(page.locator("#rescue")).to_have_count(0)
    expect(page.locator("#plan .walk")).to_have_count(0)


def holding(page: Page) -> list[Route]:
    """Hold back every rescue that is asked for, and give what is held."""
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/room/rescue**", hold)
    return held


def test_what_it_does_is_seen_before_the_rescue_is_known(page: Page) -> None:
    held = holding(page)
    page.goto("/room?cut=box-1")
    page.fill("#cut", "desk")
    with page.expect_request("**/room/rescue**"):
        page.press("#cut", "Enter")
    expect(page.locator(".sentence")).to_contain_text("With 2 things broken")
    expect(page.locator("#rescue")).to_contain_text("being worked out")
    held.pop().continue_()
    expect(page.locator("#rescue .gist")).to_contain_text("back in about")
    # One place to walk to, marked where it lies.
    expect(page.locator("#rescue .walkmark")).to_have_count(1)
    expect(page.locator("#plan .walk")).to_have_count(1)


def test_what_is_broken_next_is_what_the_rescue_is_from(page: Page) -> None:
    holding(page)
    page.goto("/room?cut=box-1&cut=desk")
    expect(page.locator("#rescue")).to_contain_text("being worked out")
    page.locator("[data-mend='box-1']").click()
    expect(page.locator("#rescue")).to_contain_text("2 starts, 6 routes")
    expect(page.locator("[data-mend]")).to_have_count(1)


def test_by_keyboard_alone(page: Page) -> None:
    page.goto("/room")
    page.locator("#cut").focus()
    page.keyboard.type("desk")
    page.keyboard.press("Escape")  # the list of names
    page.keyboard.press("Enter")
    expect(page.locator("#rescue")).to_contain_text("2 starts, 6 routes")
    # With reasons all is there, and nothing is put in its place any more.
    expect(page.locator(".silent").first).to_contain_text("desk is dead")
    page.locator("#rescue a").first.focus()
    expect(page.locator(":focus")).to_have_attribute("href", "/lines/17")


def test_without_scripts_it_is_asked_for_by_a_link(browser: Browser, served: Served) -> None:
    made = context(browser, base_url=served.address, java_script_enabled=False)
    page = made.new_page()
    page.goto("/room?cut=box-1&cut=desk")
    page.get_by_role("link", name="Work out the rescue").click()
    expect(page.locator("#rescue .gist")).to_contain_text("back in about")
    made.close()


GAINS = (
    Gain(
        words="a second circuit for both",
        needs="a changeover",
        before=Standing(stops=2, risks=3, minutes=0.5),
        after=Standing(stops=0, risks=3, minutes=0.25),
    ),
    Gain(
        words="another duct",
        needs="",
        before=Standing(stops=2, risks=3, minutes=0.5),
        after=None,
        why_not="the changed show can't be planned",
    ),
)


def test_what_would_help_is_asked_for_by_a_button_and_follows(
    browser: Browser, issued_small: Path
) -> None:
    with Served(issued_small, upto="rescue") as server:
        server.watch.stop()
        with watched(browser, server.address) as page:
            page.goto("/drill")
            page.get_by_role("button", name="What would help?").press("Enter")
            expect(page.locator("#gains ~ p").first).to_contain_text("being worked out")
            server.watch.progress = "improvement 1: another duct"
            expect(page.locator("#far")).to_have_text("(improvement 1: another duct)")
            server.watch.hold(replace(server.watch.now, gains=GAINS, gaining=False, once=Once()))
            expect(page.locator("#gains ~ table tbody tr")).to_have_count(2)
            expect(page.locator("#gains ~ table")).to_contain_text("2 → 0")


@pytest.fixture(scope="module")
def gained(issued_small: Path) -> Iterator[Served]:
    """Give the small show served with rescues and with what would help."""
    with Served(issued_small, upto="rescue") as server:
        server.watch.stop()
        server.watch.hold(replace(server.watch.now, gains=GAINS, once=Once()))
        yield server


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("width", [1280, 390])
def test_nobody_is_shut_out(browser: Browser, gained: Served, look: str, width: int) -> None:
    size = {"width": width, "height": 860}
    made = context(browser, base_url=gained.address, color_scheme=look, viewport=size)
    page = made.new_page()
    for path in ("/room?cut=desk", "/room?cut=box-1&cut=desk", "/drill", "/", "/lines/41"):
        page.goto(path)
        if "cut" in path:
            expect(page.locator("#rescue[data-state=known]")).to_be_visible()
        assert violations(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
    made.close()
