"""Our own door to the solver holds the same model as the solver's usual one."""

from __future__ import annotations

import subprocess
import sys

from ortools.sat.python import cp_model

from lineproof.decide import solver

Door = type[cp_model.CpModel] | type[solver.CpModel]


def built(door: Door) -> cp_model.CpModel | solver.CpModel:
    """Give a model that holds one of everything we say."""
    cp = door()
    a, b = cp.new_bool_var("a"), cp.new_bool_var("b")
    n = cp.new_int_var(-3, 40, "n")
    cp.add(a + 2 * b <= 2)
    cp.add(n >= 3 * a - b + 1)
    cp.add(sum([a, b, n]) - 4 == 2 * n - 5)
    cp.add(a + 1 <= 7)
    cp.add_exactly_one([a, b])
    cp.add_at_most_one(var for var in (b, a))
    cp.minimize(5 * n - 2 * a + 7)
    return cp


def test_the_model_is_the_one_that_the_usual_door_makes() -> None:
    assert str(built(solver.CpModel).proto) == str(built(cp_model.CpModel).proto)


def test_the_most_and_a_wish_without_variables_are_the_same_too() -> None:
    ours, theirs = built(solver.CpModel), built(cp_model.CpModel)
    for cp in (ours, theirs):
        cp.maximize(3 * cp.get_int_var_from_proto_index(2) - 4)
    assert str(ours.proto) == str(theirs.proto)
    for cp in (ours, theirs):
        cp.minimize(3)
    assert str(ours.proto) == str(theirs.proto)


def test_it_finds_what_the_usual_door_finds() -> None:
    ours, theirs = solver.CpSolver(), cp_model.CpSolver()
    first, second = built(solver.CpModel), built(cp_model.CpModel)
    assert ours.solve(first) == theirs.solve(second) == solver.OPTIMAL
    assert ours.objective_value == theirs.objective_value
    assert ours.best_objective_bound == theirs.best_objective_bound
    assert list(ours.response_proto.solution) == list(theirs.response_proto.solution)


def test_a_condition_of_nothing_that_is_not_kept_leaves_no_solution() -> None:
    cp = solver.CpModel()
    cp.new_bool_var("a")
    cp.add(rule=False)
    assert cp.broken
    assert solver.CpSolver().solve(cp) == solver.INFEASIBLE


def test_hints_stand_once_and_copies_are_apart() -> None:
    cp = built(solver.CpModel)
    cp.hint([0, 1, 2])
    cp.hint([1, 0, 3])
    copy = cp.clone()
    copy.add(copy.get_int_var_from_proto_index(0) == 0)
    assert list(cp.proto.solution_hint.values) == [1, 0, 3]
    assert len(copy.proto.constraints) == len(cp.proto.constraints) + 1
    assert len(copy.sums) == len(cp.sums) + 1


def test_planning_loads_neither_tables_nor_arrays() -> None:
    program = (
        "import sys; import lineproof.decide.levels, lineproof.decide.refusal; "
        "from lineproof.decide import solver; "
        "cp = solver.CpModel(); a = cp.new_bool_var('a'); cp.add(a + a <= 1); cp.minimize(-a + 1); "
        "solver.CpSolver().solve(cp); "
        "print([name for name in ('numpy', 'pandas') if name in sys.modules])"
    )
    command = [sys.executable, "-c", program]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
