"""How long the whole bundle of a generated arena takes: patch book, labels, tables, pictures."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

from bench.measure import Measure, medians_of_processes, run_whole
from bench.program import WORKED, lineproof


def measure() -> Iterable[Measure]:
    """Give the medians of two whole processes, each into a folder of its own."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        show = folder / "arena"
        run_whole((lineproof(), "new", "--size", "arena", "--seed", "1", show))
        run_whole((lineproof(), "plan", show), good=WORKED)
        prints = [(lineproof(), "papers", show, "--out", folder / f"out-{n}") for n in range(2)]
        taken = medians_of_processes(prints, good=WORKED)
        title = "arena: whole bundle of papers"
        yield Measure(name=title, value=taken.real_s, unit="s", goal=20.0)
        yield Measure(name=f"{title}, processor", value=taken.processor_s, unit="s")
