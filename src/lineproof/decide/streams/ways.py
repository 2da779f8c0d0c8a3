"""The ways between units: how many runs, and where multicast must not go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from lineproof.decide.streams.asked import Hops
from lineproof.graph.net import Fabric, fabrics
from lineproof.graph.ports import ports_by_net
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.show.model import Show

#: A port of this speed and below is soon full: multicast that floods is kept off it (practice).
SLOW_MBIT = 100


@dataclass(frozen=True, kw_only=True)
class Ways:
    """The ways between units over the undisturbed tree of every net."""

    show: Show
    network: Network

    @cached_property
    def _trees(self) -> tuple[tuple[Fabric, Tree], ...]:
        laid = fabrics(self.show, self.network)
        return tuple((laid[net], spanning_tree(laid[net])) for net in sorted(laid))

    @cached_property
    def _known(self) -> dict[tuple[int, str, str], tuple[int, ...]]:
        return {}

    def _way(self, net: int, sender: str, receiver: str) -> tuple[int, ...]:
        key = (net, sender, receiver)
        if key not in self._known:
            fabric, tree = self._trees[net]
            start, end = fabric.index.get(sender), fabric.index.get(receiver)
            there = None if start is None or end is None else tree.path(start, end)
            self._known[key] = there or ()
        return self._known[key]

    def hops(self, sender: str, receivers: frozenset[str]) -> int:
        """Give the runs that a packet to all of them passes, all nets together; 1 each at least.

        Where nothing is laid yet every receiver counts as one run, and so does the sender.
        """
        if not self._trees:
            return 1 + len(receivers)
        total = 0
        for net in range(len(self._trees)):
            total += len({way for name in receivers for way in self._way(net, sender, name)})
        return max(total, 1)

    def alone(self, sender: str, receiver: str) -> bool:
        """Say whether multicast must be kept off the way to a receiver.

        So it is where its own port or any run on the way does 100 Mbit/s or less, or where a
        switch on the way gives multicast to every port.
        """
        return self._slow(receiver) or any(
            self._bad(net, way) for net, way in self._of(sender, receiver)
        )

    def _of(self, sender: str, receiver: str) -> Iterator[tuple[int, int]]:
        for net in range(len(self._trees)):
            for way in self._way(net, sender, receiver):
                yield net, way

    def _bad(self, net: int, way: int) -> bool:
        fabric, _ = self._trees[net]
        node = fabric.nodes[fabric.head[way]]
        is_switch = self.show.units[node.name].kind.does is Does.SWITCH
        return fabric.runs[way >> 1].speed_mbit <= SLOW_MBIT or (is_switch and not node.snoops)

    def _slow(self, name: str) -> bool:
        unit = self.show.units[name]
        speeds = {port.number: port.speed_mbit for port in unit.kind.ports}
        used = ports_by_net(self.show, unit, self.network)
        return any(
            speeds.get(number, 1000) <= SLOW_MBIT for numbers in used.values() for number in numbers
        )


def hops_of(show: Show, network: Network) -> Hops:
    """Give how many runs a packet passes, over the undisturbed tree of every net."""
    return Ways(show=show, network=network).hops
