"""Every rule's own examples: the show that fails raises it, the one that passes doesn't."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from lineproof.base.finding import Finding
from lineproof.base.rule import Example, Rule
from lineproof.check import every
from lineproof.decide import rules as decide_rules
from lineproof.decide.whole import decide_whole
from lineproof.outcome import work_out
from lineproof.plan import recognise
from lineproof.plan.model import Issued, Plan
from lineproof.show import found_spots, table_rules
from lineproof.show import rules as show_rules
from lineproof.show.read import Reading, read_files
from lineproof.show.write import write_show

RULES = (
    *show_rules.RULES,
    *table_rules.RULES,
    *found_spots.RULES,
    *decide_rules.RULES,
    *every.RULES,
    *recognise.RULES,
)
BY_NAME = {rule.name: rule for rule in RULES}


def read(example: Example) -> Reading:
    return read_files(example.files())


def issued_for(example: Example) -> Issued:
    show = read(example).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    return Issued(revision=1, by="", at="", mark="", plan=plan, show=write_show(show))


def found(example: Example) -> Iterator[Finding]:
    """Give all that reading, planning and checking the example finds."""
    reading = read(example)
    yield from reading.findings
    if reading.show is None:
        return
    issued = issued_for(example.before) if example.before else None
    decision = decide_whole(reading.show, issued)
    yield from decision.findings
    plan = issued.plan if issued else decision.plan or Plan()
    yield from work_out(reading, plan, issued=issued, is_draft=issued is None).findings


def test_names_are_used_once() -> None:
    assert len(BY_NAME) == len(RULES)


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_failing_example_raises_the_rule(name: str) -> None:
    rule = BY_NAME[name]
    mine = [f for f in found(rule.fails) if f.rule == name]
    assert mine
    assert all(f.what and f.do for f in mine)


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_passing_example_does_not_raise_it(name: str) -> None:
    assert [f for f in found(BY_NAME[name].passes) if f.rule == name] == []


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_rule_says_why_what_to_do_and_by_whose_word(name: str) -> None:
    rule: Rule = BY_NAME[name]
    assert rule.why.endswith(".")
    assert rule.do
    assert rule.source
