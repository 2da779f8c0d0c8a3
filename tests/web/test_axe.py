"""Every page holds to the guidelines that axe-core checks (WCAG 2, levels A and AA, best practice).

It can't weigh colours under each other in the drawing: `test_look` weighs every pair by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from lineproof.cli.main import main
from lineproof.web.pages import PAGES

from .browsing import Served, context
from .conftest import issued

pytestmark = pytest.mark.needs("chromium", "chromium")

#: The checker, as a package of the registry ships it: no network is asked while testing.
AXE = resources.files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
PLAIN = tuple(href for _, href in PAGES)
EVERY = (
    *PLAIN,
    "/lines/41",
    "/lines?by=place",
    "/lines?find=nothing",
    "/room?cut=box-1&cut=net:a",
    "/room?cut=nothing&find=loop",
    "/papers?for=operator",
    "/papers?sheet=stage",
    "/revisions?before=none",
    "/revisions?before=9",
    "/nothing",
)
LOOKS = ("light", "dark")


@pytest.fixture(scope="module")
def small_served(issued_small: Path) -> Iterator[Served]:
    """Give the small show served; nobody may change it."""
    with Served(issued_small) as server:
        yield server


@pytest.fixture(scope="module")
def hall_served(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Give the hall served; nobody may change it."""
    with Served(issued(root, "hall", tmp_path_factory.mktemp("axe"))) as server:
        yield server


def violations(page: Page) -> list[str]:
    """Give what the checker finds, each with the first place where it is."""
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{each['id']} ({each['impact']}), {len(each['nodes'])} times: {each['nodes'][0]['html']}"
        for each in found["violations"]
    ]


def all_found(browser: Browser, address: str, look: str, paths: tuple[str, ...], width: int) -> str:
    """Give what is found on these pages, a row each."""
    made = context(
        browser,
        base_url=address,
        color_scheme=look,
        viewport={"width": width, "height": 860},
    )
    page = made.new_page()
    rows = []
    for path in paths:
        page.goto(path)
        rows += [f"{path}: {each}" for each in violations(page)]
    made.close()
    return "\n".join(rows)


@pytest.mark.parametrize("look", LOOKS)
def test_no_page_shuts_anybody_out(browser: Browser, small_served: Served, look: str) -> None:
    assert all_found(browser, small_served.address, look, EVERY, 1280) == ""


@pytest.mark.parametrize("look", LOOKS)
def test_nor_on_a_phone(browser: Browser, small_served: Served, look: str) -> None:
    paths = ("/", "/lines", "/room?cut=box-1", "/drill", "/papers")
    assert all_found(browser, small_served.address, look, paths, 390) == ""


def test_nor_with_two_nets_and_several_acts(browser: Browser, hall_served: Served) -> None:
    paths = ("/", "/room?cut=net:a", "/nets", "/lines/lanterns/1", "/papers")
    assert all_found(browser, hall_served.address, "light", paths, 1280) == ""


def test_the_checker_finds_what_is_wrong(browser: Browser, small_served: Served) -> None:
    made = context(browser, base_url=small_served.address)
    page = made.new_page()
    page.goto("/lines")
    assert violations(page) == []
    page.evaluate("document.querySelector('label[for=find]').remove()")
    page.evaluate("document.querySelector('h1').style.color = '#e0e0e0'")
    page.evaluate("document.documentElement.removeAttribute('lang')")
    found = [each.partition(" ")[0] for each in violations(page)]
    made.close()
    assert {"color-contrast", "html-has-lang"} <= set(found)


@pytest.mark.soak
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("width", [1280, 390])
def test_nor_in_an_arena(
    browser: Browser, tmp_path: Path, seed: int, look: str, width: int
) -> None:
    folder = tmp_path / "arena"
    assert main(["new", "--size", "arena", "--seed", str(seed % 1000), str(folder)]) == 0
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    assert main(["issue", str(folder), "--by", "Test"]) in (0, 1)
    with Served(folder) as server:
        paths = (*PLAIN, "/room?cut=net:a", "/room?cut=nothing")
        assert all_found(browser, server.address, look, paths, width) == ""
