"""A change to a CSV file changes what was asked and not a byte more."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lineproof.show.table import LINE_COLUMNS, read_table
from lineproof.show.table_csv import Scan, read_letters
from lineproof.show.table_grid import Limits
from lineproof.show.table_write import (
    CannotPatch,
    CannotSpell,
    Edit,
    insert_row,
    patch_csv,
    remove_row,
)

LISTS = Path(__file__).parent / "lists"
TEXTS = sorted([*LISTS.glob("*.csv"), *LISTS.glob("*.tsv")])


def cells(data: bytes) -> list[tuple[str, ...]]:
    scan = Scan(read_letters(data).text, Limits())
    return [tuple(f.text.strip() for f in r.fields) for r in scan.records]


def places(data: bytes) -> list[tuple[int, int]]:
    scan = Scan(read_letters(data).text, Limits())
    return [(r.row, c) for r in scan.records for c in range(1, len(r.fields) + 1)]


def test_only_the_cell_changes() -> None:
    before = b'\xef\xbb\xbf# ours\r\nNo ; "Name";To\r\n\r\n1; "Kick" ;desk\r\n'
    after = patch_csv(before, [Edit(4, 2, 'Kick 22"')])
    assert after == b'\xef\xbb\xbf# ours\r\nNo ; "Name";To\r\n\r\n1;"Kick 22""";desk\r\n'


def test_blanks_that_line_up_the_columns_stay() -> None:
    before = b"# | Name  | To\n1 | Kick  | desk\n"
    assert patch_csv(before, [Edit(2, 2, "Snare")]) == b"# | Name  | To\n1 | Snare  | desk\n"


def test_a_short_row_grows_to_the_column() -> None:
    assert patch_csv(b"a,b,c,d\n1,x\n", [Edit(2, 4, "y")]) == b"a,b,c,d\n1,x,,y\n"


def test_a_letter_the_file_does_not_have_is_refused() -> None:
    german = (LISTS / "02-gemeindesaal.csv").read_bytes()
    with pytest.raises(CannotSpell, match=r"^the file is Windows-1252, which has no 'ł'; save it"):
        patch_csv(german, [Edit(6, 2, "Stół")])
    assert "Flöte 2".encode("cp1252") in patch_csv(german, [Edit(6, 2, "Flöte 2")])


@pytest.mark.parametrize("row", [0, 2, 4, 9])
def test_a_row_that_is_none_is_refused(row: int) -> None:
    # Row 2 is a comment, row 4 the second half of a cell.
    data = b'No,Name\n# note\n1,"Kick\nin"\n2,Snare\n'
    with pytest.raises(CannotPatch, match=f"no row begins in row {row}"):
        patch_csv(data, [Edit(row, 1, "x")])


def test_a_row_is_put_in_and_taken_out_in_the_files_own_way() -> None:
    data = b"No;Name\r\n1;Kick\r\n2;Snare"
    longer = insert_row(data, 4, ["3", "Hat; closed"])
    assert longer == b'No;Name\r\n1;Kick\r\n2;Snare\r\n3;"Hat; closed"'
    assert insert_row(data, 2, ["0", "Count-in"]) == b"No;Name\r\n0;Count-in\r\n1;Kick\r\n2;Snare"
    assert remove_row(data, 2) == b"No;Name\r\n2;Snare"


def test_a_number_sign_does_not_turn_a_row_into_a_comment() -> None:
    data = patch_csv(b"No,Name\n1,Kick\n", [Edit(2, 1, "#1")])
    assert data == b'No,Name\n"#1",Kick\n'
    assert cells(data)[1] == ("#1", "Kick")


# What people type into a cell; leading and trailing blanks don't count when it is read.
typed = st.text(
    st.one_of(st.sampled_from("abc 12#\"',;|\t\n~="), st.characters(codec="utf-8")), max_size=12
).filter(lambda text: "\0" not in text)


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: path.stem)
@given(data=st.data())
def test_a_changed_cell_reads_back_and_nothing_else_moves(path: Path, data: st.DataObject) -> None:
    before = path.read_bytes()
    where = places(before)
    row, column = data.draw(st.sampled_from(where))
    text = data.draw(typed)
    try:
        after = patch_csv(before, [Edit(row, column, text)])
    except CannotSpell:
        # Only an 8-bit file may refuse a letter.
        assert path.stem == "02-gemeindesaal"
        return
    old, new = cells(before), cells(after)
    changed = [
        (n, c)
        for n, (was, now) in enumerate(zip(old, new, strict=True))
        for c, (a, b) in enumerate(zip(was, now, strict=True), 1)
        if a != b
    ]
    record = next(n for n, r in enumerate(records(before)) if r == row)
    assert new[record][column - 1] == text.strip()
    assert changed in ([], [(record, column)])
    # The bytes before and after the one cell are the same.
    letters = read_letters(before)
    cell = Scan(letters.text, Limits()).records[record].fields[column - 1]
    start = letters.encode(letters.text[: cell.start])
    end = letters._replace(mark=b"").encode(letters.text[cell.end :])
    assert after.startswith(start)
    assert after.endswith(end)
    assert len(after) >= len(start) + len(end)


def records(data: bytes) -> list[int]:
    return [r.row for r in Scan(read_letters(data).text, Limits()).records]


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: path.stem)
@given(data=st.data())
def test_a_row_put_in_and_taken_out_again_leaves_the_same_bytes(
    path: Path, data: st.DataObject
) -> None:
    before = path.read_bytes()
    row = data.draw(st.sampled_from(records(before)))
    texts = data.draw(st.lists(st.text('abcé 12;,"', max_size=6), min_size=2, max_size=8))
    try:
        longer = insert_row(before, row, texts)
    except CannotPatch:
        # Before the row that names the separator nothing can stand.
        assert (path.stem, row) == ("12-cellar", 1)
        return
    assert remove_row(longer, row) == before
    assert tuple(t.strip() for t in texts) in cells(longer)


@given(
    lines=st.lists(st.lists(typed, min_size=1, max_size=4), min_size=1, max_size=6), data=st.data()
)
def test_any_small_file_can_be_patched_or_is_refused_whole(
    lines: list[list[str]], data: st.DataObject
) -> None:
    before = "\n".join(",".join(cells) for cells in lines).encode("utf-8")
    where = places(before)
    assume(where)
    row, column = data.draw(st.sampled_from(where))
    text = data.draw(typed)
    try:
        after = patch_csv(before, [Edit(row, column, text)])
    except CannotPatch:
        return
    old, new = cells(before), cells(after)
    record = records(before).index(row)
    expected = [list(one) for one in old]
    expected[record][column - 1] = text.strip()
    assert [list(one) for one in new] == expected


def test_a_patched_list_is_read_with_the_new_cell(tmp_path: Path) -> None:
    source = LISTS / "12-cellar.csv"
    table, _ = read_table(source, file=source.name, columns=LINE_COLUMNS)
    assert table is not None
    where = table.rows[3].cells["name"].where
    patched = tmp_path / source.name
    patched.write_bytes(patch_csv(source.read_bytes(), [Edit(where.row, where.column, "Zoë; low")]))
    again, _ = read_table(patched, file=source.name, columns=LINE_COLUMNS)
    assert again is not None
    assert again.rows[3].text("name") == "Zoë; low"
    assert again.rows[2] == table.rows[2]
    assert again.rows[4] == table.rows[4]
