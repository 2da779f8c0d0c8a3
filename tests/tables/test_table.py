"""Tables as people write them: what is read, what is kept, what is said about it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import normal
from lineproof.base.rule import Rule
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS, Column, could_be
from lineproof.show.table import RULES, Limits, Table, read_table


class Reads(Protocol):
    def __call__(
        self, text: str, columns: tuple[Column, ...] = LINE_COLUMNS
    ) -> tuple[Table, list[Finding]]: ...


@pytest.fixture
def try_to_read(tmp_path: Path) -> Callable[[str], list[Finding]]:
    def from_text(text: str) -> list[Finding]:
        path = tmp_path / "lines.csv"
        path.write_bytes(text.encode("utf-8"))
        return read_table(path, file="lines.csv", columns=LINE_COLUMNS)[1]

    return from_text


@pytest.fixture
def read(tmp_path: Path) -> Reads:
    def from_text(
        text: str, columns: tuple[Column, ...] = LINE_COLUMNS
    ) -> tuple[Table, list[Finding]]:
        path = tmp_path / "lines.csv"
        path.write_bytes(text.encode("utf-8"))
        table, findings = read_table(path, file="lines.csv", columns=columns)
        assert table is not None, findings
        return table, findings

    return from_text


def rows_of(table: Table | None) -> list[dict[str, str]]:
    assert table is not None
    return [{n: c.text for n, c in row.cells.items() if c.text} for row in table.rows]


def said(findings: list[Finding]) -> list[str]:
    return [str(finding) for finding in findings]


# Rules


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_rules_example_fails_and_the_other_passes(
    rule: Rule, try_to_read: Callable[[str], list[Finding]]
) -> None:
    assert rule.name in {finding.rule for finding in try_to_read(rule.fails.lines)}
    assert rule.name not in {finding.rule for finding in try_to_read(rule.passes.lines)}


def test_messages_name_the_place_what_is_read_and_what_to_do(read: Reads) -> None:
    _, findings = read(
        "number,name,phantum,mood,to\n"
        "--- BAND ---\n"
        "1,Kick,yes,good,desk\n"
        "2,Snare,,,desk,side\n"
        "~~3~~,~~Tom~~,,,desk\n"
        "\n"
        "All stands come with the band.\n"
    )
    assert (
        "\n".join(said(findings))
        == """\
risk: lines.csv:1:3 (phantum): the heading 'phantum' is none we know; the column is kept and \
printed; did you mean 'phantom'? [unknown-heading]
    do: write 'phantom' over the column, or another word if it is for people
note: lines.csv:1:4 (mood): the heading 'mood' is none we know; the column is kept and \
printed [unknown-heading]
    do: nothing, if it is for people; else use a heading the plan knows
note: lines.csv:2:1 (group): `group` is filled down to rows 3 and 4 from 'BAND' in row 2 \
[filled-down]
    do: nothing, if that is meant; else write it into the rows
note: lines.csv:7: row 7 is kept as a note [kept-as-note]
    do: nothing, if it is a note; else give the row a number
note: lines.csv:5: row 5 is crossed out and left out [crossed-out]
    do: nothing, if that is meant; else take the crossing-out away
