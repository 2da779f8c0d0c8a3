"""Network cables that may be moved or laid to join again what a fault has parted."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import natural
from lineproof.decide.cabling.reach import (
    Supplies,
    copper_reach_m,
    fibre_for,
    run_length_m,
)
from lineproof.drill.after import NetAfter
from lineproof.drill.bearing import Leg
from lineproof.graph.faults import PORT, RUN, Fault
from lineproof.graph.ports import ports_by_net
from lineproof.kit.kinds import Port
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.reckon.poe import CLASS_W, fed_units
from lineproof.rescue.hurt import Hurt
from lineproof.rescue.moves import Do

COPPER = "copper"
#: So many open ports are looked at from each loose end, the nearest of each part of the net.
_NEAREST = 4
#: A spare cable longer than this nobody rolls out while an audience waits (practice); one that the
#: show's stock still has may be longer.
_MOST_LAID_M = 100


@dataclass(frozen=True, kw_only=True)
class Opening:
    """Ports that stay open on a switch, alike to a cable: all of one medium and feeding so much."""

    switch: str
    net: str
    medium: str
    feeds_w: float
    ports: tuple[PortAt, ...]


@dataclass(frozen=True, kw_only=True)
class Join:
    """A cable that would join two islands of a net.

    `run`: the cable that is moved, or whose place a new one takes. `fixed`: ends that stay as they
    are; `openings`: the ports that are taken besides, one of each. `ducts` and `medium` are those
    of a cable to be laid.
    """

    net: str
    islands: tuple[int, int]
    do: Do
    run: PlannedRun | None
    fixed: tuple[PortAt, ...]
    openings: tuple[Opening, ...]
    length_m: int = 0
    medium: str = ""
    ducts: tuple[str, ...] = ()

    @property
    def plugs(self) -> int:
        """Give how many network plugs are handled."""
        return 1 if self.do is Do.CABLE else 2


@dataclass(frozen=True, kw_only=True)
class Islands:
    """The parts into which a fault has cut a net: by unit the number of its part."""

    net: str
    of: Mapping[str, int]


class Joins:
    """The cables that may help after a fault, net by net."""

    def __init__(self, hurt: Hurt, faults: Iterable[Fault]) -> None:
        self.hurt = hurt
        self.show = hurt.hand.show
        self.network = hurt.hand.plan.network
        self.dead = hurt.after.dead
        struck = tuple(faults)
        self.dead_ports = {fault.name for fault in struck if fault.what == PORT}
        self.torn = {fault.name for fault in struck if fault.what == RUN}
        self.supplies = Supplies(self.show)

    @cached_property
    def islands(self) -> Mapping[str, Islands]:
        """Give every net that still is one as its parts."""
        nets = self.hurt.after.nets.values()
        return {net.name: self._parts(net) for net in nets if not net.down}

    def _parts(self, net: NetAfter) -> Islands:
        index, root = net.tree.fabric.index, net.tree.root
        found = {}
        for name, at in index.items():
            if root[at] >= 0:
                found[name] = root[at]
            elif name in self.hurt.wakes:
                found[name] = -2 - at  # an island of its own until it is fed again
        return Islands(net=net.name, of=found)

    def apart(self, sender: str, receiver: str) -> list[tuple[str, int, int]]:
        """Give the nets that both units are on, with the two parts that are to be joined."""
        found = []
        for net, parts in self.islands.items():
            one, other = parts.of.get(sender), parts.of.get(receiver)
            if one is not None and other is not None:
                found.append((net, one, other))
        return found

    def asking(self, net: str) -> frozenset[int]:
        """Give the parts of a net in which a querier is left; none where the net has none."""
        planned = self.network.nets.get(net)
        of = self.islands[net].of
        return frozenset(of[name] for name in (planned.queriers if planned else ()) if name in of)

    def needs_querier(self, net: str) -> bool:
        """Say whether multicast on a net stops where nobody asks for members."""
        planned, units = self.network.nets.get(net), self.show.units
        switches = (units[name] for name, on in self.network.switch_nets.items() if on == net)
        snoops = any(switch.kind.snooping for switch in switches)
        return planned is not None and bool(planned.queriers) and snoops

    def is_multicast(self, leg: Leg) -> bool:
        """Say whether what a leg carries is multicast; without a stream it is taken to be."""
        streams = self.network.streams_of(leg.sender)
        sent = [s for s in streams if leg.send.number in s.channels and leg.receiver in s.receivers]
        return not sent or any(stream.multicast for stream in sent)

    @cached_property
    def all(self) -> tuple[Join, ...]:
        """Give every cable that would join two parts, in a fixed order."""
        found = [join for net in self.islands for join in self._on(net)]
        return tuple(found)

    def _on(self, net: str) -> Iterator[Join]:
        runs = [run for run in self.network.runs_on(net) if self._reached(run)]
        for run in runs:
            yield from self._moved(net, run)
        yield from self._laid(net, runs)

    def _reached(self, run: PlannedRun) -> bool:
        """Say whether a run has an end somebody can get at."""
        return any(self.hurt.reached(self.hurt.hand.place(end.unit)) for end in run.ends)

    # -- a cable that hangs on something dead ----------------------------------------------------

    def _moved(self, net: str, run: PlannedRun) -> Iterator[Join]:
        """Give where the loose end of a cable might go, at the place where it ends."""
        if run.name in self.dead.runs and not self._only_its_port(run):
            return
        of = self.islands[net].of
        for kept, loose in (run.ends, run.ends[::-1]):
            if kept.unit not in of or str(kept) in self.dead_ports:
                continue
            gone = loose.unit in self.dead.units or str(loose) in self.dead_ports
            place = self.hurt.hand.place(loose.unit)
            if not gone or not self.hurt.reached(place):
                continue
            for opening in self._openings(net):
                if self.hurt.hand.place(opening.switch) != place:
                    continue
                if not _takes(opening.medium, run.medium) or opening.switch == kept.unit:
                    continue
                if not self._feeds(kept.unit, opening):
                    continue
                parts = (of[kept.unit], of[opening.switch])
                if parts[0] != parts[1]:
                    yield Join(
                        net=net,
                        islands=parts,
                        do=Do.CABLE,
                        run=run,
                        fixed=(kept,),
                        openings=(opening,),
                    )

    def _only_its_port(self, run: PlannedRun) -> bool:
        """Say whether a run is out only as a port of its is dead: the cable itself is good."""
        broken = any(str(end) in self.dead_ports for end in run.ends)
        return broken and run.name not in self.torn and self.dead.ducts.isdisjoint(run.ducts)

    def _feeds(self, unit: str, opening: Opening) -> bool:
        there = self.show.units[unit]
        if unit not in self.hurt.wakes or there.kind.poe_class is None:
            return True
        return opening.medium == COPPER and opening.feeds_w >= CLASS_W[there.kind.poe_class]

    def feeds(self, join: Join) -> Iterator[tuple[str, float]]:
        """Give the switches that would feed a unit over a cable, each with the watts it asks."""
        switches = [opening.switch for opening in join.openings]
        switches += [end.unit for end in join.fixed if end.unit not in self.hurt.wakes]
        for end in join.fixed:
            there = self.show.units[end.unit]
            if end.unit in self.hurt.wakes and there.kind.poe_class is not None:
                yield from ((switch, CLASS_W[there.kind.poe_class]) for switch in switches)

    def spare_w(self, switch: str) -> float:
        """Give the watts that a switch can feed beside what it feeds now."""
        taken = [
            fed.asks_w
            for fed in fed_units(self.show, self.network)
            if fed.port.unit == switch
            and fed.run not in self.dead.runs
            and fed.unit not in self.dead.units
        ]
        return self.show.units[switch].kind.poe_budget_w - sum(taken)

    # -- ports that stay open --------------------------------------------------------------------

    def _openings(self, net: str) -> tuple[Opening, ...]:
        if net not in self._open:
            return ()
        return self._open[net]

    @cached_property
    def _open(self) -> Mapping[str, tuple[Opening, ...]]:
        """Give the rescue ports of living switches by net, alike ones together."""
        found: dict[tuple[str, str, str, float], list[PortAt]] = {}
        for rescue in self.network.rescue_ports:
            name = rescue.port.unit
            islands = self.islands.get(rescue.net)
            if islands is None or name not in islands.of or str(rescue.port) in self.dead_ports:
                continue
            port = self._port(rescue.port)
            if port is not None:
                key = (rescue.net, name, port.medium, port.feeds_w)
                found.setdefault(key, []).append(rescue.port)
        by_net: dict[str, list[Opening]] = {}
        for (net, switch, medium, feeds), ports in found.items():
            opening = Opening(
                switch=switch,
                net=net,
                medium=medium,
                feeds_w=feeds,
                ports=tuple(sorted(ports, key=PortAt.sort_key)),
            )
            by_net.setdefault(net, []).append(opening)
        return {net: tuple(openings) for net, openings in by_net.items()}

    def _port(self, at: PortAt) -> Port | None:
        unit = self.show.units.get(at.unit)
        ports = unit.kind.ports if unit is not None else ()
        return next((port for port in ports if port.number == at.number), None)

    # -- a spare cable ---------------------------------------------------------------------------

    def _laid(self, net: str, runs: Iterable[PlannedRun]) -> Iterator[Join]:
        """Give where a spare cable might lie: beside a dead one, or to a port that is open."""
        of = self.islands[net].of
        runs = list(runs)
        for run in runs:
            ends = [end for end in run.ends if end.unit in of and str(end) not in self.dead_ports]
            dead = run.name in self.dead.runs
            if dead and len(ends) == 2:
                yield from self._between(net, run, tuple(ends), ())
            loose = dead or any(end.unit not in of for end in run.ends)
            for end in ends if loose else ():
                yield from self._to_openings(net, run, end)
        yield from self._between_switches(net)

    def _to_openings(self, net: str, run: PlannedRun, end: PortAt) -> Iterator[Join]:
        of = self.islands[net].of
        here = self.hurt.hand.place(end.unit)
        others = [o for o in self._openings(net) if of[o.switch] != of[end.unit]]
        found: dict[int, int] = {}
        for opening in sorted(others, key=lambda o: self._far(here, o)):
            part = of[opening.switch]
            if found.get(part, 0) < _NEAREST and self._feeds(end.unit, opening):
                for join in self._between(net, run, (end,), (opening,)):
                    found[part] = found.get(part, 0) + 1
                    yield join

    def _far(self, place: str, opening: Opening) -> tuple[float, object]:
        """Give how far an opening is, for the order in which they are tried."""
        metres = self.hurt.hand.near_m(place, self.hurt.hand.place(opening.switch))
        return (float("inf") if metres is None else metres, natural(opening.switch))

    def _between_switches(self, net: str) -> Iterator[Join]:
        """Give the spare cables between open ports, the shortest between each two parts."""
        of = self.islands[net].of
        openings = self._openings(net)
        if len({of[opening.switch] for opening in openings}) < 2:
            return
        pairs: dict[tuple[int, int], list[tuple[Opening, Opening]]] = {}
        for one, other in itertools.combinations(openings, 2):
            first, second = of[one.switch], of[other.switch]
            if first != second:
                pairs.setdefault((min(first, second), max(first, second)), []).append((one, other))
        for some in pairs.values():
            some.sort(key=lambda pair: self._far(self.hurt.hand.place(pair[0].switch), pair[1]))
            cables = (join for two in some for join in self._between(net, None, (), two))
            yield from itertools.islice(cables, 1)

    def _between(
        self,
        net: str,
        run: PlannedRun | None,
        fixed: tuple[PortAt, ...],
        openings: tuple[Opening, ...],
    ) -> Iterator[Join]:
        """Give the cable between two ports, if it reaches and may lie there."""
        of = self.islands[net].of
        units = [end.unit for end in fixed] + [opening.switch for opening in openings]
        parts = (of[units[0]], of[units[1]])
        media = [port.medium for end in fixed if (port := self._port_of(end, net)) is not None]
        media += [opening.medium for opening in openings]
        if parts[0] == parts[1] or len(set(media)) != 1 or len(media) != 2:
            return
        here, there = (self.show.units[unit].place for unit in units)
        if not (self.hurt.reached(here) and self.hurt.reached(there)):
            return
        way = self.hurt.hand.way(here, there, self.dead.ducts)
        if way is None:
            return
        length = run_length_m(self.show, way)
        if not self.show.stock and length > _MOST_LAID_M:
            return
        medium = COPPER if media[0] == COPPER else fibre_for(length, 1000)
        fits = length <= copper_reach_m(self.show, way.ducts) if medium == COPPER else bool(medium)
        if medium == COPPER and self.supplies.apart(here, there):
            fits = False
        if fits:
            yield Join(
                net=net,
                islands=parts,
                do=Do.LAY,
                run=run,
                fixed=fixed,
                openings=openings,
                length_m=length,
                medium=medium,
                ducts=way.ducts,
            )

    def _port_of(self, end: PortAt, net: str) -> Port | None:
        if end.number is not None:
            return self._port(end)
        unit = self.show.units[end.unit]
        numbers = ports_by_net(self.show, unit, self.network).get(net, [])
        return self._port(PortAt(unit=end.unit, number=numbers[0])) if numbers else None

    # -- what cables the truck still has ---------------------------------------------------------

    def spare(self, medium: str) -> list[float] | None:
        """Give the lengths of the cables that no run has taken; None where no stock is written."""
        if not self.show.stock:
            return None
        used: dict[str, int] = {}
        for run in self.network.runs:
            used[run.stock] = used.get(run.stock, 0) + 1
        return sorted(
            stock.length_m
            for stock in self.show.stock.values()
            if stock.cable == medium
            for _ in range(stock.count - used.get(stock.name, 0))
        )


def _takes(port: str, cable: str) -> bool:
    """Say whether a port takes a cable: ports say copper or fibre, cables which fibre."""
    return port == cable if COPPER in (port, cable) else True
