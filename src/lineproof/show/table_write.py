"""Changes to a CSV file that leave every other byte as it was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lineproof.base.errors import Refused
from lineproof.show.table_csv import SEPARATORS, Field, Letters, Record, Scan, read_letters
from lineproof.show.table_grid import Limits, TooLarge, Unreadable

_NEEDS_QUOTES = (*SEPARATORS, '"', "\n", "\r")


class CannotPatch(Refused):
    """The file can't be changed this way without changing more than was asked."""


class CannotSpell(CannotPatch):
    """The new text has a letter that the file's encoding does not have."""


class Edit(NamedTuple):
    """A cell's new text, by the row (as `Where.row`) and column, both from 1, it stands in."""

    row: int
    column: int
    text: str


def patch_csv(data: bytes, edits: Sequence[Edit]) -> bytes:
    r"""Give the file with these cells changed and every other byte kept.

    A column beyond the row's end lengthens that row. A cell that was quoted stays quoted; one
    that was not is quoted only where it must be. Raises CannotSpell or CannotPatch.

    >>> patch_csv(b"No;Name\r\n1;Kick\r\n", [Edit(2, 2, "Kick; in")])
    b'No;Name\r\n1;"Kick; in"\r\n'
    """
    file = _File(data)
    wanted: dict[int, dict[int, str]] = {}
    for edit in edits:
        cells = wanted.setdefault(edit.row, {})
        if cells.setdefault(edit.column, edit.text) != edit.text:
            raise CannotPatch(f"row {edit.row}, column {edit.column} can't hold two texts")
    pieces: list[tuple[int, int, str]] = []
    expected = file.cells()
    for row, cells in wanted.items():
        record = file.record(row)
        pieces += _pieces(record, cells, file.scan.separator)
        expected[file.scan.records.index(record)] = _changed(record, cells)
    return file.spliced(pieces, expected)


def insert_row(data: bytes, row: int, cells: Sequence[str]) -> bytes:
    r"""Give the file with a new row that stands in `row`; what stood there moves down.

    `row` is where a row begins now, or one past the last. Raises CannotSpell or CannotPatch.

    >>> insert_row(b"No,Name\n1,Kick\n", 2, ["7", "Snare"])
    b'No,Name\n7,Snare\n1,Kick\n'
    """
    file = _File(data)
    separator = file.scan.separator
    only = len(cells) < 2
    written = [_written(text, None, first=n == 0, only=only) for n, text in enumerate(cells)]
    new = separator.join(written)
    expected = file.cells()
    for place, record in enumerate(file.scan.records):
        if record.row == row:
            expected.insert(place, tuple(cells))
            return file.spliced([(record.start, record.start, new + file.newline)], expected)
    if row != file.next_row:
        raise CannotPatch(f"no row begins in row {row}")
    expected.append(tuple(cells))
    end = len(file.letters.text)
    # A file that does not end with a newline is left that way.
    new = new + file.newline if file.ends_with_newline else file.newline + new
    return file.spliced([(end, end, new)], expected)


def append_row(data: bytes, cells: Sequence[str]) -> bytes:
    r"""Give the file with a new row at its end. Raises CannotSpell or CannotPatch.

    >>> append_row(b"No;Name\r\n1;Kick\r\n", ["7", "Snare"])
    b'No;Name\r\n1;Kick\r\n7;Snare\r\n'
    """
    return insert_row(data, _File(data).next_row, cells)


def remove_row(data: bytes, row: int) -> bytes:
    r"""Give the file without the row (or comment) that begins in `row`, newline and all.

    Raises CannotPatch.

    >>> remove_row(b"No,Name\n1,Kick\n2,Snare\n", 2)
    b'No,Name\n2,Snare\n'
    """
    file = _File(data)
    record = file.record(row, comments=True)
    expected = file.cells()
    del expected[file.scan.records.index(record)]
    return file.spliced([(record.start, record.next, "")], expected)


