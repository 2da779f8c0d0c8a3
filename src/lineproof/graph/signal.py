"""How a signal goes: the one function that walks a line's ways."""

from __future__ import annotations

import enum
from collections.abc import Iterator
from dataclasses import dataclass

from lineproof.base.part import ALSO, split_part
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import Show


class By(enum.Enum):
    """What carries a signal from one spot to the next."""

    LEAD = "lead"  # an analogue cable from an output socket to an input socket
    MULTICORE = "multicore"  # between a drop box and the unit behind it
    INSIDE = "inside"  # the unit's own patch
    NETWORK = "network"  # a route: a send channel to a receive channel


@dataclass(frozen=True, kw_only=True)
class Hop:
    """One step of a way."""

    by: By
    from_spot: Spot
    to_spot: Spot


@dataclass(frozen=True, kw_only=True)
class Way:
    """How one line goes from one of its starts to one of its ends: spots in order."""

    line: LineKey
    start: str
    end: str
    spots: tuple[Spot, ...]

    def hops(self) -> tuple[Hop, ...]:
        """Give the steps between the spots."""
        pairs = zip(self.spots, self.spots[1:], strict=False)
        return tuple(Hop(by=carried_by(a, b), from_spot=a, to_spot=b) for a, b in pairs)

    def units(self) -> tuple[str, ...]:
        """Give the units it passes, in order, each once."""
        return tuple(dict.fromkeys(spot.unit for spot in self.spots))


def carried_by(a: Spot, b: Spot) -> By:
    """Say what carries a signal from `a` to `b`."""
    if a.unit == b.unit:
        return By.INSIDE
    if a.side is b.side:
        return By.MULTICORE
    return By.LEAD if a.side is Side.OUT else By.NETWORK


def implied(show: Show, spot: Spot) -> Spot | None:
    """Give the channel that socket n implies in a unit without an inside patch, else None."""
    unit = show.units.get(spot.unit)
    if unit is None or unit.kind.inside_patch or not unit.kind.networked:
        return None
    side = {Side.IN: Side.SEND, Side.OUT: Side.RECEIVE}.get(spot.side)
    return None if side is None else Spot(unit=spot.unit, side=side, number=spot.number)


def ways(show: Show, decided: LinePlan) -> Iterator[Way]:
    """Give every way of a line as decided, with the channels that its sockets imply.

    Where start and end meet in one unit the signal stays inside it; else it goes by a route
    from the start's send channel to the end's receive channel. An end hears the first start,
    whatever comes out where that one does (a change-over unit), and a standby that has a channel
    of its own there; a socket of a split is heard where it is.
    """
    for part, last in decided.ends.items():
        end, _ = split_part(part)
        for start in heard_starts(decided, part):
            first = decided.start[start]
            own = last[0].side is Side.IN if last and start.startswith(ALSO) else False
            straight = straight_lead(first, last)
            spots = straight or (last if own else _joined(show, first, last))
            yield Way(line=decided.key, start=start, end=end, spots=spots)


def heard_starts(decided: LinePlan, part: str) -> list[str]:
    """Give the starts that an end hears, what it hears while all is well first."""
    _, only = split_part(part)
    if only:
        return [only] if only in decided.start else []
    spots = decided.ends[part]
    plain = [start for start in decided.start if not start.startswith(ALSO)]
    split = [
        start
        for start, chain in decided.start.items()
        if start.startswith(ALSO) and spots and chain and spots[0] == chain[0]
    ]
    if split or not plain:
        return split
    last = decided.start[plain[0]][-1:]
    met = [start for start in plain[1:] if last and decided.start[start][-1:] == last]
    return [plain[0], *met]


def straight_lead(first: tuple[Spot, ...], last: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Give the way by one lead from the start's own output to the end's own input, or nothing."""
    if first and last and first[0].side is Side.OUT and last[0].side is Side.IN:
        return (first[0], *last)
    return ()


def _joined(show: Show, first: tuple[Spot, ...], last: tuple[Spot, ...]) -> tuple[Spot, ...]:
    if first and last and first[-1].unit == last[0].unit:
        # Inside one unit: its send channel, if it has one for other ends, is not on this way.
        return (*(s for s in first if s.side is not Side.SEND), *last)
    sent = _with_send(show, first)
    return (*sent, *_with_receive(show, last))


def _with_send(show: Show, first: tuple[Spot, ...]) -> tuple[Spot, ...]:
    if first and first[-1].side is Side.IN and (send := implied(show, first[-1])) is not None:
        return (*first, send)
    return first


def _with_receive(show: Show, last: tuple[Spot, ...]) -> tuple[Spot, ...]:
    if last and last[0].side is Side.OUT and (receive := implied(show, last[0])) is not None:
        return (receive, *last)
    return last


@dataclass(frozen=True, kw_only=True)
class Route:
    """One send channel to one receive channel; it belongs to spots, not to lines."""

    send: Spot
    receive: Spot
    lines: tuple[LineKey, ...]


def routes(show: Show, plan: Plan) -> tuple[Route, ...]:
    """Give every route the plan asks for, by receiver, each once with the lines it carries."""
    found: dict[tuple[Spot, Spot], list[LineKey]] = {}
    for decided in plan.lines:
        for way in ways(show, decided):
            for hop in way.hops():
                if hop.by is By.NETWORK:
                    lines = found.setdefault((hop.from_spot, hop.to_spot), [])
                    if decided.key not in lines:
                        lines.append(decided.key)
    in_order = sorted(found, key=lambda pair: (pair[1].sort_key(), pair[0].sort_key()))
    return tuple(Route(send=s, receive=r, lines=tuple(found[s, r])) for s, r in in_order)
