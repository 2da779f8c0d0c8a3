"""What is to be decided, in integers and in sorted order: plugs, sockets, arrivals."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from lineproof.base.names import natural
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.acts import Running, running
from lineproof.kit.kinds import Does, Signal, Socket
from lineproof.plan.freed import kept_for_others, returned
from lineproof.plan.model import Freed, LinePlan, Plan
from lineproof.reckon.leads import Leads
from lineproof.show.build_ends import starts_inside
from lineproof.show.model import End, Line, Show, Target, Unit

#: What takes signals from outside onto the network, and brings them out again.
_TAKES_IN = (Does.BOX, Does.MIXER, Does.PROCESSOR)
_BRINGS_OUT = (Does.BOX, Does.MIXER, Does.PROCESSOR, Does.AMPLIFIER)


@dataclass(frozen=True, kw_only=True)
class Plug:
    """One lead that must be plugged into some unit's socket: at a line's start, or at an end.

    `options`: metres of lead in mm by unit, for every unit with a fitting socket. `beyond` is the
    socket-only unit at the lead's other end, "" for a place. `signal`: what the socket must
    carry; `phantom`: whether it must give 48 V. `acts`: the acts it is needed in, "" for
    every act; `lines`: the lines that share it, one an act, `line` the first of them.
    """

    line: LineKey
    part: str
    side: Side
    place: str
    beyond: str = ""
    signal: Signal = Signal.LINE
    phantom: bool = False
    level_dbu: float | None = None
    options: Mapping[str, int] = field(default_factory=dict)
    pinned: Spot | None = None
    kept: Spot | None = None
    may_go: bool = False
    acts: frozenset[str] = frozenset({""})
    lines: tuple[LineKey, ...] = ()

    @property
    def fixed(self) -> Spot | None:
        """Give the socket it is pinned to, or hangs in."""
        return self.pinned or self.kept

    def fits(self, socket: Socket) -> bool:
        """Say whether the plug may go into such a socket."""
        if socket.side is not self.side or (self.phantom and not socket.phantom):
            return False
        most = math.inf if socket.most_dbu is None else socket.most_dbu
        if self.level_dbu is not None and self.level_dbu > most:
            return False
        if self.side is Side.IN and self.signal is Signal.LINE:
            return socket.signal in (Signal.LINE, Signal.MIC)
        return socket.signal is self.signal


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """One (end, member) of a line at a unit that hears the network; `strip`: it has strips.

    `may_go`: a want. `by_cable`: it must come over the unit's own sockets.
    """

    line: LineKey
    part: str
    unit: str
    strip: bool = False
    by_cable: bool = False
    may_go: bool = False


@dataclass(frozen=True, kw_only=True)
class Job:
    """One line's share of the problem.

    `inside`: the networked unit in which the signal starts, "" when it is plugged in. `own_out`:
    the socket-only unit it starts from. `outs`: plugs at its ends.
    """

    line: Line
    start_part: str
    inside: str = ""
    own_out: str = ""
    plug: Plug | None = None
    outs: tuple[Plug, ...] = ()
    arrivals: tuple[Arrival, ...] = ()
    earlier: LinePlan | None = None

    @property
    def plugs(self) -> tuple[Plug, ...]:
        """Give its leads, the one at its start first."""
        return (*((self.plug,) if self.plug else ()), *self.outs)

    @cached_property
    def written(self) -> Mapping[tuple[str, Side], int]:
        """Give the numbers that its ends and starts name as written, by part and side."""
        found: dict[tuple[str, Side], int] = {}
        for target in (*(member for _, member in self.line.end_members()), *self.line.starts):
            if target.side is not None and target.numbers:
                found.setdefault((str(target), target.side), target.numbers[0])
        return found

    @cached_property
    def heard_before(self) -> Mapping[str, int]:
        """Give the receive channel it had on each unit."""
        ends = self.earlier.ends.values() if self.earlier else ()
        spots = [spot for end in ends for spot in end if spot.side is Side.RECEIVE]
        return {spot.unit: spot.number for spot in reversed(spots)}

    @property
    def same_inside(self) -> object:
        """Give what lines that start inside one unit share, if anything: nothing as yet."""
        return self.line.key

    def may_go(self, part: str) -> bool:
        """Say whether that end of the line is a want."""
        return self.line.need.can_go or self.wanted[part]

    @cached_property
    def wanted(self) -> Mapping[str, bool]:
        """Say for each end whether it is a want wherever it is written."""
        found: dict[str, bool] = {}
        for end, member in self.line.end_members():
            found[str(member)] = end.want and found.get(str(member), True)
        return found

    @property
    def parts(self) -> tuple[Arrival | Plug, ...]:
        """Give what the line has at its ends."""
        return (*self.arrivals, *self.outs)


@dataclass(frozen=True, kw_only=True)
class NoWay:
    """An end or start that nothing in the show can serve, and why."""

    line: LineKey
    part: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything the planner looks at."""

    show: Show
    running: Running
    jobs: tuple[Job, ...]
    no_ways: tuple[NoWay, ...]
    pins: Mapping[LineKey, tuple[Spot, ...]]
    earlier: Plan
    held: Mapping[Spot, str]
    freed: Mapping[Spot, Freed]
    apart: frozenset[LineKey] = frozenset()
    singly: tuple[Job, ...] = ()


