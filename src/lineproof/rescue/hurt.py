"""What a fault has taken, and every way by which it might come back: nothing is chosen here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from lineproof.base.spot import Side, Spot
from lineproof.drill.bearing import Arrival, Course, Resting
from lineproof.graph.signal import heard_starts, straight_lead
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan
from lineproof.rescue.chance import Chance, StandIn
from lineproof.rescue.leads import Lead, Leads, last_out, main_start
from lineproof.rescue.manners import may_stand_in
from lineproof.show.model import Line, Unit

#: A line and one of its ends, by place in the plan and among the line's planned ends.
EndAt = tuple[int, int]


#: How a line may start, and the unit that sends then; how it may end, what receives then, and the
#: unit of which it takes a strip ("" for none).
Begin = tuple[int | StandIn | None, str]
Finish = tuple[int | StandIn | None, str, str]


@dataclass(frozen=True, kw_only=True)
class Hurt(Leads):
    """What faults have taken: the lost ends, with every way by which they might come back."""

    lost: tuple[EndAt, ...]
    _chances: dict[EndAt, tuple[Chance, ...]] = field(default_factory=dict, compare=False)

    @cached_property
    def _gone(self) -> frozenset[EndAt]:
        return frozenset(self.lost)

    # -- one line ------------------------------------------------------------------------------

    def arrival(self, end: EndAt) -> Arrival:
        """Give an end."""
        return self.lines[end[0]].arrivals[end[1]]

    def target(self, end: EndAt) -> str:
        """Give the member that an end must be heard at: the first that works, else the first."""
        members = [member.name for member in self.arrival(end).members]
        works = (name for name in members if self.can_hear(name.partition(":")[0]))
        return next(works, members[0])

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
                if other != first and self.can_hear(other.partition(":")[0]):
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
        others = () if self.works(name) else self.hand.stand_ins(name)
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
            return self.unit(receiver).kind.inside_patch
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
                if self.alive(name) and self.hand.show.count(self.unit(name), Side.SEND):
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
        return may_stand_in(self.hand.show, self.unit(name), line)

    def _start_stands(self, resting: Resting, main: str) -> bool:
        chain = resting.decided.start[main]
        name = main.partition(":")[0]
        if not self.works(name) or not all(self.alive(spot.unit) for spot in chain):
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
        if lead is not None and self.can_hear(name):
            for n, perch in enumerate(lead.perches):
                yield n, perch.alike.host, ""
        if lead is not None and not self.works(name):
            yield from self._swaps(resting, part, lead)
        if lead is None and not self.works(name):
            strip = any(spot.side is Side.STRIP for spot in chain)
            heard = {member.name for a in resting.arrivals for member in a.members}
            for other in self.hand.stand_ins(name):
                hears = self.hand.show.count(self.unit(other), Side.RECEIVE)
                taken = other in heard or not self._may_take(other, resting.line)
                taken = taken or not self._same_outputs(name, other, chain)
                if not taken and self.alive(other) and hears:
                    stripped = other if strip and self.unit(other).kind.strips else ""
                    yield StandIn(unit=other, dead=name), other, stripped

    def _same_outputs(self, dead: str, other: str, chain: tuple[Spot, ...]) -> bool:
        """Say whether what hangs on a dead amplifier may hang on the same outputs of another."""
        if self.unit(dead).kind.does is not Does.AMPLIFIER:
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
        if not self.works(name) or not all(self.alive(spot.unit) for spot in chain):
            return False
        last = last_out(chain)
        return last is None or self.lead_lies(self.hand.place(last.unit), self.hand.place(name))

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
                    if (plug := self.plug(self.lines[at].line, each, lead.spot.side)) is not None
                ]
                doors = self.hand.doors(lead.spot.side)
                return any(self.perches(doors, lead.spot, plugs, {lead.place}))
        return False


def is_plain(decided: LinePlan, main: str, part: str) -> bool:
    """Say whether an end hears the main start, and not over one straight lead."""
    chain = decided.ends.get(part, ())
    heard = heard_starts(decided, part) if part in decided.ends else []
    return heard[:1] == [main] and not straight_lead(decided.start[main], chain)


def _implied_end(chain: tuple[Spot, ...], unit: Unit) -> bool:
    """Say whether the end's own first socket implies its receive channel."""
    return bool(chain) and chain[0].side is Side.OUT and not unit.kind.inside_patch


def sorted_ends(ends: Iterable[EndAt]) -> tuple[EndAt, ...]:
    """Give ends in the order of the plan."""
    return tuple(sorted(set(ends)))
