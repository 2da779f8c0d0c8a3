"""All figures of the network in one frozen value: net by net, and what the nets share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.graph.net import Fabric, fabrics
from lineproof.graph.net_faults import NetFault, network_faults
from lineproof.plan.model import Plan
from lineproof.plan.network import Network
from lineproof.reckon.clock import (
    HandOver,
    Oneness,
    RateIsland,
    Reign,
    hand_over,
    one_clock,
    rate_crossings,
    rate_islands,
    reigns,
)
from lineproof.reckon.delay_buffers import Buffer, buffers
from lineproof.reckon.delay_faults import Swept, sweep
from lineproof.reckon.loads import Load, groups_by_switch, loads
from lineproof.reckon.poe import FeedBudget, feed_budgets, unfed
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.reckon.tree_doubts import ordered_by_name, trusted_on_loops
from lineproof.reckon.tree_paths import flows_on, paths
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class NetFigures:
    """What follows for one net.

    `by_name`: switches between which the order of names stood in for unknown addresses; `trusted`:
    units on a loop that only pass the spanning tree's messages on; `flooded`: loads as they would
    be without snooping. `swept`: delays and loads undisturbed and after every single fault.
    """

    fabric: Fabric
    tree: Tree
    by_name: tuple[str, ...]
    trusted: tuple[str, ...]
    loads: tuple[Load, ...]
    flooded: tuple[Load, ...]
    groups: Mapping[str, int]
    swept: Swept
    reigns: tuple[Reign, ...]
    hand_over: HandOver | None


@dataclass(frozen=True, kw_only=True)
class NetworkFigures:
    """What follows for the whole network: nets by name, buffers, the clock, rates, feeding."""

    nets: Mapping[str, NetFigures]
    buffers: tuple[Buffer, ...]
    clock: Oneness
    islands: tuple[RateIsland, ...]
    crossings: tuple[tuple[str, str], ...]
    feeds: tuple[FeedBudget, ...]
    unfed: tuple[str, ...]


def network_figures(show: Show, plan: Plan, network: Network) -> NetworkFigures:
    """Give all that follows from a show and its network as planned; chooses nothing."""
    faults = network_faults(show, network)
    nets = {net: _net(show, network, each, faults) for net, each in fabrics(show, network).items()}
    return NetworkFigures(
        nets=nets,
        buffers=buffers(show, plan, [each.swept for each in nets.values()]),
        clock=one_clock(show, {net: _grandmaster(each) for net, each in nets.items()}),
        islands=rate_islands(show),
        crossings=rate_crossings(show, network),
        feeds=feed_budgets(show, network),
        unfed=unfed(show, network),
    )


def _net(show: Show, network: Network, fabric: Fabric, faults: tuple[NetFault, ...]) -> NetFigures:
    tree = spanning_tree(fabric)
    flows = flows_on(show, fabric, network.streams)
    ways = paths(tree, flows)
    times = reigns(show, network, tree)
    ruled = _largest(times)
    return NetFigures(
        fabric=fabric,
        tree=tree,
        by_name=ordered_by_name(fabric),
        trusted=trusted_on_loops(fabric),
        loads=loads(ways, other_mbit=show.other_mbit),
        flooded=loads(paths(tree, flows, snooping=False), other_mbit=show.other_mbit),
        groups=groups_by_switch(ways),
        swept=sweep(fabric, flows, faults),
        reigns=times,
        hand_over=hand_over(show, ruled) if ruled is not None else None,
    )


def _largest(times: tuple[Reign, ...]) -> Reign | None:
    """Give the part with the most units, the first of equals; a whole net is one part."""
    return max(times, key=lambda reign: len(reign.order) + len(reign.follow), default=None)


def _grandmaster(figures: NetFigures) -> str:
    ruled = _largest(figures.reigns)
    return ruled.grandmaster if ruled is not None else ""
