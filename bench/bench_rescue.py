"""How long it takes to find the way back from every single fault."""

from __future__ import annotations

import time
from collections.abc import Iterable
from pathlib import Path

from bench.measure import Measure
from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import calm
from lineproof.drill.sweep import swept
from lineproof.rescue.whole import rescue_all
from lineproof.show.generate import generate
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show

SHOWS = Path(__file__).resolve().parents[1] / "shows"


def measure() -> Iterable[Measure]:
    """Give the seconds for all rescues of each size, and how many faults that are."""
    for name in ("small", "hall"):
        show = read_show(SHOWS / name).show
        assert show is not None
        yield from _of(name, show)
    show = read_files(generate("arena", seed=1)).show
    assert show is not None
    yield from _of("arena", show)


def _of(name: str, show: Show) -> Iterable[Measure]:
    plan = decide_whole(show).plan
    assert plan is not None
    known = swept(calm(show, plan))
    start, before = time.perf_counter(), time.process_time()
    found = rescue_all(known)
    taken, busy = time.perf_counter() - start, time.process_time() - before
    yield Measure(name=f"rescue: all of {name}", value=taken, unit="s")
    yield Measure(name=f"rescue: all of {name}, processor", value=busy, unit="s")
    yield Measure(name=f"rescue: faults of {name}", value=len(found.by_fault), unit="faults")
    unproven = sum(1 for each in found.by_fault.values() if not each.proven)
    yield Measure(name=f"rescue: not proven fewest, of {name}", value=unproven, unit="faults")
