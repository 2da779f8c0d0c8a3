"""How long the small show takes: planned from nothing, and checked with its plan there."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

from bench.measure import Measure, median_of_processes_s, run_whole
from bench.program import WORKED, copy_of, lineproof


def measure() -> Iterable[Measure]:
    """Give the medians of whole processes: three plans, five checks."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        # A copy for each, so that every plan starts from nothing.
        shows = [copy_of("small", folder / f"cold-{n}") for n in range(3)]
        plans = [(lineproof(), "plan", show) for show in shows]
        seconds = median_of_processes_s(plans, good=WORKED)
        yield Measure(name="small: plan from nothing", value=seconds, unit="s", goal=3.0)

        # Commands work on the issued plan, so there must be one.
        run_whole((lineproof(), "issue", shows[0], "--by", "bench"), good=WORKED)
        checks = [(lineproof(), "check", shows[0])] * 5
        seconds = median_of_processes_s(checks, good=WORKED)
        yield Measure(name="small: check", value=seconds, unit="s", goal=1.0)
