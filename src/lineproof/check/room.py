"""The room: ducts that can't be as short as they say, places from which nothing can be measured."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.check import Check, Facts

SHORT_DUCT = Rule(
    name="duct-too-short",
    grade=Grade.RISK,
    why="A cable cut to a length that is less than the straight line does not arrive.",
    do="measure again: correct the duct's length or the places",
    source="geometry; 0.5 m is taken as rounding (practice)",
    fails=Example.changed(("length: 25 m", "length: 15 m")),
    passes=Example(),
)
NO_DISTANCE = Rule(
    name="no-distance",
    grade=Grade.RISK,
    why="Nobody can say how long the lead must be, so it is not on the truck.",
    do="give the place its coordinates, or join it by a duct",
    source="Lineproof",
    fails=Example.changed(
        ("front: {at: [0, 20, 0]}", "front: {at: [0, 20, 0]}\n  loft: {label: Loft}"),
        ("rec-1: {kind: computer-32, place: front", "rec-1: {kind: computer-32, place: loft"),
    ),
    passes=Example(),
)

ROUNDING_M = 0.5


def short_duct(facts: Facts) -> Iterator[Finding]:
    """Find ducts shorter than the straight line between their places."""
    for duct in facts.show.ducts.values():
        first, second = (facts.show.places[name].at_m for name in duct.between)
        if first is None or second is None:
            continue
        straight = math.dist(first, second)
        if duct.length_m + ROUNDING_M < straight:
            what = (
                f"duct {duct.name} is {duct.length_m:g} m long, but {duct.between[0]} and "
                f"{duct.between[1]} are {straight:.1f} m apart"
            )
            yield SHORT_DUCT.finding(what=what, where=duct.where, of=(duct.name,))


def no_distance(facts: Facts) -> Iterator[Finding]:
    """Find places in use that have no coordinates and no duct."""
    joined = {name for duct in facts.show.ducts.values() for name in duct.between}
    used = {unit.place for unit in facts.show.units.values()}
    for line in facts.show.lines:
        used |= {t.name for t in (*line.starts, *(member for _, member in line.end_members()))}
    for place in facts.show.places.values():
        if place.name in used and place.at_m is None and place.name not in joined:
            what = f"{place.name} has no coordinates and no duct: no lead there can be measured"
            yield NO_DISTANCE.finding(what=what, where=place.where, of=(place.name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=SHORT_DUCT, find=short_duct),
    Check(rule=NO_DISTANCE, find=no_distance),
)