class _File:
    def __init__(self, data: bytes) -> None:
        try:
            self.letters: Letters = read_letters(data)
            self.scan = Scan(self.letters.text, Limits())
        except (Unreadable, TooLarge) as error:
            raise CannotPatch(f"the file can't be changed: {error}") from None
        if self.letters.encode(self.letters.text) != data:
            raise CannotPatch("the file's letters can't be written back as they were")

    @property
    def newline(self) -> str:
        """Give the newline the file's own rows have."""
        text, records = self.letters.text, self.scan.records
        return next((text[r.end : r.next] for r in records if r.next > r.end), "\n")

    @property
    def ends_with_newline(self) -> bool:
        records = self.scan.records
        return not records or records[-1].next > records[-1].end

    @property
    def next_row(self) -> int:
        """Give the row that would begin after the last one."""
        text = self.letters.text.replace("\r\n", "\n").replace("\r", "\n")
        return text.count("\n") + 1 + (not self.ends_with_newline)

    def cells(self) -> list[tuple[str, ...]]:
        return [tuple(field.text for field in record.fields) for record in self.scan.records]

    def record(self, row: int, *, comments: bool = False) -> Record:
        for record in self.scan.records:
            if record.row == row and (record.fields or comments):
                return record
        raise CannotPatch(f"no row begins in row {row}")

    def spliced(self, pieces: list[tuple[int, int, str]], expected: list[tuple[str, ...]]) -> bytes:
        """Give the bytes with pieces of the text replaced, if they read as expected."""
        text = self.letters.text
        for start, end, new in sorted(pieces, reverse=True):
            text = text[:start] + new + text[end:]
        data = self._encoded(text, pieces)
        after = read_letters(data)
        if after[1:] != self.letters[1:] and not after.text.isascii():
            raise CannotPatch(
                "the file's letters would be read differently; save it as UTF-8 first"
            )
        scan = Scan(after.text, Limits())
        read = [tuple(field.text for field in record.fields) for record in scan.records]
        if [_bare(cells) for cells in read] != [_bare(cells) for cells in expected]:
            raise CannotPatch("other cells would be read differently after this change")
        return data

    def _encoded(self, text: str, pieces: list[tuple[int, int, str]]) -> bytes:
        for _, _, new in pieces:
            try:
                new.encode(self.letters.codec)
            except UnicodeEncodeError as error:
                letter = new[error.start]
                raise CannotSpell(
                    f"the file is {self.letters.title}, which has no {letter!r}; "
                    "save it as UTF-8 first"
                ) from None
        return self.letters.encode(text)


def _bare(cells: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(text.strip() for text in cells)


def _changed(record: Record, cells: dict[int, str]) -> tuple[str, ...]:
    texts = [field.text for field in record.fields]
    texts += [""] * (max(cells) - len(texts))
    for column, text in cells.items():
        texts[column - 1] = text
    return tuple(texts)


def _pieces(record: Record, cells: dict[int, str], separator: str) -> list[tuple[int, int, str]]:
    there = len(record.fields)
    last = max(cells)
    if min(cells) < 1:
        raise CannotPatch("columns count from 1")
    pieces: list[tuple[int, int, str]] = []
    for column, text in cells.items():
        if column <= there:
            field = record.fields[column - 1]
            new = _written(text, field, first=column == 1, only=max(there, last) == 1)
            pieces.append((field.start, field.end, new))
    if last > there:
        added = [_written(cells.get(n, ""), None) for n in range(there + 1, last + 1)]
        new = separator + separator.join(added)
        pieces.append((record.end, record.end, new))
    return pieces


def _written(text: str, field: Field | None, *, first: bool = False, only: bool = False) -> str:
    """Give a cell as it is written; blanks around an unquoted cell stay."""
    quoted = field is not None and field.quoted
    before = field.text if field is not None else ""
    if quoted or _must_be_quoted(text, before, first=first, only=only):
        return '"' + text.replace('"', '""') + '"'
    if field is None or not field.text.strip():
        return text
    blanks = before[: len(before) - len(before.lstrip())]
    return blanks + text + before[len(before.rstrip()) :]


def _must_be_quoted(text: str, old: str, *, first: bool, only: bool) -> bool:
    # Other separators too, so that the file's own is found again; not one that stood there bare.
    if any(mark in text and mark not in old for mark in _NEEDS_QUOTES):
        return True
    # At the start of a row `#` makes a comment, and an empty row is no row.
    return (first and text.startswith(("#", "sep="))) or (only and not text)
