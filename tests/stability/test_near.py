"""Looking near first, and leaving alone what hangs, finds what looking everywhere finds."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from unittest.mock import patch

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lineproof.decide import decide as module
from lineproof.decide.decide import Decision, decide
from lineproof.decide.near import Reach, first_reach
from lineproof.decide.problem import Problem
from lineproof.plan.model import Issued
from lineproof.show.model import Show
from tests.second.draw import Text, issued, texts


def everywhere(problem: Problem) -> Reach:
    """Offer every plug every unit, and let everything that hangs move."""
    reach = first_reach(problem, look=10_000)
    return Reach(near=reach.near, look=reach.look, closed=frozenset())


def decided_by(
    reach: Callable[[Problem], Reach], show: Show, before: Issued | None = None
) -> Decision:
    with patch.object(module, "first_reach", reach):
        return decide(show, before)


def came_to(decision: Decision) -> dict[str, float]:
    """Give what is settled for certain: parts of a sum may be shared otherwise among equals."""
    parts = ("leads", "groups", "off number", "moves")
    return {t.name: round(t.value, 6) for t in decision.terms if t.name not in parts}


@settings(max_examples=80)
@given(text=texts(most_lines=6))
def test_near_first_is_as_good_as_everywhere(text: Text) -> None:
    show = text.show()
    near = decided_by(partial(first_reach, look=1), show)
    far = decided_by(everywhere, show)
    assert came_to(near) == came_to(far)
    assert (near.plan is None) == (far.plan is None)


@settings(max_examples=80)
@given(text=texts(most_lines=6, pins=False), data=st.data())
def test_what_hangs_is_opened_only_when_it_must(text: Text, data: st.DataObject) -> None:
    some = st.lists(st.sampled_from(text.lines), min_size=1, unique=True)
    first = decide(text.with_lines(data.draw(some)).show())
    assume(first.plan is not None)
    assert first.plan is not None
    show = text.with_lines(data.draw(some)).show()
    near = decided_by(partial(first_reach, look=1), show, issued(first.plan))
    far = decided_by(everywhere, show, issued(first.plan))
    assert came_to(near) == came_to(far)
    assert (near.plan is None) == (far.plan is None)
