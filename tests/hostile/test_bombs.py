"""Shows made to tie up the reader are told about within its means, or read all the same."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.hostile.bombs import BOMBS, FILES, lay

#: Read all the same: long, but nothing wrong with it.
READ = {
    *("long notes", "seven million blanks"),
    *("a hundred rows of headings", "many lists of odd headings"),
}
#: Found about the whole of a file, so no row can be named.
WHOLE = {"too-large", "table-too-large", "table-not-readable", "no-such-file", "outside-folder"}


def read(names: Sequence[str], folder: Path) -> dict[str, dict[str, Any]]:
    """Lay the bombs, read them in a process that may have 500 MB, and give how each went."""
    folders = [folder / str(n) for n in range(len(names))]
    for name, its in zip(names, folders, strict=True):
        its.mkdir()
        lay(name, its)
    root = Path(__file__).parents[2]
    run = subprocess.run(
        [sys.executable, "-m", "tests.hostile.read_all", *map(str, folders)],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(root / "src"), str(root)])},
    )
    told = dict(zip(names, map(json.loads, run.stdout.splitlines()), strict=False))
    assert run.returncode == 0, f"{names[len(told)]}: {run.stderr}"
    return told


@pytest.fixture(scope="module")
def everything(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    return read([*BOMBS, *FILES], tmp_path_factory.mktemp("bombs"))


@pytest.mark.parametrize("name", [*BOMBS, *FILES])
def test_a_trap_is_told_with_its_place_or_read(
    name: str, everything: dict[str, dict[str, Any]]
) -> None:
    told = everything[name]
    assert told["stops"] is (name not in READ)
    for finding in told["findings"]:
        assert finding["do"]
        assert len(finding["what"]) < 5_000
        (first, *_) = finding["where"]
        assert first["file"]
        assert "row" in first or finding["rule"] in WHOLE


@pytest.mark.soak
@pytest.mark.parametrize("name", [*BOMBS, *FILES])
def test_no_trap_takes_more_than_a_second(name: str, tmp_path: Path) -> None:
    tries = []
    for n in range(3):
        # The best of three: what else the machine does is not the reader's doing.
        folder = tmp_path / str(n)
        folder.mkdir()
        tries.append(read([name], folder)[name])
    seconds = min(told["seconds"] for told in tries)
    mbyte = min(told["mbyte"] for told in tries)
    print(f"{name}: {seconds:.2f} s, {mbyte:.0f} MB")  # noqa: T201
    assert seconds < 1
    assert mbyte < 500
