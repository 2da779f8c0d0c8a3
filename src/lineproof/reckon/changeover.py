"""What moves between two acts on one stage: plugs, multipins, 48 V, routes, strips."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from lineproof.base.spot import Side, Spot
from lineproof.graph.signal import By, ways
from lineproof.plan.model import LinePlan, Plan
from lineproof.reckon.multipins import Multipins
from lineproof.reckon.order import walking_order
from lineproof.reckon.stores import role_of
from lineproof.show.model import Act, Line, Show


class How(enum.Enum):
    """What is done by hand, or by the settings an act brings along (routes and strips)."""

    MULTIPIN = "multipin"
    PLUG = "plug"
    PHANTOM = "phantom"  # the plug stays, 48 V doesn't
    ROUTE = "route"
    STRIP = "strip"


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


@dataclass(frozen=True, kw_only=True)
class Move:
    """One thing to be done: at `spots`, `was` is taken off (None: nothing was there), `now` put on.

    A multipin moves as a whole: `off` and `on` name the drop boxes, `spots` are the box's
    sockets. `phantom` says that 48 V is switched on or off there, None that it stays. `mute_first`:
    the channel is live, and a plug or 48 V changes on it: that is heard.
    """

    how: How
    spots: tuple[Spot, ...]
    now: Hold
    was: Hold | None = None
    off: str = ""
    on: str = ""
    phantom: bool | None = None

    @property
    def spot(self) -> Spot:
        """Give where it is done: of a multipin the first socket."""
        return self.spots[0]

    @property
    def at(self) -> str:
        """Give where it is done, in words: `box-1:in-3`, or all a multipin takes as a range."""
        sides: dict[str, list[int]] = {}
        for spot in self.spots:
            sides.setdefault(f"{spot.unit}:{spot.side.value}", []).append(spot.number)
        return ", ".join(f"{side}-{_range(numbers)}" for side, numbers in sides.items())

    @property
    def fresh(self) -> bool:
        """Say whether the sockets held nothing in any act before: it can be plugged beforehand."""
        plugged = self.how in (How.PLUG, How.MULTIPIN)
        return plugged and self.was is None and not self.off

    @property
    def counts(self) -> bool:
        """Say whether it is a move: a plug, or a whole multipin, where another one was before."""
        return self.how in (How.PLUG, How.MULTIPIN) and not self.fresh

    @property
    def mute_first(self) -> bool:
        """Say whether the channel must be muted before it is touched."""
        by_hand = self.how not in (How.STRIP, How.ROUTE)
        return by_hand and (self.counts or self.phantom is not None)


def _range(numbers: list[int]) -> str:
    first, last = numbers[0], numbers[-1]
    if numbers == list(range(first, last + 1)):
        return f"{first}-{last}" if last > first else f"{first}"
    return "/".join(map(str, numbers))


@dataclass(frozen=True, kw_only=True)
class Changeover:
    """All that is done before an act, after the one that played before it on the same stage.

    In walking order: by the places of the boxes, then socket by socket; routes and strips last.
    """

    before: Act
    after: Act
    moves: tuple[Move, ...]

    @property
    def count(self) -> int:
        """Give how many plugs move; a multipin that moves as a whole is one."""
        return sum(1 for move in self.moves if move.counts)


def changeovers(show: Show, plan: Plan) -> tuple[Changeover, ...]:
    """Give every change on every stage, in running order.

    A plug is moved before an act when its socket last held another role, in whichever act that
    was; one that stays in through an act without it is not. A socket that held nothing yet is no
    move. A multipin is moved when its sockets last held another drop box, or single plugs. A
    strip or, where routes are per act, a receive channel when it is last fed from elsewhere.
    """
    holds = _Holds(show, plan)
    walk = {place: n for n, place in enumerate(walking_order(show))}
    # Who follows whom goes by stage, what a socket held by the whole night: boxes serve several.
    last_act: dict[str, Act] = {}
    state = _State(multipins=holds.multipins)
    found = []
    for act in show.acts:
        moves = state.turned_to(holds.of_act(act.name))
        if (before := last_act.get(act.stage)) is not None:
            moves.sort(key=lambda m: _walked(show, walk, m))
            found.append(Changeover(before=before, after=act, moves=tuple(moves)))
        last_act[act.stage] = act
    return tuple(found)


_IN_ORDER = {How.MULTIPIN: 0, How.PLUG: 0, How.PHANTOM: 0, How.ROUTE: 1, How.STRIP: 2}


def _walked(show: Show, walk: dict[str, int], move: Move) -> tuple[object, ...]:
    place = walk.get(show.units[move.spot.unit].place, len(walk))
    return (_IN_ORDER[move.how], place, move.spot.sort_key(), move.how is not How.MULTIPIN)


@dataclass(frozen=True, kw_only=True)
class _Held:
    """All that spots hold in one act: plugs by the socket a lead is in, the rest by spot."""

    plugs: dict[Spot, Hold] = field(default_factory=dict)
    routes: dict[Spot, Hold] = field(default_factory=dict)
    strips: dict[Spot, Hold] = field(default_factory=dict)

    def update(self, other: _Held) -> None:
        self.plugs.update(other.plugs)
        self.routes.update(other.routes)
        self.strips.update(other.strips)


@dataclass(kw_only=True)
class _State:
    """What every spot last held, while the acts go by."""

    multipins: Multipins
    held: _Held = field(default_factory=_Held)
    drops: dict[Spot, str] = field(default_factory=dict)
    phantom: dict[Spot, bool] = field(default_factory=dict)

    def turned_to(self, now: _Held) -> list[Move]:
        """Give what must be done for the next act, and hold what it holds."""
        moves = [*self._multipins(now), *self._plugs(now)]
        moves += self._phantoms(now, {move.spot for move in moves if move.how is How.PLUG})
        moves += _fed(How.ROUTE, self.held.routes, now.routes)
        moves += _fed(How.STRIP, self.held.strips, now.strips)
        for spot, hold in now.plugs.items():
            real = self.multipins.behind.get(spot, spot)
            self.phantom[real] = hold.phantom
            if real == spot:
                self.drops.pop(spot, None)
        for drop in self._drops_in(now):
            self.drops.update(dict.fromkeys(self.multipins.sockets[drop], drop))
        self.held.update(now)
        return moves

    def _drops_in(self, now: _Held) -> tuple[str, ...]:
        units = sorted({spot.unit for spot in now.plugs if spot in self.multipins.behind})
        return tuple(unit for unit in units if unit in self.multipins.sockets)

    def _multipins(self, now: _Held) -> Iterator[Move]:
        for drop in self._drops_in(now):
            sockets = self.multipins.sockets[drop]
            there = dict.fromkeys(self.drops.get(spot, "") for spot in sockets)
            # A single plug in one of the sockets that no multipin covered since.
            was = next(
                (h for s in sockets if s not in self.drops and (h := self.held.plugs.get(s))), None
            )
            if was is None and set(there) == {drop}:
                continue
            first = next(hold for spot, hold in now.plugs.items() if spot.unit == drop)
            off = ", ".join(name for name in there if name and name != drop)
            yield Move(how=How.MULTIPIN, spots=sockets, now=first, was=was, off=off, on=drop)

    def _plugs(self, now: _Held) -> Iterator[Move]:
        for spot, hold in now.plugs.items():
            was, covered = self.held.plugs.get(spot), self.drops.get(spot, "")
            if was is None or was.role != hold.role or covered:
                phantom = self._switched(spot, hold)
                was = None if covered else was
                yield Move(
                    how=How.PLUG, spots=(spot,), now=hold, was=was, off=covered, phantom=phantom
                )

    def _phantoms(self, now: _Held, moved: set[Spot]) -> Iterator[Move]:
        for spot, hold in now.plugs.items():
            if spot not in moved and (phantom := self._switched(spot, hold)) is not None:
                was = self.held.plugs.get(spot)
                yield Move(how=How.PHANTOM, spots=(spot,), now=hold, was=was, phantom=phantom)

    def _switched(self, spot: Spot, hold: Hold) -> bool | None:
        real = self.multipins.behind.get(spot, spot)
        return hold.phantom if hold.phantom != self.phantom.get(real, False) else None


def _fed(how: How, then: dict[Spot, Hold], now: dict[Spot, Hold]) -> Iterator[Move]:
    """Give what is fed from elsewhere; what nobody used yet comes with the act's own settings."""
    for spot, hold in now.items():
        was = then.get(spot)
        if was is not None and was.other != hold.other:
            yield Move(how=how, spots=(spot,), now=hold, was=was)


