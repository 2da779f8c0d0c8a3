"""A show as leads: where each line may be plugged in, where it comes out, where it arrives."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.kit.kinds import Does, Signal, Socket
from lineproof.show.model import Line, Show, Target, Unit

TAKES_IN = (Does.BOX, Does.MIXER, Does.PROCESSOR)
BRINGS_OUT = (*TAKES_IN, Does.AMPLIFIER)
PASSED_THROUGH = (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT)

#: What a lead is known by.
Ident = tuple[LineKey, str, Side]


@dataclass(frozen=True, kw_only=True)
class Lead:
    """One lead: at a line's start (IN) or at one of its ends (OUT); `far` is the unit behind it.

    `role`: what makes it the same lead as one of another act, when both are in one socket.
    """

    line: LineKey
    part: str
    side: Side
    place: str
    far: str
    role: tuple[str, ...]
    sockets: tuple[Spot, ...]
    pinned: bool
    phantom: bool

    @property
    def at(self) -> tuple[str, str]:
        """Give where its far end is: halves of a pair are neighbours only if they share that."""
        return (self.place, self.far)

    @property
    def ident(self) -> Ident:
        return (self.line, self.part, self.side)


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One way in of a line: where it starts (`inside` a unit, or by `start`), leads out, arrivals.

    `strand`: "" for what is heard while all is well, else the start that stands in for it.
    `by_cable`: the units whose own sockets it must be plugged into.
    """

    line: Line
    strand: str
    inside: str
    own_out: str
    start: Lead | None
    outs: tuple[Lead, ...]
    arrivals: tuple[tuple[str, str], ...]  # part, unit
    may_go: frozenset[str]
    by_cable: frozenset[str]

    @property
    def parts(self) -> tuple[str, ...]:
        return (*(part for part, _ in self.arrivals), *(lead.part for lead in self.outs))

    @property
    def leads(self) -> tuple[Lead, ...]:
        return (*((self.start,) if self.start else ()), *self.outs)


