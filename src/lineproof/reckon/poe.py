"""What switches feed over network cables, port by port and in all, against what they can give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lineproof.base.names import natural
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network, PlannedRun, PortAt
from lineproof.show.model import Show, Unit

#: What a port must be ready to give for each class, in watts (IEEE 802.3 33 and 145, from memory).
CLASS_W: Mapping[int, float] = MappingProxyType(
    {0: 15.4, 1: 4.0, 2: 7.0, 3: 15.4, 4: 30.0, 5: 45.0, 6: 60.0, 7: 75.0, 8: 90.0}
)


@dataclass(frozen=True, kw_only=True)
class Fed:
    """A unit that is fed over a run: by which port, what its class asks, what the port can."""

    unit: str
    run: str
    port: PortAt
    asks_w: float
    can_w: float
    medium: str

    @property
    def enough(self) -> bool:
        """Say whether the port can feed it: over copper, and with what its class asks."""
        return self.medium == "copper" and self.can_w >= self.asks_w


@dataclass(frozen=True, kw_only=True)
class FeedBudget:
    """What one switch feeds in all, by class, against its budget, in watts."""

    switch: str
    fed: tuple[Fed, ...]
    asks_w: float
    budget_w: float

    @property
    def enough(self) -> bool:
        """Say whether the budget holds all at once."""
        return self.asks_w <= self.budget_w


def wants_feed(unit: Unit) -> bool:
    """Say whether a unit is fed over its network cable: said so, or it has no other supply."""
    if unit.kind.poe_class is None or unit.kind.passive:
        return False
    return unit.power == "network" or (unit.kind.supplies == 0 and not unit.circuits)


def fed_units(show: Show, network: Network) -> tuple[Fed, ...]:
    """Give every unit that is fed, by unit and run; of two nets each may feed it alone."""
    found = []
    for run in network.runs:
        for here, there in (run.ends, run.ends[::-1]):
            unit, source = show.units.get(here.unit), show.units.get(there.unit)
            if unit is None or source is None or not wants_feed(unit):
                continue
            if source.kind.does is Does.SWITCH:
                found.append(_fed(unit, source, run, there))
    return tuple(sorted(found, key=lambda fed: (natural(fed.unit), natural(fed.run))))


def _fed(unit: Unit, source: Unit, run: PlannedRun, port: PortAt) -> Fed:
    assert unit.kind.poe_class is not None
    can = [each.feeds_w for each in source.kind.ports if each.number == port.number]
    return Fed(
        unit=unit.name,
        run=run.name,
        port=port,
        asks_w=CLASS_W[unit.kind.poe_class],
        can_w=can[0] if can else 0.0,
        medium=run.medium,
    )


def feed_budgets(show: Show, network: Network) -> tuple[FeedBudget, ...]:
    """Give every switch that feeds something, by name, each unit counted with its whole class."""
    by_switch: dict[str, list[Fed]] = {}
    for fed in fed_units(show, network):
        by_switch.setdefault(fed.port.unit, []).append(fed)
    return tuple(
        FeedBudget(
            switch=name,
            fed=tuple(by_switch[name]),
            asks_w=round(sum(fed.asks_w for fed in by_switch[name]), 3),
            budget_w=show.units[name].kind.poe_budget_w,
        )
        for name in sorted(by_switch, key=natural)
    )


def unfed(show: Show, network: Network) -> tuple[str, ...]:
    """Give the units that want to be fed and hang on no port that can, by name."""
    able = {fed.unit for fed in fed_units(show, network) if fed.enough}
    wanting = (unit.name for unit in show.units.values() if wants_feed(unit))
    return tuple(name for name in wanting if name not in able)
