"""Show against plan: rows without decisions, decisions without rows, what has not followed."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import Spot
from lineproof.check.check import Check, Facts
from lineproof.kit.kinds import Does
from lineproof.plan.freed import parts_of
from lineproof.plan.model import LinePlan
from lineproof.show.model import Line, Show, Unit

_ONE_LESS = Example.changed(lines=("2,Voice,stage,dynamic mic,desk rec-1\n", ""))

NOT_PLANNED = Rule(
    name="not-planned",
    grade=Grade.STOP,
    why="A line in the list that has no socket is silent at line check.",
    do="plan and issue again",
    source="Lineproof",
    fails=Example(before=_ONE_LESS),
    passes=Example(before=Example()),
)
WITHOUT_ROW = Rule(
    name="without-row",
    grade=Grade.NOTE,
    why="The plan holds a line that is no longer in the list; its plug may still be in.",
    do="pull the plug; its spot stays kept until it is renewed",
    source="Lineproof",
    fails=Example(lines=_ONE_LESS.lines, before=Example()),
    passes=Example(before=Example()),
)
SPOT_GONE = Rule(
    name="spot-gone",
    grade=Grade.STOP,
    why="The plan names a socket or channel that the unit no longer has.",
    do="plan and issue again",
    source="Lineproof",
    fails=Example.changed(("kind: box-16-8", "kind: box-0-16"), before=Example()),
    passes=Example(before=Example()),
)


def not_planned(facts: Facts) -> Iterator[Finding]:
    """Find lines, and ends of lines, without decisions; one finding where nothing is planned."""
    if not facts.plan.lines and facts.show.lines:
        what = f"none of the {len(facts.show.lines)} lines is planned yet"
        yield NOT_PLANNED.finding(what=what, where=facts.show.lines[0].where)
        return
    for line in facts.show.lines:
        decided = facts.plan.line(line.key)
        if decided is None:
            what = f"line {line.key} ({line.title}) is not in the plan"
            yield NOT_PLANNED.finding(what=what, where=line.where, of=(str(line.key),))
        else:
            for part in missing_parts(line, decided):
                what = f"line {line.key} ({line.title}) is not planned at {part}"
                yield NOT_PLANNED.finding(what=what, where=line.where, of=(str(line.key), part))


def missing_parts(line: Line, decided: LinePlan) -> list[str]:
    """Give the starts and ends of the row for which the plan holds nothing."""
    parts = [str(m) for _, m in line.end_members()]
    without = [p for p in parts if p not in decided.ends and p not in decided.left_out]
    if len(decided.left_out) < len(parts):
        without = [str(s) for s in line.starts if str(s) not in decided.start] + without
    return without


def without_row(facts: Facts) -> Iterator[Finding]:
    """Find decisions whose row is gone, and ends that the row no longer has."""
    unread = {key.same() for key in facts.show.unread}
    changing = {unit.name for unit in facts.show.units.values() if _changes(unit)}
    for decided in facts.plan.lines:
        line = facts.show.line(decided.key)
        if line is None and decided.key.same() not in unread:
            what = f"line {decided.key} ({decided.name}) is in the plan, but not in the list"
            yield WITHOUT_ROW.finding(what=what, of=(str(decided.key),))
        elif line is not None:
            parts = {part.partition(" ")[2] for part in parts_of(line)}
            for part in sorted({*decided.ends, *decided.start} - parts - changing):
                what = f"line {line.key} ({line.title}) is planned at {part}, but not in the list"
                yield WITHOUT_ROW.finding(what=what, where=line.where, of=(str(line.key), part))


def _changes(unit: Unit) -> bool:
    """Say whether a line may be planned at the unit though no row says so: it changes over."""
    return unit.kind.does is Does.CHANGEOVER


def spot_gone(facts: Facts) -> Iterator[Finding]:
    """Find decisions on spots that don't exist."""
    for spot, keys in facts.plan.by_spot().items():
        if not has_spot(facts.show, spot):
            line = facts.show.line(keys[0])
            what = f"line {keys[0]} is planned on {spot}, which is not there"
            where = (line.where,) if line else ()
            yield SPOT_GONE.finding(what=what, where=where, of=(str(spot), str(keys[0])))


def has_spot(show: Show, spot: Spot) -> bool:
    """Say whether the show has the unit and the unit the spot."""
    unit = show.units.get(spot.unit)
    return unit is not None and spot.number <= show.count(unit, spot.side)


CHECKS: tuple[Check, ...] = (
    Check(rule=NOT_PLANNED, find=not_planned),
    Check(rule=WITHOUT_ROW, find=without_row),
    Check(rule=SPOT_GONE, find=spot_gone),
)
