"""What can fail, and what dies with it: as yet units, circuits and their feeds."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.show.model import Show, Unit


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing that fails: `what` is "unit" or "circuit"."""

    what: str
    name: str

    def __str__(self) -> str:
        return self.name if self.what == "unit" else f"circuit:{self.name}"


def faults(show: Show) -> tuple[Fault, ...]:
    """Give every single fault, units first, by name."""
    units = [Fault(what="unit", name=name) for name in show.units]
    return (*units, *(Fault(what="circuit", name=name) for name in show.circuits))


def dead_units(show: Show, fault: Fault) -> frozenset[str]:
    """Give the units that die with the fault.

    A circuit takes along all that it feeds. A unit with two supplies dies only with both; one on
    no circuit, or fed over its network cable, does not die with any circuit.
    """
    if fault.what == "unit":
        return frozenset({fault.name})
    dead = all_fed_from(show, fault.name)
    return frozenset(u.name for u in show.units.values() if _without_power(u, dead))


def all_fed_from(show: Show, name: str) -> frozenset[str]:
    """Give the circuit and all that it feeds, directly or through others."""
    dead = {name}
    while more := {c.name for c in show.circuits.values() if c.fed_by in dead} - dead:
        dead |= more
    return frozenset(dead)


def _without_power(unit: Unit, dead: frozenset[str]) -> bool:
    fed = set(unit.circuits)
    return bool(fed) and unit.power != "network" and fed <= dead
