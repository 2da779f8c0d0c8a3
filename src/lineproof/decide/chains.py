"""From sockets and numbers to the decisions of a line: its spots in the order of the signal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.part import FROM
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.channels import NoNumber, Numbers, Request, give_numbers
from lineproof.decide.problem import Arrival, Job, Plug, PlugId, Problem, plug_id
from lineproof.plan.model import LinePlan

#: What is left out: a line and its end.
LeftOut = frozenset[tuple[LineKey, str]]


@dataclass(frozen=True, kw_only=True)
class Numbered:
    """Where every lead is plugged, and every number that was given.

    `given` goes by unit, side, job and part of the line.
    """

    problem: Problem
    spots: Mapping[PlugId, Spot]
    given: Mapping[tuple[str, Side, tuple[LineKey, str], str], int]

    def number(self, unit: str, side: Side, job: Job, part: str) -> tuple[Spot, ...]:
        """Give the spot with the number given there, nothing where none was wanted."""
        number = self.given.get((unit, side, job.ident, part))
        return (Spot(unit=unit, side=side, number=number),) if number is not None else ()

    def plugged(self, plug: Plug | None) -> tuple[Spot, ...]:
        """Give where a lead is plugged: one socket, or a drop box's and the one behind it."""
        spot = self.spots.get(plug_id(plug)) if plug is not None else None
        if spot is None:
            return ()
        real = self.problem.cores.real(spot)
        chain = (spot,) if real == spot else (spot, real)
        return chain if spot.side is Side.IN else chain[::-1]

    @cached_property
    def mains(self) -> Mapping[LineKey, Job]:
        """Give, by line, the job whose start is heard while all is well."""
        return {job.line.key: job for job in self.problem.jobs if not job.strand}

    @cached_property
    def over(self) -> Mapping[PlugId, Spot]:
        """Give the line of the tie that each lead goes over, by plug; kept ones first."""
        asked: dict[str, list[Plug]] = {}
        plugs = {plug_id(p): p for job in self.problem.jobs for p in job.plugs}
        for ident, plug in plugs.items():
            spot = self.spots.get(ident)
            if spot is not None and spot.unit in plug.ties:
                asked.setdefault(plug.ties[spot.unit].tie, []).append(plug)
        found: dict[PlugId, Spot] = {}
        for tie, there in asked.items():
            found.update(self._lines_of(tie, there))
        return found

    def _lines_of(self, tie: str, plugs: list[Plug]) -> dict[PlugId, Spot]:
        """Give a line of the tie to each; the last, with the shortest way round, go without."""
        count = self.problem.show.ties[tie].count
        before = {
            plug_id(plug): held.number
            for plug in plugs
            if (held := self._held_tie(plug)) is not None and held.unit == tie
        }
        # Whoever needs a line of the tie in every act is given one before who needs it in some.
        plugs = sorted(plugs, key=lambda plug: "" not in plug.acts)
        while True:
            asked = [
                Request(ident=repr(plug_id(p)), kept=before.get(plug_id(p)), acts=p.acts)
                for p in plugs
            ]
            crowd = self._crowd(plugs, count)
            try:
                clash = self.problem.running.clash
                numbers = give_numbers(asked, Numbers(count=count, clash=clash))
            except NoNumber:
                # What is kept may stand in the way of who needs one all night.
                crowd = crowd or min(plugs, key=self._gain)
            if crowd is None:
                break
            plugs = [p for p in plugs if p is not crowd]
        return {
            plug_id(p): Spot(unit=tie, side=Side.IN, number=numbers[repr(plug_id(p))])
            for p in plugs
        }

    def _crowd(self, plugs: list[Plug], count: int) -> Plug | None:
        """Give the plug that goes without the tie where too many want it at once, else None."""
        for clique in self.problem.running.cliques:
            there = [p for p in plugs if not clique or "" in p.acts or p.acts & clique]
            if len(there) > count:
                return min(there, key=self._gain)
        return None

    def _gain(self, plug: Plug) -> tuple[int, object]:
        unit = self.spots[plug_id(plug)].unit
        without = plug.ties[unit].without_mm
        gain = 10**9 if without is None else without - plug.options[unit]
        # Of those that gain alike the last of the list goes without.
        number = plug.line.sort_key()
        return (gain, _Last(number))

    def _held_tie(self, plug: Plug) -> Spot | None:
        earlier = self.problem.earlier.line(plug.line)
        return earlier.ties.get(plug.part) if earlier is not None else None


