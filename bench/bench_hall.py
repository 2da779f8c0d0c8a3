"""How long the hall show takes: planned from nothing, and again after one line was added."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

from bench.measure import Measure, median_of_processes_s, medians_of_processes, run_whole
from bench.program import WORKED, copy_of, lineproof

#: A line that comes in the afternoon, when all others hang.
ADDED = "30,Whistle,stage-left,dynamic mic,all-desks,,horns,,,must,tall,\n"


def measure() -> Iterable[Measure]:
    """Give the medians of whole processes: three plans from nothing, five after an issue."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        # A copy for each, so that every plan starts from nothing.
        shows = [copy_of("hall", folder / f"cold-{n}") for n in range(3)]
        plans = [(lineproof(), "plan", show) for show in shows]
        seconds = median_of_processes_s(plans, good=WORKED)
        yield Measure(name="hall: plan from nothing", value=seconds, unit="s", goal=5.0)

        run_whole((lineproof(), "issue", shows[0], "--by", "bench"), good=WORKED)
        with (shows[0] / "comet.csv").open("a", encoding="utf-8") as table:
            table.write(ADDED)
        again = [(lineproof(), "plan", shows[0])] * 5
        taken = medians_of_processes(again, good=WORKED)
        title = "hall: plan again, one line added"
        yield Measure(name=title, value=taken.real_s, unit="s", goal=1.0)
        yield Measure(name=f"{title}, processor", value=taken.processor_s, unit="s")
