"""The switches of a net and what may join them: trunks, and what is left when a duct is cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from lineproof.base.names import natural
from lineproof.decide.cabling.ground import COPPER, FIBRE, Cable, Ground
from lineproof.kit.kinds import Port
from lineproof.plan.network import PlannedRun
from lineproof.show.model import Unit

#: Up to so many switches on a net every pair may be joined, by every way that was found.
SMALL_NET = 10
#: On a larger net: this many ways between two of them.
_FEW_WAYS = 3


@dataclass(frozen=True, kw_only=True)
class Link:
    """Two switches of a net that a run joins, and the ducts in which it lies."""

    net: str
    ends: tuple[str, str]
    ducts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Trunk:
    """A run that may join two switches. `copy` counts runs that differ in nothing else."""

    link: Link
    cable: Cable
    speed_mbit: int
    copy: int = 0

    @property
    def name(self) -> str:
        """Give what tells it from all others."""
        parts = (self.link.net, *self.link.ends, self.cable.medium, *self.cable.way.ducts)
        return f"{' '.join(parts)} {self.copy}"


def links_of(runs: Iterable[PlannedRun], switches: Iterable[str]) -> list[Link]:
    """Give the runs that join two switches."""
    known = set(switches)
    return [
        Link(net=run.net, ends=(run.ends[0].unit, run.ends[1].unit), ducts=run.ducts)
        for run in runs
        if {end.unit for end in run.ends} <= known and run.net
    ]


def trunks_for(
    ground: Ground, net: str, switches: Sequence[Unit], free: Mapping[str, Sequence[Port]]
) -> list[Trunk]:
    """Give every run that may join two of these switches by ports that are free."""
    small = len(switches) <= SMALL_NET
    found: list[Trunk] = []
    for one, other in _pairs(ground, switches, small=small):
        for medium in (COPPER, FIBRE):
            ports = [[p for p in free[s.name] if p.medium == medium] for s in (one, other)]
            if not all(ports):
                continue
            speed = min(max(p.speed_mbit for p in side) for side in ports)
            depth = 2 if small else 1
            cables = ground.cables(one.place, other.place, medium, speed, depth=depth)
            for cable in cables if small else cables[:_FEW_WAYS]:
                link = Link(net=net, ends=(one.name, other.name), ducts=cable.way.ducts)
                # Where no duct is shared, a second cable beside the first is a second way.
                copies = 1 if cable.way.ducts else min(2, *map(len, ports))
                found += [
                    Trunk(link=link, cable=cable, speed_mbit=speed, copy=n) for n in range(copies)
                ]
    return found


def _pairs(ground: Ground, switches: Sequence[Unit], *, small: bool) -> Iterator[tuple[Unit, Unit]]:
    if small:
        yield from combinations(switches, 2)
        return
    at: dict[str, list[Unit]] = {}
    for switch in switches:
        at.setdefault(switch.place, []).append(switch)
    for here in at.values():
        yield from combinations(here, 2)
    for one, other in _place_pairs(ground, list(at)):
        yield from ((a, b) for a in at[one] for b in at[other])


def _place_pairs(ground: Ground, places: list[str]) -> list[tuple[str, str]]:
    """Give the pairs of places that the shortest net needs, whichever one duct is cut."""
    pairs = {n.places for n in ground.ways.neighbours(places)}
    for duct in ground.show.ducts:
        group = {place: place for place in places}
        for near in ground.ways.neighbours(places, avoid=[duct]):
            one, other = (_root(group, place) for place in near.places)
            if one != other:
                group[other] = one
                pairs.add(near.places)
    return sorted(pairs, key=lambda pair: (natural(pair[0]), natural(pair[1])))


def _root(group: dict[str, str], item: str) -> str:
    while group[item] != item:
        group[item] = group[group[item]]
        item = group[item]
    return item


def parts(
    switches: Sequence[str], links: Iterable[Link], without: str = ""
) -> list[frozenset[str]]:
    """Give the switches that links join, part by part; links in the duct `without` are cut."""
    group = {name: name for name in switches}
    for link in links:
        if without not in link.ducts:
            one, other = (_root(group, name) for name in link.ends)
            if one != other:
                group[other] = one
    found: dict[str, list[str]] = {}
    for name in switches:
        found.setdefault(_root(group, name), []).append(name)
    return [frozenset(names) for names in found.values()]
