"""How long the figures of an arena's two nets take, undisturbed and under every single fault."""

from __future__ import annotations

import itertools
import random
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from bench.measure import Measure
from bench.plain_net import plain_delays, plain_rates
from lineproof.decide.whole import decide_whole
from lineproof.graph.net import Fabric, FabricRun, Node, fabrics
from lineproof.graph.net_faults import NetFault, network_faults
from lineproof.reckon.delay import bounds, bounds_after
from lineproof.reckon.delay_faults import Swept, sweep
from lineproof.reckon.delay_figures import NetworkFigures, network_figures
from lineproof.reckon.dip import dips
from lineproof.reckon.loads import loads, rates_bps
from lineproof.reckon.packets import Packet
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import Flow, flows_on, paths, paths_after
from lineproof.show.generate import generate
from lineproof.show.read import read_files

#: Faults on which the plain way is tried; it takes about as long for any other.
_SAMPLE = 12
_PACKET = Packet(rate_hz=48_000, packet_us=1000)


@dataclass(frozen=True, kw_only=True)
class Arena:
    """Two nets of 60 switches, 400 units, their streams, and every single fault."""

    fabrics: tuple[Fabric, ...]
    flows: tuple[tuple[Flow, ...], ...]
    faults: tuple[NetFault, ...]


