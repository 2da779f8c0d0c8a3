"""The rules of the drill: what one fault takes, and what of it no rescue brings back."""

from __future__ import annotations

from lineproof.base.finding import Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule

#: The example's own lines, and the same where nobody needs them.
_WANTED = "number,name,from,source,to,need\n2,Voice,stage,dynamic mic,desk rec-1,want\n"
_SPREAD = (
    "number,name,from,source,to,group,spread,need\n"
    "1,Voice left,stage,dynamic mic,desk,voices,voices,{0}\n"
    "2,Voice right,stage,dynamic mic,desk,voices,voices,{0}\n"
    "3,Host,front,dynamic mic,desk,,,must\n"
)
_SAFETY = "number,name,from,source,to,need\n1,Announcements,stage,line,pa,{0}\n"
_SOME = Example(lines=_WANTED)
#: Ten microphones on two boxes that stand side by side.
_ONE_BOX = "  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}\n"
_TWO_BOXES = _ONE_BOX + _ONE_BOX.replace("box-1:", "box-2:").replace("number: 1", "number: 2")
_TEN = "number,name,from,source,to\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,desk\n" for n in range(1, 11)
)


def _two_boxes(kind: str) -> Example:
    two = _TWO_BOXES.replace("box-16-8", kind)
    return Example(show=EXAMPLE_SHOW.replace(_ONE_BOX, two), lines=_TEN)


ACT_SILENCED = Rule(
    name="act-silenced",
    grade=Grade.STOP,
    why="One thing fails, and the audience or the stage hears no more speech or no more music.",
    do="give what fails a second: another circuit, net, box or mixer that carries part of the act",
    source="Lineproof",
    fails=Example(),
    passes=_SOME,
)
RECORDING_LOST = Rule(
    name="recording-lost",
    grade=Grade.STOP,
    why="One thing fails and nothing is recorded any more; it can't be played again tomorrow.",
    do="send the lines to a second recorder that shares no circuit, switch, duct or place",
    source="Lineproof",
    fails=Example(),
    passes=Example(lines="number,name,from,source,to\n1,Voice,stage,dynamic mic,desk\n"),
)
GROUP_SILENCED = Rule(
    name="group-silenced",
    grade=Grade.STOP,
    why="A group that was to be spread so that some of it always stays falls silent as a whole.",
    do="put some of the group on another box, circuit and net",
    source="Lineproof",
    fails=Example(lines=_SPREAD.format("must")),
    passes=Example(lines=_SPREAD.format("want")),
)
SAFETY_SILENCED = Rule(
    name="safety-silenced",
    grade=Grade.STOP,
    why="Announcements to the public are not heard just when something has gone wrong.",
    do="give the line a second way that shares nothing, or a means of its own; follow local codes",
    source="Lineproof; local codes and licensed people have the last word",
    fails=Example(lines=_SAFETY.format("safety")),
    passes=Example(lines=_SAFETY.format("want")),
)
BEYOND_RESCUE = Rule(
    name="beyond-rescue",
    grade=Grade.STOP,
    why="A line the act needs stays silent, although a box that could take it stands beside.",
    do="keep sockets free on the second unit, plug fewer lines there, or bring a larger one",
    source="Lineproof",
    fails=_two_boxes("box-8-4"),
    passes=_two_boxes("box-16-8"),
)
MUST_LOST = Rule(
    name="must-lost",
    grade=Grade.RISK,
    why="The act can't go on without these lines until somebody has done something.",
    do="have the spare, the cable and the person ready, and try it before doors",
    source="Lineproof",
    fails=Example(),
    passes=_SOME,
)

RULES: tuple[Rule, ...] = (
    ACT_SILENCED,
    RECORDING_LOST,
    GROUP_SILENCED,
    SAFETY_SILENCED,
    BEYOND_RESCUE,
    MUST_LOST,
)
