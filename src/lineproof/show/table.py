"""Tables as people really write them, read into rows whose every cell knows its place."""

from __future__ import annotations

import re
from pathlib import Path

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded, nearest
from lineproof.base.where import Where
from lineproof.show import table_rules as rules
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS, Column
from lineproof.show.table_book import Book
from lineproof.show.table_csv import Letters, read_csv
from lineproof.show.table_grid import Grid, Limits, TooLarge, Unreadable
from lineproof.show.table_items import SectionColumn
from lineproof.show.table_layout import Layout
from lineproof.show.table_model import Cell, Row, Table
from lineproof.show.table_remarks import remarks_on
from lineproof.show.table_rules import RULES
from lineproof.show.table_words import rows_in_words, section_column

__all__ = [
    "LINE_COLUMNS",
    "RULES",
    "UNIT_COLUMNS",
    "Cell",
    "Column",
    "Limits",
    "Row",
    "Table",
    "read_table",
    "section_column",
]

_TEXTS = (".csv", ".tsv", ".tab", ".txt")
_BOOKS = (".xlsx", ".xlsm", ".ods")
_LOST = re.compile("[\ufffd\ud800-\udfff]")
_Read = tuple[Table | None, list[Finding]]


def read_table(
    path: Path,
    *,
    file: str,
    columns: tuple[Column, ...],
    sheet: str = "",
    limits: Limits = Limits(),  # noqa: B008 (frozen, so it can be shared)
    section: SectionColumn = section_column,
) -> _Read:
    """Give the table in a CSV, XLSX or ODS file, and what was found; None if there is none.

    `file` is its name in findings. `columns` are those that are known; the first of them that
    the table has is its key (a line's number, a unit's name). `sheet` names a workbook's sheet,
    without it the first visible one with headings is read. `section` says which column a section
    row over the whole width speaks for. Rows keep their order. A bad file is a finding, never an
    exception.
    """
    reading = _Reading(file, columns, sheet, limits, section)
    try:
        return reading.read(path)
    except TooLarge as error:
        where = Where(file=file, sheet=sheet, row=error.row, column=error.column)
        return None, [rules.TABLE_TOO_LARGE.finding(what=f"{file} {error}", where=where)]
    except Unreadable as error:
        what = f"{file} can't be read as a table: {error}"
        return None, [rules.TABLE_NOT_READABLE.finding(what=what, where=Where(file=file))]


class _Reading:
    def __init__(
        self,
        file: str,
        columns: tuple[Column, ...],
        sheet: str,
        limits: Limits,
        section: SectionColumn,
    ) -> None:
        self.file = file
        self.columns = columns
        self.sheet = sheet
        self.limits = limits
        self.section = section

    def read(self, path: Path) -> _Read:
        data = self._bytes(path)
        ending = path.suffix.lower()
        if ending in _BOOKS:
            if not data.startswith((b"PK", b"\xd0\xcf\x11\xe0")):
                raise Unreadable(f"it is called {ending}, but is no workbook")
            return self._book(Book(data, self.limits))
        if ending in _TEXTS:
            if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")):
                raise Unreadable(f"it is called {ending}, but is no text; name it as what it is")
            return self._csv(data)
        known = ", ".join((*_TEXTS[:2], *_BOOKS))
        raise Unreadable(f"of files called {ending or 'nothing'!r} we know none, only {known}")

    def _bytes(self, path: Path) -> bytes:
        try:
            if not path.is_file():
                raise Unreadable("there is no such file")
            with path.open("rb") as source:
                data = source.read(self.limits.bytes + 1)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise Unreadable(reason) from None
        if len(data) > self.limits.bytes:
            raise TooLarge(f"holds more than {self.limits.bytes:,} bytes")
        return data

    def _csv(self, data: bytes) -> _Read:
        if self.sheet:
            raise Unreadable(f"a text file has no sheets, so none is called {self.sheet!r}")
        grid, letters, open_quotes = read_csv(data, self.limits)
        table, findings = self._layout(grid)
        findings += _about_letters(letters, self.file)
        if open_quotes:
            what = f"a quote is opened in {rows_in_words(open_quotes)} and never closed"
            where = tuple(Where(file=self.file, row=row) for row in open_quotes[:10])
            findings.append(rules.OPEN_QUOTE.finding(what=what, where=where))
        return table, findings

    def _layout(self, grid: Grid) -> _Read:
        layout = Layout(grid, file=self.file, columns=self.columns, section=self.section)
        layout.weigh(self.limits)
        table = layout.table()
        if table is None:
            what = f"in the first 40 rows of {self.file} there is no row of headings we know"
            where = Where(file=self.file, sheet=grid.sheet, row=1)
            return None, [rules.NO_HEADER.finding(what=what, where=where)]
        return table, remarks_on(layout)

    def _book(self, book: Book) -> _Read:
        if self.sheet:
            return self._layout(book.grid(self._named_sheet(book)))
        found: list[tuple[Table, list[Finding]]] = []
        first: _Read = (None, [])
        for name in book.visible:
            table, findings = self._layout(book.grid(name))
            if table is not None:
                found.append((table, findings))
            first = first if first[1] else (table, findings)
        if not found:
            if not first[1]:
                raise Unreadable("it has no visible sheet")
            return first
        table, findings = found[0]
        return table, findings + self._other_sheets(table, [t.sheet for t, _ in found[1:]])

    def _named_sheet(self, book: Book) -> str:
        for name in book.sheets:
            if folded(name) == folded(self.sheet):
                return name
        near = nearest(self.sheet, book.sheets)
        hint = f"; did you mean {near!r}?" if near else ""
        raise Unreadable(f"it has no sheet {self.sheet!r}, only {', '.join(book.sheets)}{hint}")

    def _other_sheets(self, table: Table, others: list[str]) -> list[Finding]:
        if not others:
            return []
        what = f"the sheet {table.sheet!r} is read; {', '.join(map(repr, others))} "
        what += "could be read too" if len(others) == 1 else "could be read too, each by its name"
        do = "if they belong to the show, name each one with `sheet:`"
        where = tuple(Where(file=self.file, sheet=name) for name in others[:10])
        return [rules.KEPT_AS_NOTE.finding(what=what, where=where, do=do)]


def _about_letters(letters: Letters, file: str) -> list[Finding]:
    """Say which letters were guessed, and which are lost."""
    rows = letters.text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    lost = [n for n, row in enumerate(rows, 1) if _LOST.search(row)]
    if lost:
        what = f"letters are lost in {rows_in_words(lost)}, read as {letters.title}"
        where = tuple(Where(file=file, row=row) for row in lost[:10])
        return [rules.LETTERS_GUESSED.finding(what=what, where=where, grade=Grade.RISK)]
    if letters.codec != "cp1252":
        return []
    first = next(n for n, row in enumerate(rows, 1) if not row.isascii())
    what = f"{file} is not UTF-8 (see row {first}); it is read as {letters.title}"
    return [rules.LETTERS_GUESSED.finding(what=what, where=Where(file=file, row=first))]