def arena(seed: int = 1) -> Arena:
    """Give an arena: 6 switches in a core at 10 Gbit/s, 54 in chains between two of them.

    40 stage boxes, 18 mixers, 12 recorders and 330 amplifiers and loudspeakers in 8 zones; a unit
    hangs on a switch of its zone, on both nets on the like-numbered one. 48 are on net a only.
    """
    rng = random.Random(seed)  # noqa: S311 - the same arena every time
    chains = _chains(rng)
    units = [f"unit-{i}" for i in range(400)]
    edges = [[6 + i for i in range(54) if i * 8 // 54 == zone] for zone in range(8)]
    hangs_on = {unit: rng.choice(edges[i % 8]) for i, unit in enumerate(units)}
    only_a = set(units[300:348])
    fabrics = []
    for net, chords in (("a", 3), ("b", 5)):
        there = [unit for unit in units if net == "a" or unit not in only_a]
        fabrics.append(_fabric(net, chords, chains, there, hangs_on))
    streams = _streams(rng, units)
    flows = tuple(_flows(fabric, streams) for fabric in fabrics)
    return Arena(fabrics=tuple(fabrics), flows=flows, faults=_faults(rng, fabrics))


def _chains(rng: random.Random) -> list[list[int]]:
    """Give chains of 3 to 5 edge switches, 54 in all, each with a core switch at both ends."""
    chains, first = [], 6
    while first < 60:
        length = min(rng.choice((3, 4, 5)), 60 - first)
        start = rng.randrange(6)
        ends = (start, (start + rng.randrange(1, 6)) % 6)
        chains.append([ends[0], *range(first, first + length), ends[1]])
        first += length
    return chains


def _fabric(
    net: str, chords: int, chains: list[list[int]], units: list[str], hangs_on: dict[str, int]
) -> Fabric:
    switches = [
        Node(
            name=f"sw-{net}-{i}",
            bridge=True,
            elects=True,
            snoops=True,
            priority={0: 4096, 3: 8192}.get(i, 32768),
            mac=1000 + i,
        )
        for i in range(60)
    ]
    index = {unit: 60 + i for i, unit in enumerate(units)}
    core = [(i, (i + 1) % 6) for i in range(6)]
    core += [(i % 6, (i + 3) % 6) if i < 3 else (i - 3, i - 1) for i in range(chords)]
    pairs = [(a, b, 10_000) for a, b in core]
    pairs += [(a, b, 1000) for chain in chains for a, b in itertools.pairwise(chain)]
    pairs += [(hangs_on[unit], index[unit], 1000) for unit in units]
    used = [0] * (60 + len(units))
    runs = []
    for n, (a, b, speed) in enumerate(pairs):
        used[a], used[b] = used[a] + 1, used[b] + 1
        runs.append(
            FabricRun(
                name=f"{net}-{n}",
                ends=(a, b),
                ports=(used[a], used[b]),
                speed_mbit=speed,
                length_m=40.0,
            )
        )
    nodes = (*switches, *(Node(name=unit) for unit in units))
    return Fabric(net=net, nodes=nodes, runs=tuple(runs), queriers=(0, 3))


def _streams(rng: random.Random, units: list[str]) -> list[tuple[str, tuple[str, ...], int]]:
    """Give (sender, receivers, channels): boxes to mixers and recorders, mixers to amplifiers."""
    boxes, mixers, recorders, ends = units[:40], units[40:58], units[58:70], units[70:]
    found: list[tuple[str, tuple[str, ...], int]] = []
    for n, box in enumerate(boxes):
        own = (mixers[n % 8], mixers[n % 8 + 8])
        keep = (recorders[n % 12], recorders[(n + 5) % 12])
        found += [(box, (*own, *keep, *mixers[16:]), 8), (box, (*own, *keep), 8)]
        found += [(box, own, 8), (box, own[:1], 8)]
        found += [(mixer, (box,), 8) for mixer in own]
    feeds: dict[tuple[str, int], list[str]] = {}
    for n, end in enumerate(ends):
        zone = 0 if rng.random() < 0.25 else (n + 70) % 8
        feeds.setdefault((mixers[zone], rng.randrange(3)), []).append(end)
    found += [(mixer, tuple(fed), 8) for (mixer, _), fed in sorted(feeds.items())]
    found += [(mixers[16 + n % 2], (recorders[n],), 8) for n in range(12)]
    return found


def _flows(fabric: Fabric, streams: Sequence[tuple[str, tuple[str, ...], int]]) -> tuple[Flow, ...]:
    found = []
    for n, (sender, receivers, channels) in enumerate(streams):
        if sender not in fabric.index:
            continue
        found.append(
            Flow(
                name=f"{sender}/{n}",
                sender=fabric.index[sender],
                receivers=tuple(fabric.index[r] for r in receivers if r in fabric.index),
                multicast=len(receivers) > 1,
                packet_bits=8 * _PACKET.wire_bytes(channels),
                packet_ns=1_000_000,
                rate_bps=int(_PACKET.wire_bits_s(channels)),
            )
        )
    return tuple(found)


def _faults(rng: random.Random, fabrics: Sequence[Fabric]) -> tuple[NetFault, ...]:
    """Give every unit, switch and run, 40 circuits, 50 racks and 80 ducts."""
    names = sorted({node.name for fabric in fabrics for node in fabric.nodes})
    runs = [run.name for fabric in fabrics for run in fabric.runs]
    found = [NetFault(what="unit", name=name, units=(name,)) for name in names]
    found += [NetFault(what="run", name=name, runs=(name,)) for name in runs]
    for what, count in (("circuit", 40), ("rack", 50)):
        shared = {name: rng.randrange(count) for name in names}
        for n in range(count):
            units = tuple(name for name in names if shared[name] == n)
            found.append(NetFault(what=what, name=f"{what}-{n}", units=units))
    lies = {name: rng.randrange(80) for name in runs}
    for n in range(80):
        cut = tuple(name for name in runs if lies[name] == n)
        found.append(NetFault(what="duct", name=f"duct-{n}", runs=cut))
    return tuple(found)


def figures(case: Arena) -> None:
    """Work out trees, ways, loads with and without snooping, and delay bounds of both nets."""
    for fabric, flows in zip(case.fabrics, case.flows, strict=True):
        tree = spanning_tree(fabric)
        ways = paths(tree, flows)
        loads(ways)
        loads(paths(tree, flows, snooping=False))
        bounds(ways).delays_ns()


def every_fault(case: Arena) -> list[Swept]:
    """Work out the worst delay and load of both nets under every single fault."""
    return [sweep(f, flows, case.faults) for f, flows in zip(case.fabrics, case.flows, strict=True)]


@dataclass(frozen=True, kw_only=True)
class Spent:
    """Seconds by the clock on the wall, and of this process's own work."""

    wall_s: float
    processor_s: float

    def told(self, name: str, goal: float | None = None) -> tuple[Measure, Measure]:
        """Give both as figures; where others share the machine the second says more."""
        return (
            Measure(name=name, value=self.wall_s, unit="s", goal=goal),
            Measure(name=f"{name}, processor", value=self.processor_s, unit="s"),
        )


def spent(work: Callable[[], object]) -> Spent:
    """Give what one run of `work` takes."""
    wall, own = time.perf_counter(), time.process_time()
    work()
    return Spent(wall_s=time.perf_counter() - wall, processor_s=time.process_time() - own)


def measure() -> Iterable[Measure]:
    """Give the seconds for all figures, for every fault, and the ratios to the plain way."""
    case = arena()
    runs = sorted((spent(lambda: figures(case)) for _ in range(3)), key=lambda s: s.wall_s)
    yield from runs[1].told("net: all figures of an arena", 1.0)
    swept: list[Swept] = []
    taken = spent(lambda: swept.extend(every_fault(case)))
    yield from taken.told("net: delay and load, every fault", 5.0)
    tried = sum(each.tried for each in swept)
    yield Measure(name="net: trees after faults", value=tried, unit="trees")
    for what, plain, ours in (
        ("loads", _plain_loads(case), _our_loads(case)),
        ("bounds", _plain_bounds(case), _our_bounds(case)),
    ):
        name = f"net: {what} after {_SAMPLE} faults"
        yield Measure(name=f"{name}, plain way, processor", value=plain, unit="s")
        yield Measure(name=f"{name}, ours, processor", value=ours, unit="s")
        yield Measure(name=f"{name}, plain way over ours", value=plain / ours, unit="times")
    yield from _planned()


def _planned() -> Iterator[Measure]:
    """Give the same of an arena that was planned from a generated show, as people meet it."""
    show = read_files(generate("arena", 1)).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    network = plan.network
    faults = network_faults(show, network)
    nets = [(net, flows_on(show, net, network.streams)) for net in fabrics(show, network).values()]
    swept: list[Swept] = []
    after = spent(lambda: swept.extend(sweep(net, flows, faults) for net, flows in nets))
    yield from after.told("net: planned arena, delay and load, every fault", 5.0)
    found: list[NetworkFigures] = []
    whole = spent(lambda: found.append(network_figures(show, plan, network)))
    rest = Spent(
        wall_s=whole.wall_s - after.wall_s, processor_s=whole.processor_s - after.processor_s
    )
    yield from rest.told("net: planned arena, all other figures", 1.0)
    taken = spent(lambda: dips(show, network, found[0]))
    yield from taken.told("net: planned arena, a dip of every circuit")
    tried = sum(each.tried for each in swept)
    yield Measure(name="net: planned arena, trees after faults", value=tried, unit="trees")


def _hits(case: Arena) -> list[Fabric]:
    return [case.fabrics[0].without(units=[f"sw-a-{5 * n}"]) for n in range(_SAMPLE)]


def _plain_loads(case: Arena) -> float:
    return spent(lambda: [plain_rates(hit, case.flows[0]) for hit in _hits(case)]).processor_s


def _our_loads(case: Arena) -> float:
    found: list[dict[int, int]] = []
    flows = case.flows[0]
    taken = spent(
        lambda: found.extend(dict(rates_bps(paths(spanning_tree(h), flows))) for h in _hits(case))
    )
    assert found[1] == plain_rates(_hits(case)[1], flows)
    return taken.processor_s


def _plain_bounds(case: Arena) -> float:
    return spent(lambda: [plain_delays(hit, case.flows[0]) for hit in _hits(case)]).processor_s


def _our_bounds(case: Arena) -> float:
    """Give seconds of the same bounds, each from what was known before the fault."""
    flows = case.flows[0]
    calm = bounds(paths(spanning_tree(case.fabrics[0]), flows))
    found: list[dict[tuple[int, int], int]] = []

    def work() -> None:
        for hit in _hits(case):
            after, _ = bounds_after(calm, paths_after(calm.paths, spanning_tree(hit)))
            found.append(dict(after.delays_ns()))

    taken = spent(work)
    assert_same(found[1], plain_delays(_hits(case)[1], flows))
    return taken.processor_s


def assert_same(ours: Mapping[tuple[int, int], int], plain: Mapping[tuple[int, int], int]) -> None:
    """Raise AssertionError where two bounds differ by more than rounding."""
    assert ours.keys() == plain.keys()
    assert all(abs(ours[key] - plain[key]) <= 1 for key in ours)
