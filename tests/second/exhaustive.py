"""A second, slower planner: it tries every assignment of leads to sockets and keeps the best.

Written from the words of the design alone ("Spots": what is hard, in which order the wishes
come, what they weigh; acts and roles) and from the show; it shares nothing with
`lineproof.decide`. Weights in metres and the 15 m that count as near are common practice, as the
design marks them.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.plan.model import Plan
from lineproof.show.model import Show
from tests.second.running import Time
from tests.second.score import Channels, LeftOut, Placing, Score, Wishes
from tests.second.standing import Standing
from tests.second.wires import Ident, Lead, Wire, Wiring

__all__ = ["Case", "Channels", "LeftOut", "Placing", "Score", "read_off"]


@dataclass(frozen=True, kw_only=True)
class Need:
    """One number that is taken in a unit: by whom, and in which act."""

    unit: str
    side: Side
    who: Hashable
    act: str


@dataclass(kw_only=True)
class Case:
    """A show, and the plan that hangs already."""

    show: Show
    earlier: Plan = field(default_factory=Plan)

    def __post_init__(self) -> None:
        self.time = Time(show=self.show)
        self.wiring = Wiring(show=self.show)
        self.standing = Standing(wiring=self.wiring, time=self.time, earlier=self.earlier)
        self.wishes = Wishes(standing=self.standing)
        self.wires = self.wiring.wires
        self.leads = self.wishes.leads
        self.score = self.wishes.score

    # -- hard conditions ---------------------------------------------------------------------

    def placings(self, gone: LeftOut) -> Iterator[Placing]:
        """Give every legal placing of the leads when just these ends are left out."""
        reserved = {spot: x for x in self.leads if x.pinned for spot in x.sockets}
        unplugged = {
            lead.ident for w in self.wires for lead in w.leads if self._stays_out(w, lead, gone)
        }
        overlap = self.time.overlap
        placing: dict[Ident, Spot | None] = {}
        used: dict[Spot, list[str]] = defaultdict(list)

        def free(lead: Lead, spot: Spot) -> bool:
            pin = reserved.get(spot, lead)
            if pin.ident != lead.ident and overlap(pin.line.act, lead.line.act):
                return False
            return not any(overlap(act, lead.line.act) for act in used[spot])

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
                if free(lead, spot):
                    used[spot].append(lead.line.act)
                    placing[lead.ident] = spot
                    yield from place(at + 1)
                    used[spot].pop()

        yield from place(0)

    def _stays_out(self, wire: Wire, lead: Lead, gone: LeftOut) -> bool:
        """Say whether a lead is not plugged: all that it is for is left out.

        A standby that arrives nowhere by itself is for whatever its line is for.
        """
        main = next(w for w in self.wires if w.line is wire.line and not w.strand)
        parts = (wire.parts or main.parts) if lead is wire.start else (lead.part,)
        return bool(parts) and all((wire.line.key, part) in gone for part in parts)

    def start_unit(self, wire: Wire, placing: Placing) -> str:
        spot = placing[wire.start.ident] if wire.start else None
        return wire.inside or (spot.unit if spot else "")

    def within_limits(self, placing: Placing, gone: LeftOut) -> bool:
        """Say whether no unit is asked for more channels, strips or sockets than it has.

        A receive channel hears its socket all night, unless routes are per act, and what sends
        to it sends all night; strips and sockets are free again when an act is over.
        """
        needs: set[Need] = set()
        for wire in self.wires:
            found = self._needs(wire, placing, gone)
            if found is None:
                return False
            needs |= found
        all_night = (Side.RECEIVE, Side.SEND) if self.show.routes == "all-night" else ()
        whole = [n for n in needs if n.side in all_night]
        if all_night and self._heard_twice(placing):
            return False
        if not self._there_are(whole):
            return False
        rest = [n for n in needs if n.side not in all_night]
        return all(self._there_are([n for n in rest if n.act in m]) for m in self.time.moments)

    def _heard_twice(self, placing: Placing) -> bool:
        """Say whether an output of a box would have to hear two starts in one night."""
        heard: dict[Spot, Hashable] = {}
        for wire in self.wires:
            start = placing[wire.start.ident] if wire.start else None
            for lead in wire.outs:
                spot = placing[lead.ident]
                if spot and not self._patches(spot.unit):
                    own: Hashable = start or (wire.line.key, wire.strand)
                    if heard.setdefault(spot, own) != own:
                        return True
        return False

    def _there_are(self, needs: list[Need]) -> bool:
        asked: dict[tuple[str, Side], set[Hashable]] = defaultdict(set)
        for need in needs:
            asked[need.unit, need.side].add(need.who)
        units = self.show.units
        return all(
            len(who) <= self.wiring.count(units[unit], side) for (unit, side), who in asked.items()
        )

    def _needs(self, wire: Wire, placing: Placing, gone: LeftOut) -> set[Need] | None:
        """Give what one line takes in every unit, or None where it can't be so."""
        start, act = self.start_unit(wire, placing), wire.line.key.act
        plugged = [(x.far, s.unit) for x in wire.outs if (s := placing[x.ident])]
        if any(unit == start and not self._patches(unit) for _, unit in plugged):
            return None  # a box has no way inside from an input to an output
        arriving = [unit for part, unit in wire.arrivals if (wire.line.key, part) not in gone]
        if any(unit in wire.by_cable and unit != start for unit in arriving):
            return None  # it was to come by cable
        # What is heard of a line: the socket it is plugged into, or its place inside a unit.
        spot = placing[wire.start.ident] if wire.start else None
        heard: Hashable = spot or (wire.line.key, wire.strand)
        routed = {u for u in arriving + [unit for _, unit in plugged] if u != start}
        # A box's outputs have channels of their own; any other unit hears a line once.
        boxes = {unit for _, unit in plugged if not self._patches(unit)}
        needs = {Need(unit=u, side=Side.RECEIVE, who=heard, act=act) for u in routed - boxes}
        if not wire.strand:
            needs |= {
                Need(unit=u, side=Side.STRIP, who=wire.line.key, act=act)
                for u in arriving
                if self.show.units[u].kind.strips
            }
        needs |= {
            Need(unit=x.far, side=Side.IN, who=x.ident, act=act)
            for x in wire.outs
            if x.far and placing[x.ident]
        }
        sends = bool(routed) or bool(wire.strand)  # a standby is ready to be heard
        if start and sends and (wire.inside or self._patches(start)):
            needs.add(Need(unit=start, side=Side.SEND, who=heard, act=act))
        if start and wire.own_out:
            who = (wire.line.key, wire.strand)
            needs.add(Need(unit=wire.own_out, side=Side.OUT, who=who, act=act))
        return needs

    def _patches(self, unit: str) -> bool:
        return self.show.units[unit].kind.inside_patch

    # -- the best ----------------------------------------------------------------------------

    def wants(self) -> list[tuple[LineKey, str]]:
        return [(w.line.key, part) for w in self.wires for part in w.parts if part in w.may_go]

    def ways_to_leave_out(self) -> Iterator[LeftOut]:
        """Give every set of wants to leave out: no standby arrives where its line doesn't."""
        wants = self.wants()
        starts = {w.line.key: w.strand for w in self.wires if w.strand}
        for n in range(len(wants) + 1):
            for some in itertools.combinations(wants, n):
                gone = frozenset(some)
                alone = ((key, f"{part} from {starts[key]}") for key, part in gone if key in starts)
                if all(end in gone or end not in wants for end in alone):
                    yield gone

    def work(self) -> int:
        """Give about how many placings there are to try."""
        return math.prod(len(x.sockets) + 1 for x in self.leads) << len(self.wants())

    def best(self) -> tuple[Score, ...]:
        """Give the best scores there are, one for each way to share the metres; none: no plan."""
        by_cost: dict[int, list[LeftOut]] = defaultdict(list)
        for gone in self.ways_to_leave_out():
            by_cost[self.wishes.left_out(gone)].append(gone)
        for _, same in sorted(by_cost.items()):
            scores = {self.score(p, gone) for gone in same for p in self.placings(gone)}
            if scores:
                least = min(s.order() for s in scores)
                return tuple(s for s in scores if s.order() == least)
        return ()

    def possible(self) -> bool:
        """Say whether there is any plan (leaving out every want frees the most room)."""
        return any(True for _ in self.placings(frozenset(self.wants())))


def read_off(case: Case, plan: Plan) -> tuple[Placing, LeftOut, Channels]:
    """Give where a plan has every lead, which ends it leaves out, and its receive channels."""
    placing: dict[Ident, Spot | None] = {}
    gone: set[tuple[LineKey, str]] = set()
    channels: dict[tuple[LineKey, str, str], int] = {}
    for wire in case.wires:
        decided = plan.line(wire.line.key)
        assert decided is not None
        gone |= {(wire.line.key, part) for part in decided.left_out}
        for lead in [wire.start] if wire.start else []:
            placing[lead.ident] = _plugged(decided.start.get(lead.part, ()), lead)
        for lead in wire.outs:
            placing[lead.ident] = _plugged(decided.ends.get(lead.part, ()), lead)
        for part in wire.parts:
            for s in decided.ends.get(part, ()):
                if s.side is Side.RECEIVE:
                    channels[wire.line.key, wire.strand, s.unit] = s.number
    return placing, frozenset(gone), channels


def _plugged(spots: tuple[Spot, ...], lead: Lead) -> Spot | None:
    return next((s for s in spots if s.side is lead.side and s.unit != lead.far), None)
