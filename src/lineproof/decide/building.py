"""From the rows of a show to what is to be decided about each line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.names import folded
from lineproof.base.part import FROM
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.decide.before import before_of, earlier_strand, through_of
from lineproof.decide.options import Options
from lineproof.decide.problem import Arrival, Change, Job, NoWay, Plug, Problem
from lineproof.graph.acts import running
from lineproof.kit.kinds import Does, Signal
from lineproof.plan.freed import kept_for_others
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.build_ends import starts_inside
from lineproof.show.model import End, Line, Pin, Show, Target, Unit
from lineproof.show.sockets_of import multicores
from lineproof.show.standbys import by_hand, changeover_unit


def build_problem(show: Show, earlier: Plan, *, renew: frozenset[LineKey] = frozenset()) -> Problem:
    """Give the problem of planning `show` after `earlier`, every line with plugs of its own.

    `renew` names lines planned afresh.
    """
    pins: dict[LineKey, list[Pin]] = {}
    for pin in show.pins:
        pins.setdefault(pin.line, []).append(pin)
    builder = _Builder(show, earlier, {k: tuple(v) for k, v in pins.items()}, renew)
    singly = tuple(job for line in show.lines for job in builder.jobs(line))
    return Problem(
        show=show,
        running=running(show),
        jobs=singly,
        singly=singly,
        no_ways=tuple(builder.options.no_ways),
        pins=builder.options.pins,
        earlier=earlier,
        held=builder.held(),
        freed={f.spot: f for f in kept_for_others(earlier, show) if f.line not in renew},
        freed_in_act={
            f.spot: f
            for f in kept_for_others(earlier, show, in_act=True)
            if f.line not in renew and f.line.act
        },
        cores=builder.cores,
    )


def members_once(line: Line) -> list[tuple[End, Target]]:
    """Give every member of the line's ends once: one that is a must somewhere is a must."""
    once: dict[str, tuple[End, Target]] = {}
    for end, member in sorted(line.end_members(), key=lambda found: found[0].want):
        once.setdefault(str(member), (end, member))
    return [once[part] for part in dict.fromkeys(str(m) for _, m in line.end_members())]


