"""The solver's own door, without the tables and arrays that its usual one brings along.

`ortools.sat.python.cp_model` loads pandas and numpy, for series of variables that nobody asks for
here; that takes four times as long as the solver itself, each time somebody plans. This module
has what we use of it, under the same names, over the same extension module. The version of
ortools is locked, and a test holds this door against the usual one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from ortools.sat.python import cp_model_helper as helper
from ortools.util.python.sorted_interval_list import Domain  # type: ignore[import-untyped]

LinearExpr = helper.LinearExpr
FlatIntExpr = helper.FlatIntExpr
IntVar = helper.IntVar

OPTIMAL = helper.CpSolverStatus.OPTIMAL
FEASIBLE = helper.CpSolverStatus.FEASIBLE
INFEASIBLE = helper.CpSolverStatus.INFEASIBLE

Rule = helper.BoundedLinearExpression

#: Bounds from here on are none.
NO_BOUND = 2**62

_BOOL = Domain(0, 1)


class Sum(NamedTuple):
    """A condition: a sum of variables, by their numbers and weights, lies in bounds (in twos)."""

    variables: Sequence[int]
    weights: Sequence[int]
    bounds: Sequence[int]


def _sum(rule: Rule) -> Sum:
    """Give a condition with what has no variable brought to its bounds."""
    bounds = rule.bounds.flattened_intervals()
    if rule.offset:
        bounds = [b if abs(b) >= NO_BOUND else b - rule.offset for b in bounds]
    return Sum([var.index for var in rule.vars], rule.coeffs, bounds)


class CpModel:
    """A model: whole numbers between bounds, sums of them between bounds, one sum to make least.

    `proto` is the model as the solver takes it. `ranges` holds the least and the most of each
    variable, `sums` the conditions on sums: to read them back from `proto` takes ten times as long.
    `broken` says that a condition without variables can't be kept.
    """

    def __init__(self) -> None:
        self.proto = helper.CpModelProto()
        self.ranges: list[tuple[int, int]] = []
        self.sums: list[Sum] = []
        self.broken = False

    def new_bool_var(self, name: str) -> IntVar:
        """Give a new variable that is 0 or 1."""
        self.ranges.append((0, 1))
        return IntVar(self.proto).with_name(name).with_domain(_BOOL)

    def new_int_var(self, low: int, high: int, name: str) -> IntVar:
        """Give a new variable from `low` to `high`."""
        self.ranges.append((low, high))
        return IntVar(self.proto).with_name(name).with_domain(Domain(low, high))

    def copy_variable(self, other: CpModel, index: int) -> None:
        """Add a variable like that of another model."""
        self.ranges.append(other.ranges[index])
        self.proto.variables.add().copy_from(other.proto.variables[index])

    def get_int_var_from_proto_index(self, index: int) -> IntVar:
        """Give the variable of that number."""
        return IntVar(self.proto, index)

    def add(self, rule: Rule | bool) -> None:
        """Add a condition; one that is False without variables can't be kept."""
        if isinstance(rule, Rule):
            self.add_sum(_sum(rule))
        elif not rule:
            self.broken = True
            # At least one of nothing: no solution keeps that.
            self.proto.constraints.add().bool_or.literals.extend([])

    def add_sum(self, rule: Sum) -> None:
        """Add a condition on a sum."""
        self.sums.append(rule)
        linear = self.proto.constraints.add().linear
        linear.vars.extend(rule.variables)
        linear.coeffs.extend(rule.weights)
        linear.domain.extend(rule.bounds)

    def add_exactly_one(self, some: Iterable[IntVar]) -> None:
        """Let just one of them be 1."""
        self.proto.constraints.add().exactly_one.literals.extend([var.index for var in some])

    def add_at_most_one(self, some: Iterable[IntVar]) -> None:
        """Let at most one of them be 1."""
        self.proto.constraints.add().at_most_one.literals.extend([var.index for var in some])

    def minimize(self, wish: LinearExpr | int) -> None:
        """Make the sum least."""
        self._wish(wish, sign=1)

    def maximize(self, wish: LinearExpr | int) -> None:
        """Make the sum most."""
        self._wish(wish, sign=-1)

    def _wish(self, wish: LinearExpr | int, *, sign: int) -> None:
        self.clear_objective()
        objective = self.proto.objective
        if isinstance(wish, int):
            objective.offset, objective.scaling_factor = float(wish), 1.0
            return
        terms = FlatIntExpr(wish)
        objective.vars.extend([var.index for var in terms.vars])
        objective.coeffs.extend([sign * weight for weight in terms.coeffs])
        # The solver tells the value as scaling_factor * (sum + offset).
        objective.offset, objective.scaling_factor = float(sign * terms.offset), float(sign)

    def clear_objective(self) -> None:
        """Make nothing least any more."""
        self.proto.clear_objective()

    def hint(self, values: Sequence[int]) -> None:
        """Begin the search at these values of all variables, instead of those hinted before."""
        self.proto.clear_solution_hint()
        self.proto.solution_hint.vars.extend(range(len(values)))
        self.proto.solution_hint.values.extend(values)

    def clone(self) -> CpModel:
        """Give a copy."""
        copy = CpModel()
        copy.proto.copy_from(self.proto)
        copy.ranges, copy.sums, copy.broken = [*self.ranges], [*self.sums], self.broken
        return copy


class CpSolver:
    """Solves models with one set of parameters, and keeps the last answer."""

    def __init__(self) -> None:
        self.parameters = helper.SatParameters()
        self.response_proto = helper.CpSolverResponse()

    def solve(self, model: CpModel) -> helper.CpSolverStatus:
        """Give the status of the answer."""
        wrapper = helper.SolveWrapper()
        wrapper.set_parameters(self.parameters)
        self.response_proto = wrapper.solve(model.proto)  # type: ignore[no-untyped-call]
        status: helper.CpSolverStatus = self.response_proto.status
        return status

    def value(self, expression: LinearExpr | int) -> int:
        """Give what a sum comes to in the last answer."""
        return helper.ResponseHelper.value(self.response_proto, expression)

    @property
    def objective_value(self) -> float:
        """Give what was made least or most."""
        return self.response_proto.objective_value

    @property
    def best_objective_bound(self) -> float:
        """Give what it is proven not to be better than."""
        return self.response_proto.best_objective_bound
