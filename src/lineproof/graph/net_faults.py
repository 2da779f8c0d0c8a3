"""What can fail of a network, each with the units and runs that it takes along."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.graph.faults import Fault, dead_units
from lineproof.graph.net import Fabric
from lineproof.plan.network import Network
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class NetFault:
    """One thing that fails: `what` is unit, run, circuit, duct, rack, place or net.

    A port takes its run along and nothing else, so it stands under that run.
    """

    what: str
    name: str
    units: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.name if self.what in ("unit", "run") else f"{self.what}:{self.name}"


def network_faults(show: Show, network: Network) -> tuple[NetFault, ...]:
    """Give every single fault that a network can feel, in the order of the show."""
    return (
        *(NetFault(what="unit", name=name, units=(name,)) for name in show.units),
        *(NetFault(what="run", name=run.name, runs=(run.name,)) for run in network.runs),
        *(_circuit(show, name) for name in show.circuits),
        *(_duct(network, name) for name in show.ducts),
        *_together(show, "rack"),
        *_together(show, "place"),
    )


def _circuit(show: Show, name: str) -> NetFault:
    dead = dead_units(show, Fault(what="circuit", name=name))
    return NetFault(what="circuit", name=name, units=tuple(u for u in show.units if u in dead))


def _duct(network: Network, name: str) -> NetFault:
    cut = tuple(run.name for run in network.runs if name in run.ducts)
    return NetFault(what="duct", name=name, runs=cut)


def _together(show: Show, what: str) -> tuple[NetFault, ...]:
    """Give a fault for every rack, or every place, with all units in it."""
    units: dict[str, list[str]] = {}
    for unit in show.units.values():
        name = unit.rack if what == "rack" else unit.place
        if name:
            units.setdefault(name, []).append(unit.name)
    return tuple(NetFault(what=what, name=n, units=tuple(units[n])) for n in sorted(units))


@dataclass(frozen=True, kw_only=True)
class Felt:
    """What a fault takes of one net, by index: what the tree stands on, and whether more."""

    nodes: frozenset[int]
    runs: frozenset[int]
    more: bool

    @property
    def moves(self) -> bool:
        """Say whether the tree, or who asks for members, may change."""
        return bool(self.nodes or self.runs)


def felt(fabric: Fabric, fault: NetFault) -> Felt:
    """Give the bridges, queriers and runs between bridges that a fault takes of a net."""
    units = {fabric.index[name] for name in fault.units if name in fabric.index}
    runs = {fabric.run_index[name] for name in fault.runs if name in fabric.run_index}
    carries = {i for i in units if fabric.nodes[i].bridge or i in fabric.queriers}
    between = {r for r in runs if all(fabric.nodes[i].bridge for i in fabric.runs[r].ends)}
    return Felt(
        nodes=frozenset(carries),
        runs=frozenset(between),
        more=len(carries) < len(units) or len(between) < len(runs),
    )
