"""Run every benchmark, or those named; print a table and write bench/latest.json."""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from bench.measure import BenchError, Measure, yardstick_s

FOLDER = Path(__file__).resolve().parent
LATEST = FOLDER / "latest.json"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One row of the result: a figure, held against its goal and the same run's yardstick."""

    name: str
    value: float
    unit: str
    goal: float | None
    met: bool | None
    in_yardsticks: float | None = field(default=None)


def entry(measure: Measure, yardstick: float) -> Entry:
    """Give the row of a figure; only seconds are told in yardsticks."""
    return Entry(
        name=measure.name,
        value=measure.value,
        unit=measure.unit,
        goal=measure.goal,
        met=measure.met,
        in_yardsticks=measure.value / yardstick if measure.unit == "s" else None,
    )


def run_all(names: Sequence[str]) -> tuple[list[Entry], list[str]]:
    """Give the rows of the benchmarks named (all without names), and what could not be measured."""
    rows: list[Entry] = []
    broken: list[str] = []
    for name in names:
        _say(f"{name} …")
        # Taken anew for each: how busy the machine is changes while they run.
        yardstick = yardstick_s()
        title = f"yardstick of {name.removeprefix('bench_')}"
        rows.append(entry(Measure(name=title, value=yardstick, unit="s"), yardstick))
        try:
            for measure in _measures(name):
                rows.append(entry(measure, yardstick))  # noqa: PERF401 - keeps those before a fall
        except Exception as error:  # noqa: BLE001 - one broken benchmark must not hide the others
            kind = "" if isinstance(error, BenchError) else f"{type(error).__name__}: "
            broken.append(f"{name}: {kind}{error}")
    return rows, broken


def _measures(name: str) -> Iterator[Measure]:
    measure: Callable[[], Iterable[Measure]] = importlib.import_module(f"bench.{name}").measure
    yield from measure()


def table(rows: Sequence[Entry]) -> str:
    """Give the rows as people read them."""
    cells = [("what", "figure", "goal", "", "in yardsticks")]
    for row in rows:
        goal = "" if row.goal is None else f"{row.goal:g} {row.unit}"
        met = {None: "", True: "met", False: "NOT MET"}[row.met]
        yardsticks = "" if row.in_yardsticks is None else f"{row.in_yardsticks:.2f}"
        cells.append((row.name, f"{row.value:.4g} {row.unit}", goal, met, yardsticks))
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in cells
    )


def main(arguments: Sequence[str]) -> int:
    """Run them; 1 when something could not be measured. A goal not met is said, and is no error."""
    known = sorted(path.stem for path in FOLDER.glob("bench_*.py"))
    names = [word if word.startswith("bench_") else f"bench_{word}" for word in arguments]
    if unknown := sorted(set(names) - set(known)):
        _say(f"no benchmark {', '.join(unknown)}; there are {', '.join(known)}")
        return 2
    rows, broken = run_all(names or known)
    text = json.dumps([asdict(row) for row in rows], indent=1, ensure_ascii=False)
    LATEST.write_text(text + "\n", "utf-8")
    print(table(rows))
    for each in broken:
        _say(f"not measured: {each}")
    return 1 if broken else 0


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
