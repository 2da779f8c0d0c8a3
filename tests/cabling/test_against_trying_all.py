"""The planner against every cabling there is, on small drawn shows."""

import pytest

from lineproof.decide.cabling.plan import plan_runs
from tests.cabling.small import best_by_trying, draw, show_of


@pytest.mark.parametrize("seed", range(100))
def test_no_cabling_is_better(seed: int) -> None:
    show = show_of(draw(seed))
    terms = plan_runs(show).terms
    best = best_by_trying(show)
    found = tuple(round(term.value) for term in terms)
    # Where the ports can't join all switches, how far apart they are is counted in another way.
    whole = best[0] == 0
    assert found == best if whole else found[0] > 0
    assert not whole or all(term.bound == term.value for term in terms)
