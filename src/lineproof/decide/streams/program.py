"""A linear or whole-number program, solved by counted work: same answer on any computer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.math_opt import model_pb2  # type: ignore[import-untyped]


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Values of the variables; nothing better than `bound` exists. `duals` by row, if asked."""

    values: tuple[float, ...]
    objective: float
    bound: float
    duals: tuple[float, ...] = ()


class Program:
    """Variables and rows, collected and then solved; always to be made least."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.highs: list[float] = []
        self.wholes: list[bool] = []
        self.rows: list[tuple[float, float, list[tuple[int, float]]]] = []

    def variable(self, cost: float, *, most: float = float("inf"), whole: bool = True) -> int:
        """Add a variable of at least 0; give its number."""
        self.costs.append(cost)
        self.highs.append(most)
        self.wholes.append(whole)
        return len(self.costs) - 1

    def row(
        self,
        terms: Iterable[tuple[int, float]],
        *,
        least: float = float("-inf"),
        most: float = float("inf"),
    ) -> int:
        """Add a row; terms of one variable are added up. Give its number."""
        summed: dict[int, float] = {}
        for variable, factor in terms:
            summed[variable] = summed.get(variable, 0.0) + factor
        self.rows.append((least, most, sorted(summed.items())))
        return len(self.rows) - 1

    def whole(self, *, nodes: int, close: float) -> Answer | None:
        """Give a whole-number answer proved within `close` of the best, or after so many nodes.

        None where none was found.
        """
        from ortools.math_opt.python import mathopt  # type: ignore[import-untyped]
        from ortools.math_opt.solvers import highs_pb2  # type: ignore[import-untyped]

        # One thread in every model of the process: with differing counts HiGHS gives nothing.
        options = highs_pb2.HighsOptionsProto()
        options.int_options["threads"] = 1
        options.int_options["random_seed"] = 1
        options.int_options["mip_max_nodes"] = nodes
        options.double_options["mip_rel_gap"] = 0.0
        options.double_options["mip_abs_gap"] = close
        # Sets have no symmetry, and a start comes from elsewhere. No difference in time was seen.
        options.double_options["mip_heuristic_effort"] = 0.0
        options.bool_options["mip_detect_symmetry"] = False
        result = mathopt.solve(
            mathopt.Model.from_model_proto(self._proto(linear=False)),
            mathopt.SolverType.HIGHS,
            params=mathopt.SolveParameters(highs=options),
        )
        if not result.has_primal_feasible_solution():
            return None
        values = result.variable_values()
        return Answer(
            values=tuple(values[v] for v in sorted(values, key=lambda v: v.id)),
            objective=result.objective_value(),
            bound=min(result.termination.objective_bounds.dual_bound, result.objective_value()),
        )

    def linear(self) -> Answer | None:
        """Give the best answer with fractions, and the price of every row."""
        from ortools.math_opt.python import mathopt

        result = mathopt.solve(
            mathopt.Model.from_model_proto(self._proto(linear=True)), mathopt.SolverType.GLOP
        )
        if result.termination.reason != mathopt.TerminationReason.OPTIMAL:
            return None
        values, duals = result.variable_values(), result.dual_values()
        return Answer(
            values=tuple(values[v] for v in sorted(values, key=lambda v: v.id)),
            objective=result.objective_value(),
            bound=result.objective_value(),
            duals=tuple(duals[c] for c in sorted(duals, key=lambda c: c.id)),
        )

    def _proto(self, *, linear: bool) -> model_pb2.ModelProto:
        from ortools.math_opt import model_pb2

        proto = model_pb2.ModelProto()
        count = len(self.costs)
        proto.variables.ids.extend(range(count))
        proto.variables.lower_bounds.extend([0.0] * count)
        proto.variables.upper_bounds.extend(self.highs)
        proto.variables.integers.extend([False] * count if linear else self.wholes)
        proto.objective.linear_coefficients.ids.extend(range(count))
        proto.objective.linear_coefficients.values.extend(self.costs)
        proto.linear_constraints.ids.extend(range(len(self.rows)))
        proto.linear_constraints.lower_bounds.extend(low for low, _, _ in self.rows)
        proto.linear_constraints.upper_bounds.extend(high for _, high, _ in self.rows)
        matrix = proto.linear_constraint_matrix
        for number, (_, _, terms) in enumerate(self.rows):
            matrix.row_ids.extend([number] * len(terms))
            matrix.column_ids.extend(variable for variable, _ in terms)
            matrix.coefficients.extend(factor for _, factor in terms)
        return proto
