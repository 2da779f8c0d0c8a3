"""What is found about a table that could be read: its headings, and its rows as a whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Rule
from lineproof.base.where import Where
from lineproof.show import table_rules as rules
from lineproof.show.table_header import Header, Heading
from lineproof.show.table_items import Aside, Line
from lineproof.show.table_layout import DATED, Layout
from lineproof.show.table_slips import near_heading, slips_in
from lineproof.show.table_words import rows_in_words

_SHOWN = 60  # characters of a cell that a message repeats
_PLACES = 10  # rows a finding points to
_TOLD = 20  # unknown headings of a table that are told each by itself
_HINTS = 5  # unknown headings of a table for which a word of ours is looked for; it takes long


def remarks_on(layout: Layout) -> list[Finding]:
    """Give what is found about a table, after its rows were read."""
    lines = [item for item in layout.items if isinstance(item, Line)]
    asides = [item.row for item in layout.items if isinstance(item, Aside)]
    return [
        *_on_headings(layout, lines),
        *_on_filling(layout),
        *_on_rows(layout, rules.KEPT_AS_NOTE, asides, "is kept as a note", "are kept as notes"),
        *_on_crossing_out(layout, lines),
        *_on_long_rows(layout, lines),
        *_on_dates(layout, lines),
    ]


def _on_headings(layout: Layout, lines: Sequence[Line]) -> Iterator[Finding]:
    """Remark on each header once: the first, and one of a next table that differs."""
    seen: set[tuple[tuple[int, str], ...]] = set()
    unknown: list[Heading] = []
    headers = [layout.header, *(line.header for line in lines)]
    for header in headers:
        assert header is not None
        same = tuple((column, heading.text) for column, heading in header.headings.items())
        if same not in seen:
            seen.add(same)
            yield from _on_header(layout, header, unknown)
    for n, heading in enumerate(unknown[:_TOLD]):
        yield _unknown_heading(layout, heading, hint=n < _HINTS)
    if more := unknown[_TOLD:]:
        what = f"{len(more)} more headings are none we know; the columns are kept and printed"
        where = tuple(layout.where(h.row, h.column, h.text) for h in more[:_PLACES])
        yield rules.UNKNOWN_HEADING.finding(what=what, where=where)


def _on_header(layout: Layout, header: Header, unknown: list[Heading]) -> Iterator[Finding]:
    """Remark on what is twice or misspelt; what is simply not known is put to `unknown`."""
    slips = {h.column: (word, name) for h, word, name in slips_in(header, layout.columns)}
    for heading in header.headings.values():
        if heading.twice:
            yield _heading_twice(layout, heading, header.known[heading.twice])
        elif heading.column in slips:
            yield _misspelt(layout, heading, *slips[heading.column])
        elif not heading.name:
            unknown.append(heading)


def _heading_twice(layout: Layout, heading: Heading, first: Heading) -> Finding:
    what = (
        f"the headings {first.text[:_SHOWN]!r} and {heading.text[:_SHOWN]!r} both mean "
        f"`{first.name}`; the one in column {first.column} counts"
    )
    where = tuple(layout.where(h.row, h.column, h.text) for h in (heading, first))
    return rules.HEADING_TWICE.finding(what=what, where=where)


def _not_known(heading: Heading) -> str:
    text = heading.text[:_SHOWN]
    return f"the heading {text!r} is none we know; the column is kept and printed"


def _misspelt(layout: Layout, heading: Heading, word: str, name: str) -> Finding:
    means = "" if word == name else f", which is `{name}`"
    what = f"{_not_known(heading)}; did you mean {word!r}{means}?"
    where = layout.where(heading.row, heading.column, heading.text)
    do = f"write {word!r} over the column, or another word if it is for people"
    return rules.UNKNOWN_HEADING.finding(what=what, where=where, do=do, grade=Grade.RISK)


def _unknown_heading(layout: Layout, heading: Heading, *, hint: bool) -> Finding:
    where = layout.where(heading.row, heading.column, heading.text)
    near = near_heading(heading.text, layout.columns) if hint else None
    do = None
    if near is not None:
        word, name = near
        do = f"nothing, if it is for people; else did you mean {word!r}, which is `{name}`?"
    return rules.UNKNOWN_HEADING.finding(what=_not_known(heading), where=where, do=do)


def _on_filling(layout: Layout) -> Iterator[Finding]:
    for (name, source), rows in layout.filler.filled.items():
        what = f"`{name}` is filled down to {rows_in_words(rows)} from {source.text[:_SHOWN]!r}"
        what += f" in row {source.row}"
        where = layout.where(source.row, source.column, name)
        yield rules.FILLED_DOWN.finding(what=what, where=where)


def _on_rows(
    layout: Layout, rule: Rule, rows: list[int], one: str, many: str, grade: Grade | None = None
) -> Iterator[Finding]:
    """Give one finding over several rows, which names them; none for no rows."""
    yield from _on_places(rule, [layout.where(row) for row in rows], one, many, grade)


def _on_places(
    rule: Rule, places: Sequence[Where], one: str, many: str, grade: Grade | None = None
) -> Iterator[Finding]:
    if places:
        rows = [where.row for where in places]
        what = f"{rows_in_words(rows)} {one if len(set(rows)) == 1 else many}"
        yield rule.finding(what=what, where=tuple(places[:_PLACES]), grade=grade)


def _on_crossing_out(layout: Layout, lines: Sequence[Line]) -> Iterator[Finding]:
    crossed = [line.row for line in lines if line.crossed_out]
    one, many = "is crossed out and left out", "are crossed out and left out"
    yield from _on_rows(layout, rules.CROSSED_OUT, crossed, one, many)
    partly = [line.row for line in lines if line.grid.struck and not line.crossed_out]
    one = "has cells crossed out, but not its number and name; it is read whole"
    many = "have cells crossed out, but not their number and name; they are read whole"
    yield from _on_rows(layout, rules.CROSSED_OUT, partly, one, many, Grade.RISK)


def _on_long_rows(layout: Layout, lines: Sequence[Line]) -> Iterator[Finding]:
    yield from too_long([layout.where(line.row) for line in lines if layout.is_too_long(line)])
    inside = _rows_with(
        lines,
        lambda line, column: column < line.header.width and column not in line.header.headings,
    )
    one, many = "has a cell under no heading", "have a cell under no heading"
    yield from _on_rows(layout, rules.ROW_TOO_LONG, inside, one, many, Grade.NOTE)


def too_long(rows: Sequence[Where]) -> Iterator[Finding]:
    """Give one finding over the rows that have more cells than headings."""
    one, many = "is longer than the row of headings", "are longer than the row of headings"
    yield from _on_places(rules.ROW_TOO_LONG, rows, one, many)


def became_dates(name: str, rows: Sequence[Where]) -> Iterator[Finding]:
    """Give one finding over the rows whose number or pair is a date."""
    one, many = f"has a date for its `{name}`", f"have dates for their `{name}`"
    yield from _on_places(rules.NUMBER_BECAME_DATE, rows, one, many)


def _rows_with(lines: Sequence[Line], odd: Callable[[Line, int], bool]) -> list[int]:
    return [line.row for line in lines if any(odd(line, column) for column in line.filled)]


def _on_dates(layout: Layout, lines: Sequence[Line]) -> Iterator[Finding]:
    for name in DATED:
        yield from became_dates(name, [layout.where(x.row) for x in lines if x.has_date(name)])
