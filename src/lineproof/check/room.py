"""The room: ducts and places that can't be as they say, or that nothing leads to."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.check import MOST_TOLD, Check, Facts, some
from lineproof.show.model import Duct, Place, Show

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
LONG_DUCT = Rule(
    name="duct-too-long",
    grade=Grade.NOTE,
    why="A digit too many in a duct's length orders a cable nobody needs, and keeps units apart.",
    do="nothing, if the way is that long; else correct the duct's length or the places",
    source="Lineproof",
    fails=Example.changed(("length: 25 m", "length: 250 m")),
    passes=Example(),
)
OFF_DUCTS = Rule(
    name="no-duct",
    grade=Grade.RISK,
    why="Nobody has said how a cable gets there; over the floor it is trodden on, or too short.",
    do="write the way under `ducts` as it was walked and measured",
    source="Lineproof",
    fails=Example.changed(
        ("front: {at: [0, 20, 0]}", "front: {at: [0, 20, 0]}\n  loft: {at: [0, 5, 9]}"),
        ("rec-1: {kind: computer-32, place: front", "rec-1: {kind: computer-32, place: loft"),
    ),
    passes=Example(),
)
ONE_SPOT = Rule(
    name="places-on-one-spot",
    grade=Grade.NOTE,
    why="Two places at the same metres are often a row copied and not changed.",
    do="nothing, if they are; else correct the one",
    source="Lineproof",
    fails=Example.changed(
        ("front: {at: [0, 20, 0]}", "front: {at: [0, 20, 0]}\n  loft: {at: [0, 20, 0]}")
    ),
    passes=Example(),
)
UNUSED_PLACE = Rule(
    name="place-unused",
    grade=Grade.NOTE,
    why="A place where nothing stands, starts, ends or passes was forgotten, or is another's twin.",
    do="nothing, if it is for later; else put there what belongs there",
    source="Lineproof",
    fails=Example.changed(
        ("front: {at: [0, 20, 0]}", "front: {at: [0, 20, 0]}\n  loft: {at: [0, 5, 9]}")
    ),
    passes=Example(),
)

ROUNDING_M = 0.5
#: Between places no farther apart a cable is carried loose, duct or not (practice).
LOOSE_M = 10.0
#: A duct longer than so many times the straight line, and so much more, is doubted (practice).
DETOUR, DETOUR_M = 4.0, 20.0


def short_duct(facts: Facts) -> Iterator[Finding]:
    """Find ducts shorter than the straight line between their places."""
    for duct, straight in _measured(facts.show):
        if duct.length_m + ROUNDING_M < straight:
            what = _lengths(duct, straight)
            yield SHORT_DUCT.finding(what=what, where=duct.where, of=(duct.name,))


def long_duct(facts: Facts) -> Iterator[Finding]:
    """Find ducts far longer than the straight line between their places."""
    for duct, straight in _measured(facts.show):
        if duct.length_m > DETOUR * straight + DETOUR_M:
            what = _lengths(duct, straight)
            yield LONG_DUCT.finding(what=what, where=duct.where, of=(duct.name,))


def _measured(show: Show) -> Iterator[tuple[Duct, float]]:
    """Give every duct between places with coordinates, and the straight line in metres."""
    for duct in show.ducts.values():
        first, second = (show.places[name].at_m for name in duct.between)
        if first is not None and second is not None:
            yield duct, math.dist(first, second)


def _lengths(duct: Duct, straight: float) -> str:
    first, second = duct.between
    return (
        f"duct {duct.name} is {duct.length_m:g} m long, but {first} and {second} are "
        f"{straight:.1f} m apart"
    )


def no_distance(facts: Facts) -> Iterator[Finding]:
    """Find places in use that have no coordinates and no duct."""
    joined = _joined(facts.show)
    for place in _used(facts.show):
        if place.at_m is None and place.name not in joined:
            what = f"{place.name} has no coordinates and no duct: no lead there can be measured"
            yield NO_DISTANCE.finding(what=what, where=place.where, of=(place.name,))


def off_ducts(facts: Facts) -> Iterator[Finding]:
    """Find places in use to which no duct leads, nor a short lead, from where most units stand.

    Places that are joined with one another are told of together.
    """
    show = facts.show
    standing = Counter(unit.place for unit in show.units.values())
    areas = list(_areas(show))
    most = max(areas, key=lambda area: sum(standing[p] for p in area), default=frozenset())
    used = [place for place in _used(show) if place.at_m is not None]
    for area in areas:
        apart = [place for place in used if place.name in area and area is not most]
        if apart:
            names = tuple(place.name for place in apart)
            what = f"no duct leads to {some(names)} from where most units stand"
            where = tuple(place.where for place in apart[:MOST_TOLD])
            yield OFF_DUCTS.finding(what=what, where=where, of=names)


def _areas(show: Show) -> Iterator[frozenset[str]]:
    """Give the places that ducts or short loose cables join, area by area, by name."""
    neighbours = _neighbours(show)
    done: set[str] = set()
    for start in show.places:
        if start in done:
            continue
        area, ahead = {start}, {start}
        while ahead := {other for name in ahead for other in neighbours[name]} - area:
            area |= ahead
        done |= area
        yield frozenset(area)


def _neighbours(show: Show) -> dict[str, set[str]]:
    joined = {frozenset(duct.between) for duct in show.ducts.values()}
    neighbours: dict[str, set[str]] = {name: set() for name in show.places}
    for one, other in itertools.combinations(show.places.values(), 2):
        if frozenset((one.name, other.name)) in joined or _near(one, other):
            neighbours[one.name].add(other.name)
            neighbours[other.name].add(one.name)
    return neighbours


def _near(one: Place, other: Place) -> bool:
    if one.at_m is None or other.at_m is None:
        return False
    return math.dist(one.at_m, other.at_m) <= LOOSE_M


def one_spot(facts: Facts) -> Iterator[Finding]:
    """Find places with the same coordinates."""
    first: dict[tuple[float, float, float], Place] = {}
    for place in facts.show.places.values():
        if place.at_m is None:
            continue
        other = first.setdefault(place.at_m, place)
        if other is not place:
            what = f"{other.name} and {place.name} are at the same metres"
            of, where = (other.name, place.name), (place.where, other.where)
            yield ONE_SPOT.finding(what=what, where=where, of=of)


def unused_place(facts: Facts) -> Iterator[Finding]:
    """Find places where nothing stands, starts or ends, and that no duct or tie leads to."""
    known = {place.name for place in _used(facts.show)} | _joined(facts.show)
    known |= {name for tie in facts.show.ties.values() for name in tie.between}
    for place in facts.show.places.values():
        if place.name not in known:
            what = f"nothing stands, starts, ends or passes at {place.name}"
            yield UNUSED_PLACE.finding(what=what, where=place.where, of=(place.name,))


def _used(show: Show) -> list[Place]:
    """Give the places where a unit stands or a line starts or ends, by name."""
    names = {unit.place for unit in show.units.values()}
    for line in show.lines:
        names |= {t.name for t in (*line.starts, *(member for _, member in line.end_members()))}
    return [place for place in show.places.values() if place.name in names]


def _joined(show: Show) -> set[str]:
    return {name for duct in show.ducts.values() for name in duct.between}


CHECKS: tuple[Check, ...] = (
    Check(rule=SHORT_DUCT, find=short_duct),
    Check(rule=LONG_DUCT, find=long_duct),
    Check(rule=NO_DISTANCE, find=no_distance),
    Check(rule=OFF_DUCTS, find=off_ducts),
    Check(rule=ONE_SPOT, find=one_spot),
    Check(rule=UNUSED_PLACE, find=unused_place),
)
