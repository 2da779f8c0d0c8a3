"""Every rule about runs: its failing example raises it, its passing one does not."""

from collections.abc import Iterator

import pytest

from lineproof.base.finding import Finding
from lineproof.base.rule import Example
from lineproof.check.cabling import CHECKS
from lineproof.check.check import Facts
from lineproof.decide.cabling.plan import plan_runs
from lineproof.plan.model import Plan
from lineproof.reckon.figures import reckon
from lineproof.show.read import read_files

BY_NAME = {check.rule.name: check for check in CHECKS}


def found(example: Example) -> Iterator[Finding]:
    show = read_files(example.files()).show
    assert show is not None
    plan = Plan(network=plan_runs(show).network())
    facts = Facts(show=show, plan=plan, figures=reckon(show, plan))
    for check in CHECKS:
        yield from check.find(facts)


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_failing_example_raises_the_rule(name: str) -> None:
    assert name in {finding.rule for finding in found(BY_NAME[name].rule.fails)}


@pytest.mark.parametrize("name", sorted(BY_NAME))
def test_passing_example_does_not_raise_it(name: str) -> None:
    assert name not in {finding.rule for finding in found(BY_NAME[name].rule.passes)}
