"""However bad a show is, the command line answers in good JSON and without a traceback."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lineproof.base.rule import EXAMPLE_LINES, EXAMPLE_SHOW
from tests.hostile.bombs import lay
from tests.hostile.mangle import mangled_show


def check(folder: Path) -> dict[str, Any]:
    """Give the answer of `lineproof check` as data."""
    command = [sys.executable, "-m", "lineproof", "check", str(folder), "--json"]
    run = subprocess.run(command, capture_output=True, timeout=120, check=False)
    assert b"Traceback" not in run.stderr
    assert run.returncode in (0, 1, 2, 4), run.stderr
    answer: dict[str, Any] = json.loads(run.stdout.decode("utf-8"))
    assert answer["command"] in ("check", "error")
    return answer


def write(folder: Path, show: bytes, lines: bytes) -> None:
    (folder / "show.yaml").write_bytes(show)
    (folder / "lines.csv").write_bytes(lines)


@pytest.mark.parametrize(
    "name",
    [
        *("aliases", "map nesting", "a line of a million digits", "many units", "noise"),
        *("rows that name nothing", "a zip bomb", "links in a circle", "the show is a pipe"),
        *("the show links to zeros", "a list with a null in its name"),
    ],
)
def test_a_trap_is_answered(name: str, tmp_path: Path) -> None:
    lay(name, tmp_path)
    answer = check(tmp_path)
    assert answer["findings"]
    assert all(finding["where"][0]["file"] for finding in answer["findings"])


@pytest.mark.parametrize("turn", range(4))
def test_a_mangled_show_is_answered(turn: int, seed: int, tmp_path: Path) -> None:
    mangled_show(tmp_path, random.Random(f"{seed} {turn}"))
    check(tmp_path)


@pytest.mark.parametrize(
    ("show", "lines"),
    [
        # A broken byte among good letters, where people see it in the answer.
        (EXAMPLE_SHOW.encode(), "1,Kické é é\n".encode() + b"2,Voice\xff,stage,mic\xff,desk\xff"),
        (EXAMPLE_SHOW.encode(), b"1,Ki\x90ck\xe9,stage,dynamic mic,desk\n"),
        (EXAMPLE_SHOW.encode(), b"1,Ki\x1b[2Jck\x07,stage,\x9b,desk"),
        (EXAMPLE_SHOW.replace("Example", '"\\0\\e[2J\\uFFFF\\U0001F941"').encode(), b""),
    ],
)
def test_letters_that_are_none_are_answered(show: bytes, lines: bytes, tmp_path: Path) -> None:
    write(tmp_path, show, EXAMPLE_LINES.encode().splitlines(keepends=True)[0] + lines)
    check(tmp_path)
