"""Tables as CSV (RFC 4180, UTF-8 with a mark in front), so that no spreadsheet runs a cell.

A spreadsheet takes a cell that begins with `=`, `+`, `-` or `@`, a tab or a carriage return for
a formula, quoted or not. Such a cell gets an apostrophe in front; so does one that begins with an
apostrophe, so that `plain` finds every text again exactly.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from lineproof.paper.edition import Edition
from lineproof.paper.fit import NO_BREAK
from lineproof.paper.sheet import Row, Table

GUARD = "'"
_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", GUARD)
#: Tells spreadsheets that the file is UTF-8.
MARK = "\ufeff"


def guarded(text: str) -> str:
    """Give a cell's text as it stands in the file.

    >>> guarded("=1+1"), guarded("Kick"), guarded("'t Lam")
    ("'=1+1", 'Kick', "''t Lam")
    """
    return GUARD + text if text.startswith(_RISKY) else text


def plain(text: str) -> str:
    """Give the text a cell of the file stands for: the other way round.

    >>> plain("'=1+1"), plain("Kick")
    ('=1+1', 'Kick')
    """
    return text.removeprefix(GUARD)


def headings(edition: Edition, tables: Sequence[Table]) -> tuple[str, ...]:
    """Give the headings of tables of one name: which part, the table's own, what is new."""
    part = (edition.words("column.part"),) if any(table.of for table in tables) else ()
    own = tuple(column.title for column in tables[0].columns)
    return (*part, *own, edition.words("change.column"))


def texts(row: Row, table: Table, *, parted: bool) -> tuple[str, ...]:
    """Give a row's cells under these headings, as plain text with plain blanks."""
    part = (table.of,) if parted else ()
    cells = (text.replace(NO_BREAK, " ") for text in row.texts)
    return (*part, *cells, row.change)


def write_csv(edition: Edition, tables: Sequence[Table]) -> bytes:
    """Give tables of one name as one file."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(map(guarded, headings(edition, tables)))
    parted = any(table.of for table in tables)
    for table in tables:
        for row in table.rows:
            writer.writerow(map(guarded, texts(row, table, parted=parted)))
    return (MARK + out.getvalue()).encode("utf-8")
