"""Ends: what nothing holds fast, what an alarm mutes, what leaves our hands, what isn't heard."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.rule import EXAMPLE_LINES, Example, Rule
from lineproof.check.check import Check, Facts
from lineproof.kit.kinds import Does
from lineproof.show.model import Line, Need, Show, Target, Unit

_SAFETY = "number,name,from,source,to,need\n7,Please leave,stage,announcement,pa{},safety\n"
_PRIVATE = EXAMPLE_LINES.replace("source,to\n", "source,to,private\n").replace("desk rec-1", "desk")
#: What is heard, and what stands for it in a line: its processor, its transmitter.
_HEARD = frozenset({Does.LOUDSPEAKER, Does.AMPLIFIER, Does.DRIVER, Does.RADIO, Does.PROCESSOR})
_PA = "pa: {kind: powered-loudspeaker, place: stage,"

MUST_OF_WANTS = Rule(
    name="must-of-wants",
    grade=Grade.RISK,
    why="When channels run short a wanted end goes; of this line, without which the act can't go "
    "on, every end is one.",
    do="take the `?` from the end that must stay, or make the line a want",
    source="Lineproof",
    fails=Example.changed(lines=("1,Kick,stage,dynamic mic,desk rec-1", "1,Kick,stage,mic,desk?")),
    passes=Example.changed(
        lines=("1,Kick,stage,dynamic mic,desk rec-1", "1,Kick,stage,mic,desk rec-1?")
    ),
)
SAFETY_WANTED = Rule(
    name="safety-wanted",
    grade=Grade.STOP,
    why="A wanted end goes when channels run short, and the public there hears no announcement.",
    do="take the `?` from the end; local codes and licensed people decide what must be heard",
    source="common practice",
    fails=Example(lines=_SAFETY.format("?")),
    passes=Example(lines=_SAFETY.format("")),
)
SAFETY_MUTED = Rule(
    name="safety-muted",
    grade=Grade.RISK,
    why="While it is muted nobody hears the announcement there.",
    do="ask whoever answers for the alarm what is meant to be heard then, and who tests it; local "
    "codes and licensed people decide",
    source="common practice",
    fails=Example(
        show=Example.changed((_PA, f"{_PA} muted-by: alarm,")).show, lines=_SAFETY.format("")
    ),
    passes=Example(lines=_SAFETY.format("")),
)
PRIVATE_TO_THEIRS = Rule(
    name="private-to-theirs",
    grade=Grade.RISK,
    why="What a guest's unit does with a private line is not ours to configure.",
    do="ask whoever owns the unit where the line goes on from there, or take the end out",
    source="common practice",
    fails=Example(
        show=Example.changed(
            ("desk: {kind: mixer-32,", "desk: {kind: mixer-32, theirs: yes,")
        ).show,
        lines=_PRIVATE.replace("2,Voice,stage,dynamic mic,desk", "2,Voice,stage,mic,desk,yes"),
    ),
    passes=Example(
        lines=_PRIVATE.replace("2,Voice,stage,dynamic mic,desk", "2,Voice,stage,mic,desk,yes")
    ),
)
ZONE_UNHEARD = Rule(
    name="zone-unheard",
    grade=Grade.NOTE,
    why="A zone is what is heard together; delay and level are set for all of it at once.",
    do="nothing, if it is meant; for ends that are merely written together use `lists`",
    source="Lineproof",
    fails=Example.changed(("lines: lines.csv", "zones: {all: [pa, rec-1]}\nlines: lines.csv")),
    passes=Example.changed(
        ("lines: lines.csv", "zones: {all: [pa]}\nlists: {both: [pa, rec-1]}\nlines: lines.csv")
    ),
)
NOT_HERE = Rule(
    name="not-here",
    grade=Grade.STOP,
    why="The unit is not on the stage, or already on its truck, when the act plays.",
    do="correct `here` of the unit, or take it out of the line",
    source="Lineproof",
    fails=Example(
        show=Example.changed(
            ("desk: {kind: mixer-32,", "desk: {kind: mixer-32, here: [late],"),
            ("lines: lines.csv", "acts: {early: {}, late: {}}\nlines: lines.csv"),
        ).show,
        lines="number,name,from,source,to,act\n1,Kick,stage,dynamic mic,desk,early\n",
    ),
    passes=Example(
        show=Example.changed(
            ("desk: {kind: mixer-32,", "desk: {kind: mixer-32, here: [late],"),
            ("lines: lines.csv", "acts: {early: {}, late: {}}\nlines: lines.csv"),
        ).show,
        lines="number,name,from,source,to,act\n1,Kick,stage,dynamic mic,desk,late\n",
    ),
)


def must_of_wants(facts: Facts) -> Iterator[Finding]:
    """Find *must* lines of which every end is a want."""
    for line in facts.show.lines:
        if line.need is Need.MUST and line.ends and all(end.want for end in line.ends):
            ends = " ".join(map(str, line.ends))
            what = f"line {line.key} ({line.title}) is a must, but all it goes to is {ends}"
            where = (line.where, line.ends[0].where)
            yield MUST_OF_WANTS.finding(what=what, where=where, of=(str(line.key),))


def safety_wanted(facts: Facts) -> Iterator[Finding]:
    """Find *safety* lines with an end that is a want."""
    for line in facts.show.lines:
        for end in line.ends:
            if line.need is Need.SAFETY and end.want:
                what = f"line {line.key} ({line.title}) is for safety, but goes to {end} as a want"
                of = (str(line.key), end.members[0].name)
                yield SAFETY_WANTED.finding(what=what, where=(line.where, end.where), of=of)


def safety_muted(facts: Facts) -> Iterator[Finding]:
    """Find *safety* lines that end at a unit which something mutes."""
    for line in facts.show.lines:
        for unit in _units_at_ends(facts.show, line):
            if line.need is Need.SAFETY and unit.muted_by:
                what = (
                    f"line {line.key} ({line.title}) is for safety and ends at {unit.name}, "
                    f"which is muted by {unit.muted_by}"
                )
                of = (str(line.key), unit.name)
                yield SAFETY_MUTED.finding(what=what, where=(line.where, unit.where), of=of)


def private_to_theirs(facts: Facts) -> Iterator[Finding]:
    """Find private lines that end at a guest's unit."""
    for line in facts.show.lines:
        for unit in _units_at_ends(facts.show, line):
            if line.private and unit.theirs:
                what = f"line {line.key} ({line.title}) is private and goes to {unit.name}"
                of = (str(line.key), unit.name)
                yield PRIVATE_TO_THEIRS.finding(what=what, where=(line.where, unit.where), of=of)


