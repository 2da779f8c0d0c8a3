"""What the crew has really done is a pin: the plan follows, and tells whom it has pushed out."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.cli.main import main
from lineproof.decide.decide import decide
from lineproof.plan.diff import differences
from lineproof.plan.model import Plan
from lineproof.plan.store import last_issued, read_draft
from lineproof.show.found_spots import line_named
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show
from lineproof.show.write import write_show

SHOW = """\
title: Small room
rate: 48 kHz
nets: one
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
units:
  box-1: {kind: box-16-8, place: stage, number: 1}
  box-2: {kind: box-16-8, place: stage, number: 2}
  desk: {kind: mixer-32, place: front}
  rec-1: {kind: computer-32, place: front}
  pa: {kind: powered-loudspeaker, place: stage}
  horn: {kind: analogue-monitor, place: stage}
  sw-1: {kind: switch-8, place: front}
lines: lines.csv
"""
LINES = """\
number,name,from,source,to,socket
1,Kick,stage,dynamic mic,desk rec-1,
2,Voice,stage,dynamic mic,desk rec-1,
3,Flute,stage,condenser mic,desk,
4,Pipe,stage,condenser mic,desk,box-1:in-9
41,Main,desk,main mix,pa,
42,Call,desk,main mix,horn,
"""
HEAD = "line,spot,at,by,note,name\n"


@pytest.fixture
def show(tmp_path: Path) -> Path:
    """Give the small room, planned and issued."""
    folder = tmp_path / "show"
    folder.mkdir()
    (folder / "show.yaml").write_text(SHOW)
    (folder / "lines.csv").write_text(LINES)
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    assert main(["issue", str(folder), "--by", "tester"]) in (0, 1)
    return folder


def issued(folder: Path) -> Plan:
    last = last_issued(folder)
    assert last is not None
    return last.plan


def again(folder: Path) -> Plan:
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    draft = read_draft(folder)
    assert draft is not None
    return draft


def spots(plan: Plan, number: str) -> set[str]:
    (line,) = (x for x in plan.lines if x.key.number == number)
    return {str(spot) for spot in line.spots()}


def found(folder: Path, *words: str) -> None:
    assert main(["found", str(folder), *words, "--by", "ab"]) == 0


def read(files: dict[str, str]) -> tuple[Show, list[str]]:
    """Give the show and what was found about `found.csv`, by rule."""
    reading = read_files(files)
    assert reading.show is not None
    told = [f"{f.rule}: {f.what}" for f in reading.findings if f.rule.startswith("found")]
    return reading.show, told


def pins(show: Show) -> dict[str, set[str]]:
    return {
        number: {str(p.spot) for p in show.pins if p.line.number == number}
        for number in {p.line.number for p in show.pins}
    }


# -- the plan follows ------------------------------------------------------------------------------


def test_the_plan_follows_and_nothing_else_moves(show: Path) -> None:
    before = issued(show)
    assert "box-2:in-7" not in spots(before, "1")
    found(show, "1", "box-2:in-7")
    after = again(show)
    assert "box-2:in-7" in spots(after, "1")
    assert {str(d.line) for d in differences(before, after)} == {"1"}


def test_who_was_planned_there_is_told_where_to_go(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = issued(show)
    (kick,) = (s for s in spots(before, "1") if s.startswith("box-1:in"))
    capsys.readouterr()
    found(show, "2", kick)
    assert "line 1 (Kick) is planned there: it has to go elsewhere" in capsys.readouterr().out
    after = again(show)
    assert kick in spots(after, "2")
    assert kick not in spots(after, "1")
    (now,) = (s for s in spots(after, "1") if s.startswith("box-") and ":in-" in s)
    told = capsys.readouterr().out
    assert f"line 1 (Kick) moves at stage: from {kick} to {now} [label-moved]" in told
    assert {str(d.line) for d in differences(before, after)} == {"1", "2"}


def test_the_same_as_planned_changes_nothing(show: Path) -> None:
    (kick,) = (s for s in spots(issued(show), "1") if s.startswith("box-1:in"))
    found(show, "1", kick)
    assert main(["plan", str(show), "--quiet", "--locked"]) in (0, 1)
    assert differences(issued(show), again(show)) == ()


def test_a_channel_can_be_found_too(show: Path) -> None:
    found(show, "1", "rec-1:30")
    assert "rec-1:receive-30" in spots(again(show), "1")


def test_it_stays_after_the_next_issue(show: Path) -> None:
    found(show, "1", "box-2:in-7")
    again(show)
    assert main(["issue", str(show), "--by", "tester"]) in (0, 1)
    (show / "found.csv").unlink()
    assert "box-2:in-7" in spots(again(show), "1")


# -- the file --------------------------------------------------------------------------------------


def test_the_file_tells_time_and_initials(show: Path) -> None:
    assert (
        main(["found", str(show), "1", "BOX-2:7", "--by", "ab", "--note", "loom, too short"]) == 0
    )
    (row,) = csv.DictReader(io.StringIO((show / "found.csv").read_text()))
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", row.pop("at"))
    assert row == {
        "line": "1",
        "spot": "box-2:in-7",
        "by": "ab",
        "note": "loom, too short",
        "name": "Kick",
    }


def test_a_file_from_a_spreadsheet_is_lengthened_and_otherwise_kept(show: Path) -> None:
    """Semicolons, a byte order mark, other columns first, Windows' newlines."""
    path = show / "found.csv"
    there = "\ufeffby;Line;Who told;spot\r\nxy;2;crew;box-2:in-9\r\n".encode()
    path.write_bytes(there)
    found(show, "1", "box-2:in-7")
    assert path.read_bytes() == there + b"ab;1;;box-2:in-7\r\n"
    shown = read_show(show).show
    assert shown is not None
    assert pins(shown)["1"] == {"box-2:in-7"}
    assert pins(shown)["2"] == {"box-2:in-9"}


