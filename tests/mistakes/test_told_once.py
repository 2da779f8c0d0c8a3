"""One slip is told once, as what it is, however much it breaks."""

from __future__ import annotations

import pytest

from lineproof.base.finding import Finding
from lineproof.base.rule import EXAMPLE_SHOW
from lineproof.show.read import Reading, read_files

COLUMNS = "number,name,from,source,to\n"
PAIRS = "number,name,from,source,to,pair\n"


def read(lines: str, show: str = EXAMPLE_SHOW, **more: str) -> Reading:
    files = {f"{name}.csv": text for name, text in more.items()}
    return read_files({"show.yaml": show, "lines.csv": lines, **files})


def told(reading: Reading) -> list[str]:
    """Give what is found, without what is kept but not yet used."""
    return [str(f) for f in reading.findings if f.rule != "not-yet-used"]


def rules(findings: tuple[Finding, ...]) -> list[str]:
    return [f.rule for f in findings if f.rule != "not-yet-used"]


# -- what has no sound -----------------------------------------------------------------------------


def test_a_line_from_a_switch_is_told_at_its_cell() -> None:
    assert told(read(COLUMNS + "1,Kick,sw-1,dynamic mic,desk\n")) == [
        (
            "stop: lines.csv:2:3 (from): from of line 1 names 'sw-1': a switch (switch-8) has "
            "neither a socket nor a channel for sound [no-way]\n"
            "    do: bring a unit with a fitting socket near, or change where the line starts or "
            "goes\n"
            "    see show.yaml:17:3"
        )
    ]


def test_a_line_to_a_switch_is_told_at_its_cell() -> None:
    (finding,) = told(read(COLUMNS + "1,Kick,stage,dynamic mic,desk|sw-1\n"))
    assert finding.startswith("stop: lines.csv:2:5 (to): to of line 1 names 'sw-1': a switch")


def test_a_zone_with_a_switch_in_it_is_told_once_for_all_its_lines() -> None:
    show = EXAMPLE_SHOW + "zones: {all: [pa, sw-1]}\n"
    rows = "".join(f"{n},Kick,stage,dynamic mic,all\n" for n in range(1, 9))
    (finding,) = told(read(COLUMNS + rows, show))
    assert finding.startswith("stop: show.yaml:19:19: zone 'all' names 'sw-1': a switch (switch-8)")


def test_a_line_out_of_a_loudspeaker_is_told_at_its_cell() -> None:
    (finding,) = told(read(COLUMNS + "1,Kick,pa,dynamic mic,desk\n"))
    assert finding.startswith(
        "stop: lines.csv:2:3 (from): from of line 1 names 'pa': nothing comes"
    )


def test_the_row_keeps_what_it_had() -> None:
    show = read(COLUMNS + "1,Kick,sw-1,dynamic mic,desk\n2,Voice,stage,dynamic mic,desk\n").show
    assert show is not None
    assert [str(key) for key in show.unread] == ["1"]


# -- a separator in a cell -------------------------------------------------------------------------


@pytest.mark.parametrize(("more", "tail"), [("", ""), (",note", ","), (",note,colour", ",,")])
def test_a_comma_in_a_name_is_told_once(more: str, tail: str) -> None:
    head = f"number,name,from,source,to{more}\n"
    good = f"2,Voice,stage,dynamic mic,desk{tail}\n"
    assert told(read(f"{head}1,Keys, left,stage,line,desk{tail}\n{good}")) == [
        (
            "stop: lines.csv:2: row 2 (1) has more cells than there are headings, and what stands "
            "in them can't be read: a separator seems to stand inside a cell [row-too-long]\n"
            '    do: put the cell with the separator in it into quotes, as in "Keys, left"'
        )
    ]


def test_a_comma_that_moves_only_what_is_for_people_is_a_risk() -> None:
    head = "number,name,from,source,to,group,stand,note\n"
    rows = "1,Kick,stage,dynamic mic,desk,drums,big, round,\n2,Voice,stage,dynamic mic,desk,,,\n"
    (finding,) = told(read(head + rows))
    assert finding.startswith("risk: lines.csv:2: row 2 is longer than the row of headings")


