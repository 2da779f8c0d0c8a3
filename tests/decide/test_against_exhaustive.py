"""The planner finds what trying everything finds: every wish, and the metres that share a sum."""

from __future__ import annotations

import functools
from unittest import mock

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from lineproof.decide.decide import decide
from lineproof.decide.near import first_reach
from lineproof.plan.model import Plan
from tests.second.draw import Text, issued, texts
from tests.second.exhaustive import Case
from tests.second.holding import hold_against_everything

#: More placings than this are not tried one by one.
MOST_WORK = 30_000


@settings(max_examples=150)
@given(text=texts())
def test_no_plan_is_better_than_ours(text: Text) -> None:
    show = text.show()
    case = Case(show=show)
    assume(case.work() <= MOST_WORK)
    event(hold_against_everything(case, decide(show)))


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
        event(hold_against_everything(case, decide(case.show, issued(first) if first else None)))


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
    event(hold_against_everything(case, decide(show, issued(first))))


@pytest.mark.soak
@given(text=texts(), data=st.data())
def test_no_plan_is_better_than_ours_at_length(text: Text, data: st.DataObject) -> None:
    hanging = data.draw(st.lists(st.sampled_from(text.lines), unique=True))
    first = decide(text.with_lines(hanging).show()).plan if hanging else None
    case = Case(show=text.show(), earlier=first or Plan())
    assume(case.work() <= MOST_WORK)
    event(hold_against_everything(case, decide(case.show, issued(first) if first else None)))
