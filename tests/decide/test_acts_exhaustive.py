"""With acts, roles, standbys and leads by cable, too, the planner finds what trying all finds."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import Phase, assume, event, given, settings
from hypothesis import strategies as st

from lineproof.decide.decide import Decision, decide
from lineproof.plan.model import Plan
from lineproof.reckon.changeover import How, changeovers
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show
from tests.second.draw import Text, issued
from tests.second.draw_acts import act_texts, standby_texts
from tests.second.exhaustive import Case, read_off
from tests.second.found_acts import FOUND, text_of
from tests.second.holding import hold_against_everything, routes_moved

#: More placings than this are not tried one by one.
MOST_WORK = 6_000


def case_of(text: Text, earlier: Plan | None = None) -> Case:
    case = Case(show=text.show(), earlier=earlier or Plan())
    assume(case.work() <= MOST_WORK)
    return case


@settings(max_examples=120)
@given(text=act_texts(roomy=True))
def test_no_plan_of_several_acts_is_better_than_ours(text: Text) -> None:
    case = case_of(text)
    event(hold_against_everything(case, decide(case.show)))


@settings(max_examples=80)
@given(text=standby_texts())
def test_no_plan_with_standbys_and_cables_is_better_than_ours(text: Text) -> None:
    case = case_of(text)
    event(hold_against_everything(case, decide(case.show)))


@settings(max_examples=70)
@given(text=act_texts(roomy=True, most_lines=5), data=st.data())
def test_no_plan_of_acts_after_another_is_better_than_ours(text: Text, data: st.DataObject) -> None:
    # The first plan is made without some of the lines, and others go after it.
    before = data.draw(st.lists(st.sampled_from(text.lines), min_size=1, unique=True))
    after = data.draw(st.lists(st.sampled_from(text.lines), min_size=1, unique=True))
    first = decide(text.with_lines(before).show()).plan
    assume(first is not None)
    assert first is not None
    case = case_of(text.with_lines(after), first)
    event(hold_against_everything(case, decide(case.show, issued(first))))


# -- moves: what is printed is what the crew does ----------------------------------------------


def moves_told(show: Show, decision: Decision) -> int:
    """Give how many moves the change-over sheets tell: plugs, multipins, 48 V and routes."""
    assert decision.plan is not None
    return sum(
        1
        for change in changeovers(show, decision.plan)
        for move in change.moves
        if move.counts or move.how in (How.PHANTOM, How.ROUTE)
    )


def hold_moves(case: Case, decision: Decision) -> None:
    assert decision.plan is not None
    printed = next(t.value for t in decision.terms if t.name == "moves")
    placing, _, _ = read_off(case, decision.plan)
    counted = case.wishes.moves(placing) + routes_moved(case, decision.plan)
    assert moves_told(case.show, decision) == counted
    assert printed == counted * case.show.weights.move_m


@settings(max_examples=100)
@given(text=act_texts())
def test_the_moves_printed_are_the_moves_of_the_sheets(text: Text) -> None:
    case = Case(show=text.show())
    decision = decide(case.show)
    if decision.plan is not None:
        hold_moves(case, decision)


def test_the_moves_printed_for_the_hall_are_the_moves_of_its_sheets(root: Path) -> None:
    show = read_show(root / "shows" / "hall").show
    assert show is not None
    hold_moves(Case(show=show), decide(show))


# -- what trying everything found -----------------------------------------------------------------

#: Not mended yet: take a name out when it is.
OPEN = frozenset(
    {
        "a role is in one pair in one act, in another in the next",
        "an act of another stage was in the socket too",
    }
)
NOT_YET = pytest.mark.xfail(
    reason="found by trying everything, not mended yet", raises=AssertionError
)


@pytest.mark.parametrize(
    "what", [pytest.param(x, marks=[NOT_YET] if x in OPEN else []) for x in sorted(FOUND)]
)
def test_found(what: str) -> None:
    show = read_files({"show.yaml": text_of(what)}).show
    if show is not None:
        hold_against_everything(Case(show=show), decide(show))


def test_what_was_found_is_read_without_a_stop() -> None:
    for what in FOUND:
        reading = read_files({"show.yaml": text_of(what)})
        assert reading.show is not None, what
        assert not reading.stops, [str(f) for f in reading.findings]


@settings(max_examples=100, phases=[Phase.generate])
@given(text=act_texts())
def test_no_plan_of_crowded_acts_is_better_than_ours(text: Text) -> None:
    case = case_of(text)
    event(hold_against_everything(case, decide(case.show)))


# -- at length ------------------------------------------------------------------------------------


@pytest.mark.soak
@given(text=act_texts(roomy=True), data=st.data())
def test_no_plan_of_acts_is_better_than_ours_at_length(text: Text, data: st.DataObject) -> None:
    hanging = data.draw(st.lists(st.sampled_from(text.lines), unique=True))
    first = decide(text.with_lines(hanging).show()).plan if hanging else None
    case = case_of(text, first)
    event(hold_against_everything(case, decide(case.show, issued(first) if first else None)))


@pytest.mark.soak
@given(text=standby_texts())
def test_no_plan_with_standbys_is_better_than_ours_at_length(text: Text) -> None:
    case = case_of(text)
    event(hold_against_everything(case, decide(case.show)))
