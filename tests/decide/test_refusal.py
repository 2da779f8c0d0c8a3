"""When there is no plan, the reasons are true and as short as they can be."""

from __future__ import annotations

from hypothesis import Phase, assume, given, settings

from lineproof.base.finding import Finding
from lineproof.base.spot import LineKey
from lineproof.decide.decide import decide
from tests.second.draw import Text, key_of, texts
from tests.second.draw_acts import act_texts
from tests.second.exhaustive import Case

MOST_WORK = 30_000


def only(text: Text, keys: list[str]) -> Case:
    """Give the show with just these lines."""
    return Case(show=text.with_lines([x for x in text.lines if key_of(x) in keys]).show())


@settings(max_examples=60)
@given(texts(tight=True))
def test_a_chain_of_rows_clashes_and_can_not_be_shortened(text: Text) -> None:
    hold_refusal(text, MOST_WORK)


@settings(max_examples=80)
@given(act_texts(roomy=True, roles=False))
def test_a_chain_of_rows_of_several_acts_can_not_be_shortened(text: Text) -> None:
    hold_refusal(text, MOST_WORK // 5)


@settings(max_examples=80, phases=[Phase.generate])
@given(act_texts(roomy=True))
def test_a_chain_of_rows_of_shared_roles_can_not_be_shortened(text: Text) -> None:
    hold_refusal(text, MOST_WORK // 5)


def hold_refusal(text: Text, most_work: int) -> None:
    case = Case(show=text.show())
    assume(case.work() <= most_work)
    assume(not case.possible())
    decision = decide(case.show)
    assert decision.plan is None
    assert decision.findings
    left = [key_of(x) for x in text.lines]
    for finding in decision.findings:
        assert finding.grade.value == "stop"
        chain = list(finding.of) if finding.rule == "not-enough" else list(finding.of[:1])
        assert not only(text, chain).possible(), finding
        for row in chain:
            rest = [x for x in chain if x != row]
            assert not rest or only(text, rest).possible(), (finding, row)
        assert_rows_are_named(finding, case, chain)
        left = [x for x in left if x not in chain]
    # Every independent clash is told at once: without these rows there is a plan.
    if all(f.rule == "not-enough" for f in decision.findings):
        assert not left or only(text, left).possible()


def assert_rows_are_named(finding: Finding, case: Case, chain: list[str]) -> None:
    for number in chain[:10]:
        line = case.show.line(LineKey.parse(number))
        assert line is not None
        assert line.where in finding.where


@settings(max_examples=60)
@given(texts())
def test_what_can_be_planned_is_never_refused(text: Text) -> None:
    case = Case(show=text.show())
    assume(case.work() <= MOST_WORK)
    assert (decide(case.show).plan is not None) == case.possible()


@settings(max_examples=80)
@given(act_texts(roomy=True))
def test_what_can_be_planned_for_several_acts_is_never_refused(text: Text) -> None:
    case = Case(show=text.show())
    assume(case.work() <= MOST_WORK // 5)
    assert (decide(case.show).plan is not None) == case.possible()