risk: lines.csv:4: row 4 is longer than the row of headings [row-too-long]
    do: put the cell with the separator into quotes, or give the column a heading"""
    )


# Headings


@pytest.mark.parametrize("columns", [LINE_COLUMNS, UNIT_COLUMNS], ids=["lines", "units"])
def test_every_word_leads_to_its_column(columns: tuple[Column, ...]) -> None:
    for column in columns:
        for word in column.words:
            assert column.name in could_be(word, columns)
            assert column.name in could_be(f" {word.upper()}: ", columns)


def test_our_own_names_stand_for_themselves_all_at_once(read: Reads) -> None:
    for columns in (LINE_COLUMNS, UNIT_COLUMNS):
        names = [column.name for column in columns]
        for order in (names, names[::-1]):
            table, findings = read(",".join(order) + "\n" + ",".join("1" * len(order)), columns)
            assert {n: w.column for n, w in table.headings.items()} == {
                name: place for place, name in enumerate(order, 1)
            }
            assert findings == []


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        # Who writes Ch, Input, Mic numbers the first and names the second; and the other way.
        ("Ch,Input,Mic\n1,Kick,dynamic\n", "number name source"),
        ("Input,Name,Mic\n1,Kick,dynamic\n", "number name source"),
        ("Input,Ch,Mic\nKick,1,dynamic\n", "name number source"),
        # Beside a number, Ch is where it arrives.
        ("No.,Ch,Name\n1,33,Kick\n", "number channel name"),
        ("Ch,Name,No.\n33,Kick,1\n", "channel name number"),
        # Source is the name where another column says what is plugged in.
        ("Ch,Source,Mic/DI\n1,Kick,dynamic\n", "number name source"),
        ("Ch,Name,Source\n1,Kick,dynamic\n", "number name source"),
        ("Ch,Name,Instrument,Mic\n1,Kick,drum,dynamic\n", "number name - source"),
        # An output is a number, or where a line goes.
        ("Output,Name,From\n1,Main,desk\n", "number name from"),
        ("Ch,Name,Output\n1,Kick,desk\n", "number name to"),
        ("Kanal,Name,Label\n1,Kick,BD\n", "number name label"),
        ("Kanal,Label,Mikro\n1,Kick,dynamisch\n", "number name source"),
        # No-break blanks, a no-break hyphen, full-width letters.
        ("Ch\u00a0No.,Na\u00adme,back\u2011to,\uff34\uff4f\n1,Kick,2,desk\n",
         "number name back-to to"),
        ("N°,Désignation,Micro,Alim. fantôme,Pied\n1,GC,dyn,non,petit\n",
         "number name source phantom stand"),
        ("Canal,Fuente,Microfonía,Pie,Destino\n1,Bombo,dinámico,no,mesa\n",
         "number name source stand to"),
        ("Kanal / Channel,Name,Phantom (48 V)\n1,Kick,ja\n", "number name phantom"),
    ],
)  # fmt: skip
def test_a_word_with_two_meanings_is_settled_by_what_else_is_there(
    text: str, meaning: str, read: Reads
) -> None:
    table, _ = read(text)
    by_column = {where.column: name for name, where in table.headings.items()}
    width = text.partition("\n")[0].count(",") + 1
    assert " ".join(by_column.get(n, "-") for n in range(1, width + 1)) == meaning


def test_of_two_headings_for_one_column_the_first_counts_and_both_are_kept(read: Reads) -> None:
    table, findings = read("number,name,note,remarks\n1,Kick,low,loud\n")
    assert rows_of(table) == [{"number": "1", "name": "Kick", "note": "low"}]
    assert table.rows[0].extra["remarks"].text == "loud"
    assert [f.what for f in findings] == [
        "the headings 'note' and 'remarks' both mean `note`; the one in column 3 counts"
    ]


def test_columns_nobody_knows_are_kept_under_their_own_words(read: Reads) -> None:
    table, _ = read("number,name,Mood,Mood,\n1,Kick,good,better,best\n")
    assert {h: c.text for h, c in table.rows[0].extra.items()} == {
        "Mood": "good",
        "Mood (column 4)": "better",
        "column 5": "best",
    }


# Rows


def test_a_numbered_row_is_a_row_even_if_nothing_else_is_in_it(read: Reads) -> None:
    table, _ = read("number,name,to\n1,Kick,desk\n2,,\n3,spare,\n,tbc,\n4,Hat,desk\n")
    assert [row.where.row for row in table.rows] == [2, 3, 4, 5, 6]


def test_rows_none_of_which_has_a_number_are_rows_all_the_same(read: Reads) -> None:
    table, findings = read("number,name,to\n\ntbc,Kick,desk\n,Snare,desk\n\nBring batteries\n")
    assert [row.text("name") for row in table.rows] == ["Kick", "Snare"]
    assert [note.text for note in table.notes] == ["Bring batteries"]
    assert [f.rule for f in findings] == ["kept-as-note"]


def test_below_a_gap_what_has_no_number_is_a_note(read: Reads) -> None:
    table, _ = read("number,name,to\n1,Kick,desk\n,Snare,desk\n\nSigned,,A. Person\n")
    assert [row.text("name") for row in table.rows] == ["Kick", "Snare"]
    assert [note.text for note in table.notes] == ["Signed", "A. Person"]


def test_a_section_speaks_until_the_next_and_an_act_ends_what_was_in_it(read: Reads) -> None:
    table, _ = read(
        "number,name,to\n"
        "Act 1\n"
        "== DRUMS ==\n"
        "1,Kick,desk\n"
        "VOICES\n"
        "2,Lead,desk\n"
        "Act 2\n"
        "3,Speech,desk\n"
    )
    assert [(row.text("act"), row.text("group"), row.section) for row in table.rows] == [
        ("Act 1", "DRUMS", "DRUMS"),
        ("Act 1", "VOICES", "VOICES"),
        ("Act 2", "", "Act 2"),
    ]


def test_the_caller_can_say_what_a_section_speaks_for(tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    path.write_text("number,name,from\n-- riser --\n1,Kick,\n2,Guest,pit\n")
    table, _ = read_table(path, file="lines.csv", columns=LINE_COLUMNS, section=lambda text: "from")
    assert table is not None
    assert [row.text("from") for row in table.rows] == ["riser", "pit"]
    assert [row.cells["from"].filled for row in table.rows] == [True, False]
    assert str(table.rows[0].cells["from"].where) == "lines.csv:2:1 (from)"


def test_only_four_columns_are_ever_filled_down(read: Reads) -> None:
    assert {column.name for column in LINE_COLUMNS if column.fill_down} == {
        "from",
        "group",
        "act",
        "to",
    }
    table, _ = read("number,name,from,to\n1,Kick,stage,desk\n2,Snare,,\n")
    assert rows_of(table)[1] == {"number": "2", "name": "Snare"}


def test_units_are_read_by_name_and_their_sections_fill_nothing(read: Reads) -> None:
    table, findings = read(
        "Gerät;Typ;Ort;Nr.;Stromkreis\n"
        "--- Bühne ---\n"
        "box-1;box-16-8;links;1;stage\n"
        "desk;mixer-32;front;;house\n",
        UNIT_COLUMNS,
    )
    assert rows_of(table) == [
        {"name": "box-1", "kind": "box-16-8", "place": "links", "number": "1", "circuit": "stage"},
        {"name": "desk", "kind": "mixer-32", "place": "front", "circuit": "house"},
    ]
    assert [row.section for row in table.rows] == ["Bühne", "Bühne"]
    assert findings == []


def test_a_cell_crossed_out_alone_is_told_and_read(read: Reads) -> None:
    table, findings = read("number,name,to\n1,Kick,~~side~~\n")
    assert rows_of(table) == [{"number": "1", "name": "Kick", "to": "side"}]
    assert not table.rows[0].crossed_out
    assert [(f.rule, f.grade) for f in findings] == [("crossed-out", Grade.RISK)]


def test_a_row_crossed_out_as_a_whole(read: Reads) -> None:
    table, _ = read("number,name,to\n~~1,Kick,side~~\n2,Snare,side\n")
    assert [row.crossed_out for row in table.rows] == [True, False]
    assert rows_of(table)[0] == {"number": "1", "name": "Kick", "to": "side"}


# Quotes and letters


def test_a_stray_quote_costs_one_cell_and_is_told(read: Reads) -> None:
    table, findings = read('number,name,to\n1,"Kick,desk\n2,Snare,desk\n3,"Hat, open",desk\n')
    assert [row.text("name") for row in table.rows] == ['"Kick', "Snare", "Hat, open"]
    assert [f.what for f in findings] == ["a quote is opened in row 2 and never closed"]


def test_inches_are_no_quotes(read: Reads) -> None:
    table, findings = read('number,name,to\n1,Tom 12",desk\n2,Tom 14",desk\n')
    assert [row.text("name") for row in table.rows] == ['Tom 12"', 'Tom 14"']
    assert findings == []


def test_rows_are_counted_as_an_editor_does(read: Reads) -> None:
    table, _ = read('# ours\r\n\r\nnumber,name,to\r\n1,"Kick\r\nin",desk\r\n\r\n2,Hat,desk\r\n')
    assert [row.where.row for row in table.rows] == [4, 7]
    assert table.rows[0].text("name") == "Kick\nin"


def test_a_few_broken_letters_in_good_utf8_are_told_by_row(tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    path.write_bytes("number,name\n1,Flöte\n2,Hörner\n3,Bl".encode() + b"\xe4ser\n")
    table, findings = read_table(path, file="lines.csv", columns=LINE_COLUMNS)
    assert table is not None
    assert [row.text("name") for row in table.rows[:2]] == ["Flöte", "Hörner"]
    assert [(f.rule, f.grade, f.what) for f in findings] == [
        ("letters-guessed", Grade.RISK, "letters are lost in row 4, read as UTF-8")
    ]


@pytest.mark.parametrize(
    ("codec", "mark"),
    [("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff")],
)
def test_a_mark_at_the_start_settles_the_letters(codec: str, mark: bytes, tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    path.write_bytes(mark + "number;name\r\n1;Žofie ♪\r\n".encode(codec))
    table, findings = read_table(path, file="lines.csv", columns=LINE_COLUMNS)
    assert rows_of(table) == [{"number": "1", "name": "Žofie ♪"}]
    assert findings == []


# Laws

plain = st.text(st.characters(categories=["L", "Nd"], codec="utf-8"), min_size=1, max_size=8)


@given(
    order=st.permutations(["number", "name", "from", "to", "note"]),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    newline=st.sampled_from(["\n", "\r\n", "\r"]),
    above=st.integers(0, 5),
    texts=st.lists(st.tuples(plain, plain, plain, plain), min_size=1, max_size=5),
)
def test_neither_order_nor_separator_nor_title_rows_change_what_is_read(
    order: list[str],
    separator: str,
    newline: str,
    above: int,
    texts: list[tuple[str, ...]],
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    lines = [
        dict(zip(("number", "name", "from", "to", "note"), (str(n), *row), strict=True))
        for n, row in enumerate(texts, 1)
    ]
    rows = ["Our list"] * above
    rows += [separator.join(order)]
    rows += [separator.join(line[name] for name in order) for line in lines]
    path = tmp_path_factory.mktemp("law") / "lines.csv"
    path.write_bytes(newline.join(rows).encode("utf-8"))
    table, _ = read_table(path, file="lines.csv", columns=LINE_COLUMNS)
    assert table is not None
    assert table.header.row == above + 1
    assert rows_of(table) == [{k: normal(v) for k, v in line.items()} for line in lines]


@given(data=st.binary(max_size=300))
def test_any_bytes_are_a_table_or_a_finding(
    data: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("bytes")
    for ending in ("csv", "xlsx", "ods", "doc"):
        path = folder / f"lines.{ending}"
        path.write_bytes(data)
        table, findings = read_table(path, file=path.name, columns=LINE_COLUMNS)
        assert table is not None or findings


def test_limits_are_told_with_the_row(tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    path.write_text("number,name\n" + "1,Kick\n" * 10)
    table, findings = read_table(
        path, file="lines.csv", columns=LINE_COLUMNS, limits=Limits(rows=5)
    )
    assert table is None
    assert (
        "\n".join(said(findings))
        == """\
stop: lines.csv:6: lines.csv holds more than 5 rows [table-too-large]
    do: look for a cell far away from the list, or split the list"""
    )
