"""One net as a graph: bridges, the units that hang on them, and the runs between, with ports."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from lineproof.base.names import natural
from lineproof.graph.ports import port_mode, ports_by_net, unit_nets
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network, PlannedRun, PortAt
from lineproof.show.model import Show, Unit

#: Bridge priorities: the planned root, its stand-in, all others (IEEE 802.1D-2004 table 17-2 for
#: the last; common practice for the first two).
ROOT_PRIORITIES = (4096, 8192)
PRIORITY = 32768
#: IEEE 802.1D-2004 table 17-2.
PORT_PRIORITY = 128
#: What a bridge needs to look at a frame and hand it on, the frame's own time not counted, where
#: its kind doesn't say. Common practice, on the safe side: gigabit switches of today stay below it.
FORWARD_NS = 10_000
#: A plug at the end of a run whose port nobody names.
_FIRST_PORT = 1


@dataclass(frozen=True, kw_only=True)
class Node:
    """A unit as a net sees it.

    `bridge`: hands frames on from port to port; `chained`: a unit that does so between its own two
    ports. `elects`: takes part in the spanning tree; a bridge
    that doesn't is taken to pass its messages on. `snoops`: gives multicast to members only, once
    a querier asks. `forward_ns`: what it needs to hand a frame on, beside the frame's own time.
    """

    name: str
    bridge: bool = False
    chained: bool = False
    elects: bool = False
    snoops: bool = False
    priority: int = PRIORITY
    mac: int | None = None
    forward_ns: int = FORWARD_NS


@dataclass(frozen=True, kw_only=True)
class FabricRun:
    """A run of the net between two nodes (by index), at the speed both ports can do."""

    name: str
    ends: tuple[int, int]
    ports: tuple[int, int]
    speed_mbit: int
    port_priorities: tuple[int, int] = (PORT_PRIORITY, PORT_PRIORITY)
    length_m: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Fabric:
    """One net: nodes by name, runs by name, queriers in the order in which they take over.

    Within, nodes and runs go by index. Way 2 r leads along run r from its first end to its second,
    way 2 r + 1 back; so `way ^ 1` is the other direction. What is dead keeps its index.
    """

    net: str
    nodes: tuple[Node, ...]
    runs: tuple[FabricRun, ...]
    queriers: tuple[int, ...] = ()
    dead_nodes: frozenset[int] = frozenset()
    dead_runs: frozenset[int] = frozenset()

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Give the index of each node by name."""
        return {node.name: i for i, node in enumerate(self.nodes)}

    @cached_property
    def run_index(self) -> Mapping[str, int]:
        """Give the index of each run by name."""
        return {run.name: i for i, run in enumerate(self.runs)}

    @cached_property
    def head(self) -> tuple[int, ...]:
        """Give the node at which each way arrives."""
        return tuple(end for run in self.runs for end in (run.ends[1], run.ends[0]))

    @cached_property
    def ways_from(self) -> tuple[tuple[int, ...], ...]:
        """Give the ways that leave each node, dead ones too, by run."""
        found: list[list[int]] = [[] for _ in self.nodes]
        for r, run in enumerate(self.runs):
            found[run.ends[0]].append(2 * r)
            found[run.ends[1]].append(2 * r + 1)
        return tuple(map(tuple, found))

    @cached_property
    def name_order(self) -> tuple[int, ...]:
        """Give each node's rank when all are sorted by name."""
        order = sorted(range(len(self.nodes)), key=lambda i: natural(self.nodes[i].name))
        ranks = [0] * len(order)
        for rank, i in enumerate(order):
            ranks[i] = rank
        return tuple(ranks)

    @cached_property
    def bridges_first(self) -> tuple[int, ...]:
        """Give all nodes, bridges by name before all others by name."""
        order = range(len(self.nodes))
        return tuple(sorted(order, key=lambda i: (not self.nodes[i].bridge, self.name_order[i])))

    def alive(self, run: int) -> bool:
        """Say whether a run and both its ends work."""
        if run in self.dead_runs:
            return False
        first, second = self.runs[run].ends
        return first not in self.dead_nodes and second not in self.dead_nodes

    def tail(self, way: int) -> int:
        """Give the node from which a way leaves."""
        return self.head[way ^ 1]

    def port(self, way: int) -> int:
        """Give the number of the port out of which a way leaves."""
        return self.runs[way >> 1].ports[way & 1]

    def way_name(self, way: int) -> str:
        """Give a way as `sw-1:8 > sw-2:8`."""
        ends = (way, way ^ 1)
        names = [f"{self.nodes[self.tail(w)].name}:{self.port(w)}" for w in ends]
        return " > ".join(names)

    def without(
        self,
        units: Iterable[str] = (),
        runs: Iterable[str] = (),
        ports: Iterable[PortAt] = (),
    ) -> Fabric:
        """Give the net with these units, runs and ports dead too; names it hasn't are passed over.

        A dead port takes its run along.
        """
        plugs = {(port.unit, port.number) for port in ports}
        unplugged = {
            r
            for r, run in enumerate(self.runs if plugs else ())
            for end, number in zip(run.ends, run.ports, strict=True)
            if (self.nodes[end].name, number) in plugs
        }
        named = {self.run_index[name] for name in runs if name in self.run_index}
        dead = {self.index[name] for name in units if name in self.index}
        made = replace(
            self,
            dead_nodes=self.dead_nodes | dead,
            dead_runs=self.dead_runs | named | unplugged,
        )
        for known in ("index", "run_index", "head", "ways_from", "name_order", "bridges_first"):
            made.__dict__[known] = getattr(self, known)
        return made


