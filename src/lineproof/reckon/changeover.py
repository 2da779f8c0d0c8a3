"""What moves between two acts on one stage: plugs and phantom, socket by socket."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lineproof.base.spot import Side, Spot
from lineproof.graph.signal import By, ways
from lineproof.plan.model import LinePlan, Plan
from lineproof.reckon.stores import role_of
from lineproof.show.model import Act, Line, Show


@dataclass(frozen=True, kw_only=True)
class Hold:
    """What a spot holds in an act: the line, what it meets there, whether 48 V is on.

    `other` is what the line comes from or goes to: a place, or another unit's spot.
    """

    line: Line
    other: str
    phantom: bool = False

    @property
    def role(self) -> tuple[tuple[str, str], str]:
        """Give what stays the same when nothing has to be moved."""
        return (role_of(self.line), self.other)

    def stays(self, now: Hold, side: Side) -> bool:
        """Say whether nothing has to be moved: a plug by its role, a strip by what feeds it."""
        return self.other == now.other if side is Side.STRIP else self.role == now.role


@dataclass(frozen=True, kw_only=True)
class Move:
    """One thing to be done at a spot: `was` is taken off (None: it was free), `now` put on.

    `mute_first`: the channel is live, and a plug or 48 V changes on it: that is heard.
    """

    spot: Spot
    was: Hold | None
    now: Hold

    @property
    def phantom_changes(self) -> bool:
        """Say whether 48 V is switched."""
        return self.now.phantom != (self.was.phantom if self.was else False)

    @property
    def mute_first(self) -> bool:
        """Say whether the channel must be muted before it is touched."""
        return self.spot.side is not Side.STRIP and (self.was is not None or self.phantom_changes)


@dataclass(frozen=True, kw_only=True)
class Changeover:
    """All that moves before an act, after the one that played before it on the same stage."""

    before: Act
    after: Act
    moves: tuple[Move, ...]


def changeovers(show: Show, plan: Plan) -> tuple[Changeover, ...]:
    """Give every change on every stage, in running order; a plug that stays in is no move.

    A plug is moved before an act when its socket last held another role, in whichever act that
    was; a strip when it is last fed from elsewhere.
    """
    holds = _holds(show, plan)
    last_act: dict[str, Act] = {}
    held: dict[str, dict[Spot, Hold]] = {}
    found = []
    for act in show.acts:
        now = {**holds.get("", {}), **holds.get(act.name, {})}
        then = held.setdefault(act.stage, {})
        if (before := last_act.get(act.stage)) is not None:
            moves = tuple(_moves(then, now))
            found.append(Changeover(before=before, after=act, moves=moves))
        then.update(now)
        last_act[act.stage] = act
    return tuple(found)


def _moves(then: Mapping[Spot, Hold], now: Mapping[Spot, Hold]) -> Iterator[Move]:
    for spot in sorted(now, key=Spot.sort_key):
        was = then.get(spot)
        # A strip nobody used yet needs no hand: it comes with the act's own settings.
        fresh_strip = was is None and spot.side is Side.STRIP
        if not fresh_strip and (was is None or not was.stays(now[spot], spot.side)):
            yield Move(spot=spot, was=was, now=now[spot])


def _holds(show: Show, plan: Plan) -> dict[str, dict[Spot, Hold]]:
    found: dict[str, dict[Spot, Hold]] = {}
    for decided in plan.lines:
        line = show.line(decided.key)
        if line is None or any(spot.unit not in show.units for spot in decided.spots()):
            continue
        held = found.setdefault(decided.key.act, {})
        held.update(_plugs(line, decided))
        held.update(_strips(show, line, decided))
    return found


def _plugs(line: Line, decided: LinePlan) -> Iterator[tuple[Spot, Hold]]:
    for part, spots in decided.start.items():
        plugged = next((s for s in spots if s.side is Side.IN), None)
        far = next((s for s in spots if s.side is Side.OUT), None)
        if plugged is not None:
            other = str(far) if far else part
            yield plugged, Hold(line=line, other=other, phantom=line.needs_phantom)
    for part, spots in decided.ends.items():
        plugged = next((s for s in spots if s.side is Side.OUT), None)
        far = next((s for s in spots if s.side is Side.IN), None)
        if plugged is not None:
            yield plugged, Hold(line=line, other=str(far) if far else part)


def _strips(show: Show, line: Line, decided: LinePlan) -> Iterator[tuple[Spot, Hold]]:
    for way in ways(show, decided):
        for hop in way.hops():
            if hop.by is By.INSIDE and hop.to_spot.side is Side.STRIP:
                yield hop.to_spot, Hold(line=line, other=str(hop.from_spot))
