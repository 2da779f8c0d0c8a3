"""A model in whole numbers: variables, rows between limits, and the least of a sum."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

#: Counted work, never the clock: nodes of the search tree.
MOST_NODES = 2_000


@dataclass(frozen=True, kw_only=True)
class Row:
    """A sum of variables between limits; None: no limit."""

    weights: Mapping[int, int]
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True, kw_only=True)
class Best:
    """The values found, by variable, and the bound proven for the sum."""

    values: tuple[int, ...]
    bound: float


@dataclass(kw_only=True)
class WholeModel:
    """Variables from 0 to a most, and rows. Solved by one thread with counted work."""

    most: list[int] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    hint: tuple[int, ...] = ()

    def var(self, most: int) -> int:
        """Add a variable; gives its number."""
        self.most.append(most)
        return len(self.most) - 1

    def add(
        self, terms: Iterable[tuple[int, int]], *, least: int | None = None, most: int | None = None
    ) -> None:
        """Add a row: a sum of (variable, weight) between limits."""
        self.rows.append(Row(weights=_summed(terms), least=least, most=most))

    def minimise(self, terms: Iterable[tuple[int, int]]) -> Best | None:
        """Give the values that make the sum least, None where nothing keeps to the rows."""
        # Slow to load, and not needed by whoever only reads a plan.
        # It brings no types of its own.
        from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]

        solver = pywraplp.Solver.CreateSolver("SCIP")
        solver.SetNumThreads(1)
        solver.SetSolverSpecificParametersAsString(f"limits/totalnodes = {MOST_NODES}\n")
        variables = [solver.IntVar(0, most, "") for most in self.most]
        for row in self.rows:
            least = -solver.infinity() if row.least is None else row.least
            most = solver.infinity() if row.most is None else row.most
            made = solver.Constraint(least, most)
            for at, weight in row.weights.items():
                made.SetCoefficient(variables[at], weight)
        objective = solver.Objective()
        for at, weight in _summed(terms).items():
            objective.SetCoefficient(variables[at], weight)
        objective.SetMinimization()
        if self.hint:
            solver.SetHint(variables, list(self.hint))
        status = solver.Solve()
        if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
            return None
        values = tuple(round(variable.solution_value()) for variable in variables)
        assert self.keeps(values), "the solver's answer, in whole numbers, keeps to no row"
        self.hint = values
        return Best(values=values, bound=objective.BestBound())

    def keeps(self, values: tuple[int, ...]) -> bool:
        """Say whether values keep to every row, reckoned in whole numbers."""
        return all(
            (row.least is None or total >= row.least) and (row.most is None or total <= row.most)
            for row in self.rows
            for total in [sum(weight * values[at] for at, weight in row.weights.items())]
        )


def _summed(terms: Iterable[tuple[int, int]]) -> dict[int, int]:
    """Give each variable once, with the sum of its weights, none of them 0."""
    found: dict[int, int] = {}
    for at, weight in terms:
        found[at] = found.get(at, 0) + weight
    return {at: weight for at, weight in found.items() if weight}
