"""Which moves bring back most with least: one exact model for each fault, settled step by step."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from lineproof.base.spot import Side
from lineproof.decide.streams.needs import limits_of
from lineproof.rescue.hurt import Chance, EndAt, Hurt, Lead, StandIn
from lineproof.rescue.joins import Join, Joins, Opening
from lineproof.show.model import Need

if TYPE_CHECKING:
    from lineproof.decide.solver import CpModel, IntVar, LinearExpr

#: What an end weighs by what its line is to the act: one of a sort outweighs all below it.
_WEIGHTS = {Need.SAFETY: 1_000_000_000, Need.MUST: 100_000, Need.WANT: 10, Need.SPARE: 1}
#: A wanted end of a line that is needed.
_WANTED = 10
#: Counted work, not time: the same on every machine.
_MOST_WORK = 20.0


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """What is to be done: perches by lead, cables, and by end the chance it comes back by.

    `proven`: nothing better exists among the moves that were looked at.
    """

    leads: Mapping[Lead, int] = field(default_factory=dict)
    joins: tuple[Join, ...] = ()
    ends: Mapping[EndAt, Chance] = field(default_factory=dict)
    proven: bool = True


def choose(hurt: Hurt, joins: Joins) -> Chosen:
    """Give the moves that bring back most ends, *safety* before *must* before *want*; fewest of

    these: plugs, starts, patches and routes count one each, a cable laid two; then least lead and
    cable. What still arrives keeps arriving.
    """
    if not hurt.lost:
        return Chosen()
    return _Model(hurt, joins).solve()


class _Model:
    def __init__(self, hurt: Hurt, joins: Joins) -> None:
        from lineproof.decide.solver import CpModel  # noqa: PLC0415 - the solver loads slowly

        self.hurt = hurt
        self.joins = joins
        self.cp: CpModel = CpModel()
        self.perched: dict[tuple[Lead, int], IntVar] = {}
        self.used: dict[EndAt, list[tuple[Chance, IntVar]]] = {}
        self.laid: dict[int, IntVar] = {}
        self.value: list[LinearExpr | int] = []
        self.moves: list[LinearExpr | int] = []
        self.metres: list[LinearExpr | int] = []
        self._bools: list[IntVar] = []
        self._conns: dict[tuple[str, int, int], IntVar] = {}
        self._together: dict[tuple[str, str], list[IntVar] | None] = {}
        self._labels: dict[tuple[str, int], IntVar] = {}
        self._routes: dict[object, IntVar] = {}
        self._takes: dict[tuple[str, Side], dict[object, IntVar]] = {}
        self._fresh: dict[tuple[str, str], dict[object, IntVar]] = {}

    def bool(self, name: str) -> IntVar:
        var = self.cp.new_bool_var(name)
        self._bools.append(var)
        return var

    # -- building --------------------------------------------------------------------------------

    def solve(self) -> Chosen:
        if self._needs_cables():
            self._join()
        for line in self.hurt.hurt_lines:
            for n in range(len(self.hurt.lines[line].arrivals)):
                self._end((line, n))
        self._sockets()
        self._channels()
        self._streams()
        return self._settle()

    def _needs_cables(self) -> bool:
        """Say whether some end would be there, were it not that no net joins its units."""
        return any(
            not self.hurt.joined(*leg)
            for end in self.hurt.lost
            for chance in self.hurt.chances(end)
            for leg in chance.legs
        )

    def _end(self, end: EndAt) -> None:
        lost = end in self._lost
        chances = self.hurt.chances(end)
        if not lost and not self._moves_with(chances):
            return
        found = []
        for chance in chances:
            legs = [self._leg(*leg) for leg in chance.legs]
            if any(leg == [] for leg in legs):
                continue
            var = self.bool("way")
            for leg in legs:
                if leg is not None:
                    self.cp.add(var <= sum(leg))
            self._needs(end, chance, var)
            found.append((chance, var))
        if not found:
            return
        self.used[end] = found
        total = sum(var for _, var in found)
        if lost:
            self.cp.add(total <= 1)
            self.value.append(total * self._weight(end))
        elif any(chance.course is not None for chance, _ in found):
            self.cp.add(total == 1)

    @property
    def _lost(self) -> frozenset[EndAt]:
        return frozenset(self.hurt.lost)

    def _moves_with(self, chances: Iterable[Chance]) -> bool:
        """Say whether an end that arrives hangs on a lead that might be moved for another end."""
        return any(chance.start is not None for chance in chances)

    def _weight(self, end: EndAt) -> int:
        line = self.hurt.lines[end[0]].line
        if line.need is Need.MUST and self.hurt.arrival(end).end.want:
            return _WANTED
        return _WEIGHTS[line.need]

    def _needs(self, end: EndAt, chance: Chance, var: IntVar) -> None:
        """Bind a chance to the leads, routes and channels that it needs."""
        at, part = end[0], self.hurt.target(end)
        first, last = self.hurt.start_lead(at), self.hurt.end_lead(at, part)
        main_course = chance.course is None or self._is_main(at, chance)
        if main_course:
            self._bind(first, chance.start, var)
        self._bind(last, chance.end, var)
        if chance.course is not None:
            return
        if isinstance(chance.start, StandIn):
            began = self._shared(("start", at, chance.start.unit))
            self.cp.add(var <= began)
            self._take(chance.start.unit, Side.SEND, ("start", at), began)
        if chance.receives:
            self._take(chance.receives, Side.RECEIVE, self._heard(end, chance), var)
        if chance.strips:
            self._take(chance.strips, Side.STRIP, end, var)
        if chance.routed:
            # A route belongs to spots: lines of several acts in one socket have one.
            begins = first.spot if first is not None else at
            route = self._shared((begins, chance.sender, chance.receiver, self._hears(end, chance)))
            self.cp.add(var <= route)
            fresh = self._fresh.setdefault((chance.sender, chance.receiver), {})
            fresh[begins] = route

    def _is_main(self, at: int, chance: Chance) -> bool:
        assert chance.course is not None
        first = self.hurt.start_lead(at)
        return first is not None and first.spot.unit in chance.course.units

    def _heard(self, end: EndAt, chance: Chance) -> object:
        first = self.hurt.start_lead(end[0])
        return (first.spot if first is not None else end[0], chance.receives)

    def _hears(self, end: EndAt, chance: Chance) -> object:
        """Give what stands for the receive channel: an end's own, or where its lead goes."""
        part = self.hurt.target(end)
        chain = self.hurt.lines[end[0]].decided.ends.get(part, ())
        own = next((spot for spot in chain if spot.side in (Side.RECEIVE, Side.OUT)), None)
        return (own, chance.end) if own is not None else (end, chance.end)

    def _shared(self, key: object) -> IntVar:
        if key not in self._routes:
            self._routes[key] = self.bool("route")
            self.moves.append(self._routes[key])
        return self._routes[key]

    def _take(self, unit: str, side: Side, who: object, var: IntVar) -> None:
        """Let a channel or strip be taken by somebody, once for all that share it."""
        takers = self._takes.setdefault((unit, side), {})
        if who not in takers:
            takers[who] = self.bool("taken")
        self.cp.add(var <= takers[who])

    def _bind(self, lead: Lead | None, option: int | StandIn | None, var: IntVar) -> None:
        if lead is None or not lead.perches or isinstance(option, StandIn):
            return
        if option is None:
            self.cp.add(var <= 1 - self._moved(lead))
        else:
            self.cp.add(var <= self._perch(lead, option))

    def _perch(self, lead: Lead, option: int) -> IntVar:
        self._moved(lead)
        return self.perched[lead, option]

    def _moved(self, lead: Lead) -> LinearExpr:
        """Give whether a lead is moved; makes its perches when first asked."""
        if (lead, 0) not in self.perched:
            for n, perch in enumerate(lead.perches):
                var = self.bool("perch")
                self.perched[lead, n] = var
                side = Side.IN if perch.alike.socket.side is Side.IN else Side.OUT
                host = self.hurt.hand.show.units[perch.alike.host].kind
                # Inside a unit with a patch of its own somebody has to patch as well.
                self.moves.append(var * (2 if host.inside_patch else 1))
                self.metres.append(var * round(10 * perch.metres))
                if host.inside_patch and side is Side.IN:
                    self._take(perch.alike.host, Side.SEND, lead, var)
            self.cp.add_at_most_one(self._perches(lead))
        return sum(self._perches(lead))

    def _perches(self, lead: Lead) -> list[IntVar]:
        return [self.perched[lead, n] for n in range(len(lead.perches))]

    # -- what there is only so much of -------------------------------------------------------------

    def _sockets(self) -> None:
        by_sockets: dict[tuple[object, ...], list[IntVar]] = {}
        rooms: dict[tuple[object, ...], int] = {}
        for (lead, n), var in self.perched.items():
            alike = lead.perches[n].alike
            by_sockets.setdefault(alike.spots, []).append(var)
            rooms[alike.spots] = len(alike.spots)
        for spots, found in by_sockets.items():
            self.cp.add(sum(found) <= rooms[spots])
        # A drop box and the box behind it may offer the same socket.
        real: dict[object, set[tuple[object, ...]]] = {}
        for spots in by_sockets:
            for spot in spots:
                real.setdefault(self.hurt.hand.problem.cores.real(spot), set()).add(spots)  # type: ignore[arg-type]
        for groups in {frozenset(each) for each in real.values() if len(each) > 1}:
            shared = {s for s, each in real.items() if groups <= each}
            total = sum(var for spots in groups for var in by_sockets[spots])
            alone = sum(len(spots) for spots in groups) - len(shared) * (len(groups) - 1)
            self.cp.add(total <= alone)

    def _channels(self) -> None:
        for (unit, side), takers in self._takes.items():
            self.cp.add(sum(takers.values()) <= len(self.hurt.hand.free(unit, side)))

    def _streams(self) -> None:
        """Keep to what units can do: a sender gives what is new in streams of their own."""
        units = self.hurt.hand.show.units
        new: dict[str, IntVar] = {}
        by_receiver: dict[str, list[IntVar]] = {}
        by_sender: dict[str, dict[object, IntVar]] = {}
        for (sender, _), routes in self._fresh.items():
            by_sender.setdefault(sender, {}).update(routes)
        for sender, routes in by_sender.items():
            limits = limits_of(units[sender])
            room = max(0, limits.streams_send - len(list(self._sent(sender))))
            new[sender] = self.cp.new_int_var(0, room, "streams")
            channels = {}
            for key, _ in routes.items():
                channels[key] = self.bool("channel")
            for (one, _), some in self._fresh.items():
                if one == sender:
                    for key, var in some.items():
                        self.cp.add(var <= channels[key])
            self.cp.add(sum(channels.values()) <= limits.channels_per_stream * new[sender])
        for (sender, receiver), routes in self._fresh.items():
            most = max(1, -(-len(routes) // limits_of(units[sender]).channels_per_stream))
            got = self.cp.new_int_var(0, len(routes) + most, "received")
            any_ = self.bool("hears")
            for var in routes.values():
                self.cp.add(var <= any_)
            self.cp.add(got >= new[sender] - len(routes) * (1 - any_) - 64 * (1 - any_))
            by_receiver.setdefault(receiver, []).append(got)
        for receiver, found in by_receiver.items():
            limits = limits_of(units[receiver])
            room = max(0, limits.streams_receive - len(list(self._received(receiver))))
            self.cp.add(sum(found) <= room)

    def _sent(self, sender: str) -> Iterator[str]:
        return (stream.name for stream in self.hurt.hand.plan.network.streams_of(sender))

    def _received(self, receiver: str) -> Iterator[str]:
        for stream in self.hurt.hand.plan.network.streams:
            if receiver in stream.receivers and self.hurt.alive(stream.sender):
                yield stream.name

    # -- cables ------------------------------------------------------------------------------------

    def _leg(self, sender: str, receiver: str) -> list[IntVar] | None:
        """Give None for units that are joined, else what joins them: nothing if nothing can."""
        if self.hurt.joined(sender, receiver):
            return None
        key = (sender, receiver)
        if key not in self._together:
            found = []
            for net, one, other in self.joins.apart(sender, receiver):
                if one == other or not {(net, one), (net, other)} <= self._labels.keys():
                    continue
                found.append(self._conn(net, *sorted((one, other))))
            self._together[key] = found
        return self._together[key]

    def _conn(self, net: str, one: int, other: int) -> IntVar:
        key = (net, one, other)
        if key not in self._conns:
            var = self.bool("joined")
            a, b = self._labels[net, one], self._labels[net, other]
            most = self._size[net]
            self.cp.add(a - b <= most * (1 - var))
            self.cp.add(b - a <= most * (1 - var))
            self._conns[key] = var
        return self._conns[key]

    def _join(self) -> None:
        """Let cables join parts: each part hangs on at most one other, and bears its root's number.

        So two parts bear one number only if cables join them.
        """
        self._size: dict[str, int] = {}
        joins = [join for join in self.joins.all if self._helps(join)]
        for net, found in itertools.groupby(joins, key=lambda join: join.net):
            self._join_net(net, list(found))
        self._ports(joins)

    def _helps(self, join: Join) -> bool:
        return bool(join.net)

    def _join_net(self, net: str, joins: Sequence[Join]) -> None:
        parts = sorted({part for join in joins for part in join.islands})
        number = {part: n for n, part in enumerate(parts)}
        most = self._size[net] = len(parts)
        depth = {}
        for part in parts:
            self._labels[net, part] = self.cp.new_int_var(0, most - 1, "label")
            depth[part] = self.cp.new_int_var(0, most - 1, "depth")
        hangs: dict[int, list[IntVar]] = {part: [] for part in parts}
        for join in joins:
            both = []
            for child, parent in (join.islands, join.islands[::-1]):
                var = self.bool("hangs")
                both.append(var)
                hangs[child].append(var)
                a, b = self._labels[net, child], self._labels[net, parent]
                self.cp.add(a - b <= most * (1 - var))
                self.cp.add(b - a <= most * (1 - var))
                self.cp.add(depth[child] >= depth[parent] + 1 - most * (1 - var))
            used = self.bool("cable")
            self.cp.add(used == sum(both))
            self.laid[id(join)] = used
            self.moves.append(used * join.plugs)
            self.metres.append(used * 10 * join.length_m)
        for part, some in hangs.items():
            self.cp.add(sum(some) <= 1)
            # A part that hangs on none bears its own number.
            label, own = self._labels[net, part], number[part]
            self.cp.add(label - own <= most * sum(some))
            self.cp.add(own - label <= most * sum(some))

    def _ports(self, joins: Sequence[Join]) -> None:
        """Let every open port, loose end and cable be taken once."""
        openings: dict[Opening, list[IntVar]] = {}
        ends: dict[object, list[IntVar]] = {}
        laid: dict[str, list[tuple[int, IntVar]]] = {}
        for join in joins:
            var = self.laid[id(join)]
            for opening in join.openings:
                openings.setdefault(opening, []).append(var)
            for end in join.fixed:
                ends.setdefault(end, []).append(var)
            if join.run is not None:
                ends.setdefault(join.run.name, []).append(var)
            if join.length_m:
                laid.setdefault(join.medium, []).append((join.length_m, var))
        for opening, found in openings.items():
            self.cp.add(sum(found) <= len(opening.ports))
        for found in ends.values():
            if len(found) > 1:
                self.cp.add_at_most_one(found)
        for medium, some in laid.items():
            self._stock(medium, some)

    def _stock(self, medium: str, laid: list[tuple[int, IntVar]]) -> None:
        """Lay no more cables than the truck has left, of any length or more."""
        have = self.joins.spare(medium)
        if have is None:
            return
        for least in sorted({length for length, _ in laid}):
            there = sum(1 for metres in have if metres >= least)
            self.cp.add(sum(var for length, var in laid if length >= least) <= there)

    # -- settling ----------------------------------------------------------------------------------

    def _settle(self) -> Chosen:
        from lineproof.decide import solver as cp  # noqa: PLC0415 - the solver loads slowly

        if not self.value:
            return Chosen()
        solver = cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = _MOST_WORK
        # Weights that leave one best answer, whatever way the solver takes.
        tie = sum(var * (1 + (n * 7919) % 1009) for n, var in enumerate(self._bools))
        proven, values = True, []
        for step in (-sum(self.value), sum(self.moves), sum(self.metres), tie):
            if isinstance(step, int):
                continue  # nothing of the sort is there to choose
            self.cp.minimize(step)
            if values:
                self.cp.hint(values)
            status = solver.solve(self.cp)
            if status not in (cp.OPTIMAL, cp.FEASIBLE):
                return self._chosen(values, proven=False)
            proven = proven and status == cp.OPTIMAL
            values = list(solver.response_proto.solution)
            self.cp.add(step <= solver.value(step))
        return self._chosen(values, proven=proven)

    def _chosen(self, values: Sequence[int], *, proven: bool) -> Chosen:
        """Give what the solver's values say; without any nothing is done."""
        if not values:
            return Chosen(proven=proven)
        return Chosen(
            leads={lead: n for (lead, n), var in self.perched.items() if values[var.index]},
            joins=tuple(
                join
                for join in self.joins.all
                if (var := self.laid.get(id(join))) is not None and values[var.index]
            ),
            ends={
                end: chance
                for end, found in self.used.items()
                for chance, var in found
                if values[var.index]
            },
            proven=proven,
        )
