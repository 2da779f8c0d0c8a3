"""An arena is planned with its gap proven, and not one label moves when a line is added."""

from __future__ import annotations

import pytest

from lineproof.base.finding import Grade
from lineproof.decide.decide import Decision, decide
from lineproof.graph.signal import routes
from lineproof.outcome import work_out
from lineproof.plan.diff import differences
from lineproof.show.generate import generate
from lineproof.show.read import Reading, read_files
from tests.second.draw import issued


def reading_of(files: dict[str, str]) -> Reading:
    reading = read_files(files)
    assert reading.show is not None
    assert not reading.stops
    return reading


def decided(reading: Reading, earlier: Decision | None = None) -> Decision:
    assert reading.show is not None
    before = issued(earlier.plan) if earlier is not None and earlier.plan is not None else None
    decision = decide(reading.show, before)
    assert decision.plan is not None, [str(f) for f in decision.findings]
    return decision


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    return generate("arena", 1)


@pytest.fixture(scope="module")
def first(files: dict[str, str]) -> Decision:
    return decided(reading_of(files))


def test_gap_is_proven(first: Decision) -> None:
    terms = {term.name: term for term in first.terms}
    total = terms["sum"]
    assert total.bound is not None
    assert total.value - total.bound <= 0.01 * total.value
    assert all(terms[name].value == 0 for name in ("left out", "pairs apart", "bunched"))


def test_outcome_has_nothing_worse_than_a_note(files: dict[str, str], first: Decision) -> None:
    assert first.plan is not None
    outcome = work_out(reading_of(files), first.plan)
    assert [str(f) for f in outcome.findings if f.grade is not Grade.NOTE] == []


def test_routes_are_thousands(files: dict[str, str], first: Decision) -> None:
    show = reading_of(files).show
    assert show is not None
    assert first.plan is not None
    assert 5_000 <= len(routes(show, first.plan)) <= 7_000


def test_added_line_moves_no_other(files: dict[str, str], first: Decision) -> None:
    row = "98001,,House violin,river-left,condenser mic,field-1-1,,,,must\n"
    again = decided(reading_of({**files, "river.csv": files["river.csv"] + row}), first)
    assert first.plan is not None
    assert again.plan is not None
    changed = {str(d.line) for d in differences(first.plan, again.plan)}
    assert changed == {"98001"}


def test_planned_again_gives_the_same(files: dict[str, str], first: Decision) -> None:
    again = decided(reading_of(files), first)
    assert first.plan is not None
    assert again.plan is not None
    assert again.plan.decisions() == first.plan.decisions()
    # What it costs is counted the same, whether it hangs or not.
    costs = [{t.name: t.value for t in d.terms} for d in (first, again)]
    assert costs[0] == costs[1]
