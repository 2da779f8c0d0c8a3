"""Makes the five books among the twelve lists; needs xlsxwriter, and soffice for the ODS ones.

Run it in this folder: `python make_books.py`. What each book means stands in the file
`….expected.json` beside it, written by hand.
"""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

HERE = Path(__file__).parent
Value = str | int | float | bool


def _rows(sheet: Worksheet, first_row: int, column: int, rows: list[list[Value]]) -> None:
    """Write rows from the 1-based place on; an empty text writes nothing."""
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            if value != "":
                sheet.write(first_row - 1 + down, column - 1 + across, value)


def _struck(sheet: Worksheet, row: int, column: int, values: list[Value], style: Format) -> None:
    for across, value in enumerate(values):
        if value != "":
            sheet.write(row - 1, column - 1 + across, value, style)


def festival(book: Workbook) -> None:
    """List 7: title and sections merged over the width, places merged downwards, a row struck."""
    sheet = book.add_worksheet("Saturday")
    bold = book.add_format({"bold": True})
    struck = book.add_format({"font_strikeout": True})
    sheet.merge_range("B1:I1", "Meadow Festival", bold)
    _rows(sheet, 2, 2, [["Saturday, second stage"], ["get-in 10:00"]])
    head: list[Value] = [
        "Line", "Instrument", "Place", "Mic", "Phantom", "Stereo", "Destination", "Remark",
    ]  # fmt: skip
    _rows(sheet, 6, 2, [head])
    sheet.merge_range("B7:I7", "RHYTHM", bold)
    _rows(
        sheet,
        8,
        2,
        [
            [1, "Kick", "", "dynamic mic", False, "", "desk side", ""],
            [2, "Snare", "", "dynamic mic", False, "", "desk side", 0.5],
            [3, "Overheads", "", "condenser pair", True, "yes", "desk side", ""],
        ],
    )
    sheet.merge_range("D8:D10", "drum riser")
    cowbell: list[Value] = [4, "Cowbell", "drum riser", "dynamic mic", False, "", "desk side"]
    _struck(sheet, 11, 2, cowbell, struck)
    sheet.merge_range("B12:I12", "VOICES", bold)
    lead: list[Value] = [
        10, "Lead voice", "front edge", "radio mic", False, "", "desk side", "own in-ears",
    ]  # fmt: skip
    _rows(sheet, 13, 2, [lead])
    _rows(sheet, 15, 2, [["12a", "Guest", "front edge", "radio mic", False, "", "desk", ""]])
    _rows(sheet, 17, 2, [["Changeover in 15 minutes."]])


def theatre(book: Workbook) -> None:
    """List 8: a cover sheet first; two header rows, one heading merged down over both."""
    cover = book.add_worksheet("Cover")
    _rows(cover, 2, 2, [["The Clockmaker's Daughter"], ["Sound department"]])
    sheet = book.add_worksheet("Inputs")
    _rows(sheet, 1, 1, [["The Clockmaker's Daughter"]])
    sheet.merge_range("A7:A8", "No.")
    sheet.merge_range("B7:D7", "Source")
    sheet.merge_range("E7:F7", "Patch")
    sheet.merge_range("G7:H7", "Planning")
    _rows(
        sheet,
        8,
        2,
        [["Name", "Type", "48V", "Socket", "Desk channel", "Pair with", "Act"]],
    )
    _rows(
        sheet,
        9,
        1,
        [
            [1, "Prologue narrator", "radio mic", "", "box-1:1", 1, "", ""],
            [2, "Clock", "contact mic", "48V", "box-1:2", 2, "", ""],
            [3, "Playback left", "line", "", "box-2:1", 3, 4, ""],
            [4, "Playback right", "line", "", "box-2:2", 4, 3, ""],
        ],
    )
    sheet.merge_range("H9:H10", "prologue")
    _rows(sheet, 14, 1, [["Radio frequencies are planned elsewhere."]])


