"""What a fault has taken, and every way by which it might come back: nothing is chosen here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from lineproof.base.part import ALSO
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.problem import Plug
from lineproof.drill.bearing import Arrival, Course, Resting
from lineproof.drill.lose import After
from lineproof.graph.signal import heard_starts, straight_lead
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan
from lineproof.reckon.poe import wants_feed
from lineproof.rescue.hand import Alike, AtHand
from lineproof.rescue.manners import may_stand_in
from lineproof.show.model import Line, Unit

#: A line and one of its ends, by place in the plan and among the line's planned ends.
EndAt = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Perch:
    """Where a lead might go instead: into any of these sockets, with so many metres of lead."""

    alike: Alike
    metres: float


@dataclass(frozen=True, kw_only=True)
class Lead:
    """A lead that may be moved: the socket it is in, the lines in it, and where it might go."""

    spot: Spot
    lines: tuple[int, ...]
    parts: tuple[str, ...]
    place: str
    perches: tuple[Perch, ...]


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """What stands in for a dead unit in a line: another unit at its start, or at an end.

    `socket`: an input of that unit for the end's lead, None where it hears the network.
    """

    unit: str
    dead: str
    socket: Spot | None = None


@dataclass(frozen=True, kw_only=True)
class Chance:
    """One way by which an end may come back.

    `part`: the member of the end that hears it then. `course`: it is there and only its legs must
    join again. Else `start` and `end` say what is changed: a perch of the lead (its place in
    `Lead.perches`), a unit that stands in, or None for as it is. `beside`: nothing but that this
    other end of the line comes back, at what stands in. `legs`: pairs of units that some net must
    join. `receives`: a unit of which the line takes a further receive channel; `strips`: and a
    strip.
    """

    part: str = ""
    course: Course | None = None
    start: int | StandIn | None = None
    end: int | StandIn | None = None
    beside: int | None = None
    legs: tuple[tuple[str, str], ...] = ()
    sender: str = ""
    receiver: str = ""
    receives: str = ""
    strips: str = ""

    @property
    def routed(self) -> bool:
        """Say whether it needs a route that is not there."""
        return self.course is None and bool(self.legs) and not (self.start is None and self.swapped)

    @property
    def swapped(self) -> bool:
        """Say whether only what hangs on the end's lead is another: the lead goes into that."""
        return isinstance(self.end, StandIn) and self.end.socket is not None


#: How a line may start, and the unit that sends then; how it may end, what receives then, and the
#: unit of which it takes a strip ("" for none).
Begin = tuple[int | StandIn | None, str]
Finish = tuple[int | StandIn | None, str, str]


