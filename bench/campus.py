"""A campus with a plan: four areas, each planned by itself, and then joined in a ring on each net.

Planned as one it takes minutes, which a bench of the drill can't wait for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lineproof.decide.whole import decide_whole
from lineproof.plan.model import Plan
from lineproof.plan.network import Network, PlannedRun, PortAt
from lineproof.show.generate import generate
from lineproof.show.model import Line, Show
from lineproof.show.read import read_files

AREAS = 4
#: So far apart areas lie, along x, in m.
_APART_M = 1500.0


def campus(seed: int = 1) -> tuple[Show, Plan]:
    """Give the show and a plan: what no area shares is as planned for the area alone."""
    show = read_files(generate("campus", seed=seed)).show
    assert show is not None
    plans = [_planned(show, area) for area in range(AREAS)]
    order = {line.key: at for at, line in enumerate(show.lines)}
    lines = sorted((line for plan in plans for line in plan.lines), key=lambda x: order[x.key])
    network = _joined(show, [plan.network for plan in plans])
    assert len(lines) == len(show.lines)
    return show, Plan(lines=tuple(lines), network=network)


def _area(show: Show, name: str) -> int:
    """Give the area in which a unit stands or a place lies."""
    unit = show.units.get(name)
    at_m = show.places[unit.place if unit else name].at_m
    assert at_m is not None
    return round(at_m[0] / _APART_M)


def _planned(show: Show, area: int) -> Plan:
    units = {name: unit for name, unit in show.units.items() if _area(show, name) == area}
    lines = tuple(line for line in show.lines if _starts_in(show, line) == area)
    plan = decide_whole(replace(show, units=units, lines=lines)).plan
    assert plan is not None
    return plan


def _starts_in(show: Show, line: Line) -> int:
    return _area(show, line.starts[0].name)


def _joined(show: Show, areas: Sequence[Network]) -> Network:
    """Give the network of all areas; only what the drill reads of it."""
    runs = [run for network in areas for run in network.runs]
    runs += [run for net in ("a", "b") for run in _ring(show, areas, net)]
    assert len({run.name for run in runs}) == len(runs)
    return Network(
        switch_nets={unit: net for each in areas for unit, net in each.switch_nets.items()},
        runs=tuple(runs),
        streams=tuple(stream for network in areas for stream in network.streams),
        nets=areas[0].nets,
    )


def _ring(show: Show, areas: Sequence[Network], net: str) -> Iterator[PlannedRun]:
    ends = [_free(show, network, net, area) for area, network in enumerate(areas)]
    for area, ports in enumerate(ends):
        after = ends[(area + 1) % len(ends)]
        yield PlannedRun(
            name=f"between-{area + 1}-{net}",
            net=net,
            ends=(ports[0], after[1]),
            medium="single-mode",
            length_m=_APART_M,
        )


def _free(show: Show, network: Network, net: str, area: int) -> tuple[PortAt, PortAt]:
    """Give two free ports of the control room's switch that has most runs."""
    used: dict[str, set[int | None]] = {}
    for run in network.runs_on(net):
        for end in run.ends:
            used.setdefault(end.unit, set()).add(end.number)
    names = [name for name in used if name.startswith(f"sw-control-{area + 1}-")]
    name = max(sorted(names), key=lambda each: len(used[each]))
    free = [p.number for p in show.units[name].kind.ports if p.number not in used[name]]
    return PortAt(unit=name, number=free[-1]), PortAt(unit=name, number=free[-2])
