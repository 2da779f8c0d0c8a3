"""What each row below the headings is: a row of the list, a section, or a note."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lineproof.show.headings import Column, is_numberish
from lineproof.show.table_grid import Grid, GridRow
from lineproof.show.table_header import Header, header_again
from lineproof.show.table_words import is_date, is_list_word, is_ruled, undecorated

_MOST_HEADERS = 100

#: Says which column a section row over the whole width speaks for.
SectionColumn = Callable[[str], str]


@dataclass(frozen=True, kw_only=True)
class Section:
    """A section row: its place, its words, the column it fills ("" for none)."""

    row: int
    column: int
    text: str
    fills: str


@dataclass(frozen=True, kw_only=True)
class Aside:
    """A row that is a note."""

    row: int


@dataclass(frozen=True, kw_only=True)
class Line:
    """A row of the list, and the header it stands under."""

    grid: GridRow
    header: Header

    @property
    def row(self) -> int:
        """Give the row's number in the file."""
        return self.grid.row

    def at(self, column: int) -> str:
        """Give the text in a column, "" beyond the row's end."""
        texts = self.grid.texts
        return texts[column - 1] if column <= len(texts) else ""

    def of(self, name: str) -> str:
        """Give the text under the heading of one of our columns, "" if there is none."""
        heading = self.header.known.get(name)
        return self.at(heading.column) if heading is not None else ""

    def has_date(self, name: str) -> bool:
        """Say whether a date stands under the heading of one of our columns."""
        heading = self.header.known.get(name)
        return heading is not None and (
            heading.column in self.grid.dates or is_date(self.at(heading.column))
        )

    @property
    def filled(self) -> list[int]:
        """Give the columns in which something stands."""
        return [column for column, text in enumerate(self.grid.texts, 1) if text]

    @property
    def crossed_out(self) -> bool:
        """Say whether what tells who the line is, its number and its name, is crossed out."""
        known = self.header.known
        columns = {known[name].column for name in ("number", "name") if name in known}
        there = {column for column in columns if self.at(column)}
        return bool(there) and there <= self.grid.struck


Item = Section | Aside | Line


def items_of(
    grid: Grid, header: Header, columns: tuple[Column, ...], section: SectionColumn
) -> list[Item]:
    """Give what each row below the header is, in order; blank and ruled rows are nothing.

    Headings that stand again are passed over; if they differ, what follows stands under them.
    """
    key = next(column.name for column in columns if column.name in header.known)
    sorter = _Sorter(grid, columns, section, key)
    return _with_notes_below(list(sorter.items(header)), key)


class _Sorter:
    def __init__(
        self, grid: Grid, columns: tuple[Column, ...], section: SectionColumn, key: str
    ) -> None:
        self._grid = grid
        self._columns = columns
        self._section = section
        self._key = key
        self._headers = 0
        self._fillable = {column.name for column in columns if column.fill_down}
        # A cell over three columns or more is meant for the whole row.
        self._wide = {(m.top, m.left) for m in grid.merges if m.right - m.left > 1}

    def items(self, header: Header) -> Iterator[Item]:
        for place in range(header.last + 1, len(self._grid.rows)):
            line = Line(grid=self._grid.rows[place], header=header)
            filled = line.filled
            if all(is_ruled(line.at(column)) for column in filled):
                continue
            if (again := self._again(place, header)) is not None:
                header = again
            elif len(filled) > 1:
                yield line
            else:
                yield self._alone(line, filled[0])

    def _again(self, place: int, before: Header) -> Header | None:
        """Give the header that begins at this row; after a hundred nobody looks for more."""
        if self._headers > _MOST_HEADERS:
            return None
        header = header_again(self._grid, self._columns, place, before)
        if header is not None and header is not before:
            self._headers += 1
        return header

    def _alone(self, line: Line, column: int) -> Item:
        """Give what a row is in which one cell is filled."""
        text = line.at(column)
        heading = line.header.headings.get(column)
        name = heading.name if heading is not None else ""
        # "17" alone is a row with nothing in it yet; "Act 1" is a section.
        numbered = name == self._key and is_numberish(text) and " " not in text
        if is_list_word(text) or numbered:
            return line
        words = undecorated(text)
        if name in self._fillable:
            return Section(row=line.row, column=column, text=words, fills=name)
        if words and self._leads(line, column, name, decorated=words != text):
            fills = self._section(words)
            fills = fills if fills in self._fillable else ""
            return Section(row=line.row, column=column, text=words, fills=fills)
        return Aside(row=line.row)

    def _leads(self, line: Line, column: int, name: str, *, decorated: bool) -> bool:
        first = column <= min(line.header.headings) or name in ("number", "name")
        return first or decorated or (line.row, column) in self._wide


def _with_notes_below(items: list[Item], key: str) -> list[Item]:
    """Turn into notes what follows the last row of the list.

    That is the last row with a number, or where no row has one the last of several cells. A row
    right below it is still the list's; after a gap what has no number is a note.
    """
    lines = [place for place, item in enumerate(items) if isinstance(item, Line)]
    sure = [place for place in lines if key != "number" or _has_number(items[place])]
    last = max(sure or lines, default=-1)
    kept = items[: last + 1]
    for item in items[last + 1 :]:
        follows = bool(kept) and item.row == kept[-1].row + 1 and isinstance(kept[-1], Line)
        kept.append(item if isinstance(item, Line) and follows else Aside(row=item.row))
    return kept


def _has_number(item: Item) -> bool:
    return isinstance(item, Line) and (is_numberish(item.of("number")) or item.has_date("number"))
