"""Grades of single faults: every rule's own examples, and who may take one on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example
from lineproof.decide.whole import decide_whole
from lineproof.outcome import Outcome, work_out
from lineproof.rescue.rules import RULES
from lineproof.show.read import read_files
from tests.drill.shows import SHOWS

BY_NAME = {rule.name: rule for rule in RULES}


def worked(files: dict[str, str]) -> Outcome:
    reading = read_files(files)
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    return work_out(reading, plan, upto="rescue")


def found(example: Example, rule: str) -> Iterator[Finding]:
    return (f for f in worked(example.files()).drilled if f.rule == rule)


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_the_failing_example_raises_the_rule_and_the_passing_one_does_not(name: str) -> None:
    assert all(f.what and f.do for f in found(BY_NAME[name].fails, name))
    assert list(found(BY_NAME[name].fails, name))
    assert list(found(BY_NAME[name].passes, name)) == []
    assert BY_NAME[name].why.endswith(".")


ONE_NET = SHOWS.parent / "tests" / "one-net"


def files_of(folder: Path, more: str = "") -> dict[str, str]:
    files = {p.name: p.read_text("utf-8") for p in folder.iterdir() if p.is_file()}
    return {**files, "show.yaml": files["show.yaml"] + more}


@cache
def one_net() -> Outcome:
    return worked(files_of(ONE_NET))


def test_the_small_show_has_one_stop_one_accepted_and_three_risks() -> None:
    drilled = worked(files_of(SHOWS / "small")).drilled
    standing = Counter(f.grade for f in drilled if not f.accepted)
    assert (standing[Grade.STOP], standing[Grade.RISK]) == (1, 3)
    assert [f.rule for f in drilled if f.accepted] == ["act-silenced"]


def test_before_rescues_every_finding_says_that_it_is_not_yet_graded() -> None:
    reading = read_files(files_of(ONE_NET))
    assert reading.show is not None
    plan = decide_whole(reading.show).plan
    assert plan is not None
    drilled = work_out(reading, plan, upto="singles").drilled
    told = [f.what for f in drilled if f.rule in ("act-silenced", "must-lost", "group-silenced")]
    assert told
    assert all("not yet graded" in what for what in told)


def test_what_comes_back_by_hand_is_a_risk_and_no_stop() -> None:
    """Without its switch no voice is heard at the mixer; two spare cables bring all back."""
    mine = [f for f in one_net().drilled if "sw-front" in f.of]
    assert {f.grade for f in mine} == {Grade.RISK}
    assert all("back in about" in f.what for f in mine)


def test_what_one_fault_takes_is_told_once_with_all_that_take_the_same() -> None:
    told = [f.what for f in one_net().drilled if f.rule == "must-lost"]
    (mine,) = (what for what in told if "run:play-a" in what)
    assert "port:sw-front:3" in mine
    assert "2 lines (19, 20) lost at desk; back in about 1 min (1 cable laid)" in mine


def test_what_takes_one_line_alone_is_one_note_for_the_line() -> None:
    notes = [f for f in one_net().drilled if f.grade is Grade.NOTE]
    (mine,) = (f for f in notes if "41" in f.of)
    assert {"pa-left", "run:pa-left-a", "fill-left"} <= set(mine.of)
    assert mine.what.endswith("line 41 (Main left) lost at one or other of pa-left, fill-left")


def test_a_grade_can_be_taken_on_and_stays_on_paper() -> None:
    more = (
        "\naccept: [{finding: act-silenced, of: [side], reason: a spare stands by, by: R. Roe}]\n"
    )
    outcome = worked(files_of(ONE_NET, more))
    (mine,) = (f for f in outcome.drilled if f.rule == "act-silenced" and "side" in f.of[:1])
    assert mine.accepted == "by R. Roe: a spare stands by"
    assert [f for f in outcome.findings if f.rule == "accepted-for-nothing"] == []


def test_before_the_drill_nobody_says_that_an_acceptance_is_idle() -> None:
    more = (
        "\naccept: [{finding: act-silenced, of: [side], reason: a spare stands by, by: R. Roe}]\n"
    )
    reading = read_files(files_of(ONE_NET, more))
    assert reading.show is not None
    plan = decide_whole(reading.show).plan
    assert plan is not None
    outcome = work_out(reading, plan)
    assert [f for f in outcome.findings if f.rule == "accepted-for-nothing"] == []
    assert "single faults" in outcome.not_tried


def test_the_singles_of_an_outcome_are_the_drills() -> None:
    outcome = one_net()
    gone = next(d for d in outcome.singles if str(d.fault) == "circuit:house")
    assert len(gone.verdicts) == 24
    assert all(v.lost for v in gone.verdicts)
    assert outcome.drill is not None
    assert str(outcome.drill.worst[0]) == "circuit:house"