def test_the_list_tells_what_counts(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["found", str(show)]) == 0
    assert capsys.readouterr().out == "nothing was found yet\n"
    found(show, "1", "box-2:in-7")
    found(show, "1", "box-2:in-8")
    capsys.readouterr()
    assert main(["found", str(show)]) == 0
    first, second, last = capsys.readouterr().out.splitlines()
    assert first.split()[:3] == ["1", "Kick", "box-2:in-7"]
    assert first.endswith("(no longer so)")
    assert second.split()[:3] == ["1", "Kick", "box-2:in-8"]
    assert not second.endswith("(no longer so)")
    assert last == "1 of 2 rows count"
    assert main(["found", str(show), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [row["counts"] for row in told["found"]] == [False, True]


# -- which rows count ------------------------------------------------------------------------------


def with_found(*rows: str, lines: str = LINES) -> dict[str, str]:
    text = HEAD + "".join(f"{row}\n" for row in rows)
    return {"show.yaml": SHOW, "lines.csv": lines, "found.csv": text}


def test_the_newest_row_of_a_line_counts_for_each_plug_and_channel() -> None:
    rows = ("1,box-1:in-3", "1,rec-1:receive-5", "1,box-2:in-4", "1,desk:strip-9")
    show, told = read(with_found(*rows))
    assert pins(show)["1"] == {"box-2:in-4", "rec-1:receive-5", "desk:strip-9"}
    assert told == []


def test_what_was_found_wins_over_the_lists_own_pin_and_says_so() -> None:
    show, told = read(with_found("4,box-1:in-2,,ab"))
    assert pins(show)["4"] == {"box-1:in-2"}
    assert told == [
        (
            "found-otherwise: line 4 was found on box-1:in-2 (ab); the list pins line 4 to "
            "box-1:in-9. What was found counts"
        ),
    ]


def test_a_line_found_where_another_is_pinned_pushes_it_out() -> None:
    show, told = read(with_found("1,box-1:in-9,,ab"))
    assert pins(show) == {"1": {"box-1:in-9"}}
    assert told == [
        (
            "found-otherwise: line 1 was found on box-1:in-9 (ab); the list pins line 4 to "
            "box-1:in-9. What was found counts"
        ),
    ]


def test_of_two_lines_found_on_one_spot_the_newer_counts() -> None:
    show, told = read(with_found("1,box-1:in-3", "2,box-1:in-3"))
    assert pins(show)["2"] == {"box-1:in-3"}
    assert "1" not in pins(show)
    assert told == [
        (
            "found-not-used: line 1 was found on box-1:in-3, which the plan doesn't follow: line 2 "
            "was found there later"
        ),
    ]


def test_lines_of_two_acts_may_be_found_on_one_spot() -> None:
    show, told = read(
        with_found(
            "early/1,box-1:in-3",
            "late/1,box-1:in-3",
            lines="number,act,name,from,source,to\n"
            "1,early,Kick,stage,dynamic mic,desk\n1,late,Bell,stage,dynamic mic,desk\n",
        )
    )
    assert [(str(p.line), str(p.spot)) for p in show.pins] == [
        ("early/1", "box-1:in-3"),
        ("late/1", "box-1:in-3"),
    ]
    assert told == []


NOT_FOLLOWED = [
    ("7,box-1:in-3", "there is no line '7'"),
    ("1,box-9:in-3", "there is no unit 'box-9'; did you mean 'box-2'?"),
    (
        "1,box-1:in-17",
        (
            "there is no box-1:in-17: box-1 has in-1 to in-16, out-1 to out-8, send-1 to send-16, "
            "receive-1 to receive-8"
        ),
    ),
    ("1,box-1:in-3,,ab,,Snare", "it was line 1 'Snare' then, and is 'Kick' now"),
    ("1,pa:in-1", "line 1 (Kick) would end in pa, which sends nothing to the network"),
    ("41,box-1:in-3", "line 41 (Main) starts inside desk"),
    ("3,rec-1:receive-1", "line 3 (Flute) doesn't go to rec-1, only to: desk"),
    ("1,box-1:send-3", "line 1 (Kick) doesn't start in box-1"),
    ("1,box-1:out-3", "line 1 (Kick) goes over the network only, out of no socket"),
    ("42,horn:out-1", "there is no horn:out-1: horn has in-1 to in-1"),
]


@pytest.mark.parametrize(("row", "why"), NOT_FOLLOWED)
def test_what_cannot_be_followed_is_told_and_the_rest_is_planned(row: str, why: str) -> None:
    line, spot = row.split(",")[:2]
    files = with_found(row, "2,box-2:in-1")
    show, told = read(files)
    assert told == [
        f"found-not-used: line {line} was found on {spot}, which the plan doesn't follow: {why}"
    ]
    assert pins(show)["2"] == {"box-2:in-1"}
    assert not read_files(files).stops


# -- what is wrong is said at once, and nothing is written -----------------------------------------

WRONG = [
    (["1", "box-1:in-3"], "say who has seen it: --by and your initials"),
    (["9", "box-1:in-3", "--by", "ab"], "there is no line '9'"),
    (["1", "box-1:in-17", "--by", "ab"], NOT_FOLLOWED[2][1]),
    (
        ["1", "box-1", "--by", "ab"],
        (
            "'box-1' is no spot, as in 'box-1:in-3'; box-1 has in-1 to in-16, out-1 to out-8, "
            "send-1 to send-16, receive-1 to receive-8"
        ),
    ),
    (
        ["1", "desk:3", "--by", "ab"],
        (
            "'desk:3' does not say which: in, out, send, receive or strip; desk has in-1 to in-32, "
            "out-1 to out-16, send-1 to send-32, receive-1 to receive-32, strip-1 to strip-48"
        ),
    ),
    (["1", "--by", "ab"], "say which line is on which spot, as in: found SHOW 12 box-1:in-3"),
]


@pytest.mark.parametrize(("words", "message"), WRONG)
def test_a_wrong_row_is_refused_in_words(
    show: Path, words: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main(["found", str(show), *words]) == 4
    assert capsys.readouterr().err == f"lineproof: {message}\n"
    assert not (show / "found.csv").exists()


def test_a_number_of_several_acts_is_asked_about(root: Path) -> None:
    hall = read_show(root / "shows" / "hall").show
    assert hall is not None
    assert line_named("1", hall.lines) == (
        "line 1 is in several acts: say choir/1 or comet/1 or lanterns/1"
    )


# -- laws ------------------------------------------------------------------------------------------

ROWS = st.lists(
    st.tuples(
        st.sampled_from(["1", "2", "3", "4", "41", "42", "9"]),
        st.sampled_from(
            [f"box-{n}:in-{m}" for n in (1, 2) for m in (1, 2, 9, 17)]
            + ["desk:strip-1", "desk:receive-2", "rec-1:receive-2", "box-1:out-1", "desk:in-1"]
            + ["desk:send-4", "horn:in-1", "pa:receive-1", "x:in-1"]
        ),
    ),
    max_size=8,
)


@given(rows=ROWS)
def test_whatever_was_found_the_show_reads_and_plans(rows: list[tuple[str, str]]) -> None:
    """Ten minutes before doors nothing that was found may keep a show from being planned."""
    files = with_found(*(f"{line},{spot}" for line, spot in rows))
    reading = read_files(files)
    assert reading.show is not None
    assert not reading.stops
    show = reading.show
    taken = [p.spot for p in show.pins]
    assert len(taken) == len(set(taken))
    # The canonical show keeps what was found, as pins.
    assert read_files(write_show(show)).show == show
    plan = decide(show).plan
    assert plan is not None
    for pin in show.pins:
        if pin.spot.side.value in ("in", "strip", "receive", "send"):
            line = plan.line(pin.line)
            assert line is not None
            assert pin.spot in set(line.spots()), pin
