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
from lineproof.plan.network import Network
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


#: What keeps a unit alive, any one of which will do: ("circuit", stage, 1) for its first supply,
#: ("feed", the run, the switch) over its network cable.
Source = tuple[str, str, str]


@dataclass(frozen=True, kw_only=True)
class Shared:
    """What hangs together in a show: what keeps each unit alive, what each thing takes along.

    `sources` by unit: any one will do; a unit without any needs nothing. `leaning`: the units by
    what a source of theirs hangs on: ("circuit", its name), ("run", …), ("unit", a switch),
    ("supply", `desk/2`). `takes`: the units of a rack or place, the runs of a port or duct.
    """

    sources: Mapping[str, tuple[Source, ...]]
    leaning: Mapping[tuple[str, str], tuple[str, ...]]
    takes: Mapping[tuple[str, str], frozenset[str]]
    downstream: Mapping[str, frozenset[str]]


def shared(show: Show, network: Network) -> Shared:
    """Give what hangs together in a show with its network as planned."""
    found = _sources(show, network)
    leaning: dict[tuple[str, str], list[str]] = {}
    for unit, sources in found.items():
        for source in sources:
            for key in hangs_on(unit, source):
                leaning.setdefault(key, []).append(unit)
    takes: dict[tuple[str, str], set[str]] = {}
    for each in show.units.values():
        takes.setdefault((RACK, each.rack), set()).add(each.name)
        takes.setdefault((PLACE, each.place), set()).add(each.name)
    for run in network.runs:
        for key in (*((PORT, str(end)) for end in run.ends), *((DUCT, duct) for duct in run.ducts)):
            takes.setdefault(key, set()).add(run.name)
    return Shared(
        sources=found,
        leaning={key: tuple(dict.fromkeys(names)) for key, names in leaning.items()},
        takes={key: frozenset(names) for key, names in takes.items()},
        downstream={name: all_fed_from(show, name) for name in show.circuits},
    )


def _sources(show: Show, network: Network) -> dict[str, tuple[Source, ...]]:
    """Give what keeps each unit alive.

    One said to be fed over its cable that hangs on no port which can feed it is taken as fed by
    what it hangs on: that it isn't, a check tells. One that hangs on nothing needs nothing.
    """
    able: dict[str, list[Source]] = {}
    hung: dict[str, list[Source]] = {}
    for fed in fed_units(show, network):
        source = ("feed", fed.run, fed.port.unit)
        hung.setdefault(fed.unit, []).append(source)
        if fed.enough:
            able.setdefault(fed.unit, []).append(source)
    found = {}
    for unit in show.units.values():
        if wants_feed(unit) and unit.name not in hung:
            continue
        supplies = [(CIRCUIT, name, str(n)) for n, name in enumerate(unit.circuits, start=1)]
        feeds = able.get(unit.name, hung.get(unit.name, []))
        if supplies or feeds:
            found[unit.name] = (*supplies, *feeds)
    return found


def hangs_on(unit: str, source: Source) -> tuple[tuple[str, str], ...]:
    """Give the two things without either of which a source of a unit gives nothing."""
    kind, name, more = source
    if kind == CIRCUIT:
        return ((CIRCUIT, name), (SUPPLY, f"{unit}/{more}"))
    return ((RUN, name), (UNIT, more))


#: What a fault does by itself, as pairs: ("unit", its name), and so for run, circuit, supply, duct,
#: place and net.
Struck = frozenset[tuple[str, str]]


def strikes(known: Shared, fault: Fault) -> Struck:
    """Give what a fault takes by itself, before anything is without power for it.

    A dip counts as its circuit. Two faults that strike the same are one to every line.
    """
    what, name = fault.what, fault.name
    here = (what, name)
    if what in (RACK, PLACE):
        units = frozenset((UNIT, unit) for unit in known.takes.get(here, ()))
        return units | {here} if what == PLACE else units
    if what in (PORT, DUCT):
        runs = frozenset((RUN, run) for run in known.takes.get(here, ()))
        return runs | {here} if what == DUCT else runs
    if what in (CIRCUIT, DIP):
        return frozenset((CIRCUIT, each) for each in known.downstream.get(name, (name,)))
    return frozenset({here})


def what_dies(known: Shared, faults: Iterable[Fault]) -> Dead:
    """Give what is dead with all the faults at once; a dip counts as its circuit."""
    gone: set[tuple[str, str]] = set()
    for fault in faults:
        gone |= strikes(known, fault)
    unpowered = _unpowered(known, gone)
    return Dead(
        units=_named(gone, UNIT),
        runs=_named(gone, RUN),
        ducts=_named(gone, DUCT),
        places=_named(gone, PLACE),
        nets=_named(gone, NET),
        unpowered=frozenset(unpowered),
    )


def _named(gone: set[tuple[str, str]], what: str) -> frozenset[str]:
    return frozenset(name for kind, name in gone if kind == what)


def _unpowered(known: Shared, gone: set[tuple[str, str]]) -> set[str]:
    """Add to the dead units those without any source left, and those that these feed; give them."""
    found: set[str] = set()
    ahead = list(gone)
    while ahead:
        for unit in known.leaning.get(ahead.pop(), ()):
            if (UNIT, unit) in gone:
                continue
            if all(_off(unit, source, gone) for source in known.sources[unit]):
                gone.add((UNIT, unit))
                found.add(unit)
                ahead.append((UNIT, unit))
    return found


def _off(unit: str, source: Source, gone: set[tuple[str, str]]) -> bool:
    return not gone.isdisjoint(hangs_on(unit, source))
