"""Which moves bring back most with least: one exact model for each fault, settled step by step."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import Side, Spot
from lineproof.decide.solver import IntVar
from lineproof.kit.kinds import Does
from lineproof.rescue.cables import Cables
from lineproof.rescue.chance import Chance, StandIn
from lineproof.rescue.hurt import EndAt, Hurt
from lineproof.rescue.joins import Join, Joins
from lineproof.rescue.leads import Lead, main_start
from lineproof.rescue.manners import is_shy
from lineproof.rescue.model import Model, Sum
from lineproof.rescue.room import limit_channels, limit_sockets, limit_streams
from lineproof.show.model import Need

#: What an end weighs by what its line is to the act: one of a sort outweighs all below it.
_WEIGHTS = {Need.SAFETY: 1_000_000_000, Need.MUST: 100_000, Need.WANT: 10, Need.SPARE: 1}
#: A wanted end of a line that is needed.
_WANTED = 10


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """What is to be done: perches by lead, cables, and by end the chance it comes back by.

    `steps`: how many moves that is. `proven`: nothing better exists among what was looked at.
    """

    leads: Mapping[Lead, int] = field(default_factory=dict)
    joins: tuple[Join, ...] = ()
    ends: Mapping[EndAt, Chance] = field(default_factory=dict)
    proven: bool = True
    steps: int = 0


def choose(hurt: Hurt, joins: Joins, *, hopeless: frozenset[EndAt] = frozenset()) -> Chosen:
    """Give the moves that bring back most ends: *safety* before *must* before *want*.

    With the fewest of them: plugs, starts, patches and routes count one each, a cable laid two;
    then with the least lead and cable. What still arrives keeps arriving. `hopeless`: lost ends
    that nobody tries to bring back.
    """
    if set(hurt.lost) <= hopeless:
        return Chosen()
    return _Choice(hurt, joins, hopeless).made()


def weight(hurt: Hurt, end: EndAt) -> int:
    """Give what an end weighs by what its line is to the act."""
    need = hurt.lines[end[0]].line.need
    if need is Need.MUST and hurt.arrival(end).end.want:
        return _WANTED
    return _WEIGHTS[need]


class _Choice:
    def __init__(self, hurt: Hurt, joins: Joins, hopeless: frozenset[EndAt]) -> None:
        self.hurt = hurt
        self.model = Model()
        self.cables = Cables(self.model, joins)
        self.lost = frozenset(hurt.lost)
        self.hopeless = hopeless
        self.leads: dict[Spot, Lead] = {}
        self.perched: dict[Spot, list[IntVar]] = {}
        self.chances: dict[EndAt, list[tuple[Chance, IntVar]]] = {}
        self.emptied: dict[str, dict[str, IntVar]] = {}
        self.beside: list[tuple[IntVar, EndAt]] = []
        self.takers: dict[tuple[str, Side], dict[Hashable, IntVar]] = {}
        self.routes: dict[tuple[str, str, bool], dict[tuple[Hashable, ...], IntVar]] = {}

    def made(self) -> Chosen:
        if self._needs_cables():
            self.cables.offer()
        for end in self.hurt.lost:
            if end not in self.hopeless:
                self._end(end)
        for end in self._arriving():
            self._end(end)
        for var, other in self.beside:
            self.model.add(var <= sum(way for _, way in self.chances.get(other, ())))
        for some in self.emptied.values():
            self.model.add(sum(some.values()) <= 1)  # two can't hang on the same outputs
        self._sockets()
        limit_channels(self.model, self.hurt, self.takers)
        limit_streams(self.model, self.hurt, self.routes)
        settled = self.model.settle()
        if not settled.values:
            return Chosen(proven=settled.proven)
        return Chosen(
            leads={
                self.leads[spot]: n
                for spot, some in self.perched.items()
                for n, var in enumerate(some)
                if settled.has(var)
            },
            joins=self.cables.chosen(settled.has),
            ends={
                end: chance
                for end, found in self.chances.items()
                for chance, var in found
                if settled.has(var)
            },
            proven=settled.proven,
            steps=settled.steps,
        )

    def _needs_cables(self) -> bool:
        """Say whether some end would be there, were it not that no net joins its units."""
        return any(
            not self.hurt.joined(*leg)
            for end in self.hurt.lost
            for chance in self.hurt.chances(end)
            for leg in chance.legs
        )

    def _arriving(self) -> list[EndAt]:
        """Give the ends that still arrive, and hang on a lead that might be moved."""
        lines = {at for lead in self.leads.values() for at in lead.lines}
        return [
            (at, n)
            for at in sorted(lines)
            for n in range(len(self.hurt.lines[at].arrivals))
            if (at, n) not in self.lost
        ]

    # -- ends ------------------------------------------------------------------------------------

    def _end(self, end: EndAt) -> None:
        found = [(c, var) for c in self.hurt.chances(end) if (var := self._way(c)) is not None]
        for chance, var in found:
            self._needs(end, chance, var)
        total = sum(var for _, var in found)
        if isinstance(total, int):
            return  # nothing can be done
        self.chances[end] = found
        self.model.add(total <= 1)
        if end in self.lost:
            self.model.gains.append(total * weight(self.hurt, end))
        elif any(chance.course is not None for chance, _ in found):
            self.model.add(total >= 1)

    def _way(self, chance: Chance) -> IntVar | None:
        """Give whether a chance is taken; None where no cable could join what it goes over."""
        apart = [leg for leg in chance.legs if not self.hurt.joined(*leg)]
        joined = [self.cables.together(*leg, asks=self._asks(chance, leg)) for leg in apart]
        if not all(joined):
            return None
        var = self.model.yes("way")
        for some in joined:
            self.model.add(var <= sum(some))
        return var

    def _asks(self, chance: Chance, leg: tuple[str, str]) -> bool:
        """Say whether a leg is multicast; of a new route nobody knows yet."""
        if chance.course is None:
            return True
        legs = (each for each in chance.course.legs if (each.sender, each.receiver) == leg)
        return any(map(self.cables.joins.is_multicast, legs))

    def _needs(self, end: EndAt, chance: Chance, var: IntVar) -> None:
        """Bind a chance to the leads, routes, patches and channels that it needs."""
        at = end[0]
        if chance.beside is not None:
            self.beside.append((var, (at, chance.beside)))
            return
        first, last = self.hurt.start_lead(at), self.hurt.end_lead(at, chance.part)
        main = main_start(self.hurt.lines[at].decided)
        if chance.course is None or chance.course.start == main:
            self._bind(first, chance.start, var)
        self._bind(last, chance.end, var)
        if isinstance(chance.end, StandIn):
            self._stand_in(chance.end, last, var)
        if chance.course is not None:
            return
        begins: Hashable = first.spot if first is not None else at
        if isinstance(chance.start, StandIn):
            began = self.model.step(("start", at, chance.start.unit))
            self.model.add(var <= began)
            self._take(chance.start.unit, Side.SEND, ("start", at), began)
        if chance.receives:
            heard_on = self._last(end, chance, Side.RECEIVE)
            who = last.spot if last is not None else (begins, heard_on)
            self._take(chance.receives, Side.RECEIVE, who, var)
        if chance.strips:
            self._take(
                chance.strips, Side.STRIP, (begins, self._last(end, chance, Side.STRIP)), var
            )
        self._patch(end, chance, begins, var)
        if chance.routed:
            # A route belongs to spots: lines of several acts in one socket share theirs.
            heard = (self._last(end, chance, Side.RECEIVE, Side.OUT), chance.end)
            route = self.model.step(("route", begins, chance.start, chance.receiver, heard))
            self.model.add(var <= route)
            alone = is_shy(self.hurt.lines[at].line)
            pair = (chance.sender, chance.receiver, alone)
            self.routes.setdefault(pair, {})[begins, chance.start, heard] = route

    def _stand_in(self, stand_in: StandIn, lead: Lead | None, var: IntVar) -> None:
        """Count the plugs of what stands in at an end: its lead, what hangs on an amplifier."""
        if lead is not None and stand_in.socket is not None:
            swapped = self.model.step(("swap", lead.spot, stand_in.unit))
            self.model.add(var <= swapped)
            self._take(stand_in.unit, Side.IN, lead.spot, swapped)
        if self.hurt.hand.show.units[stand_in.dead].kind.does is Does.AMPLIFIER:
            over = self.model.step(("outputs", stand_in.dead, stand_in.unit))
            self.emptied.setdefault(stand_in.unit, {})[stand_in.dead] = over
            self.model.add(var <= over)

    def _patch(self, end: EndAt, chance: Chance, begins: Hashable, var: IntVar) -> None:
        """Count what somebody has to patch inside units that have a patch of their own."""
        units = self.hurt.hand.show.units
        patched_on = bool(chance.legs) and units[chance.sender].kind.inside_patch
        if isinstance(chance.start, int) and patched_on:
            sent = self.model.step(("sent", begins, chance.start))
            self.model.add(var <= sent)
            self._take(chance.sender, Side.SEND, begins, sent)
        comes_in = chance.start is not None and not chance.legs
        goes_out = isinstance(chance.end, int) and units[chance.receiver].kind.inside_patch
        lands = bool(chance.receives) and chance.end is None
        if comes_in or goes_out or lands or chance.strips:
            last = self._last(end, chance, Side.STRIP, Side.OUT)
            patched = self.model.step(("patch", begins, chance.start, last, chance.end))
            self.model.add(var <= patched)

    def _last(self, end: EndAt, chance: Chance, *sides: Side) -> Hashable:
        """Give the first spot of an end on one of these sides, the end itself where it has none."""
        chain = self.hurt.lines[end[0]].decided.ends.get(chance.part, ())
        return next((spot for spot in chain if spot.side in sides), end)

    def _take(self, unit: str, side: Side, who: Hashable, var: IntVar) -> None:
        """Let a channel or strip be taken by somebody, once for all that share it."""
        takers = self.takers.setdefault((unit, side), {})
        if who not in takers:
            takers[who] = self.model.yes("taken")
        self.model.add(var <= takers[who])

    # -- leads -----------------------------------------------------------------------------------

    def _bind(self, lead: Lead | None, option: int | StandIn | None, var: IntVar) -> None:
        if lead is None or not lead.perches:
            return
        moved = self._moved(lead)
        self.model.add(var <= (moved[option] if isinstance(option, int) else 1 - sum(moved)))

    def _moved(self, lead: Lead) -> list[IntVar]:
        """Give whether a lead is moved, perch by perch: made when it is first asked for."""
        if lead.spot not in self.perched:
            found = [self.model.yes("perch") for _ in lead.perches]
            for perch, var in zip(lead.perches, found, strict=True):
                self.model.moves.append(var)
                self.model.metres.append(var * round(10 * perch.metres))
            total: Sum = sum(found)
            self.model.add(total <= 1)
            self.leads[lead.spot], self.perched[lead.spot] = lead, found
        return self.perched[lead.spot]

    def _sockets(self) -> None:
        wanted: dict[tuple[Spot, ...], list[IntVar]] = {}
        for spot, some in self.perched.items():
            for perch, var in zip(self.leads[spot].perches, some, strict=True):
                wanted.setdefault(perch.alike.spots, []).append(var)
        limit_sockets(self.model, self.hurt, wanted)
