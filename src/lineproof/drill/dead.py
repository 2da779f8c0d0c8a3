"""What is dead once faults have struck together: units, runs, ducts, places, nets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.graph.faults import (
    CIRCUIT,
    DIP,
    DUCT,
    NET,
    PLACE,
    PORT,
    RACK,
    RUN,
    SUPPLY,
    UNIT,
    Fault,
    all_fed_from,
)
from lineproof.plan.network import Network, PortAt
from lineproof.reckon.poe import fed_units, wants_feed
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Dead:
    """All that no longer works. `unpowered`: those of the units that only lack power."""

    units: frozenset[str] = frozenset()
    runs: frozenset[str] = frozenset()
    ducts: frozenset[str] = frozenset()
    places: frozenset[str] = frozenset()
    nets: frozenset[str] = frozenset()
    unpowered: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.units or self.runs or self.ducts or self.places or self.nets)


@dataclass(frozen=True, kw_only=True)
class Sources:
    """What keeps units alive: any one source of a unit will do.

    `supplies`: by unit the circuit of each supply; `feeds`: by unit every (run, switch) that feeds
    it over its network cable. A unit in neither needs nothing. One said to be fed that hangs on
    no port which can feed it is taken as fed by what it hangs on: that it isn't, a check tells.
    """

    supplies: Mapping[str, tuple[str, ...]]
    feeds: Mapping[str, tuple[tuple[str, str], ...]]
    downstream: Mapping[str, frozenset[str]]


def sources(show: Show, network: Network) -> Sources:
    """Give what keeps each unit of a show alive."""
    able: dict[str, list[tuple[str, str]]] = {}
    hung: dict[str, list[tuple[str, str]]] = {}
    for fed in fed_units(show, network):
        hung.setdefault(fed.unit, []).append((fed.run, fed.port.unit))
        if fed.enough:
            able.setdefault(fed.unit, []).append((fed.run, fed.port.unit))
    feeds = {name: tuple(able.get(name, found)) for name, found in hung.items()}
    supplied = {
        unit.name: unit.circuits
        for unit in show.units.values()
        # Fed by nobody knows what: no circuit takes it along.
        if unit.circuits and (unit.name in feeds or not wants_feed(unit))
    }
    return Sources(
        supplies=supplied,
        feeds=feeds,
        downstream={name: all_fed_from(show, name) for name in show.circuits},
    )


def what_dies(show: Show, network: Network, fed: Sources, faults: Iterable[Fault]) -> Dead:
    """Give what is dead with all the faults at once; a dip counts as its circuit."""
    by_what: dict[str, set[str]] = {}
    for fault in faults:
        by_what.setdefault(fault.what, set()).add(fault.name)

    def names(what: str) -> set[str]:
        return by_what.get(what, set())

    units = set(names(UNIT))
    if racks := names(RACK):
        units |= {u.name for u in show.units.values() if u.rack in racks}
    if places := names(PLACE):
        units |= {u.name for u in show.units.values() if u.place in places}
    off: frozenset[str] = frozenset().union(
        *(fed.downstream.get(name, frozenset({name})) for name in names(CIRCUIT) | names(DIP))
    )
    runs = _cut(network, names(RUN), names(PORT), names(DUCT))
    broken = {tuple(name.rsplit("/", 1)) for name in names(SUPPLY)}
    unpowered = _unpowered(fed, units, runs, off, broken)
    return Dead(
        units=frozenset(units | unpowered),
        runs=runs,
        ducts=frozenset(names(DUCT)),
        places=frozenset(places),
        nets=frozenset(names(NET)),
        unpowered=frozenset(unpowered - units),
    )


def _cut(network: Network, runs: set[str], ports: set[str], ducts: set[str]) -> frozenset[str]:
    plugs = {PortAt.parse(name) for name in ports}
    return frozenset(runs) | {
        run.name
        for run in network.runs
        if (ports or ducts) and (plugs.intersection(run.ends) or ducts.intersection(run.ducts))
    }


def _unpowered(
    fed: Sources,
    units: set[str],
    runs: frozenset[str],
    off: frozenset[str],
    broken: set[tuple[str, ...]],
) -> set[str]:
    """Give the units without any source left, those that dead switches fed too."""
    if not (off or broken or fed.feeds):
        return set()
    found: set[str] = set()
    while True:
        gone = units | found
        more = {
            name
            for name in fed.supplies.keys() | fed.feeds.keys()
            if name not in gone
            and all(
                circuit in off or (name, str(n)) in broken
                for n, circuit in enumerate(fed.supplies.get(name, ()), start=1)
            )
            and all(run in runs or switch in gone for run, switch in fed.feeds.get(name, ()))
        }
        if not more:
            return found
        found |= more
