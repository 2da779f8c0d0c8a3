"""What each wish of the planner came to, beside what it is proven to be at least."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.plan.model import Plan
from lineproof.reckon.changeover import How, changeovers
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Term:
    """One wish: its value and its proven bound, both in `unit` ("" for a count).

    `bound` is None for a part of a sum that has a bound only as a whole.
    """

    name: str
    value: float
    bound: float | None
    unit: str

    @property
    def proven(self) -> bool:
        """Say whether nothing better exists."""
        return self.bound is not None and self.value <= self.bound + 1e-9


def with_moves(terms: tuple[Term, ...], show: Show, plan: Plan) -> tuple[Term, ...]:
    """Give the terms with the moves counted in the plan as it came out, act by act.

    While deciding only the least that a choice of sockets costs is known.
    """
    least = next((t.value for t in terms if t.name == "moves"), None)
    if least is None:
        return terms
    counted = sum(
        1
        for change in changeovers(show, plan)
        for move in change.moves
        if move.counts or move.how in (How.PHANTOM, How.ROUTE)
    )
    metres = counted * show.weights.move_m
    more = {
        "moves": metres,
        "sum": next(t.value for t in terms if t.name == "sum") + metres - least,
    }
    return tuple(replace(t, value=more.get(t.name, t.value)) for t in terms)
