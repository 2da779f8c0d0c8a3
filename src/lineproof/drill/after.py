"""A net after a fault: whom it still joins, what is wrong with it, how long it was silent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from lineproof.drill.bearing import Leg
from lineproof.drill.calm import (
    Calm,
    CalmNet,
    KnownWays,
    joined,
    late,
    leaders,
    way_of,
)
from lineproof.drill.dead import Dead
from lineproof.drill.loads import newly_full
from lineproof.reckon.clock import one_clock
from lineproof.reckon.delay import Bounds, bounds_after
from lineproof.reckon.gap import NO_GAP, Gap, multicast_gap, tree_gap
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.reckon.tree_paths import Paths, paths_after


@dataclass(frozen=True, kw_only=True)
class NetAfter:
    """One net after a fault, or a mistake.

    `down`: why it carries nothing at all, "" for a net that works. `doubt`: why nobody can say
    whether it carries anything. `mute`: why multicast alone is silent on it. `clock`: by unit the
    grandmaster it hears on this net. `still`: what is left hangs together as before, so traffic
    has only gone, and nothing is later or fuller for it; its delays are then not worked out anew.
    """

    name: str
    calm: CalmNet
    bounds: Bounds
    offsets_ns: Mapping[str, int]
    other_mbit: float | None = None
    clock: Mapping[str, str] = field(default_factory=dict)
    down: str = ""
    doubt: str = ""
    mute: str = ""
    still: bool = False

    @property
    def tree(self) -> Tree:
        """Give the tree after the fault."""
        return self.bounds.paths.tree

    def way(self, leg: Leg) -> tuple[int, ...]:
        """Give the ways from a leg's sender to its receiver, none where the net is parted."""
        return way_of(self.tree, leg, self._ways)

    @cached_property
    def _ways(self) -> KnownWays:
        return {}

    @cached_property
    def _overloaded(self) -> frozenset[int]:
        before = self.calm.bounds.paths
        full = newly_full(before, self.calm.rates, self.bounds.paths, self.other_mbit)
        return full - self.calm.overloaded

    @cached_property
    def _late(self) -> frozenset[tuple[int, int]]:
        return late(self.bounds, self.offsets_ns) - self.calm.late

    def multicast(self, leg: Leg) -> bool:
        """Say whether a leg is multicast here; one without a stream is taken to be."""
        flow = self.calm.flow_of.get((leg.send, leg.receiver))
        return flow is None or self.calm.bounds.paths.flows[flow].multicast

    def spares(self, leg: Leg) -> bool:
        """Say whether a leg that it carried with nothing broken stands just as it did."""
        if self.down or self.doubt or self.mute:
            return False
        return self.bounds is self.calm.bounds or (self.still and joined(self.tree, leg))

    def carries(self, leg: Leg) -> bool:
        """Say whether what the leg sends still comes through, if everything else is well."""
        if self.down or (self.mute and self.multicast(leg)):
            return False
        return joined(self.tree, leg)

    def trouble(self, leg: Leg) -> str:
        """Say what is worse for a leg that is carried than with nothing broken, "" for nothing."""
        if self.doubt:
            return self.doubt
        if self.still or self.bounds is self.calm.bounds:
            return ""
        flow = self.calm.flow_of.get((leg.send, leg.receiver))
        path = self.way(leg)
        if self._nobody_asks(leg, path):
            return f"net {self.name}: nobody asks for members, so multicast stops within 260 s"
        for way in path if self._overloaded else ():
            if way in self._overloaded:
                return f"net {self.name}: {self.tree.fabric.way_name(way)} is over its speed"
        if flow is not None and (flow, self.tree.fabric.index[leg.receiver]) in self._late:
            return f"net {self.name}: packets may come later than {leg.receiver} waits"
        return ""

    def _nobody_asks(self, leg: Leg, path: tuple[int, ...]) -> bool:
        sender = self.tree.fabric.index[leg.sender]
        was, now = self.calm.bounds.paths.querier[sender], self.bounds.paths.querier[sender]
        return was >= 0 > now and self.multicast(leg) and self._snoops(path)

    def _snoops(self, path: tuple[int, ...]) -> bool:
        fabric = self.tree.fabric
        return any(fabric.nodes[fabric.head[way]].snoops for way in path)

    def gap(self, leg: Leg, calm: Calm) -> Gap:
        """Give how long a leg that is carried was silent: its way in the tree has changed."""
        if self.still or self.bounds is self.calm.bounds:
            return NO_GAP
        sender, path = self.tree.fabric.index[leg.sender], self.way(leg)
        if path == self.calm.way(leg):
            if self.tree.root[sender] == self.calm.tree.root[sender]:
                return NO_GAP
            # A new root may shut and open every port on its way to an agreement.
            return Gap(least_s=0.0, most_s=tree_gap(calm.habits).most_s, parts=("a new root",))
        if not self.multicast(leg):
            return tree_gap(calm.habits)
        was = self.calm.bounds.paths.querier[sender]
        lost = was >= 0 and self.bounds.paths.querier[sender] != was
        return multicast_gap(calm.habits, snooping=self._snoops(path), querier_lost=lost)


