"""Delay and load after every single fault: the worst of each, and the fault that makes it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Generic, TypeVar

from lineproof.graph.net import Fabric
from lineproof.graph.net_faults import NetFault, felt
from lineproof.reckon.delay import UNBOUNDED, Ahead, Bounds, bounds, bounds_after
from lineproof.reckon.loads import rates_bps
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.reckon.tree_paths import Flow, paths, paths_after, queriers
from lineproof.reckon.tree_reach import across, farthest

Key = TypeVar("Key")


@dataclass(frozen=True, kw_only=True)
class Worst:
    """A figure undisturbed (None: nothing arrives), at its worst, and the fault that makes it."""

    undisturbed: int | None
    worst: int
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class Swept:
    """The worst of a net under every single fault.

    `delay_ns` by (stream, receiver), UNBOUNDED where there is no bound; `rate_bps` of the streams
    by way; streams and receivers by index. `age` and `across`: how far the tree reaches (see
    `tree_reach`). `tried`: after how many faults delays were worked out.
    """

    fabric: Fabric
    flows: tuple[Flow, ...]
    calm: Bounds
    delay_ns: Mapping[tuple[int, int], Worst]
    rate_bps: Mapping[int, Worst]
    age: Worst
    across: Worst
    tried: int


def sweep(
    fabric: Fabric,
    flows: tuple[Flow, ...],
    faults: Iterable[NetFault],
    *,
    snooping: bool = True,
    ahead: Ahead | None = None,
) -> Swept:
    """Give the worst delay bounds and loads of a net, undisturbed and after each fault alone.

    Taking traffic away makes nothing worse. So a fault that takes no bridge and no run of the tree
    is passed over; so is one that takes what another takes, and units or their runs besides; and
    one after which the tree is, for all that is left, as after a cut run.
    """
    calm = bounds(paths(spanning_tree(fabric), flows, snooping=snooping), ahead)
    carried = rates_bps(calm.paths)
    delays: _Highest[tuple[int, int]] = _Highest({}, {})
    rates: _Highest[int] = _Highest({}, {})
    receivers = {receiver for flow in flows for receiver in flow.receivers}
    _note_delays(calm, calm.ports.sum_ns, "", receivers, delays)
    for way, rate in carried.items():
        rates.note(way, rate, "")
    reach: _Highest[str] = _Highest({}, {})
    _note_reach(calm.paths.tree, "", reach)
    near = dict(reach.value)
    tried = 0
    whole: list[_Led] = []
    for fault in sorted(_telling(calm, faults), key=lambda fault: bool(fault.units)):
        tree = spanning_tree(fabric.without(units=fault.units, runs=fault.runs))
        _note_reach(tree, str(fault), reach)
        led = _Led(tree, queriers(tree))
        if not tree.fabric.dead_nodes:
            whole.append(led)
        elif calm.paths.quiet and any(_is_part_of(led, other) for other in whole):
            continue
        tried += 1
        after, differs = bounds_after(calm, paths_after(calm.paths, tree))
        _note_delays(after, differs, str(fault), receivers, delays)
        for way, rate in _changed_rates(calm, after, carried).items():
            rates.note(way, rate, str(fault))
    undisturbed = calm.delays_ns()
    return Swept(
        fabric=fabric,
        flows=flows,
        calm=calm,
        delay_ns={
            (i, receiver): Worst(
                undisturbed=undisturbed.get((i, receiver)),
                worst=UNBOUNDED if math.isinf(most) else math.ceil(most),
                fault=delays.fault[key],
            )
            for i, flow in enumerate(flows)
            for receiver in flow.receivers
            if (most := delays.value.get(key := (calm.source_of[i], receiver))) is not None
        },
        rate_bps={
            way: Worst(undisturbed=carried.get(way, 0), worst=int(rate), fault=rates.fault[way])
            for way, rate in sorted(rates.value.items())
        },
        age=reach.worst("age", near),
        across=reach.worst("across", near),
        tried=tried,
    )


def _telling(calm: Bounds, faults: Iterable[NetFault]) -> Iterator[NetFault]:
    """Give the faults that may make something worse than undisturbed, and than another fault."""
    tree = calm.paths.tree
    each = [(fault, felt(tree.fabric, fault)) for fault in faults]
    bare = {(this.nodes, this.runs) for _, this in each if not this.more}
    seen: set[tuple[frozenset[int], frozenset[int]]] = set()
    for fault, this in each:
        key = (this.nodes, this.runs)
        idle = not this.nodes and this.runs.isdisjoint(tree.tree_runs)
        if idle or (this.more and key in bare) or (not this.more and key in seen):
            continue
        if not this.more:
            seen.add(key)
        yield fault


@dataclass(frozen=True)
class _Led:
    """A tree, and the querier of each node's part of it."""

    tree: Tree
    querier: tuple[int, ...]


def _is_part_of(led: _Led, other: _Led) -> bool:
    """Say whether all that still hangs together in a tree does so in the other, the same way.

    Then every stream that is left takes ways that it takes there too, where more are under way.
    """
    nodes, up, root = led.tree.fabric.nodes, led.tree.up, led.tree.root
    for i in led.tree.fabric.bridges_first:
        if root[i] < 0 or (up[i] < 0 and not nodes[i].bridge):
            continue  # dead, or alone: it sends and hears nothing
        asks = led.querier[i]
        if up[i] != other.tree.up[i] or asks < 0 or asks != other.querier[i]:
            return False
    return True


@dataclass(frozen=True)
class _Highest(Generic[Key]):
    """The highest figure seen under each key, and the fault that first made it."""

    value: dict[Key, float]
    fault: dict[Key, str]

    def note(self, key: Key, figure: float, fault: str) -> None:
        if figure > self.value.get(key, -1.0):
            self.value[key], self.fault[key] = figure, fault

    def worst(self, key: Key, undisturbed: Mapping[Key, float]) -> Worst:
        return Worst(
            undisturbed=int(undisturbed[key]), worst=int(self.value[key]), fault=self.fault[key]
        )


def _note_reach(tree: Tree, fault: str, reach: _Highest[str]) -> None:
    reach.note("age", farthest(tree), fault)
    reach.note("across", across(tree), fault)


def _note_delays(
    after: Bounds,
    ways: Iterable[int],
    fault: str,
    receivers: AbstractSet[int],
    highest: _Highest[tuple[int, int]],
) -> None:
    """Keep by (source, receiver) what is worse than before; only ways that differ can be."""
    head = after.paths.tree.fabric.head
    for way in ways:
        receiver = head[way]
        if receiver in receivers:
            for source, most in after.ports.sum_ns.get(way, {}).items():
                highest.note((source, receiver), most, fault)


def _changed_rates(calm: Bounds, after: Bounds, carried: Mapping[int, int]) -> dict[int, int]:
    """Give the new rate of every way on which a stream came or went."""
    changed: dict[int, int] = {}
    for flow, old, new in zip(after.paths.flows, calm.paths.steps, after.paths.steps, strict=True):
        if old is not new:
            for way in old.keys() - new.keys():
                changed[way] = changed.get(way, carried.get(way, 0)) - flow.rate_bps
            for way in new.keys() - old.keys():
                changed[way] = changed.get(way, carried.get(way, 0)) + flow.rate_bps
    return changed