def _units_at_ends(show: Show, line: Line) -> list[Unit]:
    return _units(show, [member for _, member in line.end_members()])


def _units(show: Show, targets: list[Target]) -> list[Unit]:
    names = dict.fromkeys(target.name for target in targets)
    return [show.units[name] for name in names if name in show.units]


def zone_unheard(facts: Facts) -> Iterator[Finding]:
    """Find zones with a unit that nobody hears."""
    for zone, words in facts.show.zones.items():
        for word in words:
            unit = facts.show.find_unit(word.rstrip("?").partition(":")[0])
            if unit is not None and unit.kind.does not in _HEARD:
                what = f"zone {zone} holds {unit.name} ({unit.kind.label}), which nobody hears"
                yield ZONE_UNHEARD.finding(what=what, where=unit.where, of=(zone, unit.name))


def not_here(facts: Facts) -> Iterator[Finding]:
    """Find lines of an act that start or end at a unit which is not there in that act."""
    for line in facts.show.lines:
        if not line.key.act:
            continue
        targets = [*line.starts, *(member for _, member in line.end_members())]
        for unit in _units(facts.show, targets):
            if unit.here and folded(line.key.act) not in map(folded, unit.here):
                acts = ", ".join(unit.here)
                what = f"line {line.key} ({line.title}) needs {unit.name}, which is here for {acts}"
                of = (str(line.key), unit.name)
                yield NOT_HERE.finding(what=what, where=(line.where, unit.where), of=of)


CHECKS: tuple[Check, ...] = (
    Check(rule=MUST_OF_WANTS, find=must_of_wants),
    Check(rule=SAFETY_WANTED, find=safety_wanted),
    Check(rule=SAFETY_MUTED, find=safety_muted),
    Check(rule=PRIVATE_TO_THEIRS, find=private_to_theirs),
    Check(rule=ZONE_UNHEARD, find=zone_unheard),
    Check(rule=NOT_HERE, find=not_here),
)
