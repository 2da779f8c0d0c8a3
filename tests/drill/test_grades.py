"""Grades of single faults: every rule's own examples, and who may take one on."""

from __future__ import annotations

from collections.abc import Iterator

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


def small_files(more: str = "") -> dict[str, str]:
    files = {p.name: p.read_text("utf-8") for p in (SHOWS / "small").iterdir() if p.is_file()}
    return {**files, "show.yaml": files["show.yaml"] + more}


def test_what_one_fault_takes_is_told_once_with_all_that_take_the_same() -> None:
    told = [f.what for f in worked(small_files()).drilled if f.rule == "must-lost"]
    (mine,) = (what for what in told if "without any of play, " in what)
    assert "run:play-a" in mine
    assert "2 lines (19, 20) lost at desk (not yet graded: no rescue was worked out)" in mine


def test_what_takes_one_line_alone_is_one_note_for_the_line() -> None:
    notes = [f for f in worked(small_files()).drilled if f.grade is Grade.NOTE]
    (mine,) = (f for f in notes if "41" in f.of)
    assert {"pa-left", "run:pa-left-a", "fill-left"} <= set(mine.of)
    assert mine.what.endswith("line 41 (Main left) lost at one or other of pa-left, fill-left")


def test_a_grade_can_be_taken_on_and_stays_on_paper() -> None:
    more = (
        "\naccept: [{finding: act-silenced, of: [side], reason: a spare stands by, by: R. Roe}]\n"
    )
    outcome = worked(small_files(more))
    (mine,) = (f for f in outcome.drilled if f.rule == "act-silenced" and "side" in f.of[:1])
    assert mine.accepted == "by R. Roe: a spare stands by"
    assert [f for f in outcome.findings if f.rule == "accepted-for-nothing"] == []


def test_before_the_drill_nobody_says_that_an_acceptance_is_idle() -> None:
    more = (
        "\naccept: [{finding: act-silenced, of: [side], reason: a spare stands by, by: R. Roe}]\n"
    )
    reading = read_files(small_files(more))
    assert reading.show is not None
    plan = decide_whole(reading.show).plan
    assert plan is not None
    outcome = work_out(reading, plan)
    assert [f for f in outcome.findings if f.rule == "accepted-for-nothing"] == []
    assert "single faults" in outcome.not_tried


def test_the_singles_of_an_outcome_are_the_drills() -> None:
    outcome = worked(small_files())
    gone = next(d for d in outcome.singles if str(d.fault) == "circuit:house")
    assert len(gone.verdicts) == 24
    assert all(v.lost for v in gone.verdicts)
    assert outcome.drill is not None
    assert str(outcome.drill.worst[0]) == "circuit:house"
