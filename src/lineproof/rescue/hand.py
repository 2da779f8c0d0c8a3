"""What is at hand for a rescue: sockets and channels that nobody is on, ports that stay open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.building import build_problem
from lineproof.decide.options import BRINGS_OUT, TAKES_IN
from lineproof.decide.problem import Plug, Problem
from lineproof.graph.ducts import DuctWays, Way
from lineproof.graph.signal import implied, routes
from lineproof.kit.kinds import Socket
from lineproof.plan.model import Plan
from lineproof.reckon.leads import Leads
from lineproof.show.model import Show, Unit

_TAKES = {Side.IN: TAKES_IN, Side.OUT: BRINGS_OUT}
_CHANNEL = {Side.IN: Side.SEND, Side.OUT: Side.RECEIVE}


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Sockets that no lead is in and that are alike: at one unit or drop box, of one sort.

    `spots`: where one plugs, in order; `host`: the unit that takes the signal.
    """

    front: str
    host: str
    socket: Socket
    spots: tuple[Spot, ...]


class AtHand:
    """What nobody is on in one show and plan; worked out once, read for every fault.

    A spot that any act uses is no spare one: it may be needed again before the night is over.
    """

    def __init__(self, show: Show, plan: Plan) -> None:
        self.show = show
        self.plan = plan
        self.leads = Leads(show)
        self.ducts = lru_cache(maxsize=None)(self._ducts)
        self._cable_ways: dict[tuple[str, str, frozenset[str]], Way | None] = {}

    @cached_property
    def problem(self) -> Problem:
        """Give the show as the planner sees it: what each lead must be plugged into."""
        return build_problem(self.show, self.plan)

    @cached_property
    def plugs(self) -> Mapping[tuple[LineKey, str, Side], Plug]:
        """Give the leads by line, part of the line, and side of the socket they go into."""
        return {
            (job.line.key, plug.part, plug.side): plug
            for job in self.problem.singly
            if not job.strand
            for plug in job.plugs
        }

    @cached_property
    def taken(self) -> frozenset[Spot]:
        """Give every spot that a line is on, with the channels that sockets imply."""
        found = set(self.problem.held)
        for decided in self.plan.lines:
            for spot in decided.spots():
                found.add(spot)
                channel = implied(self.show, spot)
                if channel is not None:
                    found.add(channel)
        return frozenset(found)

    @cached_property
    def routes(self) -> frozenset[tuple[Spot, Spot]]:
        """Give every route there is: a send channel, and the receive channel that hears it."""
        return frozenset((each.send, each.receive) for each in routes(self.show, self.plan))

    def free(self, unit: str, side: Side) -> list[int]:
        """Give the numbers on a side of a unit that nobody is on."""
        there = self.show.units[unit]
        numbers = range(1, self.show.count(there, side) + 1)
        return [n for n in numbers if Spot(unit=unit, side=side, number=n) not in self.taken]

    @cached_property
    def _alike(self) -> Mapping[Side, tuple[Alike, ...]]:
        return {side: tuple(self._found(side)) for side in _TAKES}

    def alike(self, side: Side) -> tuple[Alike, ...]:
        """Give the free sockets of a side, those that are alike together, unit by unit."""
        return self._alike[side]

    @cached_property
    def _doors(self) -> Mapping[Side, tuple[Alike, ...]]:
        return {side: tuple(self._found(side, free=False)) for side in _TAKES}

    def doors(self, side: Side) -> tuple[Alike, ...]:
        """Give the sockets of a side in the same way, those in use too."""
        return self._doors[side]

    def _found(self, side: Side, *, free: bool = True) -> Iterator[Alike]:
        cores, units = self.problem.cores, self.show.units
        for host, unit in units.items():
            if not self._takes(unit, side):
                continue
            drops = [drop for drop, behind in cores.hosts.items() if behind == host]
            for front in (host, *drops):
                by_sort: dict[Socket, list[Spot]] = {}
                for spot, socket in self._sockets(front, side, free=free):
                    by_sort.setdefault(socket, []).append(spot)
                for socket, spots in by_sort.items():
                    yield Alike(front=front, host=host, socket=socket, spots=tuple(spots))

    def _takes(self, unit: Unit, side: Side) -> bool:
        if unit.theirs or unit.kind.does not in _TAKES[side]:
            return False
        return self.show.count(unit, _CHANNEL[side]) > 0

    def _sockets(self, front: str, side: Side, *, free: bool) -> Iterator[tuple[Spot, Socket]]:
        """Give the (free) sockets of a unit or drop box, each as its like without a number."""
        cores, kind = self.problem.cores, self.show.units[front].kind
        for socket in kind.sockets_on(side):
            spot = Spot(unit=front, side=side, number=socket.number)
            behind = cores.behind.get(spot)
            if behind is None and (spot in cores.out_front or front in cores.hosts):
                continue
            real = behind or spot
            if free and (spot in self.taken or real in self.taken):
                continue
            sort = self.show.units[real.unit].kind.sockets_on(side)[real.number - 1]
            yield spot, _unnumbered(sort)

    def near_m(self, place: str, other: str) -> float | None:
        """Give the metres of lead between two places, None where no lead joins them."""
        return self.leads.length_m(place, other)

    def _ducts(self, one: str, other: str) -> tuple[str, ...]:
        """Give the ducts in which a lead between two places lies."""
        places = self.show.places
        if one == other or one not in places or other not in places:
            return ()
        way = self._ways.shortest(one, other)
        return way.ducts if way is not None else ()

    @cached_property
    def _ways(self) -> DuctWays:
        return DuctWays(self.show)

    def way(self, one: str, other: str, avoid: frozenset[str]) -> Way | None:
        """Give how a cable may lie between two places, not in some ducts; None if it can't."""
        key = (one, other, avoid)
        if key not in self._cable_ways:
            self._cable_ways[key] = self._ways.shortest(one, other, avoid)
        return self._cable_ways[key]

    def place(self, name: str) -> str:
        """Give the place of a unit, or the place itself."""
        unit = self.show.units.get(name)
        return unit.place if unit is not None else name

    def stand_ins(self, name: str) -> tuple[str, ...]:
        """Give the units that may take over from one by hand: its standby, what covers it."""
        unit = self.show.units.get(name)
        if unit is None:
            return ()
        covering = [u.name for u in self.show.units.values() if name in u.covers]
        names = [*([unit.standby] if unit.standby else []), *covering]
        return tuple(n for n in dict.fromkeys(names) if n in self.show.units)


@lru_cache(maxsize=4096)
def _unnumbered(socket: Socket) -> Socket:
    return replace(socket, number=1, joins=None, connector="")
