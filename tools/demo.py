"""The small show, worked through on a copy: planned, checked, issued, broken and printed."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

from tools import venv
from tools.shell import ROOT, Trouble, run, say

SHOW = Path("shows/small")
OUT = Path("out/small")

#: What is run, in this order; {show} is the copy, {paper} where the sheets go.
STEPS = (
    ("plan", "{show}"),
    ("check", "{show}"),
    ("issue", "{show}", "--by", "demo"),
    ("drill", "{show}", "--no-notes"),
    ("drill", "{show}", "--cut", "desk"),
    ("papers", "{show}", "--out", "{paper}"),
)

#: A command's exit code when it did its work and a stop stands in the show.
STOP_STANDS = 1


def demo(arguments: Sequence[str]) -> int:
    """Work the show through; 0 even when a stop stands in it, which is said."""
    del arguments
    if not (ROOT / SHOW).is_dir():
        raise Trouble(f"{SHOW} is missing")
    lineproof = venv.ready("run").program("lineproof")
    show, paper = _fresh_copy()
    stops: list[str] = []
    for step in STEPS:
        words = [word.format(show=show.as_posix(), paper=paper.as_posix()) for word in step]
        say(f"\n$ lineproof {' '.join(words)}")
        code = run(lineproof, *words)
        if code not in {0, STOP_STANDS}:
            say(f"the demo ends here: exit code {code}")
            return code
        if code == STOP_STANDS:
            stops.append(step[0])
    return _summary(show, paper, stops)


def _fresh_copy() -> tuple[Path, Path]:
    """Give the show's copy, so that issuing leaves the show alone, and the sheets' folder."""
    shutil.rmtree(ROOT / OUT, ignore_errors=True)
    show, paper = OUT / "show", OUT / "paper"
    shutil.copytree(ROOT / SHOW, ROOT / show)
    return show, paper


def _summary(show: Path, paper: Path, stops: Sequence[str]) -> int:
    sheets = [path for path in sorted((ROOT / paper).rglob("*")) if path.is_file()]
    if not sheets:
        say(f"\nno sheet was written to {paper}")
        return 1
    print(f"\nThe show, with its draft and its issued plan: {show}")
    print(f"The sheets: {paper}")
    for sheet in sheets:
        print(f"  {sheet.relative_to(ROOT / paper)}  ({sheet.stat().st_size / 1000:.0f} kB)")
    if stops:
        print(f"A stop stands in this show: {', '.join(stops)} said so above.")
    return 0
