"""How long packing streams takes at 400 units, how near to its bound, and what a route changes."""

from __future__ import annotations

import random
import time
from collections.abc import Generator, Iterable, Iterator
from dataclasses import replace

from bench.measure import BenchError, Measure, median_s
from bench.streams_instance import make
from lineproof.decide.streams.asked import Needs
from lineproof.decide.streams.pack import pack
from lineproof.decide.streams.packing import Packing, entries_changed
from lineproof.decide.streams.repack import repack

UNITS, SEED = 400, 1
#: Added routes tried.
ROUTES = 40


def measure() -> Iterable[Measure]:
    """Give seconds, processor seconds, gaps and changes: as generated, and with tight limits."""
    needs = make(UNITS, SEED)
    routes = sum(len(names) for sender in needs.senders for names in sender.wants.values())
    yield Measure(name="streams: routes", value=routes, unit="")
    yield Measure(
        name="streams: a good packing fast",
        value=median_s(lambda: pack(needs, thorough=False), times=3),
        unit="s",
    )
    packing = yield from _packed("as generated", needs, 10.0)
    tight = make(UNITS, SEED, receive=0.75)
    yield from _packed("receive x 0.75", tight, 40.0)
    yield from _repacked(needs, packing)


def _packed(name: str, needs: Needs, goal_s: float) -> Generator[Measure, None, Packing]:
    kept: list[float] = []
    start, work = time.perf_counter(), time.process_time()
    packing = pack(needs, kept=lambda _: kept.append(time.perf_counter() - start))
    seconds, worked = time.perf_counter() - start, time.process_time() - work
    yield Measure(name=f"streams, {name}: packed", value=seconds, unit="s", goal=goal_s)
    yield Measure(name=f"streams, {name}: the processor's part", value=worked, unit="s")
    yield Measure(name=f"streams, {name}: first plan kept after", value=kept[0], unit="s")
    gap = packing.gap_percent
    yield Measure(name=f"streams, {name}: above the bound", value=gap, unit="%", goal=0.5)
    more = packing.over - packing.least_over
    yield Measure(name=f"streams, {name}: over limits beyond need", value=more, unit="", goal=0)
    cost = packing.cost / 1e9
    yield Measure(name=f"streams, {name}: cost", value=cost, unit="Gbit/s x runs")
    yield Measure(name=f"streams, {name}: streams", value=len(packing.streams), unit="")
    return packing


def _repacked(needs: Needs, packing: Packing) -> Iterator[Measure]:
    chance = random.Random("routes")  # noqa: S311 - shows, not secrets
    seconds, changed, told = [], [], 0
    for _ in range(ROUTES):
        more = _with_route(needs, chance)
        start = time.perf_counter()
        after = repack(more, packing.streams)
        seconds.append(time.perf_counter() - start)
        changed.append(entries_changed(packing.streams, after.streams))
        told += len(after.told)
    if not all(changed):
        raise BenchError("an added route changed nothing")
    yield Measure(name="streams: again, one route added", value=max(seconds), unit="s", goal=1.0)
    yield Measure(name="streams: entries changed at most", value=max(changed), unit="", goal=2)
    mean = sum(changed) / len(changed)
    yield Measure(name="streams: entries changed on average", value=mean, unit="")
    yield Measure(name="streams: kinds changed in use", value=told, unit="", goal=0)


def _with_route(needs: Needs, chance: random.Random) -> Needs:
    sender = chance.choice(needs.senders)
    channel = chance.choice([*sorted(sender.wants), max(sender.wants) + 1])
    heard = sender.wants.get(channel, frozenset())
    there = [u for u in sorted(needs.limits) if u not in heard and u != sender.name]
    wants = {**sender.wants, channel: heard | {chance.choice(there)}}
    others = [s for s in needs.senders if s is not sender]
    return replace(needs, senders=(*others, replace(sender, wants=wants)))
