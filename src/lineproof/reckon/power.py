"""What every circuit carries at worst and at a usual programme, with all that it feeds."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.graph.faults import all_fed_from
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class CircuitLoad:
    """The load of one circuit, those it feeds included, at worst and at a usual programme.

    A unit with two supplies is counted whole on each of its circuits: when one fails the other
    carries it alone. Amperes are None where no voltage is known.
    """

    circuit: str
    units: tuple[str, ...]
    worst_w: float
    worst_a: float | None
    programme_w: float
    programme_a: float | None


def circuit_loads(show: Show) -> tuple[CircuitLoad, ...]:
    """Give the worst load of every circuit, by name."""
    return tuple(_load(show, name) for name in show.circuits)


def _load(show: Show, name: str) -> CircuitLoad:
    fed = all_fed_from(show, name)
    units = [u for u in show.units.values() if fed & set(u.circuits) and u.power != "network"]
    watts = sum(u.kind.worst_w for u in units)
    usual = sum(u.kind.programme_w for u in units)
    volts = show.circuits[name].supply_v
    return CircuitLoad(
        circuit=name,
        units=tuple(u.name for u in units),
        worst_w=watts,
        worst_a=watts / volts if volts else None,
        programme_w=usual,
        programme_a=usual / volts if volts else None,
    )
