"""What is to be decided, in integers and in sorted order: plugs, sockets, arrivals."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.acts import Running
from lineproof.kit.kinds import Signal, Socket
from lineproof.plan.model import Freed, LinePlan, Plan
from lineproof.show.model import Line, Pin, Show
from lineproof.show.sockets_of import Multicores


@dataclass(frozen=True, kw_only=True)
class ByTie:
    """A way over a tie: which, and the millimetres of lead without it."""

    tie: str
    without_mm: int | None


@dataclass(frozen=True, kw_only=True)
class Plug:
    """One lead that must be plugged into some unit's socket: at a line's start, or at an end.

    `options`: metres of lead in mm by unit (or drop box) with a fitting socket; `ties`: those of
    them that a tie makes so near. `beyond` is the socket-only unit at the lead's other end, ""
    for a place. `signal`: what the socket must
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
    ties: Mapping[str, ByTie] = field(default_factory=dict)
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


#: A plug's identity: its line, the part of the line, and on which side it is plugged.
PlugId = tuple[LineKey, str, Side]


def plug_id(plug: Plug) -> PlugId:
    """Give what tells a plug from all others."""
    return (plug.line, plug.part, plug.side)


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
class Change:
    """A line's way through a change-over unit: to the first or second input of an output.

    `of` is the line whose output it is: the one that is heard while all is well.
    """

    unit: str
    second: bool
    of: LineKey


@dataclass(frozen=True, kw_only=True)
class Job:
    """One line's share of the problem; a line with several starts has one for each, `strand` "".

    `inside`: the networked unit in which the signal starts, "" when it is plugged in. `own_out`:
    the socket-only unit it starts from. `splits`: further sockets fed by the same microphone.
    `outs`: plugs at its ends. `strand` tells a line's jobs apart: "" is what its ends hear while
    all is well, `from play-2` the standby, `feed play-1` what goes to a change-over unit
    (`change`; `direct`: by one lead from socket to socket). `straight`: ends, and their
    units, that one lead reaches from the unit it starts from. `reserve`: it gets its send channel
    although nobody hears it yet. `back_to`: the line into whose strip it returns. `role`: what
    starts inside a unit has one send channel with lines of other acts of the same role, "" if not.
    """

    line: Line
    start_part: str
    strand: str = ""
    inside: str = ""
    own_out: str = ""
    plug: Plug | None = None
    splits: tuple[Plug, ...] = ()
    outs: tuple[Plug, ...] = ()
    arrivals: tuple[Arrival, ...] = ()
    earlier: LinePlan | None = None
    change: Change | None = None
    direct: bool = False
    straight: tuple[tuple[str, str], ...] = ()
    reserve: bool = False
    back_to: LineKey | None = None
    role: str = ""

    @property
    def ident(self) -> tuple[LineKey, str]:
        """Give what tells the job from all others."""
        return (self.line.key, self.strand)

    @property
    def plugs(self) -> tuple[Plug, ...]:
        """Give its leads, the one at its start first."""
        return (*((self.plug,) if self.plug else ()), *self.splits, *self.outs)

    @cached_property
    def split_units(self) -> frozenset[str]:
        """Give the units into which a split brings the microphone as well."""
        return frozenset(plug.pinned.unit for plug in self.splits if plug.pinned)

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
        """Give what lines that start inside one unit share: their role in different acts."""
        return (self.role, self.strand) if self.role else self.ident

    def may_go(self, part: str) -> bool:
        """Say whether that end of the line is a want."""
        if self.strand:
            # What stands in gives way first; a change-over unit is fed or the line is not heard.
            return self.line.need.can_go or self.change is None
        return self.line.need.can_go or self.wanted.get(part, False)

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
    pins: Mapping[LineKey, tuple[Pin, ...]]
    earlier: Plan
    held: Mapping[Spot, str]
    freed: Mapping[Spot, Freed]
    freed_in_act: Mapping[Spot, Freed]
    cores: Multicores
    apart: frozenset[LineKey] = frozenset()
    singly: tuple[Job, ...] = ()

    def host(self, front: str) -> str:
        """Give the unit that takes what is plugged into `front`: itself, or behind a drop box."""
        return self.cores.hosts.get(front, front)

    def sockets(self, front: str, side: Side) -> tuple[Socket, ...]:
        """Give the sockets into which one may plug there; a drop box offers those behind it."""
        return self.cores.offered(self.show.units, front, side)
