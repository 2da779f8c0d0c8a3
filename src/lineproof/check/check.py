"""A check: a rule and the function that looks for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from lineproof.base.finding import Finding
from lineproof.base.rule import Rule
from lineproof.plan.model import Plan
from lineproof.reckon.figures import Figures
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What a check may look at. `plan` is the one the command works on, empty if there is none."""

    show: Show
    plan: Plan
    figures: Figures


@dataclass(frozen=True, kw_only=True)
class Check:
    """A rule, and what looks for it."""

    rule: Rule
    find: Callable[[Facts], Iterable[Finding]]