def build_problem(show: Show, earlier: Plan, *, renew: frozenset[LineKey] = frozenset()) -> Problem:
    """Give the problem of planning `show` after `earlier`, every line with plugs of its own.

    `renew` names lines planned afresh.
    """
    pins: dict[LineKey, list[Spot]] = {}
    for pin in show.pins:
        pins.setdefault(pin.line, []).append(pin.spot)
    builder = _Builder(show, earlier, {k: tuple(v) for k, v in pins.items()}, renew)
    singly = tuple(builder.job(line) for line in show.lines)
    return Problem(
        show=show,
        running=running(show),
        jobs=singly,
        singly=singly,
        no_ways=tuple(builder.no_ways),
        pins=builder.pins,
        earlier=earlier,
        held=builder.held(),
        freed={f.spot: f for f in kept_for_others(earlier, show) if f.line not in renew},
    )


def members_once(line: Line) -> list[tuple[End, Target]]:
    """Give every member of the line's ends once: one that is a must somewhere is a must."""
    once: dict[str, tuple[End, Target]] = {}
    for end, member in sorted(line.end_members(), key=lambda found: found[0].want):
        once.setdefault(str(member), (end, member))
    return [once[part] for part in dict.fromkeys(str(m) for _, m in line.end_members())]


def _whole(
    held: Mapping[str, tuple[Spot, ...]], back: Mapping[str, tuple[Spot, ...]]
) -> dict[str, tuple[Spot, ...]]:
    """Give what is held, with what comes back on the sides of a part where nothing is held."""
    whole = dict(held)
    for part, spots in back.items():
        sides = {s.side for s in held.get(part, ())}
        whole[part] = (*held.get(part, ()), *(s for s in spots if s.side not in sides))
    return whole


