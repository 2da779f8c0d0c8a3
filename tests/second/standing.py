"""What hangs already: the socket every lead had, channels that are settled, and what is freed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import Line, Show
from tests.second.running import Time
from tests.second.wires import Ident, Lead, Wire, Wiring


@dataclass(kw_only=True)
class Standing:
    """The plan that hangs, seen from the show as it is now."""

    wiring: Wiring
    time: Time
    earlier: Plan
    freed: dict[Spot, LineKey] = field(init=False)
    kept: dict[Ident, Spot] = field(init=False)
    channels: dict[tuple[str, int], set[LineKey]] = field(init=False)

    def __post_init__(self) -> None:
        self.freed = self._freed()
        leads = [lead for wire in self.wiring.wires for lead in wire.leads]
        self.kept = {lead.ident: spot for lead in leads if (spot := self._kept(lead))}
        self.channels = self._fixed_channels()

    @property
    def show(self) -> Show:
        return self.wiring.show

    def _freed(self) -> dict[Spot, LineKey]:
        """Give what is kept for lines, and for parts of lines, that went: before, or just now."""
        freed = {f.spot: f.line for f in self.earlier.freed}
        held: set[Spot] = set()
        for decided in self.earlier.lines:
            line = self.show.line(decided.key)
            starts = {str(s) for s in line.starts} if line else set()
            ends = {str(m) for e in line.ends for m in e.members} if line else set()
            ends |= {f"{end} from {s}" for end in ends for s in line.starts[1:]} if line else set()
            for there, had in ((starts, decided.start), (ends, decided.ends)):
                for part, spots in had.items():
                    held |= set(spots) if part in there else set()
                    freed.update({s: decided.key for s in spots if part not in there})
        # What a line of another act holds still is not free.
        return {spot: key for spot, key in freed.items() if spot not in held}

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

    def _fixed_channels(self) -> dict[tuple[str, int], set[LineKey]]:
        """Give the receive channels that pins, or the plan that hangs, settle: a pin first."""
        fixed: dict[tuple[str, int], set[LineKey]] = {}
        for key, spot in (*self._pinned(), *self._heard()):
            lines = fixed.setdefault((spot.unit, spot.number), set())
            have = any(key in x for (u, _), x in fixed.items() if u == spot.unit)
            if not have and not any(self.time.overlap(key.act, x.act) for x in lines):
                lines.add(key)
        return {channel: lines for channel, lines in fixed.items() if lines}

    def _pinned(self) -> Iterator[tuple[LineKey, Spot]]:
        for wire in self.wiring.wires:
            for _, unit in wire.arrivals:
                for s in self.wiring.pins[wire.line.key]:
                    if (s.unit, s.side) == (unit, Side.RECEIVE) and not wire.strand:
                        yield wire.line.key, s

    def _heard(self) -> Iterator[tuple[LineKey, Spot]]:
        for wire in self.wiring.wires:
            for part in () if wire.strand else wire.parts:
                for s in self.had(wire.line, "to", part):
                    if s.side is Side.RECEIVE:
                        yield wire.line.key, s

    def lost(self, gone: frozenset[tuple[LineKey, str]]) -> int:
        """Give how many arrivals there were before that are left out now."""
        return sum(1 for wire in self.wiring.wires for part in _gone(wire, gone, self))


def _gone(wire: Wire, gone: frozenset[tuple[LineKey, str]], standing: Standing) -> list[str]:
    return [
        part
        for part, _ in wire.arrivals
        if (wire.line.key, part) in gone and standing.had(wire.line, "to", part)
    ]
