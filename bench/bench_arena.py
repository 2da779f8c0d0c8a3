"""How long a generated arena takes: planned from nothing with its proven gap, and again."""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

from bench.measure import (
    BenchError,
    Measure,
    median_of_processes_s,
    medians_of_processes,
    run_whole,
)
from bench.program import WORKED, lineproof

#: A line that comes in the afternoon, when all others hang.
ADDED = "98001,,House violin,river-left,condenser mic,field-1-1,,,,must\n"


def measure() -> Iterable[Measure]:
    """Give the medians of whole processes: two plans from nothing, five after an issue."""
    with tempfile.TemporaryDirectory() as name:
        shows = [Path(name) / f"cold-{n}" for n in range(2)]
        for show in shows:
            run_whole((lineproof(), "new", "--size", "arena", "--seed", "1", show))
        plans = [(lineproof(), "plan", show) for show in shows]
        seconds = median_of_processes_s(plans, good=WORKED)
        yield Measure(name="arena: plan from nothing", value=seconds, unit="s", goal=30.0)
        yield Measure(name="arena: proven gap", value=_gap(shows[1]), unit="%", goal=1.0)

        run_whole((lineproof(), "issue", shows[0], "--by", "bench"), good=WORKED)
        with (shows[0] / "river.csv").open("a", encoding="utf-8") as table:
            table.write(ADDED)
        again = [(lineproof(), "plan", shows[0])] * 5
        taken = medians_of_processes(again, good=WORKED)
        title = "arena: plan again, one line added"
        yield Measure(name=title, value=taken.real_s, unit="s", goal=3.0)
        yield Measure(name=f"{title}, processor", value=taken.processor_s, unit="s")


def _gap(show: Path) -> float:
    """Give by how much of its cost the plan may be above the best, as it says itself."""
    command = (lineproof(), "plan", show, "--json", "--quiet")
    done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode not in WORKED:
        raise BenchError(f"exit code {done.returncode} from plan --json")
    found = [t for t in json.loads(done.stdout)["terms"] if t["name"] == "sum"]
    (total,) = found
    return float(100 * (total["value"] - total["bound"]) / total["value"])
