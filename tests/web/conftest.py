"""Shows planned and issued for the face, worked out, and a client that asks the server."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from playwright.sync_api import Browser, sync_playwright

from lineproof.cli.main import main
from lineproof.web.app import app
from lineproof.web.watch import Watch
from lineproof.web.worked import Stage, Worked, read_folder, worked_at

Ask = Callable[[Worked], TestClient]


def issued(root: Path, show: str, into: Path) -> Path:
    """Give a copy of a shipped show, planned and issued."""
    folder = Path(shutil.copytree(root / "shows" / show, into / show))
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    assert main(["issue", str(folder), "--by", "Test"]) in (0, 1)
    return folder


@pytest.fixture(scope="session")
def issued_small(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the small show, planned and issued; nobody may change it."""
    return issued(root, "small", tmp_path_factory.mktemp("face"))


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Give a real browser without a window; its tests are marked as needing it."""
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        yield made
        made.close()


@pytest.fixture
def folder(issued_small: Path, tmp_path: Path) -> Path:
    """Give a copy of the small show, planned and issued, to change."""
    return Path(shutil.copytree(issued_small, tmp_path / "show"))


def worked_out(folder: Path, stage: Stage = "singles") -> Worked:
    """Give a folder worked out."""
    return worked_at(folder, read_folder(folder), stage, Worked(folder=folder))


@pytest.fixture(scope="session")
def small(issued_small: Path) -> Worked:
    """Give the small show, issued and worked out."""
    return worked_out(issued_small)


@pytest.fixture(scope="session")
def hall(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Worked:
    """Give the hall, issued and worked out."""
    return worked_out(issued(root, "hall", tmp_path_factory.mktemp("face")))


@pytest.fixture
def ask() -> Ask:
    """Give a function that gives a client of a server that shows one value."""

    def made(worked: Worked) -> TestClient:
        return TestClient(app(Watch.of(worked)), base_url="http://127.0.0.1:8461")

    return made