def choir(book: Workbook) -> None:
    """List 9: German, a heading nobody knows, decimal figures, a row struck."""
    sheet = book.add_worksheet("Liste")
    struck = book.add_format({"font_strikeout": True})
    _rows(sheet, 1, 1, [["Adventskonzert"], [""], ["Probe 17 Uhr"]])
    head: list[Value] = [
        "Kanal", "Quelle", "Mikro", "P48", "Stereo/Mono", "Standort", "Empfänger", "Höhe",
    ]  # fmt: skip
    _rows(sheet, 9, 1, [head])
    _rows(
        sheet,
        10,
        1,
        [
            [1, "Sopran", "Kleinmembran", "P48", "mono", "Chor links", "Pult", 2.5],
            [2, "Alt", "Kleinmembran", "P48", "mono", "Chor rechts", "Pult", 2.5],
            [3, "Orgel", "Großmembran", "P48", "stereo", "Empore", "Pult Aufnahme", 3],
        ],
    )
    sermon: list[Value] = [4, "Predigt", "dynamisch", "-", "mono", "Kanzel", "Pult"]
    _struck(sheet, 13, 1, sermon, struck)
    _rows(sheet, 14, 1, [[5, "Lesung", "dynamisch", "-", "mono", "Ambo", "Pult"]])


def two_languages(book: Workbook) -> None:
    """List 10: starts in column C, two languages a heading, a section in its own column."""
    sheet = book.add_worksheet("Liste - List")
    _rows(sheet, 2, 3, [["Dorffest / Village fair"]])
    head: list[Value] = [
        "Kanal / Channel", "Name", "Ort / Place", "Signal", "Phantom / 48V",
        "Paar / Pair", "Gruppe / Group",
    ]  # fmt: skip
    _rows(sheet, 12, 3, [head])
    _rows(sheet, 13, 9, [["Strings"]])
    _rows(
        sheet,
        14,
        3,
        [
            [20, "Violin", "left", "clip mic", 1, ""],
            [21, "Cello L", "left", "clip mic", 1, 22],
            [22, "Cello R", "left", "clip mic", 1, 21],
            ["", "", "", "", "", ""],
            [23, "Horn", "right", "dynamic mic", 0, "", "Brass"],
        ],
    )


def outputs(book: Workbook) -> None:
    """List 11: a second table with other headings below the first."""
    sheet = book.add_worksheet("Sheet1")
    _rows(sheet, 1, 1, [["Lecture series"], ["Room 2"]])
    _rows(
        sheet,
        10,
        1,
        [
            ["Input", "Description", "Microphone", "Phantom power", "Location", "To", "Notes"],
            [1, "Lectern", "gooseneck mic", "●", "lectern", "desk", ""],
            [2, "Questions", "radio mic", "", "hall", "desk", ""],
            [3, "Film sound (st)", "line", "", "booth", "desk", "with picture"],
            [""],
            ["OUTPUTS"],
            ["Output", "Description", "Type", "From", "To"],
            [101, "Main left", "main mix", "desk", "pa-left"],
            [102, "Main right", "main mix", "desk", "pa-right"],
        ],
    )


def _xlsx(path: Path, fill: Callable[[Workbook], None]) -> Path:
    book = xlsxwriter.Workbook(path)
    book.set_properties({"created": dt.datetime(2024, 1, 1, tzinfo=dt.UTC)})
    fill(book)
    book.close()
    return path


def convert(path: Path, ending: str, folder: Path, *, read_as: str = "") -> Path:
    """Give the file that LibreOffice makes of `path`; `read_as` is its import filter."""
    home = folder / "office-home"
    command = ["soffice", f"-env:UserInstallation={home.as_uri()}", "--headless"]
    command += [f"--infilter={read_as}"] if read_as else []
    command += ["--convert-to", ending, "--outdir", str(folder), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder / f"{path.stem}.{ending}"


def main() -> None:
    """Make all five."""
    import tempfile

    for name, fill in (("07-festival", festival), ("08-theatre", theatre), ("11-outputs", outputs)):
        _xlsx(HERE / f"{name}.xlsx", fill)
    with tempfile.TemporaryDirectory() as scratch:
        for name, fill in (("09-choir", choir), ("10-two-languages", two_languages)):
            made = convert(_xlsx(Path(scratch) / f"{name}.xlsx", fill), "ods", Path(scratch))
            (HERE / made.name).write_bytes(made.read_bytes())


if __name__ == "__main__":
    sys.exit(main())
