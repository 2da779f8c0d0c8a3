"""Which fault takes which line: a table of letters, or a list where that would not fit."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lineproof.drill.verdict import State, Verdict
from lineproof.graph.faults import Fault
from lineproof.paper.edition import Edition
from lineproof.paper.fit import BODY_PT, shortened
from lineproof.paper.sheet import Block, Cell, Column, Look, Row, Sheet, Table, Text
from lineproof.paper.sheets.drill_facts import Facts
from lineproof.paper.sheets.drill_names import ends_told, lines_told, lots, some, thing
from lineproof.paper.sheets.parts import cells, columns
from lineproof.rescue.hurt import EndAt

#: Columns of letters side by side on a sheet that lies, of A4 or letter.
_ACROSS = 30
_ACROSS_UPRIGHT = 19
#: Rows of such a sheet, under headings that stand upright.
_DOWN = 22
#: What takes more sheets than these is told as a list.
_MOST_SHEETS = 12
#: How high a heading may stand, and how wide a line's name may be, in millimetres.
_HEAD_MM = 36.0
_NAME_MM = 32.0


@dataclass(frozen=True, kw_only=True)
class Struck:
    """Faults that do the same to every line, the rescue included: by line a letter, "" for none.

    `ends` are the ends they take.
    """

    faults: tuple[Fault, ...]
    letters: tuple[str, ...]
    ends: tuple[EndAt, ...]


def line_sheet(facts: Facts, numbers: Mapping[Fault, int]) -> Sheet:
    """Give which fault takes which line."""
    words = facts.edition.words
    found = struck_by(facts)
    touched = [at for at in _in_order(facts) if any(each.letters[at] for each in found)]
    fits = sheets_needed(len(touched), len(found)) <= _MOST_SHEETS
    blocks: list[Block] = []
    if not found:
        blocks.append(Text(paragraphs=(words("drill.nothing-lost"),)))
    elif fits:
        blocks.append(Text(paragraphs=tuple(_legend(facts, touched))))
        blocks += _letters(facts, found, touched)
    else:
        blocks.append(Text(paragraphs=(words("drill.too-many"),)))
        blocks.append(_list(facts, found, numbers))
    return Sheet(
        name="drill-lines",
        title=words("sheet.drill-lines"),
        for_whom=words("for.planner"),
        blocks=tuple(blocks),
        landscape=not (fits and len(found) <= _ACROSS_UPRIGHT),
    )


def _in_order(facts: Facts) -> list[int]:
    """Give the lines by place in the plan, in the list's order."""
    at = {key.same(): n for n, key in enumerate(facts.drill.swept.keys)}
    return [at[line.key.same()] for line in facts.edition.lines if line.key.same() in at]


def sheets_needed(lines: int, faults: int) -> int:
    """Give how many sheets a table of letters takes.

    >>> sheets_needed(26, 30), sheets_needed(96, 61)
    (2, 15)
    """
    return math.ceil(lines / _DOWN) * math.ceil(faults / _ACROSS)


def struck_by(facts: Facts) -> tuple[Struck, ...]:
    """Give what takes any line, in the faults' order, those that do the same together."""
    found: dict[tuple[str, ...], list[Fault]] = {}
    ends: dict[tuple[str, ...], tuple[EndAt, ...]] = {}
    known: dict[tuple[int, tuple[EndAt, ...]], tuple[str, ...]] = {}
    class_of = _classes(facts)
    verdicts = {d.fault: d.verdicts for d in facts.drill.singles}
    for fault, rescue in facts.rescued.by_fault.items():
        key = (class_of[fault], rescue.back)
        if key not in known:
            letters = [""] * len(facts.drill.swept.keys)
            lost = _by_line(rescue.lost)
            back = frozenset(rescue.back)
            for at, verdict in enumerate(verdicts[fault]):
                if verdict.state is not State.UNTOUCHED:
                    letters[at] = _letter(facts, verdict, lost.get(at, []), back)
            known[key] = tuple(letters)
        found.setdefault(known[key], []).append(fault)
        ends.setdefault(known[key], rescue.lost)
    return tuple(
        Struck(faults=tuple(faults), letters=letters, ends=ends[letters])
        for letters, faults in found.items()
    )


def _classes(facts: Facts) -> Mapping[Fault, int]:
    members = facts.drill.swept.classes.members
    return {fault: at for at, faults in enumerate(members) for fault in faults}


