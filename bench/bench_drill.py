"""How long it takes to break everything in a generated arena and a campus, alone and in pairs."""

from __future__ import annotations

import multiprocessing
import random
import resource
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import networkx as nx  # type: ignore[import-untyped]

from bench.campus import campus
from bench.measure import Measure
from lineproof.decide.whole import decide_whole
from lineproof.drill.bearing import resting
from lineproof.drill.calm import Calm, CalmNet, calm
from lineproof.drill.dead import shared, what_dies
from lineproof.drill.loads import rates_after
from lineproof.drill.lose import lose
from lineproof.drill.pairs import Pairs, all_pairs
from lineproof.drill.sweep import Swept, swept
from lineproof.graph.faults import Fault
from lineproof.graph.net import Fabric, fabrics
from lineproof.graph.net_faults import NetFault, felt, network_faults
from lineproof.plan.model import Plan
from lineproof.reckon.delay import bounds
from lineproof.reckon.loads import rates_bps
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import paths, paths_after
from lineproof.show.generate import generate
from lineproof.show.model import Show
from lineproof.show.read import read_files

#: Pairs on which the plain ways are tried; what they take is scaled to all.
_SAMPLE = 600
#: Single faults that are worked out in full.
_IN_FULL = 100


@dataclass(frozen=True, kw_only=True)
class Spent:
    """Seconds by the clock on the wall, and of this process's own work: the middle of some runs.

    Where others share the machine the second says more.
    """

    wall_s: float
    processor_s: float

    def told(self, name: str, goal: float | None = None) -> Iterator[Measure]:
        """Give both as figures; the goal is for the wall's."""
        yield Measure(name=name, value=self.wall_s, unit="s", goal=goal)
        yield Measure(name=f"{name}, processor", value=self.processor_s, unit="s")


