"""A show with nothing broken, made ready to be drilled: worked out once, read by every fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.spot import Side, Spot
from lineproof.drill.bearing import Leg, Resting, resting
from lineproof.drill.dead import Shared, shared
from lineproof.drill.rests import Alike, Rests, rests
from lineproof.plan.model import Plan
from lineproof.plan.network import Network
from lineproof.reckon.clock import Timing, reigns
from lineproof.reckon.delay import UNBOUNDED, Bounds
from lineproof.reckon.delay_figures import NetworkFigures, network_figures
from lineproof.reckon.dip import Resounds, dips
from lineproof.reckon.gap import Habits
from lineproof.reckon.loads import loads, rates_bps
from lineproof.reckon.tree import Tree
from lineproof.show.model import Show

#: By sender and receiver the ways between them, each looked up once.
KnownWays = dict[tuple[str, str], tuple[int, ...]]


@dataclass(frozen=True, kw_only=True)
class CalmNet:
    """One net with nothing broken. `flow_of`: by send channel and receiver the stream's index."""

    bounds: Bounds
    flow_of: Mapping[tuple[Spot, str], int]
    leaders: Mapping[str, str]
    overloaded: frozenset[int]
    late: frozenset[tuple[int, int]]

    @property
    def tree(self) -> Tree:
        """Give its spanning tree."""
        return self.bounds.paths.tree

    @cached_property
    def rates(self) -> Mapping[int, int]:
        """Give the streams' bits a second by way."""
        return rates_bps(self.bounds.paths)

    def joins(self, leg: Leg) -> bool:
        """Say whether both units of a leg are on the net and it joins them."""
        return joined(self.tree, leg)

    def way(self, leg: Leg) -> tuple[int, ...]:
        """Give the ways from a leg's sender to its receiver, none where the net is parted."""
        return way_of(self.tree, leg, self._ways)

    @cached_property
    def _ways(self) -> KnownWays:
        return {}


@dataclass(frozen=True, kw_only=True)
class Calm:
    """All that a drill reads: what lines rest on, and the nets as they are.

    `shared`: what hangs together. `nets` is empty where no network is planned. `offsets_ns`: the
    receive buffer by unit, where one is known. `habits` and `timing`: what is assumed of switches
    and clocks.
    """

    show: Show
    plan: Plan
    lines: tuple[Resting, ...]
    shared: Shared
    nets: Mapping[str, CalmNet] = field(default_factory=dict)
    offsets_ns: Mapping[str, int] = field(default_factory=dict)
    habits: Habits = field(default_factory=Habits)
    timing: Timing = field(default_factory=Timing)

    figures: NetworkFigures | None = None

    @cached_property
    def resounds(self) -> Mapping[tuple[str, str, str, str], Resounds]:
        """Give by circuit, net, stream and receiver what a dip of the circuit silences."""
        if self.figures is None:
            return {}
        return {
            (dip.circuit, path.net, path.stream, path.receiver): path
            for dip in dips(self.show, self.network, self.figures, self.habits)
            for path in dip.paths
        }

    @cached_property
    def rests(self) -> Rests:
        """Give which ends rest on what."""
        return rests(self.lines, self.alike)

    def joining(self, leg: Leg) -> tuple[str, ...]:
        """Give the nets that join both units of a leg with nothing broken."""
        pair = (leg.sender, leg.receiver)
        if pair not in self._joining:
            self._joining[pair] = tuple(n for n, net in self.nets.items() if net.joins(leg))
        return self._joining[pair]

    @cached_property
    def _joining(self) -> dict[tuple[str, str], tuple[str, ...]]:
        return {}

    def alike(self, leg: Leg) -> Alike:
        """Give a key: legs of one key always stand alike, as the channels of one stream do."""
        way = (leg.send, leg.receiver)
        flows = (net.flow_of.get(way) for net in self.nets.values())
        return (leg.sender, leg.receiver, *flows)

    @property
    def network(self) -> Network:
        """Give the network as planned."""
        return self.plan.network


def calm(show: Show, plan: Plan, figures: NetworkFigures | None = None) -> Calm:
    """Give a show and its plan ready to be drilled; `figures` saves working them out again."""
    network = plan.network
    if figures is None and network.nets and any(run.net for run in network.runs):
        figures = network_figures(show, plan, network)
    offsets = {
        name: round(buffer.offset_ms * 1_000_000)
        for buffer in (figures.buffers if figures else ())
        if buffer.offset_ms is not None
        for name in buffer.units
        if name not in buffer.unknown
    }
    nets = {
        net: calm_net(show, network, each.swept.calm, offsets)
        for net, each in (figures.nets.items() if figures else ())
    }
    return Calm(
        show=show,
        plan=plan,
        lines=resting(show, plan),
        shared=shared(show, network),
        nets=nets,
        offsets_ns=offsets,
        figures=figures,
    )


def calm_net(show: Show, network: Network, bounds: Bounds, offsets: Mapping[str, int]) -> CalmNet:
    """Give one net with nothing broken; `offsets`: the receive buffer by unit, in ns."""
    fabric = bounds.paths.tree.fabric
    place = {flow.name: i for i, flow in enumerate(bounds.paths.flows)}
    flow_of = {
        (Spot(unit=stream.sender, side=Side.SEND, number=number), receiver): place[stream.name]
        for stream in network.streams
        if stream.name in place
        for number in stream.channels
        for receiver in stream.receivers
        if receiver in fabric.index
    }
    return CalmNet(
        bounds=bounds,
        flow_of=flow_of,
        leaders=leaders(show, network, bounds.paths.tree),
        overloaded=overloaded(bounds, show.other_mbit),
        late=late(bounds, offsets),
    )


def joined(tree: Tree, leg: Leg) -> bool:
    """Say whether a tree joins the two units of a leg."""
    index = tree.fabric.index
    sender, receiver = index.get(leg.sender), index.get(leg.receiver)
    if sender is None or receiver is None:
        return False
    return tree.root[sender] >= 0 and tree.root[sender] == tree.root[receiver]


def way_of(tree: Tree, leg: Leg, known: KnownWays) -> tuple[int, ...]:
    """Give the ways of a tree from a leg's sender to its receiver, and keep them in `known`."""
    pair = (leg.sender, leg.receiver)
    if pair not in known:
        index = tree.fabric.index
        known[pair] = tree.path(index[leg.sender], index[leg.receiver]) or ()
    return known[pair]


def leaders(show: Show, network: Network, tree: Tree) -> Mapping[str, str]:
    """Give the grandmaster that every unit of a net hears on it; "" where nobody keeps the time."""
    return {
        name: reign.grandmaster
        for reign in reigns(show, network, tree)
        for name in (*reign.order, *reign.follow)
    }


def overloaded(bounds: Bounds, other_mbit: float | None) -> frozenset[int]:
    """Give the ways on which more is sent than the run can carry."""
    return frozenset(
        load.way
        for load in loads(bounds.paths, other_mbit=other_mbit)
        if load.streams and load.total_bps > load.speed_bps
    )


def late(bounds: Bounds, offsets: Mapping[str, int]) -> frozenset[tuple[int, int]]:
    """Give the (stream, receiver) whose packets may come later than the receiver waits."""
    paths = bounds.paths
    names = [node.name for node in paths.tree.fabric.nodes]
    return frozenset(
        key
        for key, delay in bounds.delays_ns().items()
        if (offset := offsets.get(names[key[1]])) is not None
        and (delay == UNBOUNDED or delay + paths.flows[key[0]].packet_ns > offset)
    )
