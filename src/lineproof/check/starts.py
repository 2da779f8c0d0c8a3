"""Starts: a microphone that would start inside a unit, a mix that would start on the floor."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.check import Check, Facts
from lineproof.kit.kinds import Does

#: Units in which no microphone is built but the one people talk to the stage with.
_WITHOUT_MICROPHONE = frozenset(
    {Does.MIXER, Does.COMPUTER, Does.RECORDER, Does.LOUDSPEAKER, Does.AMPLIFIER, Does.PROCESSOR}
)

MIC_INSIDE = Rule(
    name="microphone-inside",
    grade=Grade.RISK,
    why="A line from a unit starts inside it, so that no socket is kept for the microphone.",
    do="name in `from` the place where it stands, and in `socket` the unit's socket if it must be",
    source="Lineproof",
    fails=Example.changed(lines=("2,Voice,stage,dynamic mic", "2,Voice,desk,dynamic mic")),
    passes=Example(),
)
MIX_FROM_PLACE = Rule(
    name="mix-from-place",
    grade=Grade.NOTE,
    why="From a place, a mix is taken for something that is plugged in there, as a guest's is.",
    do="nothing, if it is a guest's; else name in `from` the unit in which the mix is made",
    source="Lineproof",
    fails=Example.changed(lines=("41,Main,desk,main mix,pa", "41,Main,front,main mix,pa")),
    passes=Example(),
)


def mic_inside(facts: Facts) -> Iterator[Finding]:
    """Find microphones whose line starts inside a mixer, computer, loudspeaker or the like."""
    units = facts.show.units
    for line in facts.show.lines:
        source = line.source
        if source is None or not source.microphone or source.name == "talkback":
            continue
        for start in line.starts:
            if start.name in units and units[start.name].kind.does in _WITHOUT_MICROPHONE:
                what = f"line {line.key} ({line.title}, {source.label}) starts inside {start.name}"
                of = (str(line.key), start.name)
                yield MIC_INSIDE.finding(what=what, where=line.where, of=of)


def mix_from_place(facts: Facts) -> Iterator[Finding]:
    """Find mixes whose line starts at a place."""
    for line in facts.show.lines:
        if line.source is None or not line.source.mix:
            continue
        for start in line.starts:
            if start.name in facts.show.places:
                label = line.source.label
                what = f"line {line.key} ({line.title}, {label}) starts at the place {start.name}"
                of = (str(line.key), start.name)
                yield MIX_FROM_PLACE.finding(what=what, where=line.where, of=of)


CHECKS: tuple[Check, ...] = (
    Check(rule=MIC_INSIDE, find=mic_inside),
    Check(rule=MIX_FROM_PLACE, find=mix_from_place),
)