def spent(work: Callable[[], object], times: int = 1) -> Spent:
    """Give what `work` takes: the run in the middle of so many."""
    runs = []
    for _ in range(times):
        wall, own = time.perf_counter(), time.process_time()
        work()
        runs.append((time.perf_counter() - wall, time.process_time() - own))
    wall_s, processor_s = sorted(runs)[times // 2]
    return Spent(wall_s=wall_s, processor_s=processor_s)


def measure() -> Iterable[Measure]:
    """Give the seconds for singles, pairs and loads, and the ratio to plain ways."""
    yield from _arena()
    yield from _campus()


def _arena() -> Iterator[Measure]:
    show = read_files(generate("arena", seed=1)).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    known = calm(show, plan)
    fast = swept(known)
    ready = spent(lambda: swept(known).lost_alone, times=3)
    yield from ready.told("drill: making ready, and all singles of an arena")
    alone = spent(lambda: fresh(fast).lost_alone, times=5)
    yield from alone.told("drill: all singles of an arena", 0.1)
    both = spent(lambda: all_pairs(fresh(fast)), times=3)
    yield from both.told("drill: all pairs of an arena", 2.0)
    found = all_pairs(fresh(fast))
    yield Measure(name="drill: pairs of faults in an arena", value=found.tried, unit="pairs")
    yield from _plain_ways(known, fast, found, both)
    faults = network_faults(show, plan.network)
    carried: list[int] = []
    loads = spent(lambda: carried.append(every_load(known, faults)), times=3)
    yield from loads.told("drill: loads of an arena after every single fault", 1.0)
    yield Measure(name="drill: trees with their loads", value=carried[0], unit="trees")


def _plain_ways(known: Calm, fast: Swept, found: Pairs, both: Spent) -> Iterator[Measure]:
    """Give what a pair takes by the plain method and by a graph library, held to ours."""
    rng = random.Random(1)  # noqa: S311 - the same pairs every time
    pairs = [rng.sample(range(len(fast.classes)), 2) for _ in range(_SAMPLE)]
    faults = [[fast.classes.members[at][0] for at in pair] for pair in pairs]
    show, plan = known.show, known.plan
    plain = spent(
        lambda: [lose(show, plan, each, ready=known, only_arrival=True) for each in faults]
    )
    name = f"drill: {_SAMPLE} pairs by the plain method"
    yield from plain.told(name)
    singles = [members[0] for members in rng.sample(fast.classes.members, _IN_FULL)]
    full = spent(lambda: [lose(show, plan, fault, ready=known) for fault in singles])
    yield from full.told(f"drill: {_IN_FULL} single faults with loads, delays and clock")
    counts: list[int] = []
    library = spent(lambda: counts.extend(plainly(known, fast, each) for each in faults))
    yield from library.told(f"drill: {_SAMPLE} pairs by networkx")
    for (one, other), count in zip(pairs, counts, strict=True):
        assert count == len(found.lost(one, other))
    yield Measure(
        name="drill: all pairs by networkx, scaled, over ours, processor",
        value=library.processor_s / _SAMPLE * found.tried / both.processor_s,
        unit="times",
        goal=5_000,
        more_is_better=True,
    )


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


def plainly(known: Calm, fast: Swept, faults: Sequence[Fault]) -> int:
    """Give how many shapes are lost, as one would write it down with a graph library."""
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
        for paths_, _ in shape:
            for path in paths_:
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


def every_load(known: Calm, faults: Sequence[NetFault]) -> int:
    """Work out what every run of every net carries after each fault; give how many trees.

    A fault that takes no bridge, no querier and no run between bridges leaves the tree as it is
    and only takes traffic away; of those that take the same of these one stands for all.
    """
    tried = 0
    for net in known.nets.values():
        before, carried = net.bounds.paths, rates_bps(net.bounds.paths)
        for hit in _moved(net.tree.fabric, faults):
            rates_after(before, carried, paths_after(before, spanning_tree(hit)))
            tried += 1
    return tried


def _moved(fabric: Fabric, faults: Sequence[NetFault]) -> Iterator[Fabric]:
    seen = set()
    for fault in faults:
        this = felt(fabric, fault)
        key = (this.nodes, this.runs)
        if this.moves and key not in seen:
            seen.add(key)
            yield fabric.without(
                units=[fabric.nodes[at].name for at in this.nodes],
                runs=[fabric.runs[at].name for at in this.runs],
            )


def _campus() -> Iterator[Measure]:
    """Give the pairs of a campus, in a process of their own so that its memory is theirs alone."""
    show, plan = campus()
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        alone, both, tried, memory = pool.apply(_campus_pairs, (show, plan))
    yield from alone.told("drill: all singles of a campus")
    yield from both.told("drill: all pairs of a campus", 90.0)
    yield Measure(name="drill: pairs of faults in a campus", value=tried, unit="pairs")
    yield Measure(
        name="drill: memory for the pairs of a campus", value=memory, unit="MB", goal=2_000
    )


def _campus_pairs(show: Show, plan: Plan) -> tuple[Spent, Spent, int, float]:
    """Give what singles and pairs take, how many pairs of faults, and the most memory in MB."""
    fast = swept(_arriving(show, plan))
    alone = spent(lambda: fast.lost_alone)
    found: list[Pairs] = []
    both = spent(lambda: found.append(all_pairs(fresh(fast))))
    # Linux tells it in units of 1,024 bytes.
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    return alone, both, found[0].tried, most


def _arriving(show: Show, plan: Plan) -> Calm:
    """Give a show ready to be drilled for arrival alone: its nets without streams and clock."""
    nets = {
        net: CalmNet(
            bounds=bounds(paths(spanning_tree(fabric), ())),
            flow_of={},
            leaders={},
            overloaded=frozenset(),
            late=frozenset(),
        )
        for net, fabric in fabrics(show, plan.network).items()
    }
    return Calm(
        show=show,
        plan=plan,
        lines=resting(show, plan),
        shared=shared(show, plan.network),
        nets=nets,
    )