def fabric(show: Show, network: Network, net: str) -> Fabric:
    """Give one net of the plan as a graph: every unit that is on it, every run laid on it."""
    runs = sorted(network.runs_on(net), key=lambda run: natural(run.name))
    plugged = {end.unit for run in runs for end in run.ends}
    names = [
        unit.name
        for unit in show.units.values()
        if unit.name in plugged or net in unit_nets(show, unit, network)
    ]
    index = {name: i for i, name in enumerate(sorted(names, key=natural))}
    nodes = tuple(_node(show, network, net, show.units[name]) for name in index)
    laid = [run for run in runs if all(end.unit in index for end in run.ends)]
    plan = network.nets.get(net)
    queriers = plan.queriers if plan is not None else ()
    return Fabric(
        net=net,
        nodes=nodes,
        runs=tuple(_run(show, network, run, index) for run in laid),
        queriers=tuple(index[name] for name in queriers if name in index),
    )


def fabrics(show: Show, network: Network) -> Mapping[str, Fabric]:
    """Give each net that has runs, by name."""
    nets = sorted({run.net for run in network.runs} - {""})
    return {net: fabric(show, network, net) for net in nets}


def _node(show: Show, network: Network, net: str, unit: Unit) -> Node:
    switch = unit.kind.does is Does.SWITCH
    chained = not switch and port_mode(show, unit) == "chain"
    return Node(
        name=unit.name,
        bridge=switch or chained,
        chained=chained,
        elects=switch and unit.kind.managed,
        snoops=switch and unit.kind.snooping,
        priority=_priority(network, net, unit),
        mac=mac_number(unit.mac),
        forward_ns=round(unit.kind.forward_us * 1000) or FORWARD_NS,
    )


def _priority(network: Network, net: str, unit: Unit) -> int:
    plan = network.nets.get(net)
    roots = plan.roots if plan is not None else ()
    ranked = dict(zip(roots, ROOT_PRIORITIES, strict=False))
    return ranked.get(unit.name, PRIORITY)


def mac_number(text: str) -> int | None:
    """Give a hardware address as a number, None if `text` is none.

    >>> mac_number("02:00:00:00:00:0A"), mac_number("02-00-00-00-00-0a"), mac_number("soon")
    (2199023255562, 2199023255562, None)
    """
    digits = text.replace(":", "").replace("-", "").replace(".", "").strip()
    if len(digits) != 12:
        return None
    try:
        return int(digits, 16)
    except ValueError:
        return None


def _run(show: Show, network: Network, run: PlannedRun, index: Mapping[str, int]) -> FabricRun:
    first, second = run.ends
    numbers = (_number(show, network, run.net, first), _number(show, network, run.net, second))
    speeds = [
        port.speed_mbit
        for end, number in zip(run.ends, numbers, strict=True)
        for port in show.units[end.unit].kind.ports
        if port.number == number
    ]
    return FabricRun(
        name=run.name,
        ends=(index[first.unit], index[second.unit]),
        ports=numbers,
        speed_mbit=min(speeds, default=1000),
        length_m=run.length_m,
    )


def _number(show: Show, network: Network, net: str, end: PortAt) -> int:
    if end.number is not None:
        return end.number
    numbers = ports_by_net(show, show.units[end.unit], network).get(net, [])
    return numbers[0] if numbers else _FIRST_PORT
