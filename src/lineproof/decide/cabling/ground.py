"""What runs are planned on: switches, what hangs on them, and how cables can lie between places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.decide.cabling.reach import (
    Supplies,
    copper_reach_m,
    fibre_for,
    poe_watts,
    run_length_m,
)
from lineproof.graph.ducts import DuctWays, Way
from lineproof.graph.faults import all_fed_from
from lineproof.graph.ports import nets_of, port_mode, ports_by_net
from lineproof.kit.kinds import Does, Port
from lineproof.reckon.poe import wants_feed
from lineproof.show.model import Show, Unit

COPPER, FIBRE = "copper", "fibre"
#: A way longer than this is none for copper, whatever lies there, in mm.
_MOST_COPPER_MM = 100_000


@dataclass(frozen=True, kw_only=True)
class Cable:
    """One way to lay a run: through which ducts, of what, how many metres to pull."""

    way: Way
    medium: str
    cable: str
    length_m: int


@dataclass(frozen=True, kw_only=True)
class Need:
    """A unit's port that asks for a run on a net: of what medium and speed.

    `feed_dw`: what the switch must feed over it, in tenths of a watt, 0 for nothing.
    """

    unit: str
    net: str
    port: int
    medium: str
    speed_mbit: int
    feed_dw: int = 0


class Ground:
    """The show as the runs' planner sees it; everything in the order people sort names.

    `used`: the units that the show uses, None for all of them. Switches are always used.
    """

    def __init__(self, show: Show, used: frozenset[str] | None = None) -> None:
        self.show = show
        self.nets = nets_of(show)
        self.ways = DuctWays(show)
        self.supplies = Supplies(show)
        self.switches = [u for u in show.units.values() if u.kind.does is Does.SWITCH]
        self.units = [u for u in show.units.values() if hangs(u) and _is_used(u, used)]
        self.used = frozenset(unit.name for unit in self.units)
        self._cables: dict[tuple[str, str, str, int, int], tuple[Cable, ...]] = {}

    @cached_property
    def killed_by(self) -> Mapping[str, frozenset[str]]:
        """Give, for each unit on the mains, the circuits of which one alone takes it down."""
        fed = {name: all_fed_from(self.show, name) for name in self.show.circuits}
        return {
            unit.name: frozenset(
                name
                for name, dead in fed.items()
                if unit.circuits and unit.power != "network" and set(unit.circuits) <= dead
            )
            for unit in self.show.units.values()
        }

    def is_chained(self, unit: Unit) -> bool:
        """Say whether the unit passes its net on by a second port."""
        return port_mode(self.show, unit) == "chain"

    def needs(self, unit: Unit, fed_nets: frozenset[str]) -> tuple[Need, ...]:
        """Give what each net's port of a unit asks for; `fed_nets` are those with feeding ports.

        A unit fed over its cable is fed by its first net, and by the other where it can.
        """
        ports = {port.number: port for port in unit.kind.ports}
        by_net = ports_by_net(self.show, unit)
        feed = feed_dw(unit)
        found = []
        for at, net in enumerate(n for n in self.nets if by_net.get(n)):
            port = ports[by_net[net][0]]
            fed = feed if at == 0 or net in fed_nets else 0
            need = Need(
                unit=unit.name,
                net=net,
                port=port.number,
                medium=port.medium,
                speed_mbit=port.speed_mbit,
                feed_dw=fed,
            )
            found.append(need)
        return tuple(found)

    def cables(
        self, start: str, end: str, medium: str, speed_mbit: int, *, depth: int = 2
    ) -> tuple[Cable, ...]:
        """Give every way a run of that medium may lie between two places, the shortest first."""
        key = (start, end, medium, speed_mbit, depth)
        if key not in self._cables:
            self._cables[key] = self._found(*key)
        return self._cables[key]

    def _found(
        self, start: str, end: str, medium: str, speed_mbit: int, depth: int
    ) -> tuple[Cable, ...]:
        if medium == COPPER and self.supplies.apart(start, end):
            return ()
        most = _MOST_COPPER_MM if medium == COPPER else None
        ways = self.ways.between(start, end, most_mm=most, depth=depth)
        laid = (self.cable(way, medium, speed_mbit) for way in ways)
        return tuple(cable for cable in laid if cable is not None)

    def cable(self, way: Way, medium: str, speed_mbit: int) -> Cable | None:
        """Give the cable that reaches along a way, None if none of the medium does."""
        length = run_length_m(self.show, way)
        if medium == COPPER:
            name = COPPER if length <= copper_reach_m(self.show, way.ducts) else ""
        else:
            name = fibre_for(length, speed_mbit)
        return Cable(way=way, medium=medium, cable=name, length_m=length) if name else None


def hangs(unit: Unit) -> bool:
    """Say whether a unit hangs on a net: by a port that carries audio, or the clock."""
    kind = unit.kind
    return bool(kind.ports) and (kind.networked or kind.does is Does.CLOCK)


def _is_used(unit: Unit, used: frozenset[str] | None) -> bool:
    return used is None or unit.name in used


def feed_dw(unit: Unit) -> int:
    """Give what a unit takes over its network cable, in tenths of a watt at the switch."""
    if not wants_feed(unit) or unit.kind.poe_class is None:
        return 0
    return round(poe_watts(unit.kind.poe_class) * 10)


def feeds_dw(port: Port) -> int:
    """Give what a port can feed, in tenths of a watt."""
    return round(port.feeds_w * 10)


def medium_of(cable: str) -> str:
    """Give the medium of a cable: fibre for the fibres, copper for copper, else "".

    >>> medium_of("single-mode"), medium_of("multicore")
    ('fibre', '')
    """
    return {COPPER: COPPER, "multi-mode": FIBRE, "single-mode": FIBRE}.get(cable, "")
