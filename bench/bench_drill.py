"""How long it takes to break everything in a generated arena, alone and in pairs."""

from __future__ import annotations

import random
import time
from collections.abc import Iterable, Sequence

import networkx as nx  # type: ignore[import-untyped]

from bench.measure import Measure, median_s
from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import what_dies
from lineproof.drill.lose import lose
from lineproof.drill.pairs import Pairs, all_pairs
from lineproof.drill.sweep import Swept, swept
from lineproof.graph.faults import Fault
from lineproof.show.generate import generate
from lineproof.show.read import read_files

#: Pairs on which the plain ways are tried; what they take is scaled to all.
_SAMPLE = 60


def measure() -> Iterable[Measure]:
    """Give the seconds for all singles and all pairs, and the ratio to plain ways."""
    show = read_files(generate("arena", seed=1)).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    known = calm(show, plan)
    fast = swept(known)
    seconds = median_s(lambda: swept(known).lost_alone, times=3)
    yield Measure(name="drill: making ready, and all singles of an arena", value=seconds, unit="s")
    seconds = median_s(lambda: singles(fast), times=3)
    yield Measure(name="drill: all singles of an arena", value=seconds, unit="s", goal=0.1)
    before = time.process_time()
    singles(fast)
    busy = time.process_time() - before
    yield Measure(name="drill: all singles of an arena, processor", value=busy, unit="s")
    start, before = time.perf_counter(), time.process_time()
    found = all_pairs(fresh(fast))
    taken, busy = time.perf_counter() - start, time.process_time() - before
    yield Measure(name="drill: all pairs of an arena", value=taken, unit="s", goal=2.0)
    yield Measure(name="drill: all pairs of an arena, processor", value=busy, unit="s")
    yield Measure(name="drill: pairs of faults", value=found.tried, unit="pairs")
    ours, theirs = per_pair(known, fast, found)
    yield Measure(name="drill: plain method, a pair", value=ours, unit="s")
    ratio = theirs * found.tried / taken
    name = "drill: pairs, networkx scaled over ours"
    yield Measure(name=name, value=ratio, unit="times", goal=5_000, more_is_better=True)


def fresh(fast: Swept) -> Swept:
    """Give the same made ready, with nothing worked out yet."""
    return Swept(
        calm=fast.calm,
        classes=fast.classes,
        shapes=fast.shapes,
        keys=fast.keys,
        line_shapes=fast.line_shapes,
        must_shapes=fast.must_shapes,
        webs=fast.webs,
    )


def singles(fast: Swept) -> object:
    """Work out what every single fault loses."""
    return fresh(fast).lost_alone


def per_pair(known: Calm, fast: Swept, found: Pairs) -> tuple[float, float]:
    """Give the seconds a pair takes by the plain method, and by a graph library."""
    rng = random.Random(1)  # noqa: S311 - the same pairs every time
    classes = range(len(fast.classes))
    pairs = [rng.sample(classes, 2) for _ in range(_SAMPLE)]
    faults = [[fast.classes.members[at][0] for at in pair] for pair in pairs]
    start = time.perf_counter()
    for each in faults:
        lose(known.show, known.plan, each, ready=known, only_arrival=True)
    middle = time.perf_counter()
    counts = [plainly(known, fast, each) for each in pairs]
    end = time.perf_counter()
    for (one, other), count in zip(pairs, counts, strict=True):
        assert count == len(found.lost(one, other))
    return (middle - start) / _SAMPLE, (end - middle) / _SAMPLE


def plainly(known: Calm, fast: Swept, pair: Sequence[int]) -> int:
    """Give how many shapes are lost, as one would write it down with a graph library."""
    faults: list[Fault] = [fast.classes.members[at][0] for at in pair]
    dead = what_dies(known.shared, faults)
    parts: dict[str, dict[str, int]] = {}
    for net in known.nets:
        graph = nx.MultiGraph()
        for run in known.network.runs_on(net):
            ends = [end.unit for end in run.ends]
            if run.name not in dead.runs and dead.units.isdisjoint(ends) and net not in dead.nets:
                graph.add_edge(*ends, key=run.name)
        parts[net] = {
            unit: at for at, part in enumerate(nx.connected_components(graph)) for unit in part
        }
    lost = 0
    for shape in fast.shapes:
        alive = False
        for paths, _ in shape:
            for path in paths:
                things = {*path.units} & dead.units or {*path.runs} & dead.runs
                things = (
                    things or {name for what, name in path.things if what == "duct"} & dead.ducts
                )
                things = (
                    things or {name for what, name in path.things if what == "place"} & dead.places
                )
                alive = alive or (not things and all(_joined(parts, *leg) for leg in path.legs))
        lost += not alive
    return lost


def _joined(parts: dict[str, dict[str, int]], sender: str, receiver: str) -> bool:
    return any(
        sender in part and receiver in part and part[sender] == part[receiver]
        for part in parts.values()
    )
