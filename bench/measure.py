"""What a benchmark gives back, and the clock and the yardstick that all of them share."""

from __future__ import annotations

import os
import statistics
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

#: A run that has not ended by then is broken; no goal of ours is near it.
LONGEST_S = 600


class BenchError(Exception):
    """A benchmark can't be run; the message says why."""


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One figure measured, with its goal if it has one.

    A goal is the most that may be taken, or the least that must be reached where
    `more_is_better`, as with a ratio to a plain method.

    >>> Measure(name="start", value=0.3, unit="s", goal=0.4).met
    True
    >>> Measure(name="against the plain method", value=90, unit="times", goal=100,
    ...         more_is_better=True).met
    False
    """

    name: str
    value: float
    unit: str
    goal: float | None = None
    more_is_better: bool = False

    @property
    def met(self) -> bool | None:
        """Say whether the goal is met; None without one."""
        if self.goal is None:
            return None
        return self.value >= self.goal if self.more_is_better else self.value <= self.goal


def yardstick_s() -> float:
    """Give the seconds a fixed piece of plain Python takes here and now: the median of 5.

    Seconds of another machine, or of this one on a busy day, compare through it.
    """
    return median_s(_fixed_work, times=5)


def _fixed_work() -> None:
    # What planning does most: small numbers, dictionaries, texts, sorting.
    state, seen = 1, {}
    for step in range(800_000):
        state = (state * 1103515245 + 12345) % 2**31
        seen[state % 5003] = step
    assert len(sorted(f"{key}:{step}" for key, step in seen.items())) == len(seen)


def median_s(work: Callable[[], object], *, times: int) -> float:
    """Give the median of the seconds that `work` takes, over so many runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def median_of_processes_s(
    commands: Sequence[Sequence[str | Path]], *, good: frozenset[int] = frozenset({0})
) -> float:
    """Give the median of the seconds that whole processes take, from start to end.

    Each command is run once. Raises BenchError when one ends with another code than the `good`.
    """
    return medians_of_processes(commands, good=good).real_s


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What processes took: seconds on the wall's clock, and seconds of processor alone.

    Where others work on the same machine the second says more (0 where the system does not tell).
    """

    real_s: float
    processor_s: float


def medians_of_processes(
    commands: Sequence[Sequence[str | Path]], *, good: frozenset[int] = frozenset({0})
) -> Taken:
    """Give the medians of what whole processes take; as `median_of_processes_s` otherwise."""
    real, processor = [], []
    for command in commands:
        start, before = time.perf_counter(), os.times()
        run_whole(command, good=good)
        after = os.times()
        real.append(time.perf_counter() - start)
        processor.append(
            after.children_user
            + after.children_system
            - before.children_user
            - before.children_system
        )
    return Taken(real_s=statistics.median(real), processor_s=statistics.median(processor))


def run_whole(command: Sequence[str | Path], *, good: frozenset[int] = frozenset({0})) -> None:
    """Run a command to its end, its words kept back; raise BenchError when it fails."""
    try:
        done = subprocess.run(
            command,
            cwd=ROOT,
            env=_environment(),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=LONGEST_S,
            check=False,
        )
    except FileNotFoundError as error:
        raise BenchError(f"there is no program {command[0]}") from error
    except subprocess.TimeoutExpired as error:
        raise BenchError(f"not done after {LONGEST_S} s: {_words(command)}") from error
    if done.returncode not in good:
        said = done.stderr.decode("utf-8", "replace").strip()
        raise BenchError(f"exit code {done.returncode} from {_words(command)}: {said[-2000:]}")


def _environment() -> dict[str, str]:
    """Give our environment, but let Python keep what it compiled, as an installed program does."""
    return {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}


def _words(command: Sequence[str | Path]) -> str:
    return " ".join(str(part) for part in command)
