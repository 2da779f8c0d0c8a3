"""Units that pass their net on: chained to one another and to a switch; and shows without any."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from lineproof.base.names import natural
from lineproof.decide.cabling.ground import Cable, Ground, Need, feed_dw
from lineproof.decide.cabling.ports import Desk
from lineproof.graph.ports import ports_by_net
from lineproof.kit.kinds import Does, Port
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.show.model import Unit

#: Ports a switch keeps for a rescue as long as a chain can take another.
_RESCUE = 2
#: Up to so many units without a switch every order is tried.
_EVERY_ORDER = 7


@dataclass(frozen=True, kw_only=True)
class Joint:
    """A run that is decided, but for its name."""

    net: str
    ends: tuple[PortAt, PortAt]
    cable: Cable


@dataclass(frozen=True, kw_only=True)
class _Offer:
    """A unit that would hang on a host: `rank` says how gladly, least first."""

    rank: tuple[object, ...]
    unit: Unit
    host: Unit
    cable: Cable


def hang_chains(
    ground: Ground, switch_nets: Mapping[str, str], desk: Desk, runs: Sequence[PlannedRun]
) -> list[Joint]:
    """Give the runs of chained units, and of all units of a net that has no switch.

    One after the other, the unit that is cheapest to join to what is joined: by a switch's port,
    or by the open second port of a chained unit. No rings: a chained unit may break no loop.
    """
    found: list[Joint] = []
    for net in ground.nets:
        switches = [s for s in ground.switches if switch_nets.get(s.name) == net]
        found += _Chainer(ground, net, switches, desk, runs).joined()
    return found


class _Chainer:
    def __init__(
        self,
        ground: Ground,
        net: str,
        switches: Sequence[Unit],
        desk: Desk,
        runs: Sequence[PlannedRun],
    ) -> None:
        self.ground = ground
        self.net = net
        self.switches = switches
        self.desk = desk
        taken = {end for run in runs for end in run.ends}
        self.open: dict[str, list[Port]] = {}
        self.hosts: list[Unit] = list(switches)
        self.waiting: list[Unit] = []
        for unit in ground.units:
            numbers = ports_by_net(ground.show, unit).get(net, [])
            if not numbers or not (ground.is_chained(unit) or not switches):
                continue
            ports = [p for p in unit.kind.ports if p.number in numbers]
            is_free = [PortAt(unit=unit.name, number=p.number) not in taken for p in ports]
            self.open[unit.name] = [p for p, free in zip(ports, is_free, strict=True) if free]
            (self.waiting if all(is_free) else self.hosts).append(unit)

    def joined(self) -> list[Joint]:
        """Give the runs that join as many of the waiting units as can be."""
        found: list[Joint] = []
        if not self.hosts:
            return self._path()
        while offers := [o for u in self.waiting for h in self.hosts for o in self._offers(u, h)]:
            best = min(offers, key=lambda o: o.rank)
            found.append(self._join(best))
        return found

    def _offers(self, unit: Unit, host: Unit) -> list[_Offer]:
        own = self.open[unit.name][0]
        is_switch = host.kind.does is Does.SWITCH
        ports = self.desk.free[host.name] if is_switch else self.open[host.name]
        feed = feed_dw(unit)
        fits = [p for p in ports if p.medium == own.medium and (not feed or p.feeds_w * 10 >= feed)]
        if not fits:
            return []
        speed = min(own.speed_mbit, max(p.speed_mbit for p in fits))
        places = (unit.place, host.place)
        cables = self.ground.cables(*places, own.medium, speed)
        # Two ports of a switch are worth more to a rescue than metres to the chain.
        last = is_switch and len(ports) <= _RESCUE
        names = (natural(unit.name), natural(host.name))
        return [
            _Offer(rank=(last, c.length_m, *names), unit=unit, host=host, cable=c)
            for c in cables[:1]
        ]

    def _join(self, offer: _Offer) -> Joint:
        unit, host = offer.unit, offer.host
        own = self.open[unit.name].pop(0)
        mine = PortAt(unit=unit.name, number=own.number)
        if host.kind.does is Does.SWITCH:
            need = Need(
                unit=unit.name,
                net=self.net,
                port=own.number,
                medium=own.medium,
                speed_mbit=own.speed_mbit,
                feed_dw=feed_dw(unit),
            )
            theirs = self.desk.unit_port(host.name, need)
            assert theirs is not None
        else:
            port = next(p for p in self.open[host.name] if p.medium == own.medium)
            self.open[host.name].remove(port)
            theirs = PortAt(unit=host.name, number=port.number)
        self.waiting.remove(unit)
        self.hosts.append(unit)
        return Joint(net=self.net, ends=(mine, theirs), cable=offer.cable)

    # -- without a switch ----------------------------------------------------------------------

    def _path(self) -> list[Joint]:
        """Give runs that join all units one after the other, if that can be.

        Two units by one run; more where all but two pass their net on.
        """
        if len(self.waiting) < 2:
            return []
        best: tuple[int, list[Joint]] | None = None
        for order in self._orders():
            found = self._along(order)
            if found is not None:
                total = sum(joint.cable.length_m for joint in found)
                if best is None or total < best[0]:
                    best = (total, found)
        return best[1] if best else []

    def _orders(self) -> list[tuple[Unit, ...]]:
        ends = [u for u in self.waiting if len(self.open[u.name]) < 2]
        if len(ends) > 2:
            return []
        if len(self.waiting) <= _EVERY_ORDER:
            orders = permutations(self.waiting)
            return [o for o in orders if all(u in (o[0], o[-1]) for u in ends)]
        inner = [u for u in self.waiting if u not in ends]
        return [(*ends[:1], *inner, *ends[1:])]

    def _along(self, order: tuple[Unit, ...]) -> list[Joint] | None:
        used: dict[str, int] = {}
        found = []
        for one, other in pairwise(order):
            ports = []
            for unit in (one, other):
                at = used.get(unit.name, 0)
                if at >= len(self.open[unit.name]):
                    return None
                used[unit.name] = at + 1
                ports.append(self.open[unit.name][at])
            mine, theirs = ports
            speed = min(mine.speed_mbit, theirs.speed_mbit)
            cables = self.ground.cables(one.place, other.place, mine.medium, speed)
            if mine.medium != theirs.medium or not cables:
                return None
            ends = (
                PortAt(unit=one.name, number=mine.number),
                PortAt(unit=other.name, number=theirs.number),
            )
            found.append(Joint(net=self.net, ends=ends, cable=cables[0]))
        return found
