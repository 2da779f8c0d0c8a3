"""Workbook and CSV, read back by programs that others wrote."""

from __future__ import annotations

import csv
import io
import os
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from lineproof.outcome import Outcome
from lineproof.paper.book import book
from lineproof.paper.bundle import tables_by_name
from lineproof.paper.csv import guarded, headings, plain, texts, write_csv
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Column, Row, Table
from lineproof.paper.xlsx import write_xlsx
from tests.paper.press import LINES, edition_of, outcome_of, small

#: What a spreadsheet would run, open or turn into something else.
RISKY = (
    "=1+1",
    '=HYPERLINK("x","y")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "'quoted",
    "''",
    "0012",
    "1e5",
    "5/6",
    "TRUE",
    "http:example",
    "mailto:a@b",
    "two\nrows",
    'a "quote", and a comma; and more',
    "笛子 שלום",
    "",
)


def risky() -> dict[str, list[Table]]:
    columns = (Column(title="=Head"), Column(title="Name"))
    rows = tuple(Row(cells=(Cell(text=text), Cell(text=f"n{n}"))) for n, text in enumerate(RISKY))
    return {"risky": [Table(name="risky", columns=columns, rows=rows)]}


def wanted(edition: Edition, tables: list[Table]) -> list[list[str]]:
    parted = any(table.of for table in tables)
    rows = [texts(row, table, parted=parted) for table in tables for row in table.rows]
    return [list(headings(edition, tables)), *map(list, rows)]


def read_xlsx(data: bytes) -> dict[str, list[list[str]]]:
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
    found = {}
    for name in workbook.sheet_names:
        sheet = workbook.get_sheet_by_name(name)
        rows = sheet.to_python(skip_empty_area=False)
        assert all(isinstance(cell, str) for row in rows for cell in row), name
        found[name] = [[str(cell) for cell in row] for row in rows]
    return found


def read_csv(data: bytes) -> list[list[str]]:
    rows = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    return [[plain(cell) for cell in row] for row in rows]


def padded(rows: list[list[str]], width: int) -> list[list[str]]:
    return [[*row, *[""] * (width - len(row))] for row in rows]


@pytest.mark.parametrize("outcome", [small(), outcome_of()], ids=["small", "acts"])
def test_every_table_of_the_book_reads_back_the_same_from_both(outcome: Outcome) -> None:
    edition = edition_of(outcome)
    tables = tables_by_name(book(edition))
    found = read_xlsx(write_xlsx(edition, tables))
    assert list(found) == [name[:31] for name in tables]
    for name, parts in tables.items():
        rows = wanted(edition, parts)
        assert padded(found[name[:31]], len(rows[0])) == rows, name
        assert read_csv(write_csv(edition, parts)) == rows, name


def test_texts_that_could_be_run_are_texts_in_the_workbook() -> None:
    edition = edition_of(outcome_of())
    found = read_xlsx(write_xlsx(edition, risky()))["risky"]
    assert [row[0] for row in found[1:]] == list(RISKY)
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(write_xlsx(edition, risky())))
    formulas = getattr(workbook.get_sheet_by_index(0), "formulas", None)
    assert not formulas


def test_texts_that_could_be_run_read_back_the_same_from_csv() -> None:
    edition = edition_of(outcome_of())
    rows = read_csv(write_csv(edition, risky()["risky"]))
    assert [row[0] for row in rows[1:]] == list(RISKY)
    assert rows[0][0] == "=Head"


@given(st.text())
def test_the_guard_comes_off_again_and_no_guarded_cell_can_be_run(text: str) -> None:
    assert plain(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def convert(path: Path, to: str, folder: Path) -> bytes:
    """Give a file as LibreOffice turns it into another, with a profile of its own."""
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--convert-to", to, "--outdir", str(folder)]
    environment = {**os.environ, "HOME": str(folder)}
    subprocess.run(
        [*command, str(path)], capture_output=True, check=True, timeout=180, env=environment
    )
    return (folder / f"{path.stem}.{to.partition(':')[0]}").read_bytes()


@pytest.mark.needs("soffice", "libreoffice-calc")
def test_libreoffice_runs_no_cell_of_the_csv(tmp_path: Path) -> None:
    edition = edition_of(outcome_of())
    path = tmp_path / "risky.csv"
    path.write_bytes(write_csv(edition, risky()["risky"]))
    converted = convert(path, "xlsx", tmp_path)
    sheet = CalamineWorkbook.from_filelike(io.BytesIO(converted)).get_sheet_by_index(0)
    cells = [row[0] for row in sheet.to_python(skip_empty_area=False)][1:]
    for text, cell in zip(RISKY, cells, strict=False):
        if text.lstrip("\t").startswith(("=", "+", "-", "@")):
            assert plain(str(cell)).strip() == text.strip(), text


@pytest.mark.needs("soffice", "libreoffice-calc")
def test_libreoffice_opens_the_workbook_and_finds_the_same_texts(tmp_path: Path) -> None:
    edition = edition_of(outcome_of(lines=LINES.replace("Lute", "=1+1")))
    tables = {**tables_by_name(book(edition)), **risky()}
    path = tmp_path / "tables.xlsx"
    path.write_bytes(write_xlsx(edition, tables))
    found = read_xlsx(convert(path, "ods", tmp_path))
    assert list(found) == [name[:31] for name in tables]
    assert "=1+1" in {cell for row in found["inputs"] for cell in row}
    # It drops a tab in front, and nothing else.
    first = [row[0].lstrip("\t") for row in padded(found["risky"], 3)]
    assert first[1 : len(RISKY)] == [text.lstrip("\t") for text in RISKY[:-1]]


def test_the_same_outcome_gives_the_same_bytes() -> None:
    first, again = (
        write_xlsx(edition, tables_by_name(book(edition)))
        for edition in (edition_of(outcome_of()), edition_of(outcome_of()))
    )
    assert first == again