def nets_after(calm: Calm, dead: Dead, *, only_arrival: bool = False) -> Mapping[str, NetAfter]:
    """Give every planned net with all that is dead taken out of it."""
    return {net: _after(calm, net, dead, only_arrival=only_arrival) for net in calm.nets}


def _after(calm: Calm, net: str, dead: Dead, *, only_arrival: bool) -> NetAfter:
    before = calm.nets[net]
    fabric = before.tree.fabric
    touched = any(name in fabric.index for name in dead.units) or any(
        name in fabric.run_index for name in dead.runs
    )
    bounds, still = before.bounds, False
    if touched:
        tree = spanning_tree(fabric.without(units=dead.units, runs=dead.runs))
        after = paths_after(bounds.paths, tree)
        still = _still(bounds.paths, after)
        plainly = only_arrival or still
        bounds = replace(bounds, paths=after) if plainly else bounds_after(bounds, after)[0]
    down = f"net {net} is down" if net in dead.nets else ""
    clock = before.leaders
    if down:
        clock = {}
    elif touched and not only_arrival:
        clock = leaders(calm.show, calm.network, bounds.paths.tree)
    return NetAfter(
        name=net,
        calm=before,
        bounds=bounds,
        offsets_ns=calm.offsets_ns,
        other_mbit=calm.show.other_mbit,
        clock=clock,
        down=down,
        still=still,
    )


def _still(before: Paths, after: Paths) -> bool:
    """Say whether all that is left hangs where it hung, and asks whom it asked for members.

    A unit that hangs on nothing any more is as one that is gone.
    """
    old, new = before.tree, after.tree
    was = zip(old.up, old.root, before.querier, strict=True)
    now = zip(new.up, new.root, after.querier, strict=True)
    return all(
        one == two or two[1] < 0 or (two[1] == i and not node.bridge)
        for i, (node, one, two) in enumerate(zip(new.fabric.nodes, was, now, strict=True))
    )


@dataclass(frozen=True, kw_only=True)
class Clocks:
    """Who keeps the time for every unit, over all nets, before and after."""

    calm: Calm
    nets: Mapping[str, NetAfter]

    def heard(self, unit: str) -> frozenset[str]:
        """Give the grandmasters that a unit hears, on whichever net."""
        if unit not in self._heard:
            nets = self.nets.values()
            self._heard[unit] = frozenset(n.clock[unit] for n in nets if n.clock.get(unit))
        return self._heard[unit]

    def before(self, unit: str) -> frozenset[str]:
        """Give those that it heard with nothing broken."""
        if unit not in self._before:
            nets = self.calm.nets.values()
            self._before[unit] = frozenset(n.leaders[unit] for n in nets if n.leaders.get(unit))
        return self._before[unit]

    def steady(self, leg: Leg) -> bool:
        """Say whether both units of a leg hear the same grandmasters as with nothing broken."""
        return self._steady(leg.sender) and self._steady(leg.receiver)

    def _steady(self, unit: str) -> bool:
        if unit not in self._same:
            self._same[unit] = self.heard(unit) == self.before(unit)
        return self._same[unit]

    @cached_property
    def _same(self) -> dict[str, bool]:
        return {}

    @cached_property
    def _heard(self) -> dict[str, frozenset[str]]:
        return {}

    @cached_property
    def _before(self) -> dict[str, frozenset[str]]:
        return {}

    def trouble(self, leg: Leg) -> str:
        """Say what is wrong with the time between the units of a leg that was right before."""
        if self.steady(leg):
            return ""
        sender, receiver = self.heard(leg.sender), self.heard(leg.receiver)
        if not self.before(leg.sender) & self.before(leg.receiver):
            return ""
        for unit, heard in ((leg.sender, sender), (leg.receiver, receiver)):
            if not heard:
                return f"nobody keeps the time for {unit}"
        if sender & receiver or self._one(sender, receiver):
            return ""
        return f"{leg.sender} and {leg.receiver} follow different clocks"

    def _one(self, sender: frozenset[str], receiver: frozenset[str]) -> bool:
        names = sorted(sender | receiver)
        known = all(name in self.calm.show.units for name in names)
        return known and one_clock(self.calm.show, dict(zip(names, names, strict=True))).one

    def gap(self, leg: Leg) -> Gap:
        """Give how long a leg may be silent while its units lock to another grandmaster."""
        if self.steady(leg):
            return NO_GAP
        moved = [
            unit
            for unit in (leg.sender, leg.receiver)
            if self.before(unit) and not self.before(unit) & self.heard(unit)
        ]
        if not moved:
            return NO_GAP
        lock = max(self.calm.show.units[unit].kind.clock_lock_s for unit in moved)
        noticed = self.calm.timing.noticed_s
        return Gap(
            least_s=0.0,
            most_s=noticed + lock,
            parts=(f"the loss is noticed {noticed:g} s", f"the clock locks {lock:g} s"),
            assumed=("a unit may mute while it follows another clock",),
        )
