"""Which ways every stream takes over a tree, kept so that another tree changes only a few."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lineproof.graph.net import Fabric
from lineproof.plan.network import Stream
from lineproof.reckon.packets import Packet
from lineproof.reckon.tree import Tree
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Flow:
    """A stream as one net sees it: nodes by index, its packet on the wire, its time.

    `packet_ns` is rounded down and `rate_bps` up, so that no figure is too good.
    """

    name: str
    sender: int
    receivers: tuple[int, ...]
    multicast: bool
    packet_bits: int
    packet_ns: int
    rate_bps: int


def flows_on(show: Show, fabric: Fabric, streams: Iterable[Stream]) -> tuple[Flow, ...]:
    """Give the streams whose sender is on the net, with the receivers that are on it too."""
    found = []
    for stream in streams:
        sender = fabric.index.get(stream.sender)
        receivers = [fabric.index[name] for name in stream.receivers if name in fabric.index]
        if sender is None or not (receivers or stream.multicast):
            continue
        packet = Packet(
            rate_hz=show.unit_rate_hz(show.units[stream.sender]),
            packet_us=stream.packet_us,
            depth_bits=stream.depth_bits,
        )
        rate = packet.wire_bits_s(len(stream.channels))
        flow = Flow(
            name=stream.name,
            sender=sender,
            receivers=tuple(receivers),
            multicast=stream.multicast,
            packet_bits=8 * packet.wire_bytes(len(stream.channels)),
            packet_ns=int(packet.exact_us * 1000),
            rate_bps=-(-rate.numerator // rate.denominator),
        )
        found.append(flow)
    return tuple(found)


#: The ways of one stream, each with the way by which the stream came to where it leaves; -1 at
#: the sender itself.
Steps = Mapping[int, int]


@dataclass(frozen=True, kw_only=True)
class Paths:
    """The ways of every stream over one tree. `snooping`: whether it was reckoned with.

    `querier`: by node, the querier of its part of the net, -1 where none asks.
    """

    tree: Tree
    flows: tuple[Flow, ...]
    steps: tuple[Steps, ...]
    querier: tuple[int, ...]
    snooping: bool

    @cached_property
    def on(self) -> Mapping[int, tuple[int, ...]]:
        """Give the streams on every way in use, ways and streams in order."""
        found: dict[int, list[int]] = {}
        for i, steps in enumerate(self.steps):
            for way in steps:
                found.setdefault(way, []).append(i)
        return {way: tuple(found[way]) for way in sorted(found)}

    @cached_property
    def runs_of(self) -> tuple[frozenset[int], ...]:
        """Give the runs that each stream uses."""
        return tuple(frozenset(way >> 1 for way in steps) for steps in self.steps)

    @property
    def quiet(self) -> bool:
        """Say whether nothing floods as long as a querier asks: every bridge snoops."""
        return self.snooping and _all_snoop(self.tree)

    def arrives(self, flow: int, receiver: int) -> bool:
        """Say whether a stream reaches one of its receivers."""
        sender = self.flows[flow].sender
        return self.tree.root[sender] >= 0 and self.tree.root[sender] == self.tree.root[receiver]


def paths(tree: Tree, flows: Sequence[Flow], *, snooping: bool = True) -> Paths:
    """Give the ways of all streams: with snooping where there is a querier, else flooded.

    Multicast goes to its members and, on every bridge on the way, also towards the querier; a
    bridge that doesn't snoop gives it out of every port. Without a querier snooping is as none.
    Flooded frames are sent into blocked runs too, by the end that does not discard (seen on the
    bridges of the Linux kernel).
    """
    querier = queriers(tree)
    quiet = snooping and _all_snoop(tree)
    return Paths(
        tree=tree,
        flows=tuple(flows),
        steps=tuple(_steps(tree, flow, querier, quiet, snooping=snooping) for flow in flows),
        querier=querier,
        snooping=snooping,
    )


def paths_after(before: Paths, tree: Tree) -> Paths:
    """Give the same as `paths` over the tree after a fault; most streams keep their steps.

    The tree must be of the same net with more of it dead, `before` of the net before. On a tree
    there is one way between two nodes, so a stream moves only if a run it used left the tree.
    """
    querier = queriers(tree)
    gone = before.tree.tree_runs - tree.tree_runs
    quiet = before.quiet
    steps = []
    for flow, old, used in zip(before.flows, before.steps, before.runs_of, strict=True):
        asked = before.querier[flow.sender]
        stays = (
            (quiet or not flow.multicast)
            and (asked >= 0 or not flow.multicast)
            and querier[flow.sender] == asked
            and tree.root[flow.sender] >= 0
            and gone.isdisjoint(used)
        )
        steps.append(old if stays else _steps(tree, flow, querier, quiet, snooping=before.snooping))
    return Paths(
        tree=tree,
        flows=before.flows,
        steps=tuple(steps),
        querier=querier,
        snooping=before.snooping,
    )


def _all_snoop(tree: Tree) -> bool:
    return all(node.snoops for node in tree.fabric.nodes if node.bridge)


def queriers(tree: Tree) -> tuple[int, ...]:
    """Give the querier of each node's part: the first of the planned ones that is alive in it."""
    of_root: dict[int, int] = {}
    for querier in tree.fabric.queriers:
        if tree.root[querier] >= 0:
            of_root.setdefault(tree.root[querier], querier)
    return tuple(of_root.get(root, -1) for root in tree.root)


