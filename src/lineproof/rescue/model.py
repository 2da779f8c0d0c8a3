"""The model of one rescue: what is gained, what it takes, and the best of it step by step."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from lineproof.decide import solver as cp

#: Counted work, not time: the same on every machine.
_MOST_WORK = 20.0

Sum = cp.LinearExpr | int


@dataclass(frozen=True, kw_only=True)
class Settled:
    """The values of all variables, none where nothing was found; `proven`: nothing is better.

    `steps`: what the moves come to.
    """

    values: tuple[int, ...]
    proven: bool
    steps: int = 0

    def has(self, var: cp.IntVar) -> bool:
        """Say whether something is to be done."""
        return bool(self.values[var.index])


class Model:
    """Yes-or-no variables and sums: `gains` to be made most, then `moves`, then `metres` least."""

    def __init__(self) -> None:
        self.cp = cp.CpModel()
        self.gains: list[Sum] = []
        self.moves: list[Sum] = []
        self.metres: list[Sum] = []
        self._yes: list[cp.IntVar] = []
        self._steps: dict[Hashable, cp.IntVar] = {}

    def yes(self, name: str) -> cp.IntVar:
        """Give a new variable that is 0 or 1."""
        var = self.cp.new_bool_var(name)
        self._yes.append(var)
        return var

    def whole(self, most: int, name: str) -> cp.IntVar:
        """Give a new whole number from 0 on."""
        return self.cp.new_int_var(0, most, name)

    def add(self, rule: cp.Rule | bool) -> None:
        """Add a condition."""
        self.cp.add(rule)

    def step(self, key: Hashable) -> cp.IntVar:
        """Give whether one thing is done that counts as a move, once for all who need it."""
        if key not in self._steps:
            self._steps[key] = self.yes("step")
            self.moves.append(self._steps[key])
        return self._steps[key]

    def same(self, one: cp.IntVar, other: cp.IntVar | int, *, most: int, given: Sum) -> None:
        """Let two numbers of at most `most` apart be equal where `given` is 1."""
        self.add(one - other <= most * (1 - given))
        self.add(other - one <= most * (1 - given))

    def settle(self) -> Settled:
        """Make each sum best in turn, and keep it so."""
        solver = cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        # Whole rows for the relaxation: a box of leads is then settled in 0.1 s instead of minutes.
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = _MOST_WORK
        # Weights that leave one best answer, whatever way the solver takes.
        tie = sum(var * (1 + n * 7919 % 10_007) for n, var in enumerate(self._yes))
        values: list[int] = []
        proven = True
        for wish in (-sum(self.gains), sum(self.moves), sum(self.metres), tie):
            if isinstance(wish, int):
                continue  # there is nothing of the sort to choose
            self.cp.minimize(wish)
            if values:
                self.cp.hint(values)
            status = solver.solve(self.cp)
            if status not in (cp.OPTIMAL, cp.FEASIBLE):
                return Settled(values=tuple(values), proven=False)
            proven = proven and status == cp.OPTIMAL
            values = list(solver.response_proto.solution)
            self.add(wish <= solver.value(wish))
        steps = solver.value(sum(self.moves)) if values else 0
        return Settled(values=tuple(values), proven=proven, steps=steps)
