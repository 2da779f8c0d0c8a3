"""What a real browser shows, and when: measured in the page, from the click to the paint."""

from __future__ import annotations

import shutil
import statistics
import time
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, Page, sync_playwright

from bench.measure import BenchError

#: Broken one after the other, each for the first time: nothing of them can be known beforehand.
TIMES = 15
#: So many are broken beside those that are broken already.
MORE = 5
#: A browser that has shown nothing by then hangs.
LONGEST_MS = 30_000

#: Notes, for every new result, the milliseconds from the click until it was painted. A frame's
#: callback runs before its paint, a message sent from there comes after it.
WATCH = """() => {
  window.seen = [];
  let clicked = 0;
  document.addEventListener("click", (event) => { clicked = event.timeStamp; }, true);
  const painted = () => window.seen.push(performance.now() - clicked);
  new MutationObserver(() => requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = painted;
    channel.port2.postMessage(0);
  })).observe(document.getElementById("result"), { childList: true });
}"""
UNITS = "[...document.querySelectorAll('#plan .unit')].map(u => u.dataset.cut).filter(Boolean)"
USABLE = """() => document.documentElement.classList.contains("lively")
  && document.fonts.status === "loaded"
  && performance.getEntriesByName("first-contentful-paint").length > 0"""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Give a real browser without a window; raise BenchError where there is none."""
    program = shutil.which("chromium")
    if program is None:
        raise BenchError("there is no program chromium")
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield made
        made.close()


def usable_s(browser: Browser, address: str) -> float:
    """Give the seconds until a page is painted with its letters, and its scripts run."""
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_function(USABLE, timeout=LONGEST_MS)
    taken = time.perf_counter() - began
    page.close()
    return taken


def broken_ms(browser: Browser, address: str) -> tuple[float, float, float]:
    """Give medians in milliseconds from a click on a unit to the paint.

    First of states and ends, then with gaps and reasons too, then of one more thing broken.
    """
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(address)
    page.evaluate(WATCH)
    names = page.evaluate(UNITS)
    step = max(1, len(names) // (TIMES + MORE))
    chosen = names[::step][: TIMES + MORE]
    alone = [_clicked(page, name, results=2) for name in chosen[:TIMES] if _all_right(page)]
    more = [_clicked(page, name, results=1) for name in chosen[TIMES:]]
    page.close()
    return (
        statistics.median(soon for soon, _ in alone),
        statistics.median(whole for _, whole in alone),
        statistics.median(taken for (taken,) in more),
    )


def _clicked(page: Page, name: str, *, results: int) -> list[float]:
    """Give when each of so many results of a click on this unit was painted."""
    page.evaluate("() => { window.seen = []; }")
    page.locator(f"#plan .unit[data-name='{name}']").click()
    page.wait_for_function(f"() => window.seen.length >= {results}", timeout=LONGEST_MS)
    return [float(each) for each in page.evaluate("window.seen")][:results]


def _all_right(page: Page) -> bool:
    """Put everything right again; give True when it is."""
    button = page.locator("#right")
    if button.count():
        button.click()
    page.wait_for_function("() => document.getElementById('broken').dataset.cuts === ''")
    return True
