"""One wish after the other: each level is made best, then kept while the next is."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ortools.sat.python import cp_model

from lineproof.decide import wishes
from lineproof.decide.classes import PlugId
from lineproof.decide.model import Linear, PatchModel
from lineproof.decide.terms import Term

#: Counted work, never the clock: the same show stops at the same place on every machine.
MOST_WORK = 60.0


class Impossible(Exception):
    """No solution at all keeps the hard conditions."""


class Undecided(Exception):
    """The counted work ran out before any solution was found."""


class Solution:
    """The values of the variables at the best solution found."""

    def __init__(self, solver: cp_model.CpSolver) -> None:
        self._solver = solver

    def value(self, expression: Linear) -> int:
        """Give the value of an expression."""
        return int(self._solver.value(expression))


class TooNear(Exception):
    """The best that was seen sends plugs far: they must be offered more."""

    def __init__(self, far: frozenset[PlugId]) -> None:
        super().__init__()
        self.far = far


def solve(model: PatchModel, progress: Callable[[str], None]) -> tuple[Solution, tuple[Term, ...]]:
    """Give the best solution, level by level, and what each level came to.

    Raises Impossible when the hard conditions clash, Undecided when the counted work runs out,
    TooNear when the model does not hold the best there is.
    """
    wanted = (
        ("left out", wishes.left_out(model)),
        ("labels moved", wishes.moved(model)),
        ("pairs apart", wishes.apart(model)),
        ("bunched", wishes.bunched(model)),
    )
    parts: tuple[tuple[str, Linear], ...] = (
        ("leads", wishes.leads(model)),
        ("groups", wishes.groups(model)),
        ("off number", wishes.off_numbers(model)),
    )
    if model.show.acts:
        parts = (*parts, ("moves", wishes.moves(model)))
    runner = _Runner(model, progress)
    bounds = runner.settle(wanted, sum(expression for _, expression in parts))
    runner.settle_far()
    if model.gone:
        runner.best("who goes without", wishes.who_goes(model))
    solution = runner.tie_break(wishes.tie_break(model))
    return solution, _terms(solution, wanted, parts, bounds)


def _terms(
    solution: Solution,
    wanted: Iterable[tuple[str, Linear]],
    parts: Iterable[tuple[str, Linear]],
    bounds: dict[str, float],
) -> tuple[Term, ...]:
    terms = [
        Term(name=name, value=solution.value(expression), bound=bounds[name], unit="")
        for name, expression in wanted
    ]
    metres = [
        Term(name=name, value=solution.value(expression) / 1000, bound=None, unit="m")
        for name, expression in parts
    ]
    total = sum(t.value for t in metres)
    return (*terms, *metres, Term(name="sum", value=total, bound=bounds["sum"] / 1000, unit="m"))


class _Runner:
    def __init__(self, model: PatchModel, progress: Callable[[str], None]) -> None:
        self.model = model
        self.cp = model.cp
        self.progress = progress
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = 1
        self.solver.parameters.random_seed = 1
        self.solver.parameters.max_deterministic_time = MOST_WORK

    def settle(self, wanted: Iterable[tuple[str, Linear]], metres: Linear) -> dict[str, float]:
        """Settle every wish and then the metres; gives the proven bound of each."""
        real = [(name, wish) for name, wish in wanted if not isinstance(wish, int)]
        bounds: dict[str, float] = {name: 0.0 for name, _ in wanted}
        least = self._all_granted([wish for _, wish in real], metres)
        if least is not None:
            return {**bounds, "sum": least}
        for name, wish in real:
            bounds[name] = self.best(name, wish)
            if name == "labels moved":
                self._open_what_moves()
        return {**bounds, "sum": self.best("metres", metres)}

    def _all_granted(self, wanted: list[Linear], metres: Linear) -> float | None:
        """Settle the metres with all other wishes granted, as most shows can; None: can't be."""
        whole = self.cp
        self.cp = whole.clone()
        for wish in wanted:
            self.cp.add(wish == 0)
        try:
            return self.best("metres", metres)
        except (Impossible, Undecided):
            self.cp = whole
            return None

    def _open_what_moves(self) -> None:
        """See at once who could make room, where something that hangs has to move."""
        closed = self.model.reach.closed
        moving = frozenset(i for i in self._far() if i in closed)
        if moving:
            raise TooNear(moving)

    def settle_far(self) -> None:
        """Make sure that nothing goes far, so that what is best here is the best there is."""
        if far := self._far():
            raise TooNear(far)
        for var in self.model.far.values():
            self.cp.add(var == 0)

    def _far(self) -> frozenset[PlugId]:
        return frozenset(i for i, var in self.model.far.items() if self.solver.value(var))

    def best(self, name: str, wish: Linear) -> float:
        """Make one level best and keep it so; gives its proven bound."""
        self.progress(f"deciding: {name}")
        if not isinstance(wish, int):
            self.cp.minimize(wish)
        self._solve()
        self._hint()
        if isinstance(wish, int):
            return float(wish)
        found = round(self.solver.objective_value)
        bound = self.solver.best_objective_bound
        self.cp.clear_objective()  # type: ignore[no-untyped-call]  # ortools leaves it untyped
        self.cp.add(wish <= found)
        return bound

    def tie_break(self, wish: Linear) -> Solution:
        """Choose the one solution among equals."""
        self.progress("deciding: order")
        if not isinstance(wish, int):
            self.cp.minimize(wish)
        self._solve()
        return Solution(self.solver)

    def _solve(self) -> None:
        status = self.solver.solve(self.cp)
        if status == cp_model.INFEASIBLE:
            raise Impossible
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise Undecided

    def _hint(self) -> None:
        self.cp.clear_hints()  # type: ignore[no-untyped-call]  # ortools leaves it untyped
        for var in (*self.model.single.values(), *self.model.paired.values()):
            self.cp.add_hint(var, self.solver.value(var))
