"""Where something stands in what people wrote."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, order=True)
class Where:
    """A position in a show's files, as an engineer would look it up.

    `file` is relative to the show folder; `row` counts from 1 as an editor or a spreadsheet
    does; `column` counts from 1 (0: the whole row); `heading` is the table's own heading or
    the key. `sheet` names the sheet of a workbook.

    >>> str(Where(file="lines.csv", row=5, column=3, heading="from"))
    'lines.csv:5:3 (from)'
    >>> str(Where(file="input.xlsx", sheet="Band", row=5, column=3))
    'input.xlsx[Band]:5:3'
    """

    file: str
    row: int = 0
    column: int = 0
    heading: str = ""
    sheet: str = ""

    def __str__(self) -> str:
        text = self.file
        if self.sheet:
            text += f"[{self.sheet}]"
        if self.row:
            text += f":{self.row}"
            if self.column:
                text += f":{self.column}"
        if self.heading:
            text += f" ({self.heading})"
        return text
