"""Tables as one workbook: a sheet for each name; texts are texts, never formulas or links."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import Any

from lineproof.paper.csv import headings, texts
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Table

#: A fixed moment, so that the same outcome gives the same bytes.
_NEVER = dt.datetime(2000, 1, 1, tzinfo=dt.UTC).replace(tzinfo=None)
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
#: The most a cell and a sheet's name hold, by the file format (ECMA-376).
MOST_IN_CELL = 32_767
MOST_IN_NAME = 31


def write_xlsx(edition: Edition, tables: Mapping[str, Sequence[Table]]) -> bytes:
    """Give the workbook of all tables, by name."""
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, _OPTIONS)
    book.set_properties(
        {"title": edition.show.title, "comments": _status(edition), "created": _NEVER}
    )
    head = book.add_format({"bold": True, "bg_color": "#E6E6E6", "bottom": 1, "text_wrap": True})
    wrap = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    for name, found in tables.items():
        _write_sheet(edition, book.add_worksheet(name[:MOST_IN_NAME]), found, head, wrap)
    book.close()
    return out.getvalue()


def _status(edition: Edition) -> str:
    return f"{edition.status}, {edition.words('said.mark', mark=edition.outcome.mark)}"


def _write_sheet(
    edition: Edition, sheet: Any, tables: Sequence[Table], head: Any, wrap: Any
) -> None:
    titles = headings(edition, tables)
    parted = any(table.of for table in tables)
    rows = [texts(row, table, parted=parted) for table in tables for row in table.rows]
    for n, row in enumerate([titles, *rows]):
        for column, text in enumerate(row):
            sheet.write_string(n, column, text[:MOST_IN_CELL], head if n == 0 else wrap)
    for column in range(len(titles)):
        longest = max(len(row[column]) for row in [titles, *rows])
        sheet.set_column(column, column, min(max(longest + 2, 6), 50))
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    sheet.autofilter(0, 0, len(rows), len(titles) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    # A & begins a code in a footer; two of them are one.
    sheet.set_footer(f"&L{_status(edition).replace('&', '&&')}&R&P / &N")
