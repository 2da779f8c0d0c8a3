"""Standing in: what can't take over from anything."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.rule import Example, Rule
from lineproof.check.check import Check, Facts
from lineproof.show.model import Line

_REC = "rec-1: {kind: computer-32, place: front,"
_SECOND = "  rec-2: {kind: computer-32, place: front, circuit: house}\n  pa: {kind"

FOR_ITSELF = Rule(
    name="stands-in-for-itself",
    grade=Grade.STOP,
    why="When it dies its standby is dead as well; on paper it looked safe.",
    do="name the unit or the line that really takes over, or take `standby` out",
    source="Lineproof",
    fails=Example.changed((_REC, f"{_REC} standby: rec-1,")),
    passes=Example.changed((_REC, f"{_REC} standby: rec-2,"), ("  pa: {kind", _SECOND)),
)


def for_itself(facts: Facts) -> Iterator[Finding]:
    """Find units and lines that name themselves as standby, and starts `x|x`."""
    for unit in facts.show.units.values():
        if unit.standby == unit.name:
            what = f"{unit.name} is named as its own standby"
            yield FOR_ITSELF.finding(what=what, where=unit.where, of=(unit.name,))
    for line in facts.show.lines:
        if _is_own_standby(line):
            what = f"line {line.key} ({line.title}) is named as its own standby"
            yield FOR_ITSELF.finding(what=what, where=line.where, of=(str(line.key),))


def _is_own_standby(line: Line) -> bool:
    names = {folded(line.key.number), folded(str(line.key))}
    both = len(line.starts) > 1 and line.starts[0] == line.starts[1]
    return both or (bool(line.standby) and folded(line.standby) in names)


CHECKS: tuple[Check, ...] = (Check(rule=FOR_ITSELF, find=for_itself),)
