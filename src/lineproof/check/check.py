"""A check: a rule and the function that looks for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.finding import Finding
from lineproof.base.rule import Rule
from lineproof.decide.streams.asked import Needs
from lineproof.decide.streams.needs import needs_of
from lineproof.decide.streams.ways import hops_of
from lineproof.plan.model import Plan
from lineproof.reckon.delay_figures import NetworkFigures
from lineproof.reckon.figures import Figures
from lineproof.show.model import Show

#: Names that one finding repeats at most; the rest are counted.
MOST_TOLD = 10


def some(names: tuple[str, ...]) -> str:
    """Give the first names in words, and how many more there are.

    >>> some(("booth", "van")), some(tuple("abcdefghijkl"))
    ('booth, van', 'a, b, c, d, e, f, g, h, i, j and 2 more')
    """
    more = f" and {len(names) - MOST_TOLD} more" if len(names) > MOST_TOLD else ""
    return ", ".join(names[:MOST_TOLD]) + more


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What a check may look at. `plan` is the one the command works on, empty if there is none.

    `network` is None where no network is planned, or its figures were not asked for.
    """

    show: Show
    plan: Plan
    figures: Figures
    network: NetworkFigures | None = None

    @cached_property
    def needs(self) -> Needs:
        """Give what streams must carry, worked out once for all that look at it."""
        return needs_of(self.show, self.plan, hops_of(self.show, self.plan.network))


@dataclass(frozen=True, kw_only=True)
class Check:
    """A rule, and what looks for it."""

    rule: Rule
    find: Callable[[Facts], Iterable[Finding]]
