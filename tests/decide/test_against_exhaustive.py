"""The planner finds what trying everything finds: every wish, and the metres that share a sum."""

from __future__ import annotations

import functools
from dataclasses import replace
from unittest import mock

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from lineproof.decide.decide import Decision, decide
from lineproof.decide.near import first_reach
from lineproof.plan.model import Plan
from tests.second.draw import Text, issued, texts
from tests.second.exhaustive import Case, Score, read_off

#: More placings than this are not tried one by one.
MOST_WORK = 30_000


def claimed(decision: Decision) -> Score:
    terms = {term.name: term.value for term in decision.terms}
    return Score(
        left_out=round(terms["left out"]),
        moved=round(terms["labels moved"]),
        apart=round(terms["pairs apart"]),
        bunched=round(terms["bunched"]),
        leads_mm=round(terms["leads"] * 1000),
        groups_mm=round(terms["groups"] * 1000),
        off_number_mm=round(terms["off number"] * 1000),
    )


def hold_against_everything(case: Case, decision: Decision) -> None:
    best = case.best()
    if not best:
        assert decision.plan is None
        assert any(f.grade.value == "stop" for f in decision.findings)
        event("no plan")
        return
    assert decision.plan is not None, [str(f) for f in decision.findings]
    says = claimed(decision)
    # What it says of its plan is true of the plan as written, numbers and all …
    placing, gone, channels = read_off(case, decision.plan)
    written = case.score(placing, gone, channels)
    if case.earlier.lines:
        # It reckons with a channel kept for a line that went, or had to go, as if nobody else
        # could get it; where no other is left somebody does, and may even be on number by it.
        assert written.off_number_mm <= says.off_number_mm
        written = replace(written, off_number_mm=says.off_number_mm)
    assert says == written
    # … the plan is legal, and nothing better is.
    assert any(dict(p) == dict(placing) for p in case.placings(gone))
    assert says in best
    for term in decision.terms:
        assert term.name in ("leads", "groups", "off number") or term.proven, term
    event("planned")


@settings(max_examples=150)
@given(text=texts())
def test_no_plan_is_better_than_ours(text: Text) -> None:
    show = text.show()
    case = Case(show=show)
    assume(case.work() <= MOST_WORK)
    hold_against_everything(case, decide(show))


@settings(max_examples=100)
@given(text=texts(most_lines=4, pins=False), data=st.data())
def test_looking_at_one_unit_first_finds_the_same(text: Text, data: st.DataObject) -> None:
    # Large shows are looked at near units first; a look that small comes up in small ones too.
    hanging = data.draw(st.lists(st.sampled_from(text.lines), unique=True))
    first = decide(text.with_lines(hanging).show()).plan if hanging else None
    case = Case(show=text.show(), earlier=first or Plan())
    assume(case.work() <= MOST_WORK)
    one = functools.partial(first_reach, look=1)
    with mock.patch("lineproof.decide.decide.first_reach", one):
        hold_against_everything(case, decide(case.show, issued(first) if first else None))


@settings(max_examples=100)
@given(text=texts(most_lines=4, pins=False), data=st.data())
def test_no_plan_after_another_is_better_than_ours(text: Text, data: st.DataObject) -> None:
    # The first plan is made without some of the lines, and others go after it.
    before = data.draw(st.lists(st.sampled_from(text.lines), min_size=1, unique=True))
    after = data.draw(st.lists(st.sampled_from(text.lines), min_size=1, unique=True))
    first = decide(text.with_lines(before).show()).plan
    assume(first is not None)
    assert first is not None
    show = text.with_lines(after).show()
    case = Case(show=show, earlier=first)
    assume(case.work() <= MOST_WORK)
    hold_against_everything(case, decide(show, issued(first)))


@pytest.mark.soak
@given(text=texts(), data=st.data())
def test_no_plan_is_better_than_ours_at_length(text: Text, data: st.DataObject) -> None:
    hanging = data.draw(st.lists(st.sampled_from(text.lines), unique=True))
    first = decide(text.with_lines(hanging).show()).plan if hanging else None
    case = Case(show=text.show(), earlier=first or Plan())
    assume(case.work() <= MOST_WORK)
    hold_against_everything(case, decide(case.show, issued(first) if first else None))