def test_a_separator_at_the_end_of_every_row_is_none_in_a_cell() -> None:
    rows = "1,Kick,stage,dynamic mic,desk,\n2,Voice,stage,dynamic mic,dsk,\n"
    assert rules(read(COLUMNS + rows).findings) == ["unknown-name"]
    assert rules(read(COLUMNS + rows.replace("dsk", "desk")).findings) == []


def test_a_comma_and_a_slip_elsewhere_are_both_told() -> None:
    rows = "1,Keys, left,stage,line,desk\n2,Voice,stage,dynamic mic,dsk\n"
    assert rules(read(COLUMNS + rows).findings) == ["row-too-long", "unknown-name"]


def test_a_number_that_stands_twice_is_no_comma() -> None:
    rows = "1,Voice,stage,dynamic mic,desk\n1,Keys, left,stage,line,desk\n"
    assert "row-too-long" in rules(read(COLUMNS + rows).findings)
    assert "number-twice" in rules(read(COLUMNS + rows).findings)


# -- misspelt headings -----------------------------------------------------------------------------


def test_a_misspelt_heading_of_what_every_row_needs_is_told_at_the_heading() -> None:
    assert told(read("number,name,form,source,to\n1,Kick,stage,dynamic mic,desk\n")) == [
        (
            "stop: lines.csv:1:3 (form): no row of lines.csv has a 'from', and the heading 'form' "
            "is none we know; did you mean 'from'? [no-start]\n"
            "    do: write 'from' over the column"
        )
    ]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("scoket", "did you mean 'socket'?"),
        ("socet", "did you mean 'socket'?"),
        ("gruop", "did you mean 'group'?"),
        ("phantum", "did you mean 'phantom'?"),
        ("Beschriftng", "did you mean 'beschriftung', which is `label`?"),
        ("Steckdosse", ""),
        ("mood", ""),
    ],
)
def test_a_heading_one_slip_away_is_a_risk(written: str, meant: str) -> None:
    head = f"number,name,from,source,to,{written}\n"
    (finding,) = told(read(head + "1,Kick,stage,dynamic mic,desk,x\n"))
    assert finding.startswith("risk" if meant else "note")
    assert meant in finding


def test_a_heading_near_one_that_is_there_is_for_people() -> None:
    (finding,) = told(read("number,name,from,form,to\n1,Kick,stage,song,desk\n"))
    assert finding.startswith("note: lines.csv:1:4 (form): the heading 'form' is none we know")


def test_a_table_of_units_without_names_is_told_at_the_heading() -> None:
    head, _, tail = EXAMPLE_SHOW.partition("units:\n")
    show = head + "units: units.csv\n" + tail[tail.index("lines:") :]
    units = "number,nmae,kind,place\n1,desk,mixer-32,front\n"
    found = told(read(COLUMNS + "1,Kick,stage,dynamic mic,front\n", show, units=units))
    assert found[0].startswith("stop: units.csv:1:2 (nmae): no row of units.csv has a 'name'")
    assert "did you mean 'name'?" in found[0]


# -- dates -----------------------------------------------------------------------------------------


def test_a_number_that_became_a_date_is_told_once() -> None:
    rows = "5. Jun,Keys,stage,line,desk\n2,Voice,stage,dynamic mic,desk\n"
    assert told(read(COLUMNS + rows)) == [
        (
            "stop: lines.csv:2:1 (number): the `number` '5. Jun' is a date, and no line's number "
            "[number-became-date]\n"
            "    do: format the column as text and write the number again"
        )
    ]


def test_a_pair_that_became_a_date_is_told_once_beside_one_that_reads() -> None:
    rows = "5,L,stage,line,desk,6. Jun\n6,R,stage,line,desk,\n7,M,stage,line,desk,Jun-05\n"
    found = told(read(PAIRS + rows))
    assert [f.partition("[")[0] for f in found if "[number-became-date]" in f] == [
        "stop: lines.csv:2:6 (pair): the `pair` '6. Jun' is a date, and no line's number ",
        "risk: lines.csv:4: row 4 has a date for its `pair` ",
    ]
    assert not any("[wrong-value]" in f for f in found)