@dataclass(frozen=True, kw_only=True)
class Hurt:
    """What faults have taken: the lost ends, the ends of the same lines that still arrive."""

    hand: AtHand
    after: After
    lost: tuple[EndAt, ...]
    _leads: dict[tuple[Spot, Side], Lead | None] = field(default_factory=dict, compare=False)
    _chances: dict[EndAt, tuple[Chance, ...]] = field(default_factory=dict, compare=False)
    _joined: dict[tuple[str, str], bool] = field(default_factory=dict, compare=False)

    @property
    def lines(self) -> tuple[Resting, ...]:
        """Give all planned lines."""
        return self.after.calm.lines

    @cached_property
    def hurt_lines(self) -> tuple[int, ...]:
        """Give the lines that have lost an end."""
        return tuple(sorted({line for line, _ in self.lost}))

    @cached_property
    def _gone(self) -> frozenset[EndAt]:
        return frozenset(self.lost)

    # -- what still stands ---------------------------------------------------------------------

    @cached_property
    def wakes(self) -> frozenset[str]:
        """Give the units that only lack the power they get over their network cable."""
        units = self.hand.show.units
        dark = self.after.dead.unpowered
        return frozenset(n for n in dark if wants_feed(units[n]) and self.reached(units[n].place))

    @cached_property
    def dead_units(self) -> frozenset[str]:
        """Give the units that no cable can bring back."""
        return self.after.dead.units - self.wakes

    def alive(self, unit: str) -> bool:
        """Say whether a unit works, or would with its cable in another port; one can get at it."""
        return unit not in self.dead_units and self.reached(self.hand.place(unit))

    def reached(self, place: str) -> bool:
        """Say whether a place is still there."""
        return place not in self.after.dead.places

    def lead_lies(self, place: str, other: str) -> bool:
        """Say whether a lead between two places lies in no dead duct."""
        return self.after.dead.ducts.isdisjoint(self.hand.ducts(place, other))

    def joined(self, sender: str, receiver: str) -> bool:
        """Say whether some net still joins two units."""
        if (sender, receiver) not in self._joined:
            self._joined[sender, receiver] = self._are_joined(sender, receiver)
        return self._joined[sender, receiver]

    def _are_joined(self, sender: str, receiver: str) -> bool:
        for net in self.after.nets.values():
            index, root = net.tree.fabric.index, net.tree.root
            a, b = index.get(sender), index.get(receiver)
            if a is not None and b is not None and not net.down and root[a] == root[b] >= 0:
                return True
        return False

    # -- one line ------------------------------------------------------------------------------

    def arrival(self, end: EndAt) -> Arrival:
        """Give an end."""
        return self.lines[end[0]].arrivals[end[1]]

    def target(self, end: EndAt) -> str:
        """Give the member that an end must be heard at: the first that works, else the first."""
        members = [member.name for member in self.arrival(end).members]
        works = (name for name in members if self._can_hear(name.partition(":")[0]))
        return next(works, members[0])

    def _can_hear(self, name: str) -> bool:
        return self._works(name) or self.is_door(name)

    def _works(self, name: str) -> bool:
        if name in self.hand.show.units:
            return self.alive(name)
        return self.reached(name)

    def is_door(self, name: str) -> bool:
        """Say whether a row names only where one plugs in: another box near would do as well."""
        unit = self.hand.show.units.get(name)
        door = unit is not None and unit.kind.does in (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL)
        return door and self.reached(self.hand.place(name))

    def chances(self, end: EndAt) -> tuple[Chance, ...]:
        """Give every way by which an end may be heard; one that is there already first."""
        if end not in self._chances:
            self._chances[end] = self._all_chances(end)
        return self._chances[end]

    def _all_chances(self, end: EndAt) -> tuple[Chance, ...]:
        members = [member.name for member in self.arrival(end).members]
        first = self.target(end)
        found = [
            Chance(
                part=member.name,
                course=course,
                legs=tuple((leg.sender, leg.receiver) for leg in course.legs),
            )
            for member in self.arrival(end).members
            for course in member.courses
            if self._stands(course)
        ]
        found += self._heard_by(end, first)
        if end in self._gone and not any(self._comes_through(chance) for chance in found):
            for other in members:
                if other != first and self._can_hear(other.partition(":")[0]):
                    found += self._heard_by(end, other)
        return tuple(found)

    def _heard_by(self, end: EndAt, part: str) -> Iterator[Chance]:
        """Give the ways by which one member of an end may hear the line that are not there yet."""
        resting = self.lines[end[0]]
        for chance in self._heard_already(end[0], resting, part):
            yield replace(chance, part=part)
        for chance in self._changed(end, resting, part):
            yield replace(chance, part=part)

    def _comes_through(self, chance: Chance) -> bool:
        """Say whether a chance needs no cable."""
        return chance.beside is None and all(self.joined(*leg) for leg in chance.legs)

    def _heard_already(self, at: int, resting: Resting, part: str) -> Iterator[Chance]:
        """Give the ways by which the line is heard at what stands in for a dead unit at its end."""
        name = part.partition(":")[0]
        others = () if self._works(name) else self.hand.stand_ins(name)
        for n, arrival in enumerate(resting.arrivals):
            for member in arrival.members:
                if member.name not in others or not self.alive(member.name):
                    continue
                stand_in = StandIn(unit=member.name, dead=name)
                if (at, n) in self._gone:
                    yield Chance(end=stand_in, beside=n)
                    continue
                for course in member.courses:
                    if self._stands(course):
                        legs = tuple((leg.sender, leg.receiver) for leg in course.legs)
                        yield Chance(course=course, end=stand_in, legs=legs)

    def _stands(self, course: Course) -> bool:
        dead = self.after.dead
        return (
            self.dead_units.isdisjoint(course.units)
            and dead.places.isdisjoint(course.places)
            and dead.runs.isdisjoint(course.runs)
            and dead.ducts.isdisjoint(course.ducts)
        )

    def _changed(self, end: EndAt, resting: Resting, part: str) -> Iterator[Chance]:
        decided = resting.decided
        main = main_start(decided)
        if main is None or not is_plain(decided, main, part):
            return
        chain = decided.ends[part]
        ends = list(self._ends(end[0], resting, part))
        starts = list(self._starts(end[0], resting, main)) if ends else []
        if end in self._gone:
            starts, ends = self._of_use(starts, ends)
        for start, sender in starts:
            for last, receiver, strips in ends:
                if start is None and last is None:
                    continue  # as it is: that is a course
                chance = self._chance(start, sender, last, receiver, chain)
                if chance is not None:
                    yield replace(chance, strips=strips) if strips else chance

    def _of_use(self, starts: list[Begin], ends: list[Finish]) -> tuple[list[Begin], list[Finish]]:
        """Give the starts and ends that may help: what stands, and is joined, need not move."""
        begin = next((each for each in starts if each[0] is None), None)
        finish = next((each for each in ends if each[0] is None), None)
        if begin is not None and finish is None:
            met = any(self._meet(begin[1], each[1]) for each in ends)
            return ([begin] if met else starts), ends
        if finish is not None and begin is None:
            met = any(self._meet(each[1], finish[1]) for each in starts)
            return starts, ([finish] if met else ends)
        return starts, ends

    def _meet(self, sender: str, receiver: str) -> bool:
        if sender == receiver:
            return self._unit(receiver).kind.inside_patch
        return self.joined(sender, receiver)

    def _chance(
        self,
        start: int | StandIn | None,
        sender: str,
        last: int | StandIn | None,
        receiver: str,
        chain: tuple[Spot, ...],
    ) -> Chance | None:
        unit = self.hand.show.units[receiver]
        if sender == receiver:
            # Inside one unit; a box can't bring its own input to its own output.
            if not unit.kind.inside_patch:
                return None
            return Chance(start=start, end=last, sender=sender, receiver=receiver)
        receives = ""
        has = any(spot.side is Side.RECEIVE and spot.unit == receiver for spot in chain)
        implied_there = isinstance(last, int) and not unit.kind.inside_patch
        if isinstance(last, StandIn) and last.socket is not None:
            implied_there = True  # upstream all is as it was
        if (last is not None and not implied_there) or (
            last is None and not has and not _implied_end(chain, unit)
        ):
            receives = receiver
        return Chance(
            start=start,
            end=last,
            legs=((sender, receiver),),
            sender=sender,
            receiver=receiver,
            receives=receives,
        )

    # -- its start -----------------------------------------------------------------------------

    def _starts(self, at: int, resting: Resting, main: str) -> Iterator[Begin]:
        """Give the ways of a start, each with the unit that sends then."""
        chain = resting.decided.start[main]
        if not chain:
            return
        lead = self.start_lead(at)
        if self._start_stands(resting, main):
            yield None, chain[-1].unit
        if lead is not None:
            for n, perch in enumerate(lead.perches):
                yield n, perch.alike.host
            return
        if chain[0].side is Side.SEND:
            for name in self._start_stand_ins(resting, main):
                if self.alive(name) and self.hand.show.count(self._unit(name), Side.SEND):
                    yield StandIn(unit=name, dead=chain[0].unit), name

    def _start_stand_ins(self, resting: Resting, main: str) -> tuple[str, ...]:
        """Give what may start the line in place of a dead unit: what the rows name."""
        line, first = resting.line, resting.decided.start[main][0].unit
        if self.alive(first):
            return ()
        further = [start.name for start in line.starts[1:]]
        named = [line.standby] if line.standby in self.hand.show.units else []
        found = dict.fromkeys((*further, *named, *self.hand.stand_ins(first)))
        return tuple(name for name in found if self._may_take(name, line))

    def _may_take(self, name: str, line: Line) -> bool:
        return may_stand_in(self.hand.show, self._unit(name), line)

    def _unit(self, name: str) -> Unit:
        return self.hand.show.units[name]

    def _start_stands(self, resting: Resting, main: str) -> bool:
        chain = resting.decided.start[main]
        name = main.partition(":")[0]
        if not self._works(name) or not all(self.alive(spot.unit) for spot in chain):
            return False
        place = self.hand.place(name)
        first = next((spot for spot in chain if spot.side is Side.IN), None)
        if first is None:
            return True
        runs = {run for course in self._courses(resting) for run in course.runs}
        return self.lead_lies(place, self.hand.place(first.unit)) and (
            len(chain) == 1 or self.after.dead.runs.isdisjoint(runs)
        )

    def _courses(self, resting: Resting) -> Iterator[Course]:
        for arrival in resting.arrivals:
            for member in arrival.members:
                yield from member.courses

    def start_lead(self, at: int) -> Lead | None:
        """Give the lead by which a line comes in, None where it starts inside a unit."""
        resting = self.lines[at]
        main = main_start(resting.decided)
        if main is None:
            return None
        spot = next((s for s in resting.decided.start[main] if s.side is Side.IN), None)
        return None if spot is None else self._lead(spot, Side.IN)

    # -- its end -------------------------------------------------------------------------------

    def _ends(self, at: int, resting: Resting, part: str) -> Iterator[Finish]:
        """Give the ways of an end: what receives then, and a unit of which it takes a strip."""
        chain = resting.decided.ends[part]
        if not chain:
            return
        name = part.partition(":")[0]
        if self._end_stands(part, chain):
            yield None, chain[0].unit, ""
        lead = self.end_lead(at, part)
        if lead is not None and self._can_hear(name):
            for n, perch in enumerate(lead.perches):
                yield n, perch.alike.host, ""
        if lead is not None and not self._works(name):
            yield from self._swaps(resting, part, lead)
        if lead is None and not self._works(name):
            strip = any(spot.side is Side.STRIP for spot in chain)
            heard = {member.name for a in resting.arrivals for member in a.members}
            for other in self.hand.stand_ins(name):
                hears = self.hand.show.count(self._unit(other), Side.RECEIVE)
                taken = other in heard or not self._may_take(other, resting.line)
                taken = taken or not self._same_outputs(name, other, chain)
                if not taken and self.alive(other) and hears:
                    stripped = other if strip and self._unit(other).kind.strips else ""
                    yield StandIn(unit=other, dead=name), other, stripped

    def _same_outputs(self, dead: str, other: str, chain: tuple[Spot, ...]) -> bool:
        """Say whether what hangs on a dead amplifier may hang on the same outputs of another."""
        if self._unit(dead).kind.does is not Does.AMPLIFIER:
            return True
        free = self.hand.free(other, Side.RECEIVE)
        return all(spot.number in free for spot in chain if spot.side is Side.RECEIVE)

    def _swaps(self, resting: Resting, part: str, lead: Lead) -> Iterator[Finish]:
        """Give what may hang on the end's lead instead of a dead unit, near enough for the lead."""
        chain, name = resting.decided.ends[part], part.partition(":")[0]
        here = self.hand.place(lead.spot.unit)
        upstream = chain[: chain.index(lead.spot) + 1]
        if not all(self.alive(spot.unit) for spot in upstream):
            return
        reach = max(self.hand.show.weights.spread_within_m, self.hand.near_m(here, lead.place) or 0)
        for other in self.hand.stand_ins(name):
            there = self.hand.place(other)
            far = self.hand.near_m(here, there)
            free = self.hand.free(other, Side.IN)
            if not self.alive(other) or not free or not self._may_take(other, resting.line):
                continue
            if far is not None and far <= reach and self.lead_lies(here, there):
                number = chain[-1].number if chain[-1].number in free else free[0]
                socket = Spot(unit=other, side=Side.IN, number=number)
                yield StandIn(unit=other, dead=name, socket=socket), chain[0].unit, ""

    def _end_stands(self, part: str, chain: tuple[Spot, ...]) -> bool:
        name = part.partition(":")[0]
        if not self._works(name) or not all(self.alive(spot.unit) for spot in chain):
            return False
        last = last_out(chain)
        return last is None or self.lead_lies(self.hand.place(last.unit), self.hand.place(name))

    def end_lead(self, at: int, part: str) -> Lead | None:
        """Give the lead by which a line goes out to an end, None where it ends inside a unit."""
        decided = self.lines[at].decided
        spot = last_out(decided.ends.get(part, ()))
        return None if spot is None else self._lead(spot, Side.OUT)

    # -- leads ---------------------------------------------------------------------------------

    def _lead(self, spot: Spot, side: Side) -> Lead | None:
        key = (spot, side)
        if key not in self._leads:
            self._leads[key] = self._found(spot, side)
        return self._leads[key]

    def _found(self, spot: Spot, side: Side) -> Lead | None:
        """Give a lead with all lines that use its socket, in whatever act: they move together."""
        users = [(at, part) for at, part in self._users.get((spot, side), ())]
        plugs = [self._plug(self.lines[at].line, part, side) for at, part in users]
        if not users or any(plug is None for plug in plugs):
            return None
        known = [plug for plug in plugs if plug is not None]
        places = {plug.place for plug in known}
        return Lead(
            spot=spot,
            lines=tuple(at for at, _ in users),
            parts=tuple(part for _, part in users),
            place=known[0].place,
            perches=tuple(self._perches(self.hand.alike(side), spot, known, places)),
        )

    @cached_property
    def _users(self) -> Mapping[tuple[Spot, Side], tuple[tuple[int, str], ...]]:
        found: dict[tuple[Spot, Side], list[tuple[int, str]]] = {}
        for at, resting in enumerate(self.lines):
            main = main_start(resting.decided)
            if main is not None:
                first = next((s for s in resting.decided.start[main] if s.side is Side.IN), None)
                if first is not None:
                    found.setdefault((first, Side.IN), []).append((at, main))
            for part, chain in resting.decided.ends.items():
                last = last_out(chain)
                if last is not None:
                    found.setdefault((last, Side.OUT), []).append((at, part))
        return {key: tuple(users) for key, users in found.items()}

    def _plug(self, line: Line, part: str, side: Side) -> Plug | None:
        return self.hand.plugs.get((line.key, part, side))

    def second_near(self, end: EndAt) -> bool:
        """Say whether a lead of a lost end hangs in what is dead, and a second unit is near.

        One that works and has sockets which fit it, in use or not.
        """
        part = self.target(end)
        for lead in (self.start_lead(end[0]), self.end_lead(end[0], part)):
            if lead is not None and not self.alive(lead.spot.unit):
                plugs = [
                    plug
                    for at, each in zip(lead.lines, lead.parts, strict=True)
                    if (plug := self._plug(self.lines[at].line, each, lead.spot.side)) is not None
                ]
                doors = self.hand.doors(lead.spot.side)
                return any(self._perches(doors, lead.spot, plugs, {lead.place}))
        return False

    def _perches(
        self, offered: Iterable[Alike], spot: Spot, plugs: list[Plug], places: Iterable[str]
    ) -> Iterator[Perch]:
        """Give where a lead might go: as far as a near second unit is, or as its lead is long."""
        here = self.hand.place(spot.unit)
        if not all(map(self.reached, places)):
            return
        if any(plug.beyond and not self.alive(plug.beyond) for plug in plugs):
            return
        near = self.hand.show.weights.spread_within_m
        reach = max([near, *(m for p in places if (m := self.hand.near_m(p, here)) is not None)])
        for alike in offered:
            if not self.alive(alike.host) or not self._open_to(alike, spot, plugs):
                continue
            if not all(plug.fits(alike.socket) for plug in plugs):
                continue
            there = self.hand.place(alike.front)
            metres = [self.hand.near_m(place, there) for place in places]
            if not self.reached(there) or any(m is None or m > reach for m in metres):
                continue
            if all(self.lead_lies(place, there) for place in places):
                longest = max(m for m in metres if m is not None)
                yield Perch(alike=alike, metres=longest)

    def _open_to(self, alike: Alike, spot: Spot, plugs: list[Plug]) -> bool:
        """Say whether the unit is there in all acts of the lead, and spare for it if it covers."""
        host = self._unit(alike.host)
        if any(plug.beyond == alike.front for plug in plugs):
            return False
        if host.covers and spot.unit not in host.covers:
            return False
        acts = {act for plug in plugs for act in self._acts(plug.line)}
        return not host.here or acts <= set(host.here)

    def _acts(self, key: LineKey) -> set[str]:
        return {key.act} if key.act else {act.name for act in self.hand.show.acts}


def main_start(decided: LinePlan) -> str | None:
    """Give the start that is heard while all is well, None for a line without one."""
    plain = [start for start in decided.start if not start.startswith(ALSO)]
    return plain[0] if plain else None


def is_plain(decided: LinePlan, main: str, part: str) -> bool:
    """Say whether an end hears the main start, and not over one straight lead."""
    chain = decided.ends.get(part, ())
    heard = heard_starts(decided, part) if part in decided.ends else []
    return heard[:1] == [main] and not straight_lead(decided.start[main], chain)


def last_out(chain: tuple[Spot, ...]) -> Spot | None:
    """Give the socket out of which a lead goes to the end, None for an end inside a unit."""
    return next((spot for spot in reversed(chain) if spot.side is Side.OUT), None)


def _implied_end(chain: tuple[Spot, ...], unit: Unit) -> bool:
    """Say whether the end's own first socket implies its receive channel."""
    return bool(chain) and chain[0].side is Side.OUT and not unit.kind.inside_patch


def sorted_ends(ends: Iterable[EndAt]) -> tuple[EndAt, ...]:
    """Give ends in the order of the plan."""
    return tuple(sorted(set(ends)))
