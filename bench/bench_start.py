"""How long the command line takes to start and end again."""

from __future__ import annotations

from collections.abc import Iterable

from bench.measure import Measure, median_of_processes_s
from bench.program import lineproof


def measure() -> Iterable[Measure]:
    """Give the median of seven starts."""
    seconds = median_of_processes_s([(lineproof(), "--version")] * 7)
    yield Measure(name="start: lineproof --version", value=seconds, unit="s", goal=0.4)
