"""A table as rows of texts, whatever file it came from, and the limits on what it may cost."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a hostile or mistaken table may cost; each far beyond the largest show we plan.

    `bytes` of the file, `unpacked` bytes of a workbook's parts, `ratio` between the two for any
    part over a megabyte, `elements` of its XML; then the table's own size, of a workbook all sheets
    together (`area`: blank places up to the last filled one, which a reader has to lay out).
    """

    bytes: int = 8_000_000
    unpacked: int = 32_000_000
    ratio: int = 100
    elements: int = 500_000
    members: int = 1_000
    rows: int = 20_000
    columns: int = 256
    cells: int = 80_000
    area: int = 1_000_000


class Unreadable(Exception):
    """A file that is no table; the message goes on after "lines.csv can't be read: "."""


class TooLarge(Exception):
    """A table beyond the limits; the message goes on after "lines.csv "."""

    def __init__(self, message: str, *, row: int = 0, column: int = 0) -> None:
        super().__init__(message)
        self.row = row
        self.column = column


@dataclass(frozen=True, kw_only=True)
class Merge:
    """Cells merged into one; rows and columns count from 1, both ends included."""

    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True, kw_only=True)
class GridRow:
    """One row: its texts (cleaned) from column 1 on, the columns struck through, those of dates."""

    row: int
    texts: tuple[str, ...]
    struck: frozenset[int] = frozenset()
    dates: frozenset[int] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A sheet's rows in their order, blank ones included or not, and what is merged."""

    sheet: str
    rows: tuple[GridRow, ...]
    merges: tuple[Merge, ...] = ()
