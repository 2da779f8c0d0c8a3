"""Shows to rename things in: the hall, issued, and one in which names stand everywhere."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lineproof.cli.main import main
from tests.rename import band


@pytest.fixture(scope="session")
def issued_hall(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the hall show, planned and issued once: three acts, lists, zones, pairs, roles."""
    folder = tmp_path_factory.mktemp("hall") / "show"
    shutil.copytree(root / "shows" / "hall", folder)
    assert main(["plan", str(folder), "--quiet"]) == 0
    assert main(["issue", str(folder), "--by", "tester"]) == 0
    return folder


@pytest.fixture
def hall(issued_hall: Path, tmp_path: Path) -> Path:
    """Give a copy of the issued hall show."""
    return Path(shutil.copytree(issued_hall, tmp_path / "hall"))


@pytest.fixture
def show(tmp_path: Path) -> Path:
    """Give the show in which every name stands everywhere it may."""
    return band.write(tmp_path / "band")
