"""What follows from show and plan for every line: its ways, its leads, the routes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.signal import Route, Way, routes, ways
from lineproof.plan.model import LinePlan, Plan
from lineproof.reckon.leads import Leads
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Lead:
    """One analogue cable: `spot` is the socket of a box or mixer it is plugged into.

    `far` is the spot at its other end, None where that is a microphone or whatever stands at
    `place`. `length_m` is None where nobody can say. `at_start` tells a line's start from its end.
    """

    line: LineKey
    part: str
    spot: Spot
    place: str
    far: Spot | None = None
    length_m: float | None = None
    at_start: bool = True


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
    for part, spots in decided.start.items():
        plugged = next((s for s in spots if s.side is Side.IN), None)
        if plugged is not None:
            far = next((s for s in spots if s.side is Side.OUT), None)
            yield _lead(show, decided, part, plugged, far, measure, at_start=True)
    for part, spots in decided.ends.items():
        plugged = next((s for s in spots if s.side is Side.OUT), None)
        if plugged is not None:
            far = next((s for s in spots if s.side is Side.IN), None)
            yield _lead(show, decided, part, plugged, far, measure, at_start=False)


def _lead(
    show: Show,
    decided: LinePlan,
    part: str,
    spot: Spot,
    far: Spot | None,
    measure: Leads,
    *,
    at_start: bool,
) -> Lead:
    unit = far.unit if far is not None else part.partition(":")[0]
    place = show.units[unit].place if unit in show.units else unit
    there = show.units[spot.unit].place
    length = measure.length_m(place, there) if place in show.places else None
    return Lead(
        line=decided.key,
        part=part,
        spot=spot,
        place=place,
        far=far,
        length_m=length,
        at_start=at_start,
    )
