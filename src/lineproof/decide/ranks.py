"""Who leads each net: root bridge and querier, with their seconds."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import natural
from lineproof.graph.faults import Fault, dead_units
from lineproof.graph.ports import nets_of, unit_nets
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network
from lineproof.reckon.power import circuit_loads
from lineproof.show.build_addresses import Asked
from lineproof.show.model import Show, Unit


@dataclass(frozen=True, kw_only=True)
class Leaders:
    """The first and second root bridge and querier of one net.

    What priority each root is set to stands in `graph/net.py`, which elects by it.
    """

    roots: tuple[str, ...]
    queriers: tuple[str, ...]


class Risks:
    """What two units share that can take both: circuits, feeds, a rack."""

    def __init__(self, show: Show) -> None:
        self.show = show

    @cached_property
    def _dead(self) -> tuple[frozenset[str], ...]:
        circuits = self.show.circuits
        return tuple(dead_units(self.show, Fault(what="circuit", name=c)) for c in circuits)

    @cached_property
    def _load_w(self) -> Mapping[str, float]:
        return {load.circuit: load.worst_w for load in circuit_loads(self.show)}

    def shared(self, one: str, other: str) -> tuple[bool, int]:
        """Say whether two units share a rack, and how many circuits or feeds take both."""
        units = self.show.units
        rack = units[one].rack
        both = sum(one in dead and other in dead for dead in self._dead)
        return (bool(rack) and rack == units[other].rack, both)

    def power(self, name: str) -> tuple[int, float, int]:
        """Give what speaks against a unit's feed: single faults that take it, load beside it.

        A circuit with amplifiers on it falls sooner than one with a lamp (common practice); a
        unit of no known circuit comes last.
        """
        circuits = self.show.units[name].circuits
        known = [self._load_w[c] for c in circuits if c in self._load_w]
        taken = sum(name in dead for dead in self._dead)
        return (taken if known else len(self._dead) + 1, min(known, default=0.0), -len(known))


def plan_leaders(
    show: Show, network: Network, wishes: Asked, earlier: Network | None
) -> Mapping[str, Leaders]:
    """Give root bridges and queriers by net; who led before leads on while it can.

    Root: the switch from which all that hangs on the net is reached over the fewest hops in sum,
    then in the longest way, then with most trunks, then best fed; second: the best that shares
    neither rack nor circuit with it. The queriers are the same two where they snoop, since every
    multicast stream also goes to the querier (RFC 4541 2.1.1).
    """
    risks = Risks(show)
    return {net: _leaders(show, network, net, wishes, earlier, risks) for net in nets_of(show)}


def _leaders(
    show: Show, network: Network, net: str, wishes: Asked, earlier: Network | None, risks: Risks
) -> Leaders:
    able = [u.name for u in managed_switches(show, network, net)]
    tree = SwitchGraph(show, network, net)
    before = earlier.nets.get(net) if earlier else None
    kept = tree.joined(before.roots) if before else ()
    roots = _two(able, wishes.roots.get(net, ()), kept, tree, risks)
    snooping = [name for name in able if show.units[name].kind.snooping]
    asked = wishes.queriers.get(net, ()) or roots
    return Leaders(roots=roots, queriers=_two(snooping, asked, (), tree, risks))


def nets_here(show: Show, unit: Unit, network: Network | None) -> tuple[str, ...]:
    """Give the nets that a unit is on and the show has; `net: b` in a show of one is a slip."""
    known = nets_of(show)
    return tuple(net for net in unit_nets(show, unit, network) if net in known)


def managed_switches(show: Show, network: Network, net: str) -> tuple[Unit, ...]:
    """Give the switches of a net that can be set up, by name; not those that others set up."""
    return tuple(
        unit
        for unit in sorted(show.units.values(), key=lambda u: natural(u.name))
        if unit.kind.does is Does.SWITCH
        and unit.kind.managed
        and not unit.theirs
        and nets_here(show, unit, network) == (net,)
    )


def _two(
    able: list[str],
    asked: tuple[str, ...],
    kept: tuple[str, ...],
    tree: SwitchGraph,
    risks: Risks,
) -> tuple[str, ...]:
    """Give the first and the second of `able`: asked for, else kept, else best."""
    given = [name for name in asked if name in able]
    free = [name for name in able if name not in given]
    held = [name for name in kept if name in free]
    while len(given) < 2 and free:
        place = len(given)
        stays = [name for name in kept[place : place + 1] if name in held]
        # Where the first is gone the second, which took over, goes on leading.
        stays = stays or (held[:1] if place == 0 else [])
        best = stays[0] if stays else min(free, key=lambda name: _against(name, given, tree, risks))
        given.append(best)
        free.remove(best)
        held = [name for name in held if name != best]
    return tuple(given[:2])


def _against(name: str, taken: list[str], tree: SwitchGraph, risks: Risks) -> tuple[object, ...]:
    shared = risks.shared(taken[0], name) if taken else (False, 0)
    return (tree.apart(taken, name), *shared, *tree.far(name), risks.power(name), natural(name))


class SwitchGraph:
    """The switches of one net and the trunks between them."""

    def __init__(self, show: Show, network: Network, net: str) -> None:
        self._near: dict[str, list[str]] = {}
        self._hangs: dict[str, int] = {}
        for run in network.runs_on(net):
            one, other = (end.unit for end in run.ends)
            switches = [n for n in (one, other) if _is_switch(show, n)]
            if len(switches) == 2:
                self._near.setdefault(one, []).append(other)
                self._near.setdefault(other, []).append(one)
            elif switches:
                self._hangs[switches[0]] = self._hangs.get(switches[0], 0) + 1

    def joined(self, names: Iterable[str]) -> tuple[str, ...]:
        """Give those that still hang together with other switches, or stand alone as all do."""
        return tuple(name for name in names if name in self._near or not self._near)

    def apart(self, taken: list[str], name: str) -> bool:
        """Say whether no trunks lead from the first of `taken` to `name`."""
        return bool(taken) and bool(self._near) and name not in self._hops(taken[0])

    def far(self, name: str) -> tuple[int, int, int, int]:
        """Give what speaks against a root: switches out of reach, hops in sum, most, trunks."""
        hops = self._hops(name)
        everyone = {*self._near, *self._hangs}
        out = len(everyone - hops.keys())
        total = sum(n * (1 + self._hangs.get(other, 0)) for other, n in hops.items())
        return (out, total, max(hops.values()), -len(self._near.get(name, ())))

    def _hops(self, start: str) -> Mapping[str, int]:
        hops = {start: 0}
        ahead = deque([start])
        while ahead:
            here = ahead.popleft()
            for other in self._near.get(here, ()):
                if other not in hops:
                    hops[other] = hops[here] + 1
                    ahead.append(other)
        return hops


def _is_switch(show: Show, name: str) -> bool:
    unit = show.units.get(name)
    return unit is not None and unit.kind.does is Does.SWITCH