class _Holds:
    """What every act's lines hold, those without an act in each of them."""

    def __init__(self, show: Show, plan: Plan) -> None:
        self.multipins = Multipins.of(show)
        self._by_act: dict[str, _Held] = {}
        for decided in plan.lines:
            line = show.line(decided.key)
            if line is not None and all(s.unit in show.units for s in decided.spots()):
                held = self._by_act.setdefault(decided.key.act, _Held())
                held.plugs.update(_plugs(show, self.multipins, line, decided))
                held.strips.update(_inside(show, line, decided))
                if show.routes == "per-act":
                    held.routes.update(_routed(show, line, decided))

    def of_act(self, name: str) -> _Held:
        held = _Held()
        for act in ("", name):
            held.update(self._by_act.get(act, _Held()))
        return held


def _plugs(
    show: Show, multipins: Multipins, line: Line, decided: LinePlan
) -> Iterator[tuple[Spot, Hold]]:
    for parts, side in ((decided.start, Side.IN), (decided.ends, Side.OUT)):
        for part, spots in parts.items():
            far = _first(spots, Side.OUT if side is Side.IN else Side.IN)
            plugged = _first(spots, side)
            if plugged is not None:
                unit = show.units.get(far.unit if far else part.partition(":")[0])
                place = unit.place if unit else part
                phantom = side is Side.IN and line.needs_phantom
                hold = Hold(line=line, other=str(far) if far else part, phantom=phantom)
                yield multipins.plugged_at(plugged, place), hold


def _first(spots: Iterable[Spot], side: Side) -> Spot | None:
    return next((spot for spot in spots if spot.side is side), None)


def _inside(show: Show, line: Line, decided: LinePlan) -> Iterator[tuple[Spot, Hold]]:
    for way in ways(show, decided):
        for hop in way.hops():
            if hop.by is By.INSIDE and hop.to_spot.side is Side.STRIP:
                yield hop.to_spot, Hold(line=line, other=str(hop.from_spot))


def _routed(show: Show, line: Line, decided: LinePlan) -> Iterator[tuple[Spot, Hold]]:
    for way in ways(show, decided):
        for hop in way.hops():
            if hop.by is By.NETWORK:
                yield hop.to_spot, Hold(line=line, other=str(hop.from_spot))
