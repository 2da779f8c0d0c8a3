"""The parts of a model that share nothing: each is decided alone, and soon."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lineproof.decide import solver as cp_model

#: Parts with fewer variables than this are decided together, as a solver needs a while to start;
#: no larger ones, as two that share nothing take far longer together than one by one.
LEAST_VARIABLES = 60

#: A sum of variables by index, with a constant: what one term of a wish is once it is spread out.
Sum = tuple[dict[int, int], int]


@dataclass(frozen=True, kw_only=True)
class Part:
    """A model of some of the variables; `index` gives their numbers in it by those in the whole."""

    cp: cp_model.CpModel
    index: Mapping[int, int]

    def var(self, whole: int) -> cp_model.IntVar:
        """Give the variable that has the number `whole` in the whole model."""
        return self.cp.get_int_var_from_proto_index(self.index[whole])

    def expression(self, terms: Iterable[Sum]) -> cp_model.LinearExpr | int:
        """Give the sum of the terms, which must be of this part."""
        variables: list[cp_model.IntVar] = []
        weights: list[int] = []
        constant = 0
        for found, offset in terms:
            variables += [self.var(i) for i in found]
            weights += found.values()
            constant += offset
        return cp_model.LinearExpr.weighted_sum(variables, weights) + constant


def spread_out(term: cp_model.LinearExpr | int) -> Sum:
    """Give an expression as weights by the numbers of its variables, and a constant."""
    if isinstance(term, int):
        return {}, term
    flat = cp_model.FlatIntExpr(term)
    found: dict[int, int] = {}
    for var, weight in zip(flat.vars, flat.coeffs, strict=True):
        found[var.index] = found.get(var.index, 0) + weight
    return found, flat.offset


def parts_of(whole: cp_model.CpModel, terms: Iterable[Sum]) -> list[Part] | None:
    """Give the parts of a model, in the order of their first variables; None: it can't be solved.

    Two variables belong together if a condition that could be broken, or a term, has both.
    Conditions must be sums between bounds.
    """
    if whole.broken:
        return None
    groups = _Groups(len(whole.ranges))
    rules = [rule for rule in whole.sums if _can_break(rule, whole.ranges)]
    for rule in rules:
        groups.join(rule.variables)
    for term, _ in terms:
        groups.join(list(term))
    return _made(whole, rules, groups.batches())


def _can_break(rule: cp_model.Sum, ranges: Sequence[tuple[int, int]]) -> bool:
    low = high = 0
    for var, weight in zip(rule.variables, rule.weights, strict=True):
        least, most = ranges[var]
        if weight < 0:
            least, most = most, least
        low, high = low + least * weight, high + most * weight
    return low < rule.bounds[0] or high > rule.bounds[-1]


def _made(
    whole: cp_model.CpModel, rules: Iterable[cp_model.Sum], batches: Sequence[Sequence[int]]
) -> list[Part]:
    made: list[Part] = []
    of: dict[int, int] = {}
    for at, batch in enumerate(batches):
        cp = cp_model.CpModel()
        for var in batch:
            cp.copy_variable(whole, var)
            of[var] = at
        made.append(Part(cp=cp, index={var: n for n, var in enumerate(batch)}))
    for rule in rules:
        part = made[of[rule.variables[0]]]
        part.cp.add_sum(rule._replace(variables=[part.index[var] for var in rule.variables]))
    return made


class _Groups:
    """Which numbers belong together (union-find; the least of a group stands for it)."""

    def __init__(self, count: int) -> None:
        self.above = list(range(count))

    def top(self, one: int) -> int:
        while self.above[one] != one:
            self.above[one] = self.above[self.above[one]]
            one = self.above[one]
        return one

    def join(self, some: Sequence[int]) -> None:
        tops = {self.top(one) for one in some}
        least = min(tops, default=0)
        for other in tops:
            self.above[other] = least

    def batches(self) -> list[list[int]]:
        """Give the groups, small ones together, each number in order."""
        groups: dict[int, list[int]] = {}
        for one in range(len(self.above)):
            groups.setdefault(self.top(one), []).append(one)
        found: list[list[int]] = []
        for group in groups.values():
            if found and len(found[-1]) + len(group) <= LEAST_VARIABLES:
                found[-1] += group
            else:
                found.append(list(group))
        return found
