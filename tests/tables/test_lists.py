"""Twelve lists, no two alike, are read as their owners mean them."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from lineproof.base.finding import Finding
from lineproof.show.table import LINE_COLUMNS, Row, Table, read_table

LISTS = Path(__file__).parent / "lists"
BOOKS = (".xlsx", ".ods")
ALL = sorted(p for p in LISTS.iterdir() if p.suffix in (".csv", ".tsv", *BOOKS))


def expected_of(path: Path) -> Any:
    return json.loads((LISTS / f"{path.stem}.expected.json").read_text(encoding="utf-8"))


def plain_row(row: Row) -> dict[str, object]:
    """Give a row as the expected files write one: only what is said."""
    plain: dict[str, object] = {"row": row.where.row}
    plain |= {name: cell.text for name, cell in row.cells.items() if cell.text}
    if row.section:
        plain["section"] = row.section
    if row.crossed_out:
        plain["crossed_out"] = True
    if filled := sorted(name for name, cell in row.cells.items() if cell.filled):
        plain["filled"] = filled
    if row.extra:
        plain["extra"] = {heading: cell.text for heading, cell in row.extra.items()}
    return plain


def read(path: Path) -> tuple[Table, list[Finding]]:
    table, findings = read_table(path, file=path.name, columns=LINE_COLUMNS)
    assert table is not None, [str(finding) for finding in findings]
    return table, findings


def test_there_are_twelve_lists() -> None:
    assert len(ALL) == 12


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_the_list_is_read_as_it_is_meant(path: Path) -> None:
    expected = expected_of(path)
    table, findings = read(path)
    assert table.header.row == expected["header"]
    assert table.sheet == expected.get("sheet", "")
    assert {name: where.column for name, where in table.headings.items()} == expected["headings"]
    assert [plain_row(row) for row in table.rows] == expected["rows"]
    assert [[note.where.row, note.text] for note in table.notes] == expected["notes"]
    assert [(f.rule, [w.row for w in f.where]) for f in sorted(findings, key=Finding.sort_key)] == [
        (rule, rows) for rule, rows, _ in sorted(expected["findings"], key=lambda f: f[1])
    ]
    for rule, rows, words in expected["findings"]:
        assert any(
            f.rule == rule and f.where[0].row == rows[0] and words in f.what for f in findings
        )


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_every_cell_names_its_own_place(path: Path) -> None:
    table, _ = read(path)
    for row in table.rows:
        for name, cell in row.cells.items():
            assert cell.where.heading == name
            assert cell.where.file == path.name
            if not cell.filled:
                assert cell.where.row == row.where.row
    # A next table below has headings of its own; there the first row speaks for the first table.
    for name, where in table.headings.items():
        assert table.rows[0].cells[name].filled or (
            table.rows[0].cells[name].where.column == where.column
        )


def make_books() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_books", LISTS / "make_books.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# Import filter tokens of the text filter: separator 9 or 44, text mark ", letters, first row,
# then each column as text (2), so that 5/6 stays what it is.
_COLUMNS_AS_TEXT = "/".join(f"{column}/2" for column in range(1, 11))


@pytest.mark.needs("soffice", "libreoffice-calc")
@pytest.mark.parametrize(
    ("name", "ending", "read_as"),
    [
        ("01-lantern.csv", "xlsx", f"CSV:44,34,76,1,{_COLUMNS_AS_TEXT}"),
        ("05-plaza.csv", "ods", f"CSV:44,34,76,1,{_COLUMNS_AS_TEXT}"),
        ("07-festival.xlsx", "ods", ""),
        ("08-theatre.xlsx", "ods", ""),
        ("09-choir.ods", "xlsx", ""),
        ("11-outputs.xlsx", "ods", ""),
    ],
)
def test_the_list_saved_by_another_program_reads_the_same(
    name: str, ending: str, read_as: str, tmp_path: Path
) -> None:
    made = make_books().convert(LISTS / name, ending, tmp_path, read_as=read_as)
    before, _ = read(LISTS / name)
    after, _ = read(made)

    def without_places(table: Table) -> list[dict[str, object]]:
        return [{k: v for k, v in plain_row(row).items() if k != "row"} for row in table.rows]

    assert without_places(after) == without_places(before)
    assert [note.text for note in after.notes] == [note.text for note in before.notes]
