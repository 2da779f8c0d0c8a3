"""What hangs stays: under new numbers, beside new acts, after a return, and when replayed."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lineproof.base.spot import LineKey
from lineproof.decide.decide import Decision, decide
from lineproof.plan.model import Issued, LinePlan, Plan
from lineproof.plan.text import write_plan
from lineproof.show.canonical import mark
from lineproof.show.model import Show
from lineproof.show.read import read_files
from lineproof.show.write import write_show
from tests.second.draw import Text, issued, texts
from tests.stability.edits import KINDS, Files, Rows, read_all, rows_of, text_of


def shown(files: Files) -> Show:
    reading = read_files(files)
    assert not reading.stops, [str(f) for f in reading.findings]
    assert reading.show is not None
    return reading.show


def planned(show: Show, before: Issued | None = None) -> Plan:
    decision = decide(show, before)
    assert decision.plan is not None, [str(f) for f in decision.findings]
    return decision.plan


def issue(show: Show, plan: Plan, revision: int) -> Issued:
    files = write_show(show)
    return Issued(revision=revision, by="nn", at="", mark=mark(show), plan=plan, show=files)


def where(plan: Plan, key: str) -> tuple[object, object]:
    line = plan.line(LineKey.parse(key))
    assert line is not None, key
    return dict(line.start), dict(line.ends)


def held(line: LinePlan) -> tuple[object, object]:
    return dict(line.start), dict(line.ends)


@pytest.fixture(scope="module")
def hall(root: Path) -> Files:
    return read_all(root / "shows" / "hall")


@pytest.fixture(scope="module")
def hall_plan(hall: Files) -> Plan:
    return planned(shown(hall))


@pytest.fixture(scope="module")
def small(root: Path) -> Files:
    return read_all(root / "shows" / "small")


# -- numbers -------------------------------------------------------------------------------------


def shifted(rows: Rows, first: int) -> Rows:
    """Give the rows with every number from `first` on one higher."""

    def up(number: str) -> str:
        return str(int(number) + 1) if number and int(number) >= first else number

    return [{**r, "number": up(r["number"]), "pair": up(r["pair"])} for r in rows]


def test_a_row_put_in_and_all_after_it_renumbered_moves_nothing(
    hall: Files, hall_plan: Plan
) -> None:
    rows = rows_of(hall["comet.csv"])
    later = shifted(rows, 5)
    new = {**rows[4], "number": "5", "name": "Cymbal", "pair": "", "role": ""}
    later.insert(4, new)
    again = planned(shown({**hall, "comet.csv": text_of(later)}), issued(hall_plan))
    for old in rows:
        number = int(old["number"]) + (int(old["number"]) >= 5)
        assert where(again, f"comet/{number}") == where(hall_plan, f"comet/{old['number']}")
    # The other acts and the house hang where they hung.
    for line in hall_plan.lines:
        if line.key.act != "comet":
            assert where(again, str(line.key)) == held(line)


def swapped(files: Files) -> Files:
    """Give the small show with the numbers of Kick and Snare changed for each other."""
    rows = rows_of(files["lines.csv"])
    assert [r["name"] for r in rows[:2]] == ["Kick", "Snare"]
    rows[0]["number"], rows[1]["number"] = rows[1]["number"], rows[0]["number"]
    return {**files, "lines.csv": text_of(rows)}


def test_two_lines_that_swap_numbers_are_asked_about(small: Files) -> None:
    first = planned(shown(small))
    decision = decide(shown(swapped(small)), issued(first))
    assert decision.plan is None
    (finding,) = [f for f in decision.findings if f.rule == "which-line"]
    assert set(finding.of) == {"1", "2"}


def test_following_names_the_sockets_go_with_the_names(small: Files) -> None:
    first = planned(shown(small))
    plan = decide(shown(swapped(small)), issued(first), follow="names").plan
    assert plan is not None
    assert (where(plan, "2"), where(plan, "1")) == (where(first, "1"), where(first, "2"))


def test_following_numbers_the_sockets_stay_with_the_numbers(small: Files) -> None:
    first = planned(shown(small))
    plan = decide(shown(swapped(small)), issued(first), follow="numbers").plan
    assert plan is not None
    assert (where(plan, "1"), where(plan, "2")) == (where(first, "1"), where(first, "2"))


# -- acts ----------------------------------------------------------------------------------------


def test_acts_added_to_a_show_without_move_nothing(small: Files) -> None:
    first = planned(shown(small))
    acts = "acts:\n  early: {stage: main}\n  late: {stage: main}\n"
    yaml = small["show.yaml"].replace(
        "lines: lines.csv", acts + "lines:\n  - lines.csv\n  - {table: early.csv, act: early}"
    )
    early = (
        "number,name,from,source,to\n"
        "1,Concertina,stage-left,condenser mic,desk side rec-1|rec-2\n"
        "2,Whistle,stage-right,dynamic mic,desk side rec-1|rec-2\n"
    )
    again = planned(shown({**small, "show.yaml": yaml, "early.csv": early}), issued(first))
    assert len(again.lines) == len(first.lines) + 2
    for line in first.lines:
        assert where(again, str(line.key)) == held(line)


def test_lines_given_to_an_act_keep_what_they_have(small: Files) -> None:
    first = planned(shown(small))
    yaml = small["show.yaml"].replace(
        "lines: lines.csv",
        "acts:\n  revue: {stage: main}\nlines:\n  - {table: lines.csv, act: revue}",
    )
    again = planned(shown({**small, "show.yaml": yaml}), issued(first))
    for line in first.lines:
        assert where(again, f"revue/{line.key}") == held(line)


# -- gone and back -------------------------------------------------------------------------------


@pytest.mark.parametrize("number", ["5", "9", "14", "18"])
def test_a_line_that_returns_gets_its_spots_back(hall: Files, hall_plan: Plan, number: str) -> None:
    rows = rows_of(hall["comet.csv"])
    without = [r for r in rows if r["number"] != number]
    for r in without:
        r["pair"] = "" if r["pair"] == number else r["pair"]
    # A stranger comes meanwhile, and would take what is free.
    stranger = {**without[0], "number": "77", "name": "Stranger", "role": "", "pair": ""}
    gone = planned(shown({**hall, "comet.csv": text_of([*without, stranger])}), issued(hall_plan))
    back = text_of([*rows_of(hall["comet.csv"]), stranger])
    again = planned(shown({**hall, "comet.csv": back}), issued(gone, 2))
    assert where(again, f"comet/{number}") == where(hall_plan, f"comet/{number}")


# -- replayed ------------------------------------------------------------------------------------


def test_issues_replayed_from_the_kept_shows_give_the_same_bytes(hall: Files, seed: int) -> None:
    import random

    chance = random.Random(seed)
    files, kept = hall, []
    before: Issued | None = None
    for revision, kind in enumerate([None, *KINDS[:5]], 1):
        files = kind(files, chance).files if kind else files
        show = shown(files)
        before = issue(show, planned(show, before), revision)
        kept.append(before)
    last: Issued | None = None
    for one in kept:
        show = read_files(one.show).show
        assert show is not None
        assert mark(show) == one.mark
        assert write_plan(planned(show, last)) == write_plan(one.plan)
        last = one


# -- the same laws on small shows ----------------------------------------------------------------


@settings(max_examples=40)
@given(text=texts(), data=st.data())
def test_drawn_line_that_returns_gets_its_spots_back(text: Text, data: st.DataObject) -> None:
    first = decide(text.show())
    assume(first.plan is not None and len(text.lines) > 1)
    assert first.plan is not None
    dropped = data.draw(st.sampled_from(text.lines))
    rest = text.with_lines([line for line in text.lines if line != dropped])
    gone = decide(rest.show(), issued(first.plan))
    assert gone.plan is not None
    again = decide(text.show(), issued(gone.plan, 2))
    assert again.plan is not None
    # What nobody had to take meanwhile is as it was.
    if not any(f.rule in ("freed-reused", "label-moved") for f in gone.findings):
        assert left_out(again) or spots_of(again.plan) == spots_of(first.plan)


def left_out(decision: Decision) -> bool:
    assert decision.plan is not None
    return any(line.left_out for line in decision.plan.lines)


def spots_of(plan: Plan) -> dict[LineKey, tuple[object, object]]:
    return {line.key: held(line) for line in plan.lines}


@settings(max_examples=40)
@given(text=texts(), data=st.data())
def test_drawn_issues_replayed_give_the_same_bytes(text: Text, data: st.DataObject) -> None:
    before: Issued | None = None
    kept: list[Issued] = []
    for revision in (1, 2, 3):
        some = data.draw(st.lists(st.sampled_from(text.lines), min_size=1, unique=True))
        show = text.with_lines(some).show()
        decision = decide(show, before)
        assume(decision.plan is not None)
        assert decision.plan is not None
        before = issue(show, decision.plan, revision)
        kept.append(before)
    last: Issued | None = None
    for one in kept:
        show_again = read_files(one.show).show
        assert show_again is not None
        assert write_plan(planned(show_again, last)) == write_plan(one.plan)
        last = one


@settings(max_examples=40)
@given(text=texts(), data=st.data())
def test_order_of_rows_changes_no_byte(text: Text, data: st.DataObject) -> None:
    shuffled = text.with_lines(data.draw(st.permutations(text.lines)))
    one, other = decide(text.show()), decide(shuffled.show())
    assert (one.plan is None) == (other.plan is None)
    if one.plan is not None and other.plan is not None:
        assert write_plan(one.plan) == write_plan(other.plan)
