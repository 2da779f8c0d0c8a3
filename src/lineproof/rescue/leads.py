"""The audio leads that might be moved, and into which free sockets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.part import ALSO
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.problem import Plug
from lineproof.plan.model import LinePlan
from lineproof.rescue.hand import Alike
from lineproof.rescue.wreck import Wreck
from lineproof.show.model import Line


@dataclass(frozen=True, kw_only=True)
class Perch:
    """Where a lead might go instead: into any of these sockets, with so many metres of lead."""

    alike: Alike
    metres: float


@dataclass(frozen=True, kw_only=True)
class Lead:
    """A lead that may be moved: the socket it is in, the lines in it, and where it might go."""

    spot: Spot
    lines: tuple[int, ...]
    parts: tuple[str, ...]
    place: str
    perches: tuple[Perch, ...]


@dataclass(frozen=True, kw_only=True)
class Leads(Wreck):
    """A wreck with its leads, each looked up once."""

    _leads: dict[tuple[Spot, Side], Lead | None] = field(default_factory=dict, compare=False)

    def start_lead(self, at: int) -> Lead | None:
        """Give the lead by which a line comes in, None where it starts inside a unit."""
        resting = self.lines[at]
        main = main_start(resting.decided)
        if main is None:
            return None
        spot = next((s for s in resting.decided.start[main] if s.side is Side.IN), None)
        return None if spot is None else self._lead(spot, Side.IN)

    def end_lead(self, at: int, part: str) -> Lead | None:
        """Give the lead by which a line goes out to an end, None where it ends inside a unit."""
        decided = self.lines[at].decided
        spot = last_out(decided.ends.get(part, ()))
        return None if spot is None else self._lead(spot, Side.OUT)

    def _lead(self, spot: Spot, side: Side) -> Lead | None:
        key = (spot, side)
        if key not in self._leads:
            self._leads[key] = self._found(spot, side)
        return self._leads[key]

    def _found(self, spot: Spot, side: Side) -> Lead | None:
        """Give a lead with all lines that use its socket, in whatever act: they move together."""
        users = [(at, part) for at, part in self._users.get((spot, side), ())]
        plugs = [self.plug(self.lines[at].line, part, side) for at, part in users]
        if not users or any(plug is None for plug in plugs):
            return None
        known = [plug for plug in plugs if plug is not None]
        places = {plug.place for plug in known}
        return Lead(
            spot=spot,
            lines=tuple(at for at, _ in users),
            parts=tuple(part for _, part in users),
            place=known[0].place,
            perches=tuple(self.perches(self.hand.alike(side), spot, known, places)),
        )

    @cached_property
    def _users(self) -> Mapping[tuple[Spot, Side], tuple[tuple[int, str], ...]]:
        found: dict[tuple[Spot, Side], list[tuple[int, str]]] = {}
        for at, resting in enumerate(self.lines):
            main = main_start(resting.decided)
            if main is not None:
                first = next((s for s in resting.decided.start[main] if s.side is Side.IN), None)
                if first is not None:
                    found.setdefault((first, Side.IN), []).append((at, main))
            for part, chain in resting.decided.ends.items():
                last = last_out(chain)
                if last is not None:
                    found.setdefault((last, Side.OUT), []).append((at, part))
        return {key: tuple(users) for key, users in found.items()}

    def plug(self, line: Line, part: str, side: Side) -> Plug | None:
        """Give what a lead of a line must be plugged into, None for one the planner has not."""
        return self.hand.plugs.get((line.key, part, side))

    def perches(
        self, offered: Iterable[Alike], spot: Spot, plugs: list[Plug], places: Iterable[str]
    ) -> Iterator[Perch]:
        """Give where a lead might go: as far as a near second unit is, or as its lead is long."""
        here = self.hand.place(spot.unit)
        if not all(map(self.reached, places)):
            return
        if any(plug.beyond and not self.alive(plug.beyond) for plug in plugs):
            return
        near = self.hand.show.weights.spread_within_m
        reach = max([near, *(m for p in places if (m := self.hand.near_m(p, here)) is not None)])
        for alike in offered:
            if not self.alive(alike.host) or not self._open_to(alike, spot, plugs):
                continue
            if not all(plug.fits(alike.socket) for plug in plugs):
                continue
            there = self.hand.place(alike.front)
            metres = [self.hand.near_m(place, there) for place in places]
            if not self.reached(there) or any(m is None or m > reach for m in metres):
                continue
            if all(self.lead_lies(place, there) for place in places):
                longest = max(m for m in metres if m is not None)
                yield Perch(alike=alike, metres=longest)

    def _open_to(self, alike: Alike, spot: Spot, plugs: list[Plug]) -> bool:
        """Say whether the unit is there in all acts of the lead, and spare for it if it covers."""
        host = self.unit(alike.host)
        if any(plug.beyond == alike.front for plug in plugs):
            return False
        if host.covers and spot.unit not in host.covers:
            return False
        acts = {act for plug in plugs for act in self._acts(plug.line)}
        return not host.here or acts <= set(host.here)

    def _acts(self, key: LineKey) -> set[str]:
        return {key.act} if key.act else {act.name for act in self.hand.show.acts}


def main_start(decided: LinePlan) -> str | None:
    """Give the start that is heard while all is well, None for a line without one."""
    plain = [start for start in decided.start if not start.startswith(ALSO)]
    return plain[0] if plain else None


def last_out(chain: tuple[Spot, ...]) -> Spot | None:
    """Give the socket out of which a lead goes to the end, None for an end inside a unit."""
    return next((spot for spot in reversed(chain) if spot.side is Side.OUT), None)
