"""What each wish of the planner came to, beside what it is proven to be at least."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.base.spot import Spot
from lineproof.graph.signal import routes
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


def as_planned(terms: tuple[Term, ...], show: Show, plan: Plan) -> tuple[Term, ...]:
    """Give the terms with moves, and channels off their number, counted in the plan itself.

    While acts are decided only the least that a choice of sockets costs is known.
    """
    if not show.acts:
        return terms
    moves = sum(
        1
        for change in changeovers(show, plan)
        for move in change.moves
        if move.counts or move.how in (How.PHANTOM, How.ROUTE)
    )
    counted = {
        "moves": moves * show.weights.move_m,
        "off number": len(off_number(show, plan)) * show.weights.off_number_m,
    }
    more = sum(counted[t.name] - t.value for t in terms if t.name in counted)
    total = {t.name: t.value + more for t in terms if t.name == "sum"}
    return tuple(replace(t, value={**counted, **total}.get(t.name, t.value)) for t in terms)


def off_number(show: Show, plan: Plan) -> frozenset[Spot]:
    """Give the receive channels of mixers that are not those the box's number implies."""
    found = set()
    for route in routes(show, plan):
        mixer, box = show.units[route.receive.unit].kind, show.units[route.send.unit]
        numbering = box.kind.numbering
        if mixer.follows_numbers and numbering is not None and box.number is not None:
            implied = numbering.receive_channel(unit_number=box.number, socket=route.send.number)
            if implied != route.receive.number:
                found.add(route.receive)
    return frozenset(found)