# -- pairs -----------------------------------------------------------------------------------------


def pairs(*rows: tuple[object, object]) -> str:
    return PAIRS + "".join(f"{n},Main,desk,main mix,pa,{other}\n" for n, other in rows)


@pytest.mark.parametrize(
    ("rows", "where", "what"),
    [
        (
            ((41, 42), (42, 41), (43, 41)),
            "lines.csv:4:6 (pair)",
            "a pair is two lines, not 3: 41 names 42, 42 names 41, 43 names 41",
        ),
        (
            ((41, 42), (42, 41), (43, 41), (44, 43)),
            "lines.csv:4:6 (pair)",
            "a pair is two lines, not 4: 41 names 42, 42 names 41, 43 names 41, 44 names 43",
        ),
        (((41, 41),), "lines.csv:2:6 (pair)", "line 41 is paired with itself"),
        (
            (("41/42", ""), (43, 41)),
            "lines.csv:3:6 (pair)",
            "a pair is two lines, not 3: 41 and 42 are one row, 43 names 41",
        ),
    ],
)
def test_lines_that_are_no_pair_are_told_once(
    rows: tuple[tuple[object, object], ...], where: str, what: str
) -> None:
    (finding,) = (f for f in read(pairs(*rows)).findings if f.rule == "pair-broken")
    assert str(finding.where[0]) == where
    assert finding.what == what


def test_one_row_naming_the_other_makes_a_pair() -> None:
    show = read(pairs((41, 42), (42, ""), (43, ""), (44, 43))).show
    assert show is not None
    assert [str(line.pair) for line in show.lines] == ["42", "41", "44", "43"]


# -- more than anybody would mend ------------------------------------------------------------------


def test_a_thousand_mistakes_are_told_and_the_others_counted() -> None:
    bad = "".join(f"{n},Kick,nowhere,dynamic mic,desk\n" for n in range(1, 1501))
    reading = read(COLUMNS + bad + "1501,Voice,stage,dynamic mic,desk\n")
    unknown = [f for f in reading.findings if f.rule == "unknown-name"]
    assert [str(f.where[0]) for f in unknown] == [
        f"lines.csv:{row}:3 (from)" for row in range(2, 1002)
    ]
    (more,) = (f for f in reading.findings if f.rule == "too-large")
    assert str(more) == (
        "stop: lines.csv:1002:3 (from): 1,000 mistakes are told, and 500 more stand behind them, "
        "the first of them here: line 1001 names 'nowhere', which is no place or unit [too-large]\n"
        "    do: mend what is told first, often one slip that repeats, and read the show again"
    )
    assert reading.show is not None
    assert [line.key.number for line in reading.show.lines] == ["1501"]
    assert len(reading.show.unread) == 1500


def test_exactly_a_thousand_are_just_told() -> None:
    bad = "".join(f"{n},Kick,nowhere,dynamic mic,desk\n" for n in range(1, 1001))
    reading = read(COLUMNS + bad)
    assert len([f for f in reading.findings if f.rule == "unknown-name"]) == 1000
    assert "too-large" not in rules(reading.findings)


def test_keys_that_stand_twice_beyond_a_thousand_leave_the_show() -> None:
    show = EXAMPLE_SHOW + "nets: one\n" * 1200
    reading = read(COLUMNS + "1,Kick,stage,dynamic mic,desk\n", show)
    assert reading.show is not None
    assert [f.what for f in reading.findings if f.rule == "too-large"] == [
        (
            "1,000 mistakes are told, and 200 more stand behind them, the first of them here: "
            "'nets' stands twice here; the first one counts"
        )
    ]


def test_hundreds_of_columns_for_people_are_told_in_one() -> None:
    head = "number,name,from,source,to," + ",".join(f"asset {n}" for n in range(1, 101))
    found = told(read(f"{head}\n1,Kick,stage,dynamic mic,desk\n"))
    assert len(found) == 21
    assert found[-1].startswith(
        "note: lines.csv:1:26 (asset 21): 80 more headings are none we know"
    )
