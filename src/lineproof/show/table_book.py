"""Workbooks (XLSX, ODS): every part is weighed before it is read, then each sheet is a grid."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager

import python_calamine as calamine

from lineproof.show.table_grid import Grid, GridRow, Limits, TooLarge, Unreadable
from lineproof.show.table_marks import Marks
from lineproof.show.table_ods import Ods
from lineproof.show.table_parts import Parts
from lineproof.show.table_words import clean
from lineproof.show.table_xlsx import Xlsx

#: What a workbook that is encrypted, or of the kind before XLSX, begins with.
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


@contextmanager
def _whatever_is_in_it() -> Iterator[None]:
    """Turn whatever a reader throws at a broken file into Unreadable."""
    try:
        yield
    except (TooLarge, Unreadable, KeyboardInterrupt, SystemExit):
        raise
    except calamine.PasswordError:
        raise Unreadable("it is locked with a password") from None
    # A panic in the Rust reader derives from BaseException; a bad file must never end us.
    except BaseException as error:  # noqa: BLE001
        raise Unreadable(f"it is damaged ({type(error).__name__})") from None


class Book:
    """A workbook whose parts have been weighed. Raises Unreadable or TooLarge."""

    def __init__(self, data: bytes, limits: Limits) -> None:
        if data.startswith(_COMPOUND):
            raise Unreadable("it is locked with a password, or of the old kind before XLSX")
        self._limits = limits
        with _whatever_is_in_it():
            parts = Parts(data, limits)
            self._kind: Xlsx | Ods = Ods(parts) if parts.has("content.xml") else Xlsx(parts)
            self._kind.weigh()
            # The reader gets a copy that holds only what was weighed: sizes in the file can lie.
            self._book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(_stored(parts)))
            self.sheets = tuple(
                sheet.name
                for sheet in self._book.sheets_metadata
                if sheet.typ == calamine.SheetTypeEnum.WorkSheet
            )
            self.visible = tuple(
                sheet.name
                for sheet in self._book.sheets_metadata
                if sheet.name in self.sheets and sheet.visible == calamine.SheetVisibleEnum.Visible
            )

    def grid(self, name: str) -> Grid:
        """Give a sheet's grid. Raises Unreadable or TooLarge."""
        with _whatever_is_in_it():
            marks = self._kind.marks(name)
            sheet = self._book.get_sheet_by_name(name)
            values = sheet.to_python(skip_empty_area=False) if sheet.end is not None else []
            rows = tuple(_grid_row(row, value, marks) for row, value in enumerate(values, 1))
            return Grid(sheet=name, rows=rows, merges=marks.merges)


def _stored(parts: Parts) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as book:
        for name, data in parts.weighed():
            book.writestr(name, data)
    return out.getvalue()


_Value = int | float | str | bool | dt.time | dt.date | dt.datetime | dt.timedelta


def _grid_row(row: int, values: list[_Value], marks: Marks) -> GridRow:
    dates = frozenset(
        column for column, value in enumerate(values, 1) if isinstance(value, dt.date)
    )
    yes_no = marks.yes_no.get(row, frozenset())
    texts = tuple(
        clean(as_typed(bool(value) if column in yes_no else value)) if value != "" else ""
        for column, value in enumerate(values, 1)
    )
    return GridRow(row=row, texts=texts, struck=marks.struck.get(row, frozenset()), dates=dates)


def as_typed(value: _Value) -> str:
    """Give a cell's value as people typed it.

    >>> as_typed(2.0), as_typed(0.1 + 0.2), as_typed(True), as_typed(dt.time(20, 30))
    ('2', '0.3', 'yes', '20:30')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        # 15 digits are what a spreadsheet itself shows of a binary fraction.
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else f"{value:.15g}"
    if isinstance(value, str | int):
        return str(value)
    return _time_as_typed(value)


def _time_as_typed(value: dt.date | dt.time | dt.timedelta) -> str:
    if isinstance(value, dt.timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60}:{minutes % 60:02}"
    if isinstance(value, dt.time):
        return value.isoformat("seconds" if value.second else "minutes")
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return value.date().isoformat()
    return value.isoformat()