@dataclass(frozen=True)
class _Last:
    """Turns an order round: the last comes first."""

    key: tuple[object, object]

    def __lt__(self, other: _Last) -> bool:
        return other.key < self.key


def line_plans(numbered: Numbered, left_out: LeftOut) -> tuple[LinePlan, ...]:
    """Give the decisions of every line, in list order."""
    jobs: dict[LineKey, list[Job]] = {}
    for job in numbered.problem.jobs:
        jobs.setdefault(job.line.key, []).append(job)
    return tuple(_Chains(numbered, left_out, of_line).plan() for of_line in jobs.values())


class _Chains:
    """The chains of spots of one line."""

    def __init__(self, numbered: Numbered, left_out: LeftOut, jobs: list[Job]) -> None:
        self.numbered = numbered
        self.left_out = left_out
        self.jobs = jobs
        self.main = next(job for job in jobs if not job.strand)
        self.line = self.main.line

    def plan(self) -> LinePlan:
        """Give the decisions of the line."""
        ends = self._ends()
        parts = [str(member) for _, member in self.line.end_members()]
        also = [f"{part}{FROM}{start}" for start in self.line.starts[1:] for part in parts]
        changers = [job.change.unit for job in self.jobs if job.change is not None]
        out = sorted(p for key, p in self.left_out if key == self.line.key and p in {*parts, *also})
        # What goes nowhere is not plugged, though a line of another act holds the socket.
        idle = bool(parts) and set(parts) <= set(out)
        return LinePlan(
            key=self.line.key,
            name=self.line.name,
            starts_at="|".join(str(s) for s in self.line.starts),
            start={} if idle else self._starts(),
            ends={part: ends[part] for part in (*parts, *also, *changers) if part in ends},
            left_out=tuple(out),
            ties={} if idle else self._ties(),
        )

    # -- starts ------------------------------------------------------------------------------

    def _starts(self) -> dict[str, tuple[Spot, ...]]:
        main = self._start_spots(self.main)
        if main is None:
            return {}
        found: dict[str, tuple[Spot, ...]] = {}
        if self.main.change is None:
            found[self.main.start_part] = main
        for job in self.jobs:
            spots = self._start_spots(job) if job.strand else None
            if spots is None:
                continue
            if job.change is not None and job.change.of == self.line.key:
                found[job.start_part] = (*spots, *self._to_change(job), *main)
            elif job.change is None:
                found[job.start_part] = spots
        for split in self.main.splits:
            found[split.part] = self.numbered.plugged(split)
        return found

    def _start_spots(self, job: Job) -> tuple[Spot, ...] | None:
        if job.inside:
            return self.numbered.number(job.inside, Side.SEND, job, job.start_part)
        if job.direct or (job.straight and job.plug is None):
            return self.numbered.number(job.own_out, Side.OUT, job, job.start_part)
        spots = self.numbered.plugged(job.plug)
        if not spots:
            return None
        own = job.own_out and self.numbered.number(job.own_out, Side.OUT, job, job.start_part)
        sent = self.numbered.number(spots[-1].unit, Side.SEND, job, job.start_part)
        return (*(own or ()), *spots, *sent)

    def _to_change(self, job: Job) -> tuple[Spot, ...]:
        """Give the spots on the way to a change-over unit, its input the last."""
        assert job.change is not None
        if job.direct:
            return self.numbered.number(job.change.unit, Side.IN, job, job.change.unit)
        for a in job.arrivals:
            return self.numbered.number(a.unit, Side.RECEIVE, job, a.part)
        return tuple(s for plug in job.outs for s in self._out_spots(job, plug))

    # -- ends --------------------------------------------------------------------------------

    def _ends(self) -> dict[str, tuple[Spot, ...]]:
        ends: dict[str, tuple[Spot, ...]] = {}
        if self._start_spots(self.main) is None:
            return ends
        for a in self._there(self.main):
            ends[a.part] = self._arrival_spots(self.main, a)
        for part, unit in self.main.straight:
            ends[part] = self.numbered.number(unit, Side.IN, self.main, part)
        for plug in self.main.outs:
            if self.numbered.plugged(plug):
                ends[plug.part] = self._out_spots(self.main, plug)
        ends.update(self._stand_ins())
        return ends

    def _stand_ins(self) -> dict[str, tuple[Spot, ...]]:
        """Give where standbys arrive, and what is fed to another line's change-over unit."""
        ends: dict[str, tuple[Spot, ...]] = {}
        for job in self.jobs:
            if job.change is not None and job.strand:
                if job.change.of != self.line.key:
                    ends[job.change.unit] = self._to_change(job)
            elif job.strand and self._start_spots(job) is not None:
                for a in self._there(job):
                    ends[a.part] = self._arrival_spots(job, a)
        return ends

    def _there(self, job: Job) -> list[Arrival]:
        return [a for a in job.arrivals if (a.line, a.part) not in self.left_out]

    def _arrival_spots(self, job: Job, a: Arrival) -> tuple[Spot, ...]:
        strip = self._strip(job, a)
        for split in job.splits:
            spots = self.numbered.plugged(split)
            if spots and spots[-1].unit == a.unit:
                # Its own socket brings the microphone here.
                return (*spots, *strip)
        return (*self.numbered.number(a.unit, Side.RECEIVE, job, a.part), *strip)

    def _strip(self, job: Job, a: Arrival) -> tuple[Spot, ...]:
        """Give its strip; a standby and the return of an insert have that of another."""
        if job.strand:
            return self._strip_of(self.main, a.unit)
        if job.back_to is not None:
            other = self.numbered.mains.get(job.back_to)
            return self._strip_of(other, a.unit) if other is not None else ()
        return self.numbered.number(a.unit, Side.STRIP, job, a.part)

    def _strip_of(self, job: Job, unit: str) -> tuple[Spot, ...]:
        found = (self.numbered.number(unit, Side.STRIP, job, a.part) for a in job.arrivals)
        return next((spots for spots in found if spots), ())

    def _out_spots(self, job: Job, plug: Plug) -> tuple[Spot, ...]:
        spots = self.numbered.plugged(plug)
        if not spots:
            return ()
        unit = spots[0].unit
        kind = self.numbered.problem.show.units[unit].kind
        receive: tuple[Spot, ...] = ()
        if unit != self._start_unit(job) and kind.inside_patch:
            receive = self._received(job, unit)
        own = plug.beyond and self.numbered.number(plug.beyond, Side.IN, job, plug.part)
        return (*receive, *spots, *(own or ()))

    def _start_unit(self, job: Job) -> str:
        spots = self.numbered.plugged(job.plug)
        return job.inside or (spots[-1].unit if spots else "")

    def _received(self, job: Job, unit: str) -> tuple[Spot, ...]:
        """Give the channel on which the unit hears the line, by whichever end asked for it."""
        parts = (*(a.part for a in job.arrivals), *(p.part for p in job.outs))
        found = (self.numbered.number(unit, Side.RECEIVE, job, part) for part in parts)
        return next((spots for spots in found if spots), ())

    def _ties(self) -> dict[str, Spot]:
        over = self.numbered.over
        plugs = [plug for job in self.jobs for plug in job.plugs]
        return {p.part: over[plug_id(p)] for p in plugs if plug_id(p) in over}
