"""Acts share sockets in time; a role keeps its socket and its strip."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.decide import decide
from lineproof.graph.acts import running
from lineproof.graph.signal import routes
from lineproof.plan.model import Issued, Plan
from lineproof.show.model import Act, Show
from lineproof.show.read import read_files
from lineproof.show.write import write_show

HEAD = """\
title: Acts
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
units:
  box-1: {kind: box-4-4, place: stage, number: 1}
  desk: {kind: mixer-16, place: front}
lines: lines.csv
"""
FOUR = "acts: {first: {stage: main}, second: {stage: main}}\n"


def planned(head: str, rows: list[str]) -> tuple[Show, Plan | None]:
    lines = "\n".join(["number,name,from,source,to,act,role", *rows, ""])
    show = read_files({"show.yaml": head, "lines.csv": lines}).show
    assert show is not None
    return show, decide(show).plan


def rows(act: str, names: list[str]) -> list[str]:
    return [f"{n},{name},box-1,dynamic mic,desk,{act}," for n, name in enumerate(names, 1)]


def socket(plan: Plan | None, key: str) -> Spot:
    assert plan is not None
    line = plan.line(LineKey.parse(key))
    assert line is not None
    return next(s for s in line.spots() if s.side is Side.IN)


def strip(plan: Plan | None, key: str) -> Spot:
    assert plan is not None
    line = plan.line(LineKey.parse(key))
    assert line is not None
    return next(s for s in line.spots() if s.side is Side.STRIP)


def test_two_acts_fill_one_box_one_after_the_other() -> None:
    show, plan = planned(HEAD + FOUR, rows("first", list("ABCD")) + rows("second", list("EFGH")))
    assert plan is not None
    for act in ("first", "second"):
        used = {socket(plan, f"{act}/{n}") for n in range(1, 5)}
        assert len(used) == 4
    # All night the mixer hears sockets, not lines: four routes serve eight lines.
    assert len(routes(show, plan)) == 4


def test_acts_that_overlap_share_nothing() -> None:
    head = HEAD + (
        "acts:\n  first: {starts: '19:00', ends: '20:00'}\n"
        "  second: {starts: '19:30', ends: '20:30'}\n"
    )
    _, plan = planned(head, rows("first", list("AB")) + rows("second", list("EF")))
    used = [socket(plan, key) for key in ("first/1", "first/2", "second/1", "second/2")]
    assert len(set(used)) == 4
    _, none = planned(head, rows("first", list("ABC")) + rows("second", list("EF")))
    assert none is None


def test_an_act_built_before_takes_nothing_of_the_one_that_plays() -> None:
    head = HEAD + FOUR.replace("second: {", "second: {build: before, ")
    _, plan = planned(head, rows("first", list("AB")) + rows("second", list("EF")))
    used = {socket(plan, key) for key in ("first/1", "first/2", "second/1", "second/2")}
    assert len(used) == 4
    _, none = planned(head, rows("first", list("ABC")) + rows("second", list("EF")))
    assert none is None


def test_a_line_without_an_act_keeps_its_socket_all_night() -> None:
    always = "9,Host,box-1,dynamic mic,desk,,"
    both = [*rows("first", list("ABC")), *rows("second", list("EFG"))]
    _, plan = planned(HEAD + FOUR, [always, *both])
    host = socket(plan, "9")
    assert all(socket(plan, f"{a}/{n}") != host for a in ("first", "second") for n in (1, 2, 3))


def test_a_role_keeps_its_socket_and_its_strip() -> None:
    _, plan = planned(
        HEAD + FOUR,
        rows("first", ["Kick", "Voice"]) + rows("second", ["Horn", "Flute", "Kick"]),
    )
    assert socket(plan, "first/1") == socket(plan, "second/3")
    assert strip(plan, "first/1") == strip(plan, "second/3")


def test_a_role_may_have_another_name() -> None:
    _, plan = planned(
        HEAD + FOUR,
        ["1,Anna,box-1,dynamic mic,desk,first,lead", "7,Ben,box-1,dynamic mic,desk,second,lead"],
    )
    assert socket(plan, "first/1") == socket(plan, "second/7")


def test_no_plug_moves_where_there_is_room() -> None:
    show, plan = planned(HEAD + FOUR, rows("first", list("AB")) + rows("second", list("EF")))
    assert plan is not None
    used = {socket(plan, key) for key in ("first/1", "first/2", "second/1", "second/2")}
    assert len(used) == 4
    terms = {t.name: t.value for t in decide(show).terms}
    assert terms["moves"] == 0


@pytest.mark.parametrize(
    ("times", "overlaps"),
    [
        ((("19:00", "20:00"), ("20:00", "21:00")), False),
        ((("19:00", "20:01"), ("20:00", "21:00")), True),
        ((("23:00", "00:30"), ("00:10", "01:00")), True),
        ((("23:00", "00:00"), ("00:10", "01:00")), False),
        ((("", ""), ("", "")), False),
    ],
)
def test_acts_in_time(times: tuple[tuple[str, str], ...], overlaps: bool) -> None:
    acts = tuple(Act(name=str(n), starts=s, ends=e) for n, (s, e) in enumerate(times))
    show, _ = planned(HEAD, ["1,A,stage,dynamic mic,desk,,"])
    assert running(replace(show, acts=acts)).overlap("0", "1") is overlaps


def test_lines_of_an_act_that_was_misspelt_keep_their_sockets() -> None:
    """More lines of the lost act than the box has sockets left: nothing of it may be let go."""
    both = rows("first", list("ABCD")) + rows("second", list("EFGH"))
    show, plan = planned(HEAD + FOUR, both)
    assert plan is not None
    lines = "\n".join(["number,name,from,source,to,act,role", *both, ""])
    reading = read_files(
        {"show.yaml": HEAD + FOUR.replace("second:", "scond:"), "lines.csv": lines}
    )
    assert [f.rule for f in reading.findings if f.grade.rank == 0] == ["unknown-act"] * 4
    assert reading.show is not None
    before = Issued(revision=1, by="", at="", mark="", plan=plan, show=write_show(show))
    again = decide(reading.show, before).plan
    assert again is not None
    assert again.decisions() == plan.decisions()
    assert decide(reading.show).plan is not None