@dataclass(kw_only=True)
class Wiring:
    """The wires of a show."""

    show: Show
    pins: dict[LineKey, list[Spot]] = field(init=False)
    between: dict[tuple[str, str], int] = field(init=False)
    wires: list[Wire] = field(init=False)

    def __post_init__(self) -> None:
        self.between = distances(self.show)
        self.pins = defaultdict(list)
        for pin in self.show.pins:
            self.pins[pin.line].append(pin.spot)
        self.wires = [wire for line in self.show.lines for wire in self._wires(line)]

    def _wires(self, line: Line) -> list[Wire]:
        main = self._wire(line, line.starts[0])
        return [main, *(self._standby(line, start) for start in line.starts[1:])]

    def _standby(self, line: Line, start: Target) -> Wire:
        """Give what stands in: it arrives where the line does, as a want and without a strip."""
        wire = self._wire(line, start)
        arrivals = tuple((f"{part} from {start}", unit) for part, unit in wire.arrivals)
        return Wire(
            line=line,
            strand=str(start),
            inside=wire.inside,
            own_out=wire.own_out,
            start=wire.start,
            outs=(),
            arrivals=arrivals,
            may_go=frozenset(part for part, _ in arrivals),
            by_cable=wire.by_cable,
        )

    def _wire(self, line: Line, at: Target) -> Wire:
        arrivals: list[tuple[str, str]] = []
        outs: list[Lead] = []
        may_go: set[str] = set()
        must: set[str] = set()
        by_cable: set[str] = set()
        for end in line.ends:
            for member in end.members:
                part, unit = str(member), self.show.units.get(member.name)
                (may_go if end.want or line.need.can_go else must).add(part)
                if part in {p for p, _ in arrivals} | {lead.part for lead in outs}:
                    continue
                if unit and self._hears(unit, line):
                    arrivals.append((part, unit.name))
                    by_cable |= {unit.name} if self._takes_cable(unit, line) else set()
                else:
                    outs.append(self._out(line, part, member.name))
        unit, inside, own_out = self.show.units.get(at.name), "", ""
        if unit is not None and unit.kind.does not in PASSED_THROUGH:
            plugged = line.via == "cable" and unit.kind.sockets_on(Side.OUT)
            inside = unit.name if self.count(unit, Side.SEND) and not plugged else ""
            own_out = "" if inside else unit.name
        return Wire(
            line=line,
            strand="",
            inside=inside,
            own_out=own_out,
            start=None if inside else self._start(line, at, own_out, by_cable),
            outs=tuple(outs),
            arrivals=tuple(arrivals),
            may_go=frozenset(may_go - must),
            by_cable=frozenset(by_cable),
        )

    def _takes_cable(self, unit: Unit, line: Line) -> bool:
        return line.via == "cable" and bool(unit.kind.sockets_on(Side.IN))

    def _hears(self, unit: Unit, line: Line) -> bool:
        """Say whether the line arrives inside: by a channel, or on a mixer's own socket."""
        if unit.kind.does is Does.BOX or not self.count(unit, Side.RECEIVE):
            return False
        return unit.kind.strips > 0 or not self._takes_cable(unit, line)

    def _start(self, line: Line, at: Target, own_out: str, by_cable: set[str]) -> Lead:
        unit = self.show.units.get(at.name)
        signal = line.source.signal if line.source else Signal.MIC
        if own_out:
            signal = self.show.units[own_out].kind.sockets_on(Side.OUT)[0].signal
        level = line.source.level_dbu if line.source else None

        def fits(socket: Socket) -> bool:
            if line.needs_phantom and not socket.phantom:
                return False
            if level is not None and socket.most_dbu is not None and level > socket.most_dbu:
                return False
            return socket.signal is signal or (signal, socket.signal) == (Signal.LINE, Signal.MIC)

        units = [u for u in self.show.units.values() if self._takes(u, Side.IN)]
        if unit is not None and not own_out:
            units = [unit]
        elif by_cable:
            units = [self.show.units[name] for name in sorted(by_cable)]
        place = unit.place if unit is not None else at.name
        return self._lead(line, str(at), Side.IN, (place, own_out), units, fits)

    def _out(self, line: Line, part: str, at: str) -> Lead:
        unit = self.show.units.get(at)
        place, far, signal = at, "", Signal.LINE
        units = [u for u in self.show.units.values() if self._takes(u, Side.OUT)]
        if unit is not None:
            place = unit.place
            if unit.kind.does is Does.BOX:
                units = [unit]
            else:
                far, ins = at, unit.kind.sockets_on(Side.IN)
                signal = Signal.LINE if ins[0].signal is Signal.MIC else ins[0].signal
        return self._lead(
            line, part, Side.OUT, (place, far), units, lambda socket: socket.signal is signal
        )

    def _lead(
        self,
        line: Line,
        part: str,
        side: Side,
        at: tuple[str, str],
        units: list[Unit],
        fits: Callable[[Socket], bool],
    ) -> Lead:
        place, far = at
        pinned = [s for s in self.pins[line.key] if s.side is side and s.unit != far]
        fixed = [s for s in pinned[:1] if self._has_channel(self.show.units[s.unit], s)]
        sockets = [
            Spot(unit=u.name, side=side, number=s.number)
            for u in units
            if u.name != far and (place, u.place) in self.between
            for s in u.kind.sockets_on(side)
            if fits(s) and self._has_channel(u, s)
        ]
        return Lead(
            line=line.key,
            part=part,
            side=side,
            place=place,
            far=far,
            role=(folded(line.role or line.name), side.value, place, far),
            sockets=tuple(fixed if pinned else sockets),
            pinned=bool(pinned),
            phantom=side is Side.IN and line.needs_phantom,
        )

    def count(self, unit: Unit, side: Side) -> int:
        return unit.kind.count(side, unit.rate_hz or self.show.rate_hz)

    def _takes(self, unit: Unit, side: Side) -> bool:
        does = TAKES_IN if side is Side.IN else BRINGS_OUT
        channels = Side.SEND if side is Side.IN else Side.RECEIVE
        return unit.kind.does in does and self.count(unit, channels) > 0 and not unit.theirs

    def _has_channel(self, unit: Unit, socket: Socket | Spot) -> bool:
        """Say whether a box's socket n has its channel n at this rate."""
        side = Side.SEND if socket.side is Side.IN else Side.RECEIVE
        return unit.kind.inside_patch or socket.number <= self.count(unit, side)

    def length_mm(self, lead: Lead, spot: Spot) -> int:
        return self.between[lead.place, self.show.units[spot.unit].place]


def distances(show: Show) -> dict[tuple[str, str], int]:
    """Give the lead in mm between places: along ducts (Floyd and Warshall), else straight x 1.2."""
    names = list(show.places)
    along = {(a, b): 0.0 if a == b else math.inf for a in names for b in names}
    for duct in show.ducts.values():
        a, b = duct.between
        along[a, b] = along[b, a] = min(along[a, b], duct.length_m)
    for k, a, b in itertools.product(names, repeat=3):
        along[a, b] = min(along[a, b], along[a, k] + along[k, b])
    found = {}
    for (a, b), metres in along.items():
        first, second = show.places[a].at_m, show.places[b].at_m
        if metres < math.inf:
            found[a, b] = round((metres + 3) * 1000)
        elif first is not None and second is not None:
            found[a, b] = round((math.dist(first, second) * 1.2 + 3) * 1000)
    return found
