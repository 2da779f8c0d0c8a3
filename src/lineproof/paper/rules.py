"""What the paper itself can't do: names its fonts can't print."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.where import Where
from lineproof.paper.fonts import INSTEAD, unprintable
from lineproof.show.model import Accepted, Show

NOT_PRINTABLE = Rule(
    name="name-not-printable",
    grade=Grade.RISK,
    why="On paper and on labels a stand-in stands where the mark should be, and two names can "
    "come out alike.",
    do="give it a label in Latin letters; the name in the show can stay as it is",
    source="Lineproof",
    fails=Example.changed(lines=("1,Kick", "1,笛")),
    passes=Example.changed(lines=("1,Kick", "1,Flûte à bec")),
)

RULES: tuple[Rule, ...] = (NOT_PRINTABLE,)


def find_all(show: Show) -> tuple[Finding, ...]:
    """Give a finding for everything whose printed name the fonts can't print."""
    return tuple(_found(what, name, title, where) for what, name, title, where in _titles(show))


def _found(what: str, name: str, title: str, where: Where) -> Finding:
    lacks = " ".join(f"{mark} (U+{ord(mark):04X})" for mark in unprintable(title)[:5])
    what = f"{what} {name}".strip()
    says = f"{what} is printed as {title!r}, but the fonts lack {lacks}: {INSTEAD!r} stands there"
    return NOT_PRINTABLE.finding(what=says, where=where, of=(name,))


def _titles(show: Show) -> Iterator[tuple[str, str, str, Where]]:
    """Give what, name, printed name and place of everything with a mark the fonts lack."""
    for what, name, title, where in _all_titles(show):
        if unprintable(title):
            yield what, name, title, where


def _all_titles(show: Show) -> Iterator[tuple[str, str, str, Where]]:
    yield "the show", "", show.title, Where(file="show.yaml")
    for place in show.places.values():
        yield "place", place.name, place.label or place.name, place.where
    for unit in show.units.values():
        yield "unit", unit.name, unit.title, unit.where
        if unit.label:
            # The name stands beside the label wherever a spot is written out.
            yield "unit", unit.name, unit.name, unit.where
    for act in show.acts:
        yield "act", act.name, act.label or act.name, act.where
    for line in show.lines:
        yield "line", str(line.key), line.title, line.where


def taken_on(finding: Finding, accepted: Accepted) -> Finding:
    """Give a finding with the words of who accepts it."""
    return replace(finding, accepted=f"by {accepted.by}: {accepted.reason}")
