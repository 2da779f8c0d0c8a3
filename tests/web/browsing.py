"""A folder served in this process, and pages of it in a real browser."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Self

import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page

from lineproof.web.app import app
from lineproof.web.serve import bound
from lineproof.web.watch import Watch
from lineproof.web.worked import STAGES, Stage


class Served:
    """A folder served in this process, followed as `lineproof open` does."""

    def __init__(self, folder: Path, upto: Stage = "pairs") -> None:
        # Rescues of a large show take minutes: who tests what pages say of them asks for them.
        self.upto = upto
        self.watch = Watch(folder, stages=STAGES[: STAGES.index(upto) + 1])
        self.socket = bound(0)
        self.socket.listen()
        self.address = f"http://127.0.0.1:{self.socket.getsockname()[1]}"
        config = uvicorn.Config(
            app(self.watch), log_level="critical", timeout_graceful_shutdown=1, lifespan="off"
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(
            target=self.server.run, kwargs={"sockets": [self.socket]}, daemon=True
        )

    def __enter__(self) -> Self:
        self.watch.start()
        self.thread.start()
        while self.watch.now.stage != self.upto:
            time.sleep(0.02)
        return self

    def __exit__(self, *_: object) -> None:
        self.server.should_exit = True
        self.thread.join()
        self.watch.stop()
        self.socket.close()


def context(browser: Browser, **more: object) -> BrowserContext:
    """Give a window of its own, as large as a laptop's unless said otherwise."""
    return browser.new_context(**{"viewport": {"width": 1280, "height": 800}, **more})  # type: ignore[arg-type]


@contextmanager
def watched(browser: Browser, address: str, **more: object) -> Iterator[Page]:
    """Give a page on which nothing may go wrong unseen, and which asks only this server."""
    made = context(browser, base_url=address, **more)
    page = made.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda told: wrong.append(told.text) if told.type == "error" else None)
    page.on(
        "request",
        lambda asked: wrong.append(asked.url) if not asked.url.startswith(address) else None,
    )
    yield page
    made.close()
    assert wrong == []
