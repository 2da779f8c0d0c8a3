"""What can be wrong with what people wrote, before anything is planned."""

from __future__ import annotations

from lineproof.base.finding import Grade
from lineproof.base.rule import Example, Rule

_GOOD = Example()


def _reading(name: str, *, why: str, do: str, fails: Example, passes: Example = _GOOD) -> Rule:
    return Rule(
        name=name,
        grade=Grade.STOP,
        why=why,
        do=do,
        source="Lineproof",
        fails=fails,
        passes=passes,
    )


def _lines(old: str, new: str) -> Example:
    return Example.changed(lines=(old, new))


NOT_YAML = _reading(
    "not-readable",
    why="Nothing in a file that can't be read reaches the plan.",
    do="mend the file at the place named",
    fails=Example.changed(("nets: one", "nets: [one")),
)
TOO_LARGE = _reading(
    "too-large",
    why="A file far beyond any show is a mistake or an attack, and would tie up the computer.",
    do="split the list, or look for what was pasted in by mistake",
    fails=Example.changed(("nets: one", "nets: " + "[" * 40 + "one" + "]" * 40)),
)
KEY_TWICE = _reading(
    "key-twice",
    why="Of two settings under one name only one can count; the other is silently lost.",
    do="keep one of them",
    fails=Example.changed(("nets: one\n", "nets: one\nnets: two\n")),
)
UNKNOWN_KEY = _reading(
    "unknown-key",
    why="A misspelt word would be ignored, and what it asked for would be missing on site.",
    do="correct the word, or leave it out",
    fails=Example.changed(("nets: one\n", "netz: one\n")),
)
MISSING_KEY = _reading(
    "missing-key",
    why="Without it the thing can't be planned.",
    do="add the key",
    fails=Example.changed(("{kind: computer-32, place: front, circuit: house}", "{place: front}")),
)
WRONG_VALUE = _reading(
    "wrong-value",
    why="A value that can't be understood would be guessed, and a guess is found out at the show.",
    do="write it as expected",
    fails=Example.changed(("rate: 48 kHz", "rate: 48")),
)
RATE_NOT_CARRIED = _reading(
    "rate-not-carried",
    why="A unit that can't work at the network's rate neither sends nor hears anything there.",
    do="write a rate that it has, or take another kind; between two rates goes a rate converter",
    fails=Example.changed(("rate: 48 kHz", "rate: 44 kHz")),
)
BAD_NAME = _reading(
    "bad-name",
    why="Names go on labels, into file names and onto other people's screens.",
    do="use letters, digits, - and _",
    fails=Example.changed(("  stage: {at", "  'stage!': {at")),
)
NAME_TWICE = _reading(
    "name-twice",
    why="People find things by name; two things of one name get patched for each other.",
    do="rename one of them",
    fails=Example.changed(("  sw-1: {kind: switch-8", "  stage: {kind: switch-8")),
)
UNKNOWN_NAME = _reading(
    "unknown-name",
    why="A line to a name that does not exist arrives nowhere.",
    do="correct the name, or add what it names",
    fails=_lines("2,Voice,stage,dynamic mic,desk rec-1", "2,Voice,stage,dynamic mic,dsk rec-1"),
)
UNKNOWN_KIND = _reading(
    "unknown-kind",
    why="Without its kind nobody knows how many sockets and channels a unit has.",
    do="take a kind from `lineproof kit`, or describe it under `kinds:`",
    fails=Example.changed(("{kind: computer-32,", "{kind: computer-33,")),
)
NUMBER_TWICE = _reading(
    "number-twice",
    why="A line is known by its act and number; of two with one number the crew plugs either.",
    do="give one of them another number",
    fails=_lines("2,Voice", "1,Voice"),
)
NO_START = _reading(
    "no-start",
    why="Nobody can plug a line of which nobody knows where it starts.",
    do="fill in `from`, or give the table a default",
    fails=_lines("2,Voice,stage,", "2,Voice,,"),
)
NO_END = _reading(
    "no-end",
    why="A line that goes nowhere takes a socket for nothing, or was meant to be heard.",
    do="fill in `to`, or give the table a default",
    fails=_lines("2,Voice,stage,dynamic mic,desk rec-1", "2,Voice,stage,dynamic mic,"),
)
#: Listed with the planner's rules, which finds it as well where a line has no way at all.
NO_WAY = _reading(
    "no-way",
    why="A line that nothing can carry will be missed at sound check at the latest.",
    do="bring a unit with a fitting socket near, or change where the line starts or goes",
    fails=_lines("41,Main,desk,main mix,pa", "41,Main,desk,main mix,sw-1"),
)
PAIR_BROKEN = _reading(
    "pair-broken",
    why="Half a pair is a wrong stereo image, or a loudspeaker that plays the wrong side.",
    do="let both rows name each other, and no third",
    fails=Example(lines="number,name,from,source,to,pair\n5,Keys L,stage,line,desk,7\n"),
    passes=Example(
        lines=(
            "number,name,from,source,to,pair\n"
            "5,Keys L,stage,line,desk,6\n6,Keys R,stage,line,desk,5\n"
        )
    ),
)
BAD_PIN = _reading(
    "bad-pin",
    why="A pin to a socket that isn't there can't be kept by anybody.",
    do="name a spot the unit has",
    fails=Example(
        lines="number,name,from,source,to,socket\n1,Kick,stage,dynamic mic,desk,box-1:in-33\n"
    ),
    passes=Example(
        lines="number,name,from,source,to,socket\n1,Kick,stage,dynamic mic,desk,box-1:in-3\n"
    ),
)
PINNED_TWICE = _reading(
    "pinned-twice",
    why="One socket or channel carries one line at a time.",
    do="pin one of the lines elsewhere",
    fails=Example(
        lines=(
            "number,name,from,source,to,socket\n"
            "1,Kick,stage,dynamic mic,desk,box-1:in-3\n"
            "2,Voice,stage,dynamic mic,desk,box-1:in-3\n"
        )
    ),
    passes=Example(
        lines=(
            "number,name,from,source,to,socket\n"
            "1,Kick,stage,dynamic mic,desk,box-1:in-3\n"
            "2,Voice,stage,dynamic mic,desk,box-1:in-4\n"
        )
    ),
)
OUTSIDE_FOLDER = _reading(
    "outside-folder",
    why="A show is one folder that can be copied and sent; what lies outside stays behind.",
    do="put the file into the show's folder and name it from there",
    fails=Example.changed(("lines: lines.csv", "lines: ../lines.csv")),
)
NO_SUCH_FILE = _reading(
    "no-such-file",
    why="The lines of a list that isn't there are not planned.",
    do="put the file into the show's folder, or correct its name",
    fails=Example.changed(("lines: lines.csv", "lines: linse.csv")),
)
NO_LINES = _reading(
    "no-lines",
    why="A show without lines is silent.",
    do="name a table under `lines:`",
    fails=Example.changed(("lines: lines.csv\n", "")),
)
CIRCLE = _reading(
    "circle",
    why="A circuit that feeds itself, or a list that holds itself, never ends.",
    do="break the circle at one of the places named",
    fails=Example.changed(
        (
            "house: {supply: 230 V, limit: 16 A}",
            "house: {fed-by: stage-feed}\n  stage-feed: {fed-by: house}",
        )
    ),
)
UNKNOWN_ACT = _reading(
    "unknown-act",
    why="A line of an act that isn't there is plugged by nobody, or all night.",
    do="correct the act's name, or add the act under `acts:`",
    fails=Example.changed(
        ("lines: lines.csv", "acts: {first: {stage: main}}\nlines: lines.csv"),
        lines=(
            "number,name,from,source,to\n1,Kick,stage,dynamic mic,desk rec-1\n",
            "number,name,from,source,to,act\n1,Kick,stage,dynamic mic,desk rec-1,frist\n",
        ),
    ),
)
PICTURE_NOT_DRAWN = Rule(
    name="picture-not-drawn",
    grade=Grade.NOTE,
    why="Nobody sees on the screen whether places stand where the house has them.",
    do="put a PNG, JPEG or WebP file into the show's folder and name it from there",
    source="Lineproof",
    passes=_GOOD,
    fails=Example.changed(
        (
            "ducts:\n",
            (
                "picture: {file: hall.png, first: {pixel: [90, 60], at: [-8, 0]}, "
                "second: {pixel: [410, 860], at: [8, 40]}}\nducts:\n"
            ),
        )
    ),
)
NOT_YET_USED = Rule(
    name="not-yet-used",
    grade=Grade.NOTE,
    why="It is read and kept, but nothing is worked out from it yet: don't rely on it.",
    do="nothing; check by hand what it should do",
    source="Lineproof",
    passes=_GOOD,
    fails=Example.changed(("limit: 16 A}", "limit: 16 A, phase: 1}")),
)
UNKNOWN_COLUMN = Rule(
    name="unknown-column",
    grade=Grade.NOTE,
    why="The column is kept and printed, but means nothing to the plan.",
    do="nothing, if it is a note for people; else use the word the plan knows",
    source="Lineproof",
    fails=Example.changed(
        ("{kind: computer-32, place: front,", "{kind: computer-32, asset: 17, place: front,")
    ),
    passes=_GOOD,
)
UNKNOWN_SOURCE = Rule(
    name="unknown-source",
    grade=Grade.NOTE,
    why="Phantom is only planned where it is known to be wanted.",
    do="write what kind of source it is (`lineproof kit` lists them), or fill in `phantom`",
    source="Lineproof",
    fails=_lines("2,Voice,stage,dynamic mic", "2,Voice,stage,gizmo"),
    passes=_GOOD,
)
SPLIT_NUMBER = Rule(
    name="split-number",
    grade=Grade.NOTE,
    why="One row was read as two lines, a pair; both get a socket and a label.",
    do="nothing, if that is meant",
    source="Lineproof",
    fails=_lines("1,Kick", "5/6,Keys"),
    passes=_GOOD,
)

RULES: tuple[Rule, ...] = (
    NOT_YAML,
    TOO_LARGE,
    KEY_TWICE,
    UNKNOWN_KEY,
    MISSING_KEY,
    WRONG_VALUE,
    RATE_NOT_CARRIED,
    BAD_NAME,
    NAME_TWICE,
    UNKNOWN_NAME,
    UNKNOWN_KIND,
    NUMBER_TWICE,
    NO_START,
    NO_END,
    PAIR_BROKEN,
    BAD_PIN,
    PINNED_TWICE,
    OUTSIDE_FOLDER,
    NO_SUCH_FILE,
    NO_LINES,
    CIRCLE,
    UNKNOWN_ACT,
    PICTURE_NOT_DRAWN,
    NOT_YET_USED,
    UNKNOWN_COLUMN,
    UNKNOWN_SOURCE,
    SPLIT_NUMBER,
)
