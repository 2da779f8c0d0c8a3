"""How long the whole bundle of the hall show takes: patch book, labels, tables, pictures."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

from bench.measure import Measure, median_of_processes_s, run_whole
from bench.program import WORKED, copy_of, lineproof


def measure() -> Iterable[Measure]:
    """Give the median of three whole processes, with the drill and its rescues and without."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        show = copy_of("hall", folder / "hall")
        run_whole((lineproof(), "plan", show), good=WORKED)
        for title, more in (
            ("hall: bundle of papers without the drill", ("--without", "drill")),
            ("hall: whole bundle of papers", ()),
        ):
            prints = [
                (lineproof(), "papers", show, "--out", folder / f"out-{n}", *more) for n in range(3)
            ]
            seconds = median_of_processes_s(prints, good=WORKED)
            yield Measure(name=title, value=seconds, unit="s", goal=3.0)
