"""What can be wrong with a table as a file: before anybody asks what its cells mean."""

from __future__ import annotations

from lineproof.base.finding import Grade
from lineproof.base.rule import EXAMPLE_LINES, Example, Rule

_GOOD = Example()


def _reading(name: str, grade: Grade, *, why: str, do: str, fails: str) -> Rule:
    return Rule(
        name=name,
        grade=grade,
        why=why,
        do=do,
        source="Lineproof",
        fails=Example(lines=fails),
        passes=_GOOD,
    )


def _changed(old: str, new: str) -> str:
    return Example.changed(lines=(old, new)).lines


TABLE_NOT_READABLE = _reading(
    "table-not-readable",
    Grade.STOP,
    why="The lines of a list that can't be read are not planned.",
    do="save the list as CSV (UTF-8), XLSX or ODS, without a password",
    fails="",
)
TABLE_TOO_LARGE = _reading(
    "table-too-large",
    Grade.STOP,
    why="A list far beyond any show is a mistake or an attack, and would tie up the computer.",
    do="look for a cell far away from the list, or split the list",
    fails="number,name" + "," * 400 + "\n1,Kick\n",
)
NO_HEADER = _reading(
    "no-header",
    Grade.STOP,
    why="Without headings nobody knows which column is the number and which the microphone.",
    do="put a row of headings over the list: number or name, and at least one more we know",
    fails="1,Kick,stage,dynamic mic,desk rec-1\n",
)
OPEN_QUOTE = _reading(
    "open-quote",
    Grade.STOP,
    why="Where a quote is never closed, the rows after it can end up in one cell.",
    do='close the quote, or leave it out (a quote inside a quoted cell is written twice: "")',
    fails=_changed("2,Voice,", '2,"Voice,'),
)
LETTERS_GUESSED = _reading(
    "letters-guessed",
    Grade.NOTE,
    why="Letters such as ä or é may be read wrong, and names are printed on labels.",
    do="look whether the names are right; save the file as UTF-8",
    fails=_changed("2,Voice,", "2,Fl\ufffdte,"),
)
UNKNOWN_HEADING = _reading(
    "unknown-heading",
    Grade.NOTE,
    why="The column is kept and printed, but means nothing to the plan.",
    do="nothing, if it is for people; else use a heading the plan knows",
    fails="number,name,from,source,to,mood\n1,Kick,stage,dynamic mic,desk,good\n",
)
HEADING_TWICE = _reading(
    "heading-twice",
    Grade.RISK,
    why="Of two columns that say the same only one can count; the other is only printed.",
    do="rename one of the two",
    fails="number,name,from,source,to,to\n1,Kick,stage,dynamic mic,desk,rec-1\n",
)
ROW_TOO_LONG = _reading(
    "row-too-long",
    Grade.RISK,
    why="A cell without a heading often means that a separator slipped into a cell, and that "
    "everything after it stands in the wrong column.",
    do="put the cell with the separator into quotes, or give the column a heading",
    fails=_changed("2,Voice,stage,dynamic mic,desk rec-1", "2,Voice,stage,dynamic mic,desk,rec-1"),
)
FILLED_DOWN = _reading(
    "filled-down",
    Grade.NOTE,
    why="What was not written in these rows was taken from a merged cell or a section row.",
    do="nothing, if that is meant; else write it into the rows",
    fails=EXAMPLE_LINES.replace("1,Kick", "--- BAND ---\n1,Kick"),
)
KEPT_AS_NOTE = _reading(
    "kept-as-note",
    Grade.NOTE,
    why="Text around the list is kept and printed, but no line is made of it.",
    do="nothing, if it is a note; else give the row a number",
    fails=EXAMPLE_LINES + "\nAll stands come with the band.\n",
)
CROSSED_OUT = _reading(
    "crossed-out",
    Grade.NOTE,
    why="A row that is crossed out is left out of the plan: no socket, no label.",
    do="nothing, if that is meant; else take the crossing-out away",
    fails=_changed("2,Voice,", "~~2~~,~~Voice~~,"),
)
NUMBER_BECAME_DATE = _reading(
    "number-became-date",
    Grade.RISK,
    why="Spreadsheets turn 5/6 into a date; the pair it was meant to be is lost.",
    do="format the column as text and write the number again",
    fails=_changed("2,Voice,", "5. Jun,Voice,"),
)

RULES: tuple[Rule, ...] = (
    TABLE_NOT_READABLE,
    TABLE_TOO_LARGE,
    NO_HEADER,
    OPEN_QUOTE,
    LETTERS_GUESSED,
    UNKNOWN_HEADING,
    HEADING_TWICE,
    ROW_TOO_LONG,
    FILLED_DOWN,
    KEPT_AS_NOTE,
    CROSSED_OUT,
    NUMBER_BECAME_DATE,
)
