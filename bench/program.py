"""The `lineproof` program under test, and a show for it to work on."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from bench.measure import ROOT, BenchError

#: It did its work, and a stop may stand in the show.
WORKED = frozenset({0, 1})


def lineproof() -> Path:
    """Give the program installed beside the Python that runs the benchmarks."""
    name = "lineproof.exe" if sys.platform == "win32" else "lineproof"
    # Not resolved: .venv's Python is a link to one that has no lineproof beside it.
    return Path(sys.executable).parent / name


def copy_of(show: str, folder: Path) -> Path:
    """Give a copy of one of the shows in a folder; raise BenchError when there is no such show."""
    source = ROOT / "shows" / show
    if not source.is_dir():
        raise BenchError(f"there is no show {source.relative_to(ROOT)}")
    return shutil.copytree(source, folder)
