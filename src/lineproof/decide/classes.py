"""Sockets that are alike for the planner, so that it chooses among few instead of many.

A *slot* is an odd socket and its even neighbour. Slots whose halves have the same properties
form a class; which slot of a class a lead goes into is decided afterwards, without loss: a class
of N slots takes any p pairs and s singles with 2 p + s <= 2 N.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.problem import Plug, PlugId, Problem, plug_id
from lineproof.graph.acts import Running
from lineproof.kit.kinds import Socket


@dataclass(frozen=True, kw_only=True)
class Landing:
    """The receive channel that a socket's number implies on a mixer.

    `lines`: those whose channel it is already. `open`: whoever is plugged in the socket can have
    it: nobody has it, or those who have it are in this very socket.
    """

    lines: frozenset[LineKey] = frozenset()
    open: bool = False


@dataclass(frozen=True, kw_only=True)
class Half:
    """What one socket is to the planner; sockets with equal halves are interchangeable.

    `only`: the plugs that are pinned to it, and so alone may use it in their acts. `kept`: the
    plugs that have it already, one after the other. `freed`: the line it is kept for, though that
    went; `freed_in` the same, where a line of another act is there still. `held`: nobody may use
    it now. `landing`: per mixer that follows numbers, what the receive channel is that the socket
    implies.
    """

    socket: Socket
    only: frozenset[PlugId] = frozenset()
    only_acts: frozenset[str] = frozenset()
    kept: frozenset[PlugId] = frozenset()
    held: bool = False
    freed: LineKey | None = None
    freed_in: LineKey | None = None
    landing: tuple[tuple[str, Landing], ...] = ()

    def key(self) -> tuple[object, ...]:
        """Give what makes two sockets alike: everything but the number."""
        s = self.socket
        alike = (s.signal, s.phantom, s.most_dbu)
        freed = (self.freed, self.freed_in)
        return (alike, self.only, self.kept, self.held, freed, self.landing)

    def kept_from(self, plug: Plug, running: Running) -> bool:
        """Say whether the socket is kept for a line that the plug would take it from."""
        if self.freed is not None:
            return self.freed not in plug.lines
        if self.freed_in is None or self.freed_in in plug.lines:
            return False
        return running.clash(plug.acts, frozenset({self.freed_in.act}))

    def takes(self, plug: Plug, running: Running) -> bool:
        """Say whether the plug may go here."""
        if self.held:
            return False
        if plug_id(plug) in self.only or plug.pinned is not None:
            # A pin is kept whatever the socket is; checks tell if it doesn't fit.
            return plug_id(plug) in self.only
        if self.only and running.clash(plug.acts, self.only_acts):
            return False
        return plug.fits(self.socket)


@dataclass(frozen=True, kw_only=True)
class SlotClass:
    """Slots of one unit and side that are alike. `slots` holds their odd numbers, in order.

    `unit` may be a drop box: its sockets are those of the unit behind it.
    """

    unit: str
    side: Side
    odd: Half
    even: Half | None
    slots: tuple[int, ...]

    @property
    def alike(self) -> bool:
        """Say whether both halves are alike, so that only their number counts."""
        return self.even is not None and self.odd.key() == self.even.key()

    def halves(self) -> tuple[tuple[int, Half], ...]:
        """Give the halves a single may choose from: one if they are alike."""
        if self.alike or self.even is None:
            return ((0, self.odd),)
        return ((0, self.odd), (1, self.even))


@dataclass(frozen=True, kw_only=True)
class FixedChannels:
    """Receive channels that lines have by pin or from before: (unit, number) to lines, and back.

    Lines of different acts may share one.
    """

    by_channel: Mapping[tuple[str, int], frozenset[LineKey]] = field(default_factory=dict)
    by_line: Mapping[tuple[LineKey, str], int] = field(default_factory=dict)


def followers(problem: Problem) -> tuple[str, ...]:
    """Give the mixers on which numbered boxes land, among those at which lines arrive."""
    units = {a.unit for job in problem.jobs for a in job.arrivals}
    return tuple(sorted(u for u in units if problem.show.units[u].kind.follows_numbers))


def slot_classes(problem: Problem, fixed: FixedChannels) -> tuple[SlotClass, ...]:
    """Give all classes, by unit as people sort them, inputs before outputs, low sockets first."""
    return tuple(_Classes(problem, fixed).all())


class _Classes:
    def __init__(self, problem: Problem, fixed: FixedChannels) -> None:
        self.problem = problem
        self.show = problem.show
        self.fixed = fixed
        self.followers = followers(problem)
        plugs = [p for job in problem.jobs for p in job.plugs]
        self.plugs = {plug_id(p): p for p in plugs}
        self.only = _holders((p.pinned, p) for p in plugs)
        self.only_acts: dict[Spot, frozenset[str]] = {}
        for p in plugs:
            if p.pinned is not None:
                self.only_acts[p.pinned] = self.only_acts.get(p.pinned, frozenset()) | p.acts
        self.kept = _holders((p.kept, p) for p in plugs if p.kept not in self.only)
        self.units = sorted({u for p in plugs for u in p.options}, key=list(self.show.units).index)
        self.claimed = self._claims()

    def _claims(self) -> dict[int, str]:
        """Give which unit lands on each receive channel; of two with one number the first."""
        claimed: dict[int, str] = {}
        for name, unit in self.show.units.items():
            if unit.kind.numbering is not None and unit.number is not None:
                for socket in unit.kind.sockets_on(Side.IN):
                    channel = unit.kind.numbering.receive_channel(
                        unit_number=unit.number, socket=socket.number
                    )
                    claimed.setdefault(channel, name)
        return claimed

    def all(self) -> Iterator[SlotClass]:
        for name in self.units:
            for side in (Side.IN, Side.OUT):
                yield from self._of_side(name, side)

    def _of_side(self, name: str, side: Side) -> Iterator[SlotClass]:
        halves = [
            self._half(Spot(unit=name, side=side, number=s.number))
            for s in self.show.units[name].kind.sockets_on(side)
        ]
        found: dict[tuple[object, ...], tuple[Half, Half | None, list[int]]] = {}
        for at in range(0, len(halves), 2):
            odd = halves[at]
            even = halves[at + 1] if at + 1 < len(halves) else None
            key = (odd.key(), even.key() if even else None)
            found.setdefault(key, (odd, even, []))[2].append(at + 1)
        for odd, even, slots in found.values():
            yield SlotClass(unit=name, side=side, odd=odd, even=even, slots=tuple(slots))

    def _half(self, spot: Spot) -> Half:
        real = self.problem.cores.real(spot)
        socket = self.show.units[real.unit].kind.sockets_on(real.side)[real.number - 1]
        both = (spot, real)
        held = any(s in self.problem.held for s in both) or not self._has_channel(real)
        return Half(
            socket=socket,
            only=self.only.get(spot, frozenset()),
            only_acts=self.only_acts.get(spot, frozenset()),
            kept=self.kept.get(spot, frozenset()),
            held=held or self._is_elsewhere(spot),
            freed=self._freed_for(spot) or self._freed_for(real),
            freed_in=self._freed_in_act(spot) or self._freed_in_act(real),
            landing=self._landing(spot, real) if socket.side is Side.IN else (),
        )

    def _is_elsewhere(self, spot: Spot) -> bool:
        """Say whether the socket comes out at a drop box, or is one's with nothing behind it."""
        cores = self.problem.cores
        return spot in cores.out_front or (spot.unit in cores.hosts and spot not in cores.behind)

    def _has_channel(self, spot: Spot) -> bool:
        """Say whether the socket's channel exists: at a high rate a box may have fewer."""
        unit = self.show.units[spot.unit]
        channel = Side.SEND if spot.side is Side.IN else Side.RECEIVE
        if unit.kind.inside_patch or not unit.kind.networked:
            return True
        return spot.number <= self.show.count(unit, channel)

    def _freed_in_act(self, spot: Spot) -> LineKey | None:
        freed = self.problem.freed_in_act.get(spot)
        return freed.line if freed is not None else None

    def _freed_for(self, spot: Spot) -> LineKey | None:
        freed = self.problem.freed.get(spot)
        return freed.line if freed is not None else None

    def _landing(self, spot: Spot, real: Spot) -> tuple[tuple[str, Landing], ...]:
        channel = implied_channel(self.problem, real.unit, real.number)
        if channel is None:
            return ()
        mixers = [mixer for mixer in self.followers if mixer != real.unit]
        return tuple((mixer, self._lands(spot, real, mixer, channel)) for mixer in mixers)

    def _lands(self, spot: Spot, real: Spot, mixer: str, channel: int) -> Landing:
        target = Spot(unit=mixer, side=Side.RECEIVE, number=channel)
        if (lines := self.fixed.by_channel.get((mixer, channel))) is not None:
            plugs = self.only.get(spot, frozenset()) | self.kept.get(spot, frozenset())
            here = {key for ident in plugs for key in self.plugs[ident].lines}
            all_night = self.show.routes != "per-act"
            return Landing(lines=lines, open=all_night and lines <= here)
        free = target not in self.problem.freed and target not in self.problem.held
        within = channel <= self.show.count(self.show.units[mixer], Side.RECEIVE)
        return Landing(open=free and within and self.claimed.get(channel) == real.unit)


def _holders(held: Iterable[tuple[Spot | None, Plug]]) -> dict[Spot, frozenset[PlugId]]:
    """Give the plugs by the spot that each has, if it has one."""
    found: dict[Spot, set[PlugId]] = {}
    for spot, plug in held:
        if spot is not None:
            found.setdefault(spot, set()).add(plug_id(plug))
    return {spot: frozenset(plugs) for spot, plugs in found.items()}


def implied_channel(problem: Problem, unit: str, socket: int) -> int | None:
    """Give the receive channel that the number of the unit implies for its input `socket`."""
    found = problem.show.units[unit]
    if found.kind.numbering is None or found.number is None:
        return None
    return found.kind.numbering.receive_channel(unit_number=found.number, socket=socket)


def off_number(half: Half, plug: Plug, mixer: str, fixed: FixedChannels) -> bool:
    """Say whether the plug in this socket would land off its box's number on `mixer`."""
    landing = dict(half.landing).get(mixer)
    if landing is None:
        return False
    if any((line, mixer) in fixed.by_line for line in plug.lines):
        return landing.lines.isdisjoint(plug.lines)
    return not landing.open
