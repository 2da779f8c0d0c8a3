"""What follows from show and plan for every line: its ways, its leads, the routes."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lineproof.base.part import ALSO
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.signal import By, Route, Way, carried_by, routes, straight_lead, ways
from lineproof.plan.model import LinePlan, Plan
from lineproof.reckon.leads import Leads
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Lead:
    """One analogue cable: `spot` is the socket of a box or mixer it is plugged into.

    `far` is the spot at its other end, None where that is a microphone or whatever stands at
    `place`. `length_m` is None where nobody can say. `at_start` tells a line's start from its
    end. `over`: the line of a tie between its two halves.
    """

    line: LineKey
    part: str
    spot: Spot
    place: str
    far: Spot | None = None
    length_m: float | None = None
    at_start: bool = True
    over: Spot | None = None


@dataclass(frozen=True, kw_only=True)
class Figures:
    """All figures of a plan."""

    ways: Mapping[LineKey, tuple[Way, ...]]
    leads: tuple[Lead, ...]
    routes: tuple[Route, ...]

    def leads_of(self, line: LineKey) -> tuple[Lead, ...]:
        """Give the leads of one line, its start's first."""
        return tuple(lead for lead in self.leads if lead.line == line)


def reckon(show: Show, plan: Plan) -> Figures:
    """Give the figures for every line that stands in both the show and the plan."""
    lines = [(show.line(decided.key), decided) for decided in plan.lines]
    known = [decided for line, decided in lines if line is not None and _whole(show, decided)]
    measure = Leads(show)
    return Figures(
        ways={decided.key: tuple(ways(show, decided)) for decided in known},
        leads=tuple(lead for decided in known for lead in _leads(show, decided, measure)),
        routes=routes(show, Plan(lines=tuple(known))),
    )


def _whole(show: Show, decided: LinePlan) -> bool:
    """Say whether every unit the line is on is still in the show."""
    return all(spot.unit in show.units for spot in decided.spots())


def _leads(show: Show, decided: LinePlan, measure: Leads) -> Iterator[Lead]:
    """Give every lead of a line: from its source, between units' sockets, and to its ends."""
    done: set[tuple[Spot, Spot | None]] = set()
    source = next(iter(decided.start), "")
    for part, spots in decided.start.items():
        from_place = [(spots[0], None)] if spots and spots[0].side is Side.IN else []
        for spot, far in (*from_place, *((b, a) for a, b in _joined(spots))):
            if (spot, far) not in done:
                done.add((spot, far))
                place = source if part.startswith(ALSO) else part
                yield _lead(show, decided, part, spot, far, measure, at=place, at_start=True)
    for part, spots in decided.ends.items():
        to_place = [(spots[-1], None)] if spots and spots[-1].side is Side.OUT else []
        straight = straight_lead(decided.start.get(source, ()), spots)
        for spot, far in (*_joined(straight or spots), *to_place):
            yield _lead(show, decided, part, spot, far, measure, at=part, at_start=False)


def _joined(spots: tuple[Spot, ...]) -> list[tuple[Spot, Spot]]:
    """Give the pairs of sockets in a chain that a lead joins: an output and an input."""
    return [(a, b) for a, b in itertools.pairwise(spots) if carried_by(a, b) is By.LEAD]


def _lead(
    show: Show,
    decided: LinePlan,
    part: str,
    spot: Spot,
    far: Spot | None,
    measure: Leads,
    *,
    at: str,
    at_start: bool,
) -> Lead:
    unit = far.unit if far is not None else at.partition(":")[0]
    place = show.units[unit].place if unit in show.units else unit
    there = show.units[spot.unit].place
    over = decided.ties.get(part)
    tie = show.ties.get(over.unit) if over is not None else None
    length = None
    if place in show.places:
        length = measure.over_m(tie, place, there) if tie else measure.length_m(place, there)
    return Lead(
        line=decided.key,
        part=part,
        spot=spot,
        place=place,
        far=far,
        length_m=length,
        at_start=at_start,
        over=over if tie else None,
    )
