"""A table as it was read: rows of cells, each with its place in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.base.where import Where


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A cell's text (NFC, without blanks around it), and where it stands.

    `filled`: the cell itself is blank, the text comes from a merged cell or a section row, and
    `where` is that one's place.
    """

    text: str
    where: Where
    filled: bool = False


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A heading we don't know that is one slip of the pen from `word`, which means `name`."""

    text: str
    where: Where
    name: str
    word: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """A row of the list.

    `cells`: by our column name, one for every column the table has, blank ones too; `extra`: what
    stands in other columns, by their heading as written, blank ones left out; `section`: the
    section row above it, undecorated. A row that is crossed out is given all the same; leave
    it out. `too_long`: it has more cells than there are headings, so that a separator may have
    slipped into one of them; `dates`: the number or pair that a spreadsheet has made a date.
    """

    where: Where
    cells: Mapping[str, Cell]
    extra: Mapping[str, Cell]
    section: str = ""
    crossed_out: bool = False
    too_long: bool = False
    dates: frozenset[str] = frozenset()

    def text(self, name: str) -> str:
        """Give the text of a cell, "" where the table has no such column."""
        cell = self.cells.get(name)
        return "" if cell is None else cell.text


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table: `headings` by our column name; `notes` are the texts above and below its rows.

    `slips`: headings that may be misspelt, of columns that the table doesn't have otherwise.
    """

    file: str
    sheet: str
    header: Where
    headings: Mapping[str, Where]
    rows: tuple[Row, ...]
    notes: tuple[Cell, ...]
    slips: tuple[Slip, ...] = ()
