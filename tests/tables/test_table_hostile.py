"""Workbooks that are broken, locked, mistaken or meant to do harm are findings, never the end."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.base.finding import Finding
from lineproof.show.table import LINE_COLUMNS, Table, read_table

LISTS = Path(__file__).parent / "lists"
XLSX = "07-festival.xlsx"
ODS = "09-choir.ods"
Change = Callable[[dict[str, bytes]], None]


def parts_of(name: str) -> dict[str, bytes]:
    with zipfile.ZipFile(LISTS / name) as book:
        return {part: book.read(part) for part in book.namelist()}


def packed(parts: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as book:
        for name, data in parts.items():
            book.writestr(name, data)
    return out.getvalue()


def read(
    data: bytes, ending: str, folder: Path, sheet: str = ""
) -> tuple[Table | None, list[Finding]]:
    path = folder / f"lines.{ending}"
    path.write_bytes(data)
    return read_table(path, file=path.name, columns=LINE_COLUMNS, sheet=sheet)


def sheet_with(cells: str) -> Change:
    def change(parts: dict[str, bytes]) -> None:
        part = "xl/worksheets/sheet1.xml"
        before, rows, after = parts[part].partition(b"</sheetData>")
        parts[part] = before + cells.encode() + rows + after

    return change


def content_with(rows: str) -> Change:
    def change(parts: dict[str, bytes]) -> None:
        before, end, after = parts["content.xml"].rpartition(b"</table:table>")
        parts["content.xml"] = before + rows.encode() + end + after

    return change


def far_away(parts: dict[str, bytes]) -> None:
    sheet_with('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')(parts)


def far_aside(parts: dict[str, bytes]) -> None:
    sheet_with('<row r="20"><c r="XFD20"><v>1</v></c></row>')(parts)


def far_corner(parts: dict[str, bytes]) -> None:
    sheet_with('<row r="20000"><c r="IV20000"><v>1</v></c></row>')(parts)


def shared_text_everywhere(parts: dict[str, bytes]) -> None:
    """One long text that thousands of cells show."""
    part = "xl/sharedStrings.xml"
    parts[part] = parts[part].replace(b"<t>Kick</t>", b"<t>" + b"Kick " * 20_000 + b"</t>")
    number = 12  # Kick's
    rows = "".join(
        f'<row r="{r}"><c r="B{r}" t="s"><v>{number}</v></c></row>' for r in range(20, 900)
    )
    sheet_with(rows)(parts)


def blown_up(parts: dict[str, bytes]) -> None:
    parts["xl/worksheets/sheet1.xml"] += b" " * 200_000_000


def entities(parts: dict[str, bytes]) -> None:
    part = "xl/worksheets/sheet1.xml"
    declared = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;">]>'
    parts[part] = parts[part].replace(b"<worksheet", declared.encode() + b"<worksheet", 1)


def many_elements(parts: dict[str, bytes]) -> None:
    sheet_with('<row r="20">' + "".join(f'<c s="{n}"/>' for n in range(600_000)) + "</row>")(parts)


def many_parts(parts: dict[str, bytes]) -> None:
    parts.update({f"extra/{n}": b"" for n in range(2_000)})


def repeated_rows(parts: dict[str, bytes]) -> None:
    cell = '<table:table-cell table:number-columns-repeated="16384"><text:p>x</text:p>'
    row = f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-cell>'
    content_with(f"{row}</table:table-row>")(parts)


def repeated_for_ever(parts: dict[str, bytes]) -> None:
    cell = '<table:table-cell table:number-columns-repeated="99999999999999999999"/>'
    content_with(f"<table:table-row>{cell}</table:table-row>")(parts)


def billions_of_blanks(parts: dict[str, bytes]) -> None:
    text = '<text:p>a<text:s text:c="900000000"/>b</text:p>'
    content_with(f"<table:table-row><table:table-cell>{text}</table:table-cell></table:table-row>")(
        parts
    )


@pytest.mark.parametrize(
    ("name", "change", "rule", "words"),
    [
        (XLSX, far_away, "table-too-large", "has a cell in row 1,048,576; at most 20,000 rows"),
        (XLSX, far_aside, "table-too-large", "has a cell in column 16,384; at most 256 are read"),
        (XLSX, far_corner, "table-too-large", "is spread over more than 1,000,000 places"),
        (XLSX, shared_text_everywhere, "table-too-large", "holds more than 32,000,000 characters"),
        (XLSX, blown_up, "table-too-large", "unpacks to more than 32,000,000 bytes"),
        (XLSX, entities, "table-not-readable", "it declares a document type"),
        (XLSX, many_elements, "table-too-large", "is built from more than 500,000 elements"),
        (XLSX, many_parts, "table-too-large", "is packed from more than 1,000 parts"),
        (ODS, repeated_rows, "table-too-large", "at most 20,000 rows are read"),
        (ODS, repeated_for_ever, "table-not-readable", "which can't be"),
        (ODS, billions_of_blanks, "table-too-large", "holds more than 32,000,000 characters"),
    ],
)
def test_a_book_that_would_tie_up_the_computer_is_told(
    name: str, change: Change, rule: str, words: str, tmp_path: Path
) -> None:
    parts = parts_of(name)
    change(parts)
    table, findings = read(packed(parts), name[-4:].strip("."), tmp_path)
    assert table is None
    assert [finding.rule for finding in findings] == [rule]
    assert words in findings[0].what


def test_a_part_that_shrinks_too_well_is_not_unpacked(tmp_path: Path) -> None:
    parts = parts_of(XLSX)
    parts["xl/styles.xml"] += b" " * 20_000_000
    table, findings = read(packed(parts), "xlsx", tmp_path)
    assert table is None
    assert findings[0].what == "lines.xlsx unpacks to more than 100 times its size"


def test_a_part_that_lies_about_its_size_is_damaged(tmp_path: Path) -> None:
    parts = parts_of(XLSX)
    parts["xl/styles.xml"] += b" " * 5_000_000
    data = bytearray(packed(parts))
    # Its size stands in its own head and in the table of contents (APPNOTE 4.3.7, 4.3.12).
    true = struct.pack("<I", len(parts["xl/styles.xml"]))
    assert data.count(true) == 2
    table, findings = read(bytes(data.replace(true, struct.pack("<I", 900))), "xlsx", tmp_path)
    assert table is None
    assert [finding.rule for finding in findings] == ["table-not-readable"]


def test_what_nobody_reads_does_not_count(tmp_path: Path) -> None:
    parts = parts_of(XLSX)
    parts["xl/media/picture.bin"] = b"\0" * 60_000_000
    table, _ = read(packed(parts), "xlsx", tmp_path)
    assert table is not None


@pytest.mark.parametrize("how", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_book_packed_in_another_way_is_refused(how: int, tmp_path: Path) -> None:
    table, findings = read(packed(parts_of(XLSX), how), "xlsx", tmp_path)
    assert table is None
    assert findings[0].what.endswith("it is packed in a way workbooks are not")


@pytest.mark.parametrize(
    ("ending", "data", "words"),
    [
        ("xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "locked with a password"),
        ("xlsx", b"number,name\n1,Kick\n", "it is called .xlsx, but is no workbook"),
        ("csv", packed({"a": b"b"}), "it is called .csv, but is no text; name it as what it is"),
        ("xlsx", packed({"a": b"b"}), "it is no workbook"),
        ("csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "it is no text"),
        ("csv", b"\xff\xfen\x00u\x00m", "its letters can't be read as UTF-16-LE"),
        ("csv", b" \r\n \r\n", "there is nothing in it"),
        ("doc", b"number,name\n1,Kick\n", "of files called '.doc' we know none"),
    ],
)
def test_a_file_that_is_no_table_is_told_why(
    ending: str, data: bytes, words: str, tmp_path: Path
) -> None:
    table, findings = read(data, ending, tmp_path)
    assert table is None
    assert [finding.rule for finding in findings] == ["table-not-readable"]
    assert words in findings[0].what


def test_a_locked_ods_is_told(tmp_path: Path) -> None:
    parts = parts_of(ODS)
    manifest = parts["META-INF/manifest.xml"]
    parts["META-INF/manifest.xml"] = manifest.replace(
        b"</manifest:manifest>",
        b'<manifest:file-entry manifest:full-path="content.xml"><manifest:encryption-data/>'
        b"</manifest:file-entry></manifest:manifest>",
    )
    parts["content.xml"] = b"\x93\x01\x77" * 100
    _, findings = read(packed(parts), "ods", tmp_path)
    assert findings[0].what == "lines.ods can't be read as a table: it is locked with a password"


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    (tmp_path / "folder.csv").mkdir()
    for name in ("nowhere.csv", "folder.csv"):
        table, findings = read_table(tmp_path / name, file=name, columns=LINE_COLUMNS)
        assert table is None
        assert findings[0].what == f"{name} can't be read as a table: there is no such file"


def test_a_sheet_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    data = (LISTS / "08-theatre.xlsx").read_bytes()
    table, findings = read(data, "xlsx", tmp_path, sheet="Inpust")
    assert table is None
    assert findings[0].what == (
        "lines.xlsx can't be read as a table: "
        "it has no sheet 'Inpust', only Cover, Inputs; did you mean 'Inputs'?"
    )
    table, _ = read(data, "xlsx", tmp_path, sheet="inputs")
    assert table is not None


@given(name=st.sampled_from([XLSX, "08-theatre.xlsx", ODS, "10-two-languages.ods"]), data=st.data())
def test_a_damaged_book_is_a_table_or_a_finding(
    name: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    book = bytearray((LISTS / name).read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        book[data.draw(st.integers(0, len(book) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.one_of(st.just(len(book)), st.integers(0, len(book))))
    ending = name[-4:].strip(".")
    table, findings = read(bytes(book[:cut]), ending, tmp_path_factory.mktemp("damaged"))
    assert table is not None or findings


@given(name=st.sampled_from([XLSX, ODS]), data=st.data())
def test_a_book_with_damaged_parts_is_a_table_or_a_finding(
    name: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    parts = parts_of(name)
    part = data.draw(st.sampled_from(sorted(p for p in parts if p.endswith((".xml", ".rels")))))
    text = bytearray(parts[part])
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(text) - 1))
        text[place : place + data.draw(st.integers(0, 9))] = data.draw(st.sampled_from(PIECES))
    parts[part] = bytes(text)
    ending = name[-4:].strip(".")
    table, findings = read(packed(parts), ending, tmp_path_factory.mktemp("parts"))
    assert table is not None or findings


PIECES = [
    b"",
    b"<",
    b"9",
    b"-1",
    b"&amp;",
    b"/>",
    b'"',
    b"A1",
    b"\xff",
    b' r="ZZZ9999999"',
    b"99999999999",
]