class _Builder:
    def __init__(
        self,
        show: Show,
        earlier: Plan,
        pins: Mapping[LineKey, tuple[Pin, ...]],
        renew: frozenset[LineKey],
    ) -> None:
        self.show = show
        self.earlier = earlier
        self.renew = renew
        self.cores = multicores(show)
        self.options = Options(show, self.cores, pins)
        self.seconds = self._seconds()

    def held(self) -> dict[Spot, str]:
        """Give the spots that rows keep which can't be read now: a typo must not free them.

        What such a row shares with a line of another act stays that line's as well.
        """
        unread = {key.same() for key in self.show.unread}
        found: dict[Spot, str] = {}
        shared: set[Spot] = set()
        for line in self.earlier.lines:
            if line.key.same() in unread:
                found.update({spot: str(line.key) for spot in line.spots()})
            elif self.show.line(line.key) is not None:
                shared.update(line.spots())
        return {spot: key for spot, key in found.items() if spot not in shared}

    def _seconds(self) -> dict[LineKey, tuple[LineKey, str]]:
        """Give, by line that stands in for another over a change-over unit, which and where."""
        found: dict[LineKey, tuple[LineKey, str]] = {}
        for line in self.show.lines:
            unit = changeover_unit(line, self.show.units)
            other = self._line_named(line.standby, line) if unit else None
            if other is not None and other.key != line.key:
                found[other.key] = (line.key, unit)
        return found

    def _line_named(self, text: str, line: Line) -> Line | None:
        """Give the line that a row names, of its own act where none is said."""
        if not text:
            return None
        try:
            key = LineKey.parse(text)
        except SpotError:
            return None
        return self.show.line(replace(key, act=key.act or line.key.act)) or self.show.line(key)

    # -- one line ----------------------------------------------------------------------------

    def jobs(self, line: Line) -> list[Job]:
        """Give the jobs of a line: what its ends hear, then what stands in."""
        earlier = None if line.key in self.renew else before_of(self.earlier, line)
        unit = changeover_unit(line, self.show.units)
        changed = unit and (len(line.starts) > 1 or self._line_named(line.standby, line))
        jobs = self._changed(line, unit, earlier) if changed else self._plain(line, earlier)
        if line.key in self.seconds:
            of, where = self.seconds[line.key]
            start = line.starts[0]
            jobs.append(self._feed(line, start, Change(unit=where, second=True, of=of), earlier))
        return jobs

    def _plain(self, line: Line, earlier: LinePlan | None) -> list[Job]:
        jobs = [self._job(line, line.starts[0], "", earlier_strand(earlier, ""))]
        for start in line.starts[1:]:
            strand = f"from {start}"
            job = self._job(line, start, strand, earlier_strand(earlier, str(start)))
            # Sockets can't be fed twice; and strips are turned over to the standby, not doubled.
            heard = () if by_hand(line, self.show.units) else job.arrivals
            arrivals = tuple(
                replace(a, part=f"{a.part}{FROM}{start}", strip=False, may_go=True) for a in heard
            )
            plug = replace(job.plug, may_go=True) if job.plug else None
            jobs.append(replace(job, plug=plug, outs=(), arrivals=arrivals, reserve=True))
        return jobs

    def _changed(self, line: Line, unit: str, earlier: LinePlan | None) -> list[Job]:
        """Give the jobs of a line that is heard through a change-over unit."""
        main = self._job(line, Target(name=unit), "", through_of(earlier, unit))
        change = Change(unit=unit, second=False, of=line.key)
        starts = line.starts[:2]
        if len(line.starts) > 2:
            why = "a change-over unit has two inputs for each output"
            self._no_way(line, str(line.starts[2]), why)
        feeds = [
            self._feed(line, start, replace(change, second=at > 0), earlier)
            for at, start in enumerate(starts)
        ]
        return [replace(main, change=change), *feeds]

    def _feed(self, line: Line, start: Target, change: Change, earlier: LinePlan | None) -> Job:
        """Give the job that brings one start of a line to a change-over unit."""
        strand = f"feed {start}"
        before = earlier_strand(earlier, str(start), to=change.unit)
        target = Target(name=change.unit)
        end = End(members=(target,))
        job = self._job(line, start, strand, before, ends=[(end, target)])
        part = f"{change.unit}{FROM}{start}"
        job = replace(
            job,
            outs=tuple(replace(plug, part=part) for plug in job.outs),
            arrivals=tuple(replace(a, part=part) for a in job.arrivals),
        )
        changer = self.show.units[change.unit]
        if job.own_out and not self.show.count(changer, Side.RECEIVE):
            # Two units with sockets only, side by side: one lead from one to the other.
            return replace(job, plug=None, outs=(), arrivals=(), change=change, direct=True)
        return replace(job, change=change, reserve=True)

    def _job(
        self,
        line: Line,
        start: Target,
        strand: str,
        earlier: LinePlan | None,
        *,
        ends: list[tuple[End, Target]] | None = None,
    ) -> Job:
        arrivals: list[Arrival] = []
        outs: list[Plug] = []
        unit = self.show.units.get(start.name)
        straight = self._straight(line, unit, ends)
        for end, member in members_once(line) if ends is None else ends:
            if (str(member), member.name) in straight:
                continue
            found = self._end(line, end, member, earlier)
            if isinstance(found, Arrival):
                arrivals.append(found)
            elif found is not None:
                outs.append(found)
        own_out, inside = "", ""
        if unit is not None and starts_inside(unit.kind):
            by_cable = line.via == "cable" and unit.kind.sockets_on(Side.OUT)
            if self._sends(unit) and not by_cable:
                inside = unit.name
            else:
                own_out = unit.name
            if not self._is_there(unit, line):
                self._no_way(line, str(start), f"{unit.name} is only there in {_acts(unit)}")
        plug = None
        if not inside and (arrivals or outs or not straight):
            plug = self._start_plug(line, start, own_out, arrivals, earlier)
        place = plug.place if plug else ""
        return Job(
            line=line,
            start_part=str(start),
            strand=strand,
            inside=inside,
            own_out=own_out,
            plug=plug,
            splits=self._splits(line, place) if plug and not strand else (),
            outs=tuple(outs),
            arrivals=tuple(arrivals),
            straight=straight,
            earlier=earlier,
            back_to=self._back_to(line),
        )

    def _straight(
        self, line: Line, unit: Unit | None, ends: list[tuple[End, Target]] | None
    ) -> tuple[tuple[str, str], ...]:
        """Give the end that one lead reaches by cable: from the unit's output to its input.

        A mixer is no such end: its sockets are chosen with all others. Several ends would hang on
        one output.
        """
        by_cable = line.via == "cable" and ends is None and unit is not None
        if not by_cable or unit is None or not starts_inside(unit.kind):
            return ()
        if not unit.kind.sockets_on(Side.OUT) or unit.kind.strips:
            return ()
        members = members_once(line)
        there = self.show.units.get(members[0][1].name) if len(members) == 1 else None
        if there is None or not there.kind.sockets_on(Side.IN):
            return ()
        if there.kind.strips or _plugged(there):
            return ()
        return ((str(members[0][1]), there.name),)

    def _sends(self, unit: Unit) -> bool:
        return self.show.count(unit, Side.SEND) > 0

    def _is_there(self, unit: Unit, line: Line) -> bool:
        return not unit.here or not line.key.act or line.key.act in unit.here

    def _no_way(self, line: Line, part: str, why: str) -> None:
        self.options.no_ways.append(NoWay(line=line.key, part=part, why=why))

    def _back_to(self, line: Line) -> LineKey | None:
        other = self._line_named(line.back_to, line)
        return other.key if other is not None and other.key != line.key else None

    def _splits(self, line: Line, place: str) -> tuple[Plug, ...]:
        found = []
        for word in line.also:
            unit = next(
                (u for n, u in self.show.units.items() if folded(n) == folded(word.split(":")[0])),
                None,
            )
            try:
                spot = Spot.parse(word, sole=Side.IN)
            except SpotError:
                continue  # told where the list is read
            if unit is not None and spot.number <= len(unit.kind.sockets_on(Side.IN)):
                real = self.cores.real(replace(spot, unit=unit.name))
                found.append(self.options.split(line.key, real, place))
        return tuple(found)

    # -- its start and its ends --------------------------------------------------------------

    def _start_plug(
        self,
        line: Line,
        start: Target,
        own_out: str,
        arrivals: list[Arrival],
        earlier: LinePlan | None,
    ) -> Plug:
        unit = self.show.units.get(start.name)
        place = unit.place if unit is not None else start.name
        plug = Plug(
            line=line.key,
            part=str(start),
            side=Side.IN,
            place=place,
            beyond=own_out,
            signal=self._start_signal(line, own_out),
            phantom=line.needs_phantom,
            level_dbu=line.source.level_dbu if line.source else None,
            may_go=line.need.can_go or all(e.want for e in line.ends),
        )
        only = [a.unit for a in arrivals if a.by_cable]
        if unit is not None and not starts_inside(unit.kind):
            only = [unit.name]
        return self.options.whole(plug, only, start, earlier.start if earlier else {})

    def _start_signal(self, line: Line, own_out: str) -> Signal:
        if own_out:
            outs = self.show.units[own_out].kind.sockets_on(Side.OUT)
            return outs[0].signal if outs else Signal.LINE
        # Where nobody says what it is, a microphone fits what takes both.
        return line.source.signal if line.source else Signal.MIC

    def _end(
        self, line: Line, end: End, member: Target, earlier: LinePlan | None
    ) -> Arrival | Plug | None:
        may_go = end.want or line.need.can_go
        part = str(member)
        before = earlier.ends if earlier else {}
        unit = self.show.units.get(member.name)
        if unit is None:
            plug = Plug(line=line.key, part=part, side=Side.OUT, place=member.name, may_go=may_go)
            return self.options.whole(plug, [], member, before)
        if not self._is_there(unit, line):
            self._no_way(line, part, f"{unit.name} is only there in {_acts(unit)}")
        hears = self.show.count(unit, Side.RECEIVE) > 0
        cable = line.via == "cable"
        if unit.kind.does in (Does.BOX, Does.DROP_BOX):
            plug = Plug(line=line.key, part=part, side=Side.OUT, place=unit.place, may_go=may_go)
            return self.options.whole(plug, [unit.name], member, before)
        if hears and (not cable or unit.kind.strips):
            return Arrival(
                line=line.key,
                part=part,
                unit=unit.name,
                # The return of an insert comes back into the strip of its line.
                strip=unit.kind.strips > 0 and not line.back_to,
                by_cable=cable,
                may_go=may_go,
            )
        ins = unit.kind.sockets_on(Side.IN)
        if not ins:
            why = f"{unit.name} ({unit.kind.label}) has neither a channel nor a socket to hear it"
            self._no_way(line, part, why)
            return None
        plug = Plug(
            line=line.key,
            part=part,
            side=Side.OUT,
            place=unit.place,
            beyond=unit.name,
            signal=Signal.LINE if ins[0].signal is Signal.MIC else ins[0].signal,
            may_go=may_go,
        )
        return self.options.whole(plug, [], member, before)


def _plugged(unit: Unit) -> bool:
    """Say whether people plug into the unit from outside: it is no end of the signal itself."""
    return unit.kind.does in (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT)


def _acts(unit: Unit) -> str:
    return ", ".join(unit.here)
