"""What every line rests on: for each of its ends the courses by which it may arrive."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from lineproof.base.names import folded, natural
from lineproof.base.part import ALSO, split_part
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.graph.ducts import DuctWays
from lineproof.graph.signal import By, Way, ways
from lineproof.plan.model import LinePlan, Plan
from lineproof.plan.network import PlannedRun
from lineproof.show.model import End, Line, Show

_MULTICORE = "multicore"


@dataclass(frozen=True, kw_only=True)
class Leg:
    """A step over the network: out of a send channel to a unit that receives."""

    send: Spot
    receiver: str

    @property
    def sender(self) -> str:
        """Give the unit that sends."""
        return self.send.unit


@dataclass(frozen=True, kw_only=True)
class Course:
    """All that one way of a line needs at once: nothing of it may be dead, every leg must join.

    `ducts`: where its leads lie, each taken to go the shortest way. `runs`: its multicores.
    `places`: where a microphone, or whatever stands at its end, is.
    """

    start: str
    units: tuple[str, ...]
    ducts: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    legs: tuple[Leg, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Member:
    """One member of an end. `courses`: any will do, the first is heard while all is well.

    `needs`: of each of these sets one course must arrive as well (an insert's return; one of the
    lines that a mix contains).
    """

    name: str
    courses: tuple[Course, ...]
    needs: tuple[tuple[Course, ...], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """One end of a line, with the members that are planned: any of them will do."""

    end: End
    members: tuple[Member, ...]


@dataclass(frozen=True, kw_only=True)
class Resting:
    """A planned line and its ends; one without a planned end has none."""

    line: Line
    decided: LinePlan
    arrivals: tuple[Arrival, ...]


def resting(show: Show, plan: Plan, before: Iterable[Resting] = ()) -> tuple[Resting, ...]:
    """Give what every line rests on that stands in both show and plan, in the plan's order.

    `before`: the same of a show and plan with the same multicores; what has not changed since is
    taken from there.
    """
    laid = _Laid(show, plan)
    known = [
        (line, decided)
        for decided in plan.lines
        if (line := show.line(decided.key)) is not None
        and all(spot.unit in show.units for spot in decided.spots())
    ]
    there = {resting.line.key: resting for resting in before}
    kept = {
        line.key: was
        for line, decided in known
        if (was := there.get(line.key)) is not None and was.line is line and was.decided is decided
    }
    courses = {
        line.key: _courses_of(kept[line.key]) if line.key in kept else laid.courses(decided)
        for line, decided in known
    }
    needs = _Needs(show, courses)
    return tuple(
        kept[line.key]
        if line.key in kept and not needs.asks(line)
        else Resting(line=line, decided=decided, arrivals=_arrivals(line, courses[line.key], needs))
        for line, decided in known
    )


def _courses_of(resting: Resting) -> dict[str, tuple[Course, ...]]:
    return {member.name: member.courses for a in resting.arrivals for member in a.members}


_Courses = Mapping[str, tuple[Course, ...]]


def _arrivals(line: Line, courses: _Courses, needs: _Needs) -> tuple[Arrival, ...]:
    found = []
    for end in line.ends:
        members = tuple(
            Member(
                name=str(member),
                courses=courses[str(member)],
                needs=needs.of(line, member.name),
            )
            for member in end.members
            if courses.get(str(member))
        )
        if members:
            found.append(Arrival(end=end, members=members))
    return tuple(found)


class _Laid:
    """How leads and multicores of one show lie, each pair of places looked up once."""

    def __init__(self, show: Show, plan: Plan) -> None:
        self.show = show
        self._ways = DuctWays(show)
        runs = (run for run in plan.network.runs if run.medium == _MULTICORE)
        self._multicores = sorted(runs, key=lambda run: natural(run.name))
        self._ducts = lru_cache(maxsize=None)(self._between)

    def _between(self, one: str, other: str) -> tuple[str, ...]:
        places = self.show.places
        if one == other or one not in places or other not in places:
            return ()
        way = self._ways.shortest(one, other)
        return way.ducts if way is not None else ()

    def courses(self, decided: LinePlan) -> dict[str, tuple[Course, ...]]:
        """Give the courses of a line by member of an end, what is heard first first."""
        found: dict[str, list[Course]] = {}
        for way in ways(self.show, decided):
            if way.spots:
                found.setdefault(way.end, []).append(self._course(decided, way))
        return {end: tuple(dict.fromkeys(courses)) for end, courses in found.items()}

    def _course(self, decided: LinePlan, way: Way) -> Course:
        source = next(iter(decided.start)) if way.start.startswith(ALSO) else way.start
        start, end = (part.partition(":")[0] for part in (source, way.end))
        hops = way.hops()
        leads = [
            (self._place(hop.from_spot.unit), self._place(hop.to_spot.unit))
            for hop in hops
            if hop.by is By.LEAD
        ]
        tied = {split_part(part)[0] for part in decided.ties}
        first, last = way.spots[0], way.spots[-1]
        if first.side is Side.IN and way.start not in tied:
            leads.append((self._place(start), self._place(first.unit)))
        if last.side is Side.OUT and way.end not in tied:
            leads.append((self._place(last.unit), self._place(end)))
        runs = [self._run(h.from_spot.unit, h.to_spot.unit) for h in hops if h.by is By.MULTICORE]
        units = (*way.units(), *(name for name in (start, end) if name in self.show.units))
        return Course(
            start=way.start,
            units=tuple(dict.fromkeys(units)),
            ducts=tuple(sorted({duct for a, b in leads for duct in self._ducts(a, b)})),
            runs=tuple(sorted({run for run in runs if run})),
            places=tuple(sorted({name for name in (start, end) if name in self.show.places})),
            legs=tuple(
                Leg(send=hop.from_spot, receiver=hop.to_spot.unit)
                for hop in hops
                if hop.by is By.NETWORK
            ),
        )

    def _place(self, name: str) -> str:
        unit = self.show.units.get(name)
        return unit.place if unit is not None else name

    def _run(self, one: str, other: str) -> str:
        """Give the multicore between two units: their own, else one between their places."""
        places = {self._place(one), self._place(other)}
        own = [r for r in self._multicores if {end.unit for end in r.ends} == {one, other}]
        near = [r for r in self._multicores if self._places(r) == places]
        return next((run.name for run in (*own, *near)), "")

    def _places(self, run: PlannedRun) -> set[str]:
        return {self._place(end.unit) for end in run.ends}


class _Needs:
    """What else must arrive for a line to be heard: returns of inserts, what a mix contains."""

    def __init__(self, show: Show, courses: Mapping[LineKey, _Courses]) -> None:
        self.show = show
        self._at: dict[tuple[LineKey, str], tuple[Course, ...]] = {}
        for key, by_member in courses.items():
            for member, found in by_member.items():
                unit = member.partition(":")[0]
                self._at[key, unit] = (*self._at.get((key, unit), ()), *found)
        self._returns: dict[LineKey, list[LineKey]] = {}
        for line in show.lines:
            other = returns_to(show, line)
            if other is not None:
                self._returns.setdefault(other, []).append(line.key)

    def asks(self, line: Line) -> bool:
        """Say whether anything else must arrive for the line to be heard."""
        return bool(line.contains) or line.key in self._returns

    def of(self, line: Line, unit: str) -> tuple[tuple[Course, ...], ...]:
        """Give the sets of courses of which one each must arrive for the line to be heard there."""
        back = (self._at.get((key, unit), ()) for key in self._returns.get(line.key, ()))
        mixed = dict.fromkeys(course for found in self._contained(line) for course in found)
        return (*(found for found in back if found), *((tuple(mixed),) if mixed else ()))

    def _contained(self, line: Line) -> Iterator[tuple[Course, ...]]:
        """Give, for a mix that says what it contains, how each of that comes to where it is made.

        With a line in it that is made there itself, the mix fails only with the unit.
        """
        mixer = line.starts[0].name if line.starts else ""
        if not line.contains or mixer not in self.show.units:
            return
        parts = self._named(line)
        if not any(start.name == mixer for part in parts for start in part.starts):
            yield from (self._at.get((part.key, mixer), ()) for part in parts)

    def _named(self, mix: Line) -> list[Line]:
        named = {folded(name) for name in mix.contains}
        found = []
        for line in self.show.lines:
            same_act = line.key.act in ("", mix.key.act) or not mix.key.act
            words = {folded(line.key.number), folded(str(line.key)), folded(line.group)}
            if line.key != mix.key and same_act and named & (words - {""}):
                found.append(line)
        return found


def returns_to(show: Show, line: Line) -> LineKey | None:
    """Give the line on which an insert is whose return this is, None where it is none."""
    if not line.back_to:
        return None
    try:
        key = LineKey.parse(line.back_to)
    except SpotError:
        return None  # told where the list is read
    in_act = show.line(LineKey(act=key.act or line.key.act, number=key.number))
    found = in_act or show.line(key)
    return found.key if found is not None and found.key != line.key else None
