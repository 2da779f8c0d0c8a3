"""One wish after the other: each level is made best, then kept while the next is."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from lineproof.decide import solver as cp_model
from lineproof.decide import wishes
from lineproof.decide.model import Linear, PatchModel
from lineproof.decide.parts import LEAST_VARIABLES, Part, Sum, parts_of, spread_out
from lineproof.decide.problem import PlugId
from lineproof.decide.terms import Term

#: Counted work for one level of one part, never the clock: the same show stops at the same place
#: on every machine.
MOST_WORK = 8.0

#: The wishes in their order, and after them what is counted in metres together.
WISHES = ("left out", "labels moved", "pairs apart", "bunched")
METRES = "metres"
#: Levels that only choose among equals.
EQUALS = ("who goes without", "order")


class Impossible(Exception):
    """No solution at all keeps the hard conditions."""


class Undecided(Exception):
    """The counted work ran out before any solution was found."""


class TooNear(Exception):
    """The best that was seen sends plugs far: they must be offered more."""

    def __init__(self, far: frozenset[PlugId]) -> None:
        super().__init__()
        self.far = far


@dataclass(frozen=True, kw_only=True)
class Solution:
    """The values of the variables at the best solution found, by their number."""

    values: dict[int, int]

    def value(self, expression: Linear) -> int:
        """Give the value of an expression."""
        found, constant = spread_out(expression)
        return constant + sum(weight * self.values[i] for i, weight in found.items())


def solve(model: PatchModel, progress: Callable[[str], None]) -> tuple[Solution, tuple[Term, ...]]:
    """Give the best solution, level by level, and what each level came to.

    Parts that share nothing are decided one by one: the best of each is the best of all, as every
    wish is a sum of theirs. Raises Impossible when the hard conditions clash, Undecided when the
    counted work runs out, TooNear when the model does not hold the best there is.
    """
    wanted = {
        "left out": wishes.left_out(model),
        "labels moved": wishes.moved(model),
        "pairs apart": wishes.apart(model),
        "bunched": wishes.bunched(model),
    }
    metres = {
        "leads": wishes.leads(model),
        "groups": wishes.groups(model),
        "off number": wishes.off_numbers(model),
    }
    if model.show.acts:
        metres["moves"] = wishes.moves(model)
    levels = {**wanted, METRES: [t for terms in metres.values() for t in terms]}
    equals = dict(zip(EQUALS, (wishes.who_goes(model), wishes.tie_break(model)), strict=True))
    whole = {name: [spread_out(t) for t in terms] for name, terms in {**levels, **equals}.items()}
    parts = parts_of(model.cp, [term for terms in whole.values() for term in terms])
    if parts is None:
        raise Impossible
    # A wish's terms without variables stand in no part.
    bounds = {name: float(sum(c for found, c in whole[name] if not found)) for name in levels}
    values = _settled(model, parts, whole, bounds, progress)
    solution = Solution(values=values)
    return solution, _terms(solution, wanted, metres, bounds)


def _settled(
    model: PatchModel,
    parts: list[Part],
    whole: dict[str, list[Sum]],
    bounds: dict[str, float],
    progress: Callable[[str], None],
) -> dict[int, int]:
    """Give the values of all variables, part by part; adds to the bounds what is proven."""
    runners = [
        _Runner(part, progress, f"part {n} of {len(parts)}") for n, part in enumerate(parts, 1)
    ]
    of = {var: at for at, part in enumerate(parts) for var in part.index}
    for name, terms in whole.items():
        for term in terms:
            if term[0]:
                runners[of[next(iter(term[0]))]].wishes.setdefault(name, []).append(term)
    far = {var.index: ident for ident, var in model.far.items()}
    closed = model.reach.closed
    went: set[PlugId] = set()
    for runner in runners:
        runner.far = {i: ident for i, ident in far.items() if i in runner.part.index}
        runner.closed = {i for i, ident in runner.far.items() if ident in closed}
        try:
            for name, bound in runner.settle().items():
                bounds[name] += bound
        except TooNear as near:
            went |= near.far
    if went:
        raise TooNear(frozenset(went))
    return {var: value for runner in runners for var, value in runner.values().items()}


def _terms(
    solution: Solution,
    wanted: dict[str, list[Linear]],
    metres: dict[str, list[Linear]],
    bounds: dict[str, float],
) -> tuple[Term, ...]:
    def found(terms: Iterable[Linear]) -> int:
        return sum(solution.value(term) for term in terms)

    counts = [
        Term(name=name, value=found(terms), bound=bounds[name], unit="")
        for name, terms in wanted.items()
    ]
    lengths = [
        Term(name=name, value=found(terms) / 1000, bound=None, unit="m")
        for name, terms in metres.items()
    ]
    total = sum(t.value for t in lengths)
    least = bounds[METRES] / 1000
    return (*counts, *lengths, Term(name="sum", value=total, bound=least, unit="m"))


class _Runner:
    """Decides one part, level by level."""

    def __init__(self, part: Part, progress: Callable[[str], None], name: str) -> None:
        self.part = part
        self.cp = part.cp
        self.name = name
        self.progress = progress
        self.wishes: dict[str, list[Sum]] = {}
        self.far: dict[int, PlugId] = {}
        self.closed: set[int] = set()
        self.solution: list[int] = []
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = 1
        self.solver.parameters.random_seed = 1
        self.solver.parameters.max_deterministic_time = MOST_WORK

    def settle(self) -> dict[str, float]:
        """Make every level best, one after the other; gives the proven bound of each."""
        if len(self.part.index) > LEAST_VARIABLES:
            self.progress(f"deciding: {self.name}")
        bounds = self._all_granted()
        if bounds is None:
            # Whether there is any plan is soon proved; with wishes to weigh it may take for ever.
            self._solve()
            bounds = {}
            for name in self._asked(WISHES):
                bounds[name] = self.best(name)
                if name == "labels moved":
                    # Where something that hangs has to move, see at once who could make room.
                    self._stop_at(self._went(self.closed))
            bounds[METRES] = self.best(METRES)
        self._stop_at(self._went(self.far))
        for i in self.far:
            self.cp.add(self.part.var(i) == 0)
        for name in self._asked(EQUALS):
            self.best(name)
        return bounds

    def _asked(self, names: Iterable[str]) -> list[str]:
        """Give the levels that have a say in this part."""
        return [name for name in names if name in self.wishes]

    def _all_granted(self) -> dict[str, float] | None:
        """Settle the metres with all other wishes granted, as most shows can; None: can't be."""
        whole = self.cp
        self.cp = whole.clone()
        for name in WISHES:
            for term in self.wishes.get(name, ()):
                self.cp.add(self.part.expression([term]) == 0)
        try:
            return {**dict.fromkeys(WISHES, 0.0), METRES: self.best(METRES)}
        except (Impossible, Undecided):
            self.cp = whole
            return None

    def best(self, name: str) -> float:
        """Make one level best and keep it so; gives its proven bound."""
        terms = self.wishes.get(name)
        if terms is None:
            self._solve()
            return 0.0
        wish = self.part.expression(terms)
        self.cp.minimize(wish)
        self._solve()
        found = round(self.solver.objective_value)
        self.cp.clear_objective()
        self.cp.add(wish <= found)
        return float(self.solver.best_objective_bound)

    def values(self) -> dict[int, int]:
        """Give the values found last, by the numbers of the whole model."""
        return dict(zip(self.part.index, self.solution, strict=True))

    @staticmethod
    def _stop_at(far: frozenset[PlugId]) -> None:
        if far:
            raise TooNear(far)

    def _went(self, far: Iterable[int]) -> frozenset[PlugId]:
        return frozenset(self.far[i] for i in far if self.solution[self.part.index[i]])

    def _solve(self) -> None:
        status = self.solver.solve(self.cp)
        if status == cp_model.INFEASIBLE:
            raise Impossible
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise Undecided
        self.solution = list(self.solver.response_proto.solution)
        self._hint()

    def _hint(self) -> None:
        self.cp.hint(self.solution)
