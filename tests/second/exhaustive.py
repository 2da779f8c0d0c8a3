"""A second, slower planner: it tries every assignment of leads to sockets and keeps the best.

Written from the words of the design alone ("Spots": what is hard, in which order the wishes
come, what they weigh) and from the show; it shares nothing with `lineproof.decide`. Weights in
metres and the 15 m that count as near are common practice, as the design marks them.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.kit.kinds import Does, Signal, Socket
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import Line, Show, Unit

TAKES_IN = (Does.BOX, Does.MIXER, Does.PROCESSOR)
BRINGS_OUT = (*TAKES_IN, Does.AMPLIFIER)
PASSED_THROUGH = (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT)


@dataclass(frozen=True, kw_only=True)
class Score:
    """What the wishes come to, the first counting for more than all after it."""

    left_out: int
    moved: int
    apart: int
    bunched: int
    leads_mm: int
    groups_mm: int
    off_number_mm: int

    @property
    def metres_mm(self) -> int:
        return self.leads_mm + self.groups_mm + self.off_number_mm

    def order(self) -> tuple[int, ...]:
        return (self.left_out, self.moved, self.apart, self.bunched, self.metres_mm)


@dataclass(frozen=True, kw_only=True)
class Lead:
    """One lead: at a line's start (IN) or at one of its ends (OUT); `far` is the unit behind it."""

    line: LineKey
    part: str
    side: Side
    place: str
    far: str
    sockets: tuple[Spot, ...]
    pinned: bool

    @property
    def at(self) -> tuple[str, str]:
        """Give where its far end is: halves of a pair are neighbours only if they share that."""
        return (self.place, self.far)

    @property
    def ident(self) -> tuple[LineKey, str, Side]:
        return (self.line, self.part, self.side)


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One line: where it starts (`inside` a unit, or by `start`), leads out, arrivals."""

    line: Line
    inside: str
    own_out: str
    start: Lead | None
    outs: tuple[Lead, ...]
    arrivals: tuple[tuple[str, str], ...]  # part, unit
    may_go: frozenset[str]

    @property
    def parts(self) -> tuple[str, ...]:
        return (*(part for part, _ in self.arrivals), *(lead.part for lead in self.outs))


#: Which socket every lead is in (None: not plugged), and which wanted ends are left out.
Placing = Mapping[tuple[LineKey, str, Side], Spot | None]
LeftOut = frozenset[tuple[LineKey, str]]


@dataclass(kw_only=True)
class Case:
    """A show, and the plan that hangs already."""

    show: Show
    earlier: Plan = field(default_factory=Plan)

    def __post_init__(self) -> None:
        self.between = _distances(self.show)
        self.pins: dict[LineKey, list[Spot]] = defaultdict(list)
        for pin in self.show.pins:
            self.pins[pin.line].append(pin.spot)
        self.wires = [self._wire(line) for line in self.show.lines]
        self.leads = [x for w in self.wires for x in ([w.start] if w.start else []) + list(w.outs)]
        self.freed = self._freed()
        self.kept = {lead.ident: spot for lead in self.leads if (spot := self._kept(lead))}
        self.channels = self._fixed_channels()
        self.near = self._spreads_that_count()

    # -- the show as leads -------------------------------------------------------------------

    def _wire(self, line: Line) -> Wire:
        arrivals, outs, may_go, must = [], [], set(), set()
        for end in line.ends:
            for member in end.members:
                part, unit = str(member), self.show.units.get(member.name)
                (may_go if end.want or line.need.can_go else must).add(part)
                if part in {p for p, _ in arrivals} | {lead.part for lead in outs}:
                    continue
                if unit and unit.kind.does is not Does.BOX and self._count(unit, Side.RECEIVE):
                    arrivals.append((part, unit.name))
                else:
                    outs.append(self._out(line, part, member.name))
        at = line.starts[0].name
        unit, inside, own_out = self.show.units.get(at), "", ""
        if unit is not None and unit.kind.does not in PASSED_THROUGH:
            inside, own_out = (at, "") if self._count(unit, Side.SEND) else ("", at)
        start = None if inside else self._start(line, own_out)
        return Wire(
            line=line,
            inside=inside,
            own_out=own_out,
            start=start,
            outs=tuple(outs),
            arrivals=tuple(arrivals),
            may_go=frozenset(may_go - must),
        )

    def _start(self, line: Line, own_out: str) -> Lead:
        at = line.starts[0].name
        unit = self.show.units.get(at)
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

        only = [unit] if unit is not None and not own_out else None
        units = only or [u for u in self.show.units.values() if self._takes(u, Side.IN)]
        place = unit.place if unit is not None else at
        return self._lead(line, str(line.starts[0]), Side.IN, place, own_out, units, fits)

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
        fits = lambda socket: socket.signal is signal  # noqa: E731
        return self._lead(line, part, Side.OUT, place, far, units, fits)

    def _lead(self, line, part, side, place, far, units, fits) -> Lead:
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
            sockets=tuple(fixed if pinned else sockets),
            pinned=bool(pinned),
        )

    def _count(self, unit: Unit, side: Side) -> int:
        return unit.kind.count(side, unit.rate_hz or self.show.rate_hz)

    def _takes(self, unit: Unit, side: Side) -> bool:
        does = TAKES_IN if side is Side.IN else BRINGS_OUT
        channels = Side.SEND if side is Side.IN else Side.RECEIVE
        return unit.kind.does in does and self._count(unit, channels) > 0 and not unit.theirs

    def _has_channel(self, unit: Unit, socket: Socket | Spot) -> bool:
        """Say whether a box's socket n has its channel n at this rate."""
        side = Side.SEND if socket.side is Side.IN else Side.RECEIVE
        return unit.kind.inside_patch or socket.number <= self._count(unit, side)

    def length_mm(self, lead: Lead, spot: Spot) -> int:
        return self.between[lead.place, self.show.units[spot.unit].place]

    # -- what hangs already ------------------------------------------------------------------

    def _freed(self) -> dict[Spot, LineKey]:
        """Give what is kept for lines, and for parts of lines, that went: before, or just now."""
        freed = {f.spot: f.line for f in self.earlier.freed}
        for decided in self.earlier.lines:
            line = self.show.line(decided.key)
            starts = {str(s) for s in line.starts} if line else set()
            ends = {str(m) for e in line.ends for m in e.members} if line else set()
            for there, held in ((starts, decided.start), (ends, decided.ends)):
                for part, spots in held.items():
                    freed.update({s: decided.key for s in spots if part not in there})
        return freed

    def before(self, key: LineKey) -> LinePlan | None:
        return self.earlier.line(key)

    def _came_back(self, line: Line) -> dict[tuple[str, str], list[Spot]]:
        """Give by (from or to, part) what was kept for the line since it or its end went."""
        starts_at = "|".join(str(s) for s in line.starts)
        found: dict[tuple[str, str], list[Spot]] = defaultdict(list)
        for f in self.earlier.freed:
            if (f.line.same(), f.name, f.starts_at) == (line.key.same(), line.name, starts_at):
                which, _, part = f.part.partition(" ")
                found[which, part].append(f.spot)
        return found

    def had(self, line: Line, which: str, part: str) -> tuple[Spot, ...]:
        """Give the spots that the line had there, or that were kept for it there."""
        decided = self.before(line.key)
        held = (decided.start if which == "from" else decided.ends) if decided else {}
        there = held.get(part, ())
        sides = {s.side for s in there}
        back = self._came_back(line).get((which, part), ())
        return (*there, *(s for s in back if s.side not in sides))

    def _kept(self, lead: Lead) -> Spot | None:
        line = self.show.line(lead.line)
        assert line is not None
        which = "from" if lead.side is Side.IN else "to"
        for spot in self.had(line, which, lead.part):
            if not lead.pinned and spot in lead.sockets:
                return spot
        return None

    def _fixed_channels(self) -> dict[tuple[str, int], LineKey]:
        """Give the receive channels that pins, or the plan that hangs, settle: a pin first."""
        fixed: dict[tuple[str, int], LineKey] = {}
        for wire in self.wires:
            for _, unit in wire.arrivals:
                for s in self.pins[wire.line.key]:
                    if (s.unit, s.side) == (unit, Side.RECEIVE):
                        fixed.setdefault((unit, s.number), wire.line.key)
        for wire in self.wires:
            for part in wire.parts:
                for s in self.had(wire.line, "to", part):
                    have = {(u, key) for (u, _), key in fixed.items()}
                    if s.side is Side.RECEIVE and (s.unit, wire.line.key) not in have:
                        fixed.setdefault((s.unit, s.number), wire.line.key)
        return fixed

    # -- hard conditions ---------------------------------------------------------------------

    def placings(self, gone: LeftOut) -> Iterator[Placing]:
        """Give every legal placing of the leads when just these ends are left out."""
        reserved = {spot: x.ident for x in self.leads if x.pinned for spot in x.sockets}
        unplugged = {
            x.ident
            for w in self.wires
            for x in ([w.start] if w.start else []) + list(w.outs)
            if all((w.line.key, p) in gone for p in (w.parts if x is w.start else [x.part]))
        }
        placing: dict[tuple[LineKey, str, Side], Spot | None] = {}
        used: set[Spot] = set()

        def place(at: int) -> Iterator[Placing]:
            if at == len(self.leads):
                if self.within_limits(placing, gone):
                    yield placing
                return
            lead = self.leads[at]
            if lead.ident in unplugged:
                placing[lead.ident] = None
                yield from place(at + 1)
                return
            for spot in lead.sockets:
                if spot not in used and reserved.get(spot, lead.ident) == lead.ident:
                    used.add(spot)
                    placing[lead.ident] = spot
                    yield from place(at + 1)
                    used.discard(spot)

        yield from place(0)

    def start_unit(self, wire: Wire, placing: Placing) -> str:
        spot = placing[wire.start.ident] if wire.start else None
        return wire.inside or (spot.unit if spot else "")

    def within_limits(self, placing: Placing, gone: LeftOut) -> bool:
        """Say whether no unit is asked for more channels, strips or sockets than it has."""
        need: Counter[tuple[str, Side]] = Counter()
        for wire in self.wires:
            start = self.start_unit(wire, placing)
            plugged = [(x.far, s.unit) for x in wire.outs if (s := placing[x.ident])]
            if any(unit == start and not self._patches(unit) for _, unit in plugged):
                return False  # a box has no way inside from an input to an output
            arriving = [unit for part, unit in wire.arrivals if (wire.line.key, part) not in gone]
            need.update((u, Side.STRIP) for u in arriving if self.show.units[u].kind.strips)
            need.update((far, Side.IN) for far, _ in plugged if far)
            routed = {u for u in arriving + [unit for _, unit in plugged] if u != start}
            # A box's outputs have channels of their own; any other unit hears a line once.
            boxes = {unit for _, unit in plugged if not self._patches(unit)}
            need.update((u, Side.RECEIVE) for u in routed - boxes)
            if start and routed and (wire.inside or self._patches(start)):
                need[start, Side.SEND] += 1
            if start and wire.own_out:
                need[wire.own_out, Side.OUT] += 1
        return all(n <= self._count(self.show.units[u], side) for (u, side), n in need.items())

    def _patches(self, unit: str) -> bool:
        return self.show.units[unit].kind.inside_patch

    # -- wishes ------------------------------------------------------------------------------

    def wants(self) -> list[tuple[LineKey, str]]:
        return [(w.line.key, part) for w in self.wires for part in w.parts if part in w.may_go]

    def left_out(self, gone: LeftOut) -> int:
        spare = {w.line.key for w in self.wires if w.line.need.value == "spare"}
        return sum(1 if key in spare else 1000 for key, _ in gone)

    def score(
        self,
        placing: Placing,
        gone: LeftOut,
        channels: Mapping[tuple[LineKey, str], int] | None = None,
    ) -> Score:
        """Give what the wishes come to; `channels` is each line's receive channel by mixer.

        Without `channels` each line gets the channel of its box's number where nothing stands
        against it.
        """
        return Score(
            left_out=self.left_out(gone),
            moved=self._moved(placing, gone),
            apart=self._apart(placing),
            bunched=self._bunched(placing),
            leads_mm=sum(self.length_mm(x, s) for x in self.leads if (s := placing[x.ident])),
            groups_mm=self._groups(placing),
            off_number_mm=self._off_number(placing, gone, channels),
        )

    def _moved(self, placing: Placing, gone: LeftOut) -> int:
        labels = sum(1 for ident, spot in self.kept.items() if placing[ident] != spot)
        taken = sum(
            1
            for ident, spot in placing.items()
            if spot in self.freed and self.freed[spot] != ident[0]
        )
        return 1000 * (labels + self.lost(gone)) + taken

    def lost(self, gone: LeftOut) -> int:
        """Give how many arrivals there were before that are left out now."""
        return sum(
            1
            for w in self.wires
            for part, _ in w.arrivals
            if (w.line.key, part) in gone and self.had(w.line, "to", part)
        )

    def _apart(self, placing: Placing) -> int:
        by_key = {w.line.key: w for w in self.wires}
        apart = 0
        for left in self.wires:
            right = by_key.get(left.line.pair) if left.line.pair and left.line.left else None
            if right is None:
                continue
            halves = []
            if left.start and right.start and left.start.at == right.start.at:
                halves.append((left.start, right.start))
            rest = list(right.outs)
            for a in left.outs:
                b = next((b for b in rest if b.at == a.at), None)
                if b is not None:
                    rest.remove(b)
                    halves.append((a, b))
            for a, b in halves:
                odd, even = placing[a.ident], placing[b.ident]
                if odd is not None and even is not None:
                    apart += not (
                        odd.unit == even.unit
                        and odd.number % 2 == 1
                        and even.number == odd.number + 1
                    )
        return apart

    def _spreads_that_count(self) -> list[list[Lead]]:
        sets: dict[tuple[str, str], list[Lead]] = defaultdict(list)
        for w in self.wires:
            content = w.line.content or (w.line.source.content if w.line.source else "")
            if w.start and w.line.spread:
                sets["spread", w.line.spread].append(w.start)
            elif w.start and w.line.group and content == "speech":
                sets["speech", w.line.group].append(w.start)
        return [x for x in sets.values() if len(x) > 1 and any(map(self._second_is_near, x))]

    def _second_is_near(self, lead: Lead) -> bool:
        near = sorted({s.unit: self.length_mm(lead, s) for s in lead.sockets}.values())
        return len(near) > 1 and near[1] - near[0] <= self.show.weights.spread_within_m * 1000

    def _bunched(self, placing: Placing) -> int:
        bunched = 0
        for leads in self.near:
            there = [s.unit for lead in leads if (s := placing[lead.ident])]
            bunched += len(there) > 1 and len(set(there)) == 1
        return bunched

    def _groups(self, placing: Placing) -> int:
        used: dict[tuple[str, Side], set[str]] = defaultdict(set)
        of = {w.line.key: w.line.group for w in self.wires}
        for lead in self.leads:
            if of[lead.line] and (spot := placing[lead.ident]):
                used[of[lead.line], lead.side].add(spot.unit)
        return round(self.show.weights.group_m * 1000) * sum(len(u) - 1 for u in used.values())

    def _off_number(
        self,
        placing: Placing,
        gone: LeftOut,
        channels: Mapping[tuple[LineKey, str], int] | None,
    ) -> int:
        off = 0
        for w in self.wires:
            spot = placing[w.start.ident] if w.start else None
            unit = self.show.units[spot.unit] if spot else None
            if unit is None or unit.kind.numbering is None or unit.number is None:
                continue
            # Unit n's socket i lands on channel inputs x (n - 1) + i (common practice, facts 12).
            lands = unit.kind.numbering.inputs * (unit.number - 1) + spot.number
            for part, mixer in w.arrivals:
                follows = self.show.units[mixer].kind.follows_numbers and mixer != unit.name
                if follows and (w.line.key, part) not in gone:
                    if channels is not None:
                        off += channels[w.line.key, mixer] != lands
                    else:
                        off += not self._can_land(w.line.key, mixer, lands)
        return round(self.show.weights.off_number_m * 1000) * off

    def _can_land(self, key: LineKey, mixer: str, channel: int) -> bool:
        if (mixer, channel) in self.channels:
            return self.channels[mixer, channel] == key
        if any(u == mixer and k == key for (u, _), k in self.channels.items()):
            return False
        spot = Spot(unit=mixer, side=Side.RECEIVE, number=channel)
        return spot not in self.freed and channel <= self._count(
            self.show.units[mixer], Side.RECEIVE
        )

    # -- the best ----------------------------------------------------------------------------

    def work(self) -> int:
        """Give about how many placings there are to try."""
        return math.prod(len(x.sockets) + 1 for x in self.leads) * 2 ** len(self.wants())

    def best(self) -> tuple[Score, ...]:
        """Give the best scores there are, one for each way to share the metres; none: no plan."""
        wants = self.wants()
        ways = [
            frozenset(gone)
            for n in range(len(wants) + 1)
            for gone in itertools.combinations(wants, n)
        ]
        by_cost: dict[int, list[LeftOut]] = defaultdict(list)
        for gone in ways:
            by_cost[self.left_out(gone)].append(gone)
        for _, same in sorted(by_cost.items()):
            scores = {self.score(p, gone) for gone in same for p in self.placings(gone)}
            if scores:
                least = min(s.order() for s in scores)
                return tuple(s for s in scores if s.order() == least)
        return ()

    def possible(self) -> bool:
        """Say whether there is any plan (leaving out every want frees the most room)."""
        return any(True for _ in self.placings(frozenset(self.wants())))


def read_off(case: Case, plan: Plan) -> tuple[Placing, LeftOut, dict[tuple[LineKey, str], int]]:
    """Give where a plan has every lead, which ends it leaves out, and its receive channels."""
    placing: dict[tuple[LineKey, str, Side], Spot | None] = {}
    gone: set[tuple[LineKey, str]] = set()
    channels: dict[tuple[LineKey, str], int] = {}
    for wire in case.wires:
        decided = plan.line(wire.line.key)
        assert decided is not None
        gone |= {(wire.line.key, part) for part in decided.left_out}
        for lead in [wire.start] if wire.start else []:
            placing[lead.ident] = _plugged(decided.start.get(lead.part, ()), lead)
        for lead in wire.outs:
            placing[lead.ident] = _plugged(decided.ends.get(lead.part, ()), lead)
        for spots in decided.ends.values():
            for s in spots:
                if s.side is Side.RECEIVE:
                    channels[wire.line.key, s.unit] = s.number
    return placing, frozenset(gone), channels


def _plugged(spots: tuple[Spot, ...], lead: Lead) -> Spot | None:
    return next((s for s in spots if s.side is lead.side and s.unit != lead.far), None)


def _distances(show: Show) -> dict[tuple[str, str], int]:
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
