"""What spreadsheets do to lists: dates for pairs, formats far below, other sheets, crossing out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import xlsxwriter
from xlsxwriter.workbook import Workbook

from lineproof.base.finding import Finding, Grade
from lineproof.show.table import LINE_COLUMNS, Table, read_table


def read(folder: Path, fill: Callable[[Workbook], None]) -> tuple[Table, list[Finding]]:
    path = folder / "lines.xlsx"
    book = xlsxwriter.Workbook(path)
    fill(book)
    book.close()
    table, findings = read_table(path, file=path.name, columns=LINE_COLUMNS)
    assert table is not None, findings
    return table, findings


def test_a_pair_that_became_a_date_is_told(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["No", "Name", "To"])
        date = book.add_format({"num_format": "d/m"})
        sheet.write_datetime(1, 0, dt.datetime(2024, 6, 5), date)  # noqa: DTZ001
        sheet.write_row(1, 1, ["Piano", "desk"])

    table, findings = read(tmp_path, fill)
    assert table.rows[0].text("number") == "2024-06-05"
    assert [(f.rule, f.what) for f in findings] == [
        ("number-became-date", "row 2 has a date for its `number`")
    ]


def test_formats_down_to_the_last_row_are_no_cells(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.add_worksheet()
        bold = book.add_format({"bold": True})
        sheet.set_column(0, 16_383, 12, bold)
        sheet.write_row(0, 0, ["No", "Name"])
        sheet.write_row(1, 0, [1, "Kick"])
        sheet.write_blank(1_048_575, 16_383, None, bold)

    table, findings = read(tmp_path, fill)
    assert [row.text("name") for row in table.rows] == ["Kick"]
    assert findings == []


def test_another_sheet_that_could_be_a_list_is_told(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        for name in ("Cover", "Band", "Guests", "Old"):
            sheet = book.add_worksheet(name)
            if name == "Cover":
                sheet.write(0, 0, "Our show")
            else:
                sheet.write_row(0, 0, ["No", "Name"])
                sheet.write_row(1, 0, [1, name])
            if name == "Old":
                sheet.hide()

    table, findings = read(tmp_path, fill)
    assert table.sheet == "Band"
    assert [f.what for f in findings] == ["the sheet 'Band' is read; 'Guests' could be read too"]


def test_letters_struck_one_by_one_cross_a_cell_out_only_if_all_are(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.add_worksheet()
        struck = book.add_format({"font_strikeout": True})
        bold = book.add_format({"font_strikeout": True, "bold": True})
        sheet.write_row(0, 0, ["Name", "To"])
        sheet.write_rich_string(1, 0, struck, "Kick ", bold, "in")
        sheet.write_rich_string(2, 0, struck, "Kick ", "out")
        sheet.write_column(1, 1, ["desk", "desk"])

    table, findings = read(tmp_path, fill)
    assert [(row.text("name"), row.crossed_out) for row in table.rows] == [
        ("Kick in", True),
        ("Kick out", False),
    ]
    assert [(f.rule, f.grade) for f in findings] == [("crossed-out", Grade.NOTE)]


def test_a_formula_reads_as_its_last_result_and_an_error_as_blank(tmp_path: Path) -> None:
    def fill(book: Workbook) -> None:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["No", "Name", "Note"])
        sheet.write_formula(1, 0, "=1+1", None, 2)
        sheet.write(1, 1, "Kick")
        sheet.write_formula(1, 2, "=NA()", None, "#N/A")

    table, _ = read(tmp_path, fill)
    assert table.rows[0].text("number") == "2"
    assert table.rows[0].text("name") == "Kick"
    assert not table.rows[0].text("note")