def _steps(
    tree: Tree, flow: Flow, queriers: Sequence[int], quiet: bool, *, snooping: bool
) -> Steps:
    """Give the ways of one stream; `quiet`: all bridges snoop, so nothing floods if one asks."""
    root = tree.root[flow.sender]
    if root < 0:
        return {}
    targets = [receiver for receiver in flow.receivers if tree.root[receiver] == root]
    querier = queriers[flow.sender]
    if flow.multicast and querier >= 0:
        targets.append(querier)
    steps = _climb(tree, flow.sender, targets)
    if flow.multicast and not (quiet and querier >= 0):
        _flood(tree, flow.sender, steps, snooping=snooping and querier >= 0)
    return steps


def _climb(tree: Tree, sender: int, targets: Sequence[int]) -> dict[int, int]:
    """Give the union of the ways from the sender to the targets, each with where it came from."""
    up, head, depth = tree.up, tree.fabric.head, tree.depth
    # `into`: how the stream came to each node that it reaches.
    into = {sender: -1}
    steps: dict[int, int] = {}
    top = sender
    for target in targets:
        down, node = [], target
        while node not in into:
            if depth[node] > depth[top]:
                down.append(node)
                node = head[up[node]]
            else:
                steps[up[top]] = into[top]
                into[head[up[top]]] = up[top]
                top = head[up[top]]
        for below in reversed(down):
            way = up[below] ^ 1
            steps[way] = into[head[up[below]]]
            into[below] = way
    return steps


def _flood(tree: Tree, sender: int, steps: dict[int, int], *, snooping: bool) -> None:
    """Add what bridges that don't snoop give out of all their ports; a sender sends in any case."""
    fabric, runs = tree.fabric, tree.tree_runs
    nodes = fabric.nodes
    reached = [(sender, -1), *((fabric.head[way], way) for way in steps)]
    for node, came in reached:
        if came < 0 and not nodes[node].bridge:
            pass  # it speaks into its own run, whoever listens
        elif not nodes[node].bridge or (snooping and nodes[node].snoops):
            continue
        for way in fabric.ways_from[node]:
            if way in steps or way == came ^ 1 or not fabric.alive(way >> 1):
                continue
            if (role := tree.roles.get(way)) is not None and role.discards:
                continue
            ends_here = way >> 1 not in runs
            if ends_here and way >> 1 not in tree.blocked:
                continue
            steps[way] = came
            if not ends_here:
                reached.append((fabric.head[way], way))