def _by_line(ends: Iterable[EndAt]) -> dict[int, list[EndAt]]:
    found: dict[int, list[EndAt]] = {}
    for end in ends:
        found.setdefault(end[0], []).append(end)
    return found


def _letter(facts: Facts, verdict: Verdict, lost: Sequence[EndAt], back: Collection[EndAt]) -> str:
    """Give the letter of a line, of which these ends are lost and of all ends these come back."""
    words = facts.edition.words
    if verdict.state is not State.LOST:
        return words(f"letter.{_key(verdict.state)}")
    needed = [end for end in lost if facts.needs(end)]
    rescued = all(end in back for end in needed or lost)
    letter = words("letter.rescued") if rescued else words("letter.lost")
    return letter if needed else letter.lower()


def _key(state: State) -> str:
    return state.value.replace(" ", "-")


def _legend(facts: Facts, touched: Sequence[int]) -> Iterator[str]:
    words = facts.edition.words
    keys = ("lost", "rescued", "standby", "other-end", "other-net", "unknown")
    told = [f"{words(f'letter.{key}')} {words(f'letters.{key}')}" for key in keys]
    yield "; ".join(told) + ". " + words("letters.small")
    spared = len(facts.drill.swept.keys) - len(touched)
    if spared:
        yield words("letters.spared", count=spared)


def _letters(facts: Facts, found: Sequence[Struck], touched: Sequence[int]) -> Iterator[Table]:
    words = facts.edition.words
    for lot in lots(found, _ACROSS):
        heads = (
            Column(title=words("column.line")),
            Column(title=words("column.name")),
            *(Column(title=_heading(facts.edition, each), look=Look.MARK) for each in lot),
        )
        rows = tuple(
            Row(cells=cells(*_line(facts, at), *(each.letters[at] for each in lot)))
            for at in touched
            if any(each.letters[at] for each in lot)
        )
        yield Table(name="drill-matrix", columns=heads, rows=rows)


def _heading(edition: Edition, struck: Struck) -> str:
    first = thing(edition, struck.faults[0])
    more = len(struck.faults) - 1
    behind = f" +{more}" if more else ""
    return shortened(first, BODY_PT, _HEAD_MM - 2.2 * len(behind)) + behind


def _line(facts: Facts, at: int) -> tuple[str, str]:
    line = facts.line(at)
    return str(line.key), shortened(line.title, BODY_PT, _NAME_MM)


def _list(facts: Facts, found: Sequence[Struck], numbers: Mapping[Fault, int]) -> Table:
    """Give by fault how many lines it takes, and which."""
    edition = facts.edition
    rows = []
    for each in sorted(found, key=lambda s: -len({line for line, _ in s.ends})):
        lines = facts.lines(each.ends)
        named = some(edition, [thing(edition, fault) for fault in each.faults], 4)
        at = ends_told(edition, (facts.arrival(end) for end in each.ends))
        card = str(numbers.get(each.faults[0], "–"))
        count = Cell(text=str(len(lines)), figure=float(len(lines)))
        rows.append(Row(cells=(*cells(named), count, *cells(lines_told(edition, lines), at, card))))
    head = columns(edition.words, "without", "lines-lost", "lines", "lost-at", "card")
    return Table(name="drill-matrix", columns=head, rows=tuple(rows))


def states_table(facts: Facts) -> Table:
    """Give every line that is not untouched after each fault, faults that strike alike once."""
    words = facts.edition.words
    seen: set[int] = set()
    class_of = _classes(facts)
    titles = {key: (str(key), facts.line(n).title) for n, key in enumerate(facts.drill.swept.keys)}
    known: dict[str, Cell] = {}
    rows = []
    for drilled in facts.drill.singles:
        at = class_of[drilled.fault]
        if at in seen:
            continue
        seen.add(at)
        named = ", ".join(map(str, facts.drill.swept.classes.members[at]))
        for verdict in drilled.verdicts:
            if verdict.state is not State.UNTOUCHED:
                state = words(f"state.{_key(verdict.state)}")
                told = (named, *titles[verdict.line], state, ", ".join(verdict.lost))
                rows.append(Row(cells=tuple(_shared(known, text) for text in told)))
    head = columns(words, "fault-name", "line", "name", "state", "lost-at")
    return Table(name="drill-lines", columns=head, rows=tuple(rows))


def _shared(known: dict[str, Cell], text: str) -> Cell:
    """Give a cell, one for all that say the same: a large show has three hundred thousand."""
    if text not in known:
        known[text] = Cell(text=text)
    return known[text]