class _Builder:
    def __init__(
        self,
        show: Show,
        earlier: Plan,
        pins: Mapping[LineKey, tuple[Spot, ...]],
        renew: frozenset[LineKey],
    ) -> None:
        self.show = show
        self.earlier = earlier
        self.pins = pins
        self.renew = renew
        self.leads = Leads(show)
        self.no_ways: list[NoWay] = []

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

    # -- one line ----------------------------------------------------------------------------

    def job(self, line: Line) -> Job:
        earlier = None if line.key in self.renew else self.before(line)
        start = line.starts[0]
        arrivals, outs = [], []
        for end, member in members_once(line):
            found = self.end(line, end, member, earlier)
            if isinstance(found, Arrival):
                arrivals.append(found)
            elif found is not None:
                outs.append(found)
        unit = self.show.units.get(start.name)
        own_out, inside = "", ""
        if unit is not None and starts_inside(unit.kind):
            by_cable = any(a.by_cable for a in arrivals) and unit.kind.sockets_on(Side.OUT)
            if self.sends(unit) and not by_cable:
                inside = unit.name
            else:
                own_out = unit.name
        plug = None if inside else self.start_plug(line, start, own_out, arrivals, earlier)
        return Job(
            line=line,
            start_part=str(start),
            inside=inside,
            own_out=own_out,
            plug=plug,
            outs=tuple(outs),
            arrivals=tuple(arrivals),
            earlier=earlier,
        )

    def before(self, line: Line) -> LinePlan | None:
        """Give what the line held: in the plan, or when it or a part of it went and returns."""
        starts_at = "|".join(str(s) for s in line.starts)
        found = self.earlier.line(line.key)
        back = returned(self.earlier, line.key, line.name, starts_at)
        if found is None or back is None:
            return found or back
        starts, ends = _whole(found.start, back.start), _whole(found.ends, back.ends)
        return replace(found, start=starts, ends=ends)

    def sends(self, unit: Unit) -> bool:
        return self.show.count(unit, Side.SEND) > 0

    def start_plug(
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
            signal=self.start_signal(line, own_out),
            phantom=line.needs_phantom,
            level_dbu=line.source.level_dbu if line.source else None,
            may_go=line.need.can_go or all(e.want for e in line.ends),
        )
        only = [a.unit for a in arrivals if a.by_cable]
        if unit is not None and not starts_inside(unit.kind):
            only = [unit.name]
        return self.with_options(plug, only, start, earlier.start if earlier else {})

    def start_signal(self, line: Line, own_out: str) -> Signal:
        if own_out:
            outs = self.show.units[own_out].kind.sockets_on(Side.OUT)
            return outs[0].signal if outs else Signal.LINE
        # Where nobody says what it is, a microphone fits what takes both.
        return line.source.signal if line.source else Signal.MIC

    def end(
        self, line: Line, end: End, member: Target, earlier: LinePlan | None
    ) -> Arrival | Plug | None:
        may_go = end.want or line.need.can_go
        part = str(member)
        unit = self.show.units.get(member.name)
        if unit is None:
            plug = Plug(line=line.key, part=part, side=Side.OUT, place=member.name, may_go=may_go)
            return self.with_options(plug, [], member, earlier.ends if earlier else {})
        hears = self.show.count(unit, Side.RECEIVE) > 0
        cable = line.via == "cable"
        if unit.kind.does is Does.BOX:
            plug = Plug(line=line.key, part=part, side=Side.OUT, place=unit.place, may_go=may_go)
            return self.with_options(plug, [unit.name], member, earlier.ends if earlier else {})
        if hears and (not cable or unit.kind.strips):
            return Arrival(
                line=line.key,
                part=part,
                unit=unit.name,
                strip=unit.kind.strips > 0,
                by_cable=cable,
                may_go=may_go,
            )
        ins = unit.kind.sockets_on(Side.IN)
        if not ins:
            why = f"{unit.name} ({unit.kind.label}) has neither a channel nor a socket to hear it"
            self.no_ways.append(NoWay(line=line.key, part=part, why=why))
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
        return self.with_options(plug, [], member, earlier.ends if earlier else {})

    # -- options -----------------------------------------------------------------------------

    def with_options(
        self,
        plug: Plug,
        only: list[str],
        target: Target,
        before: Mapping[str, tuple[Spot, ...]],
    ) -> Plug:
        """Give the plug with every unit that could take it, its pin and where it was before."""
        pinned = self.pinned(plug, target, only)
        names = [pinned.unit] if pinned else only or self.candidates(plug)
        options = {}
        for name in sorted(names, key=natural):
            unit = self.show.units[name]
            length = self.leads.length_mm(plug.place, unit.place)
            if (
                name != plug.beyond
                and length is not None
                and any(map(plug.fits, unit.kind.sockets))
            ):
                options[name] = length
        if pinned and not options:
            options = {
                pinned.unit: self.leads.length_mm(plug.place, self.show.units[pinned.unit].place)
                or 0
            }
        if not options and not plug.may_go:
            self.no_ways.append(NoWay(line=plug.line, part=plug.part, why=self.why_none(plug)))
        kept = self.kept(plug, options, before)
        return replace(
            plug,
            lines=(plug.line,),
            acts=frozenset({plug.line.act}),
            options=options,
            pinned=pinned,
            kept=None if pinned else kept,
        )

    def candidates(self, plug: Plug) -> list[str]:
        takes = _TAKES_IN if plug.side is Side.IN else _BRINGS_OUT
        channel = Side.SEND if plug.side is Side.IN else Side.RECEIVE
        return [
            name
            for name, unit in self.show.units.items()
            if unit.kind.does in takes and self.show.count(unit, channel) and not unit.theirs
        ]

    def pinned(self, plug: Plug, target: Target, only: list[str]) -> Spot | None:
        if target.side is plug.side and target.numbers and len(only) == 1:
            return Spot(unit=only[0], side=plug.side, number=target.numbers[0])
        spots = [s for s in self.pins.get(plug.line, ()) if s.side is plug.side]
        # A pin of the far unit's own socket is not one of the socket it is plugged into.
        spots = [s for s in spots if s.unit != plug.beyond]
        if plug.side is Side.OUT and len(spots) > 1:
            near = [s for s in spots if s.unit in only]
            spots = near or spots
        return spots[0] if spots else None

    def kept(
        self, plug: Plug, options: Mapping[str, int], before: Mapping[str, tuple[Spot, ...]]
    ) -> Spot | None:
        """Give the socket the plug had, if it is still possible."""
        for spot in before.get(plug.part, ()):
            if spot.side is plug.side and spot.unit != plug.beyond and spot.unit in options:
                sockets = self.show.units[spot.unit].kind.sockets_on(plug.side)
                if spot.number <= len(sockets) and plug.fits(sockets[spot.number - 1]):
                    return spot
        return None

    def why_none(self, plug: Plug) -> str:
        what = "input" if plug.side is Side.IN else "output"
        phantom = " with phantom" if plug.phantom else ""
        socket = f"{plug.signal.value} {what}{phantom}"
        return f"no unit has a {socket} that a lead from {plug.place} reaches"
