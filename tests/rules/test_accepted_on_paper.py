"""What is found only on paper can be accepted without being called idle."""

from __future__ import annotations

from lineproof.check.accept import FOUND_ON_PAPER
from lineproof.paper.rules import RULES


def test_the_rules_of_the_paper_are_known_to_acceptance() -> None:
    assert {rule.name for rule in RULES} == FOUND_ON_PAPER
