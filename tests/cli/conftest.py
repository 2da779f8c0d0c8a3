"""A show folder to run commands on, and the command line as people run it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def small(root: Path, tmp_path: Path) -> Path:
    """Give a copy of the small show."""
    return Path(shutil.copytree(root / "shows" / "small", tmp_path / "show"))


@pytest.fixture
def run() -> Run:
    """Give a function that runs a command as a process of its own and returns what it said."""

    def run_it(*words: object) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "lineproof", *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)

    return run_it
