"""The fast sweep says what the plain method says: states line by line, lost ends pair by pair."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Sequence

import pytest
from ortools.sat.python import cp_model

from lineproof.drill.calm import Calm
from lineproof.drill.group import pair_groups
from lineproof.drill.lose import lose
from lineproof.drill.pairs import Pair, Pairs, all_pairs
from lineproof.drill.planes import bits, places_of
from lineproof.drill.shapes import Path, Shape
from lineproof.drill.sweep import Sight, Swept, state_in, swept
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.kit.kinds import Does
from tests.drill.shows import ROOM, ready

#: An insert, a change-over unit, a standby by hand, all in one.
MORE = ROOM.replace(
    "  pa: {kind", "  co: {kind: change-over-network, place: front, circuit: right}\n  pa: {kind"
).replace("standby: play-2", "standby: play-2, by: 'changeover:co'") + (
    "  - {number: 5, name: Back, from: rec-2, to: desk, back-to: 2}\n"
)
NAMES = ["small", "hall", ROOM, MORE]


def plainly(known: Calm, faults: Sequence[Fault]) -> list[tuple[State, int]]:
    drilled = lose(known.show, known.plan, faults, ready=known, only_arrival=True)
    return [(v.state, len(v.lost)) for v in drilled.verdicts]


def swiftly(fast: Swept, sets: Sequence[Iterable[int]]) -> list[list[tuple[State, int]]]:
    sight = Sight(swept=fast, planes=fast.cases(sets))
    lines = sight.lines()
    return [
        [
            (
                state_in(stands, case),
                sum(sight.shapes[shape][4] >> case & 1 for shape in shapes),
            )
            for stands, shapes in zip(lines, fast.line_shapes, strict=True)
        ]
        for case in range(len(sets))
    ]


@pytest.mark.parametrize("name", NAMES)
def test_every_single_fault_has_the_plain_methods_verdicts(name: str) -> None:
    known = ready(name)
    fast = swept(known)
    found = swiftly(fast, [[at] for at in range(len(fast.classes))])
    for members, verdicts in zip(fast.classes.members, found, strict=True):
        # Ends written twice, as a pair of channels, are one shape each: so counts agree too.
        assert verdicts == plainly(known, members[-1:]), members


@pytest.mark.parametrize("name", NAMES)
def test_pairs_and_threes_drawn_at_random_too(name: str) -> None:
    known = ready(name)
    fast = swept(known)
    rng = random.Random(3)
    sets = [rng.sample(range(len(fast.classes)), 2 + n % 2) for n in range(120)]
    for struck, verdicts in zip(sets, swiftly(fast, sets), strict=True):
        faults = [fast.classes.members[at][0] for at in struck]
        assert verdicts == plainly(known, faults), faults


@pytest.mark.parametrize("name", NAMES)
def test_pairs_lose_what_trying_them_all_loses(name: str) -> None:
    """Brute force: every pair as a case of its own."""
    fast = swept(ready(name))
    found = all_pairs(fast)
    pairs = list(itertools.combinations(range(len(fast.classes)), 2))
    sight = Sight(swept=fast, planes=fast.cases(pairs))
    lost: list[set[int]] = [set() for _ in pairs]
    for at, stands in enumerate(sight.shapes):
        for case in places_of(stands[4]):
            lost[case].add(at)
    assert [found.lost(*pair) for pair in pairs] == [frozenset(each) for each in lost]
    count = sum(map(len, fast.classes.members))
    assert found.tried == count * (count - 1) // 2


def test_minimal_causes_are_those_that_a_constraint_solver_finds() -> None:
    """Every set of at most two classes that parts an end, by CP-SAT over cuts of the graph."""
    fast = swept(ready(ROOM))
    found = all_pairs(fast)
    most = sorted(range(len(fast.shapes)), key=lambda at: -len(_pairs_of(found, at)))
    assert _pairs_of(found, most[0])
    for at in most[:2]:
        singles = {(n,) for n, lost in enumerate(found.single) if at in lost}
        assert solved(fast, fast.shapes[at]) == singles | _pairs_of(found, at)


def _pairs_of(found: Pairs, shape: int) -> set[tuple[int, ...]]:
    return {pair for pair, lost in found.together.items() if shape in lost}


def solved(fast: Swept, shape: Shape) -> set[tuple[int, ...]]:
    """Give all minimal sets of one or two classes after which the end is lost."""
    found: set[tuple[int, ...]] = set()
    model = cp_model.CpModel()
    struck = [model.new_bool_var(f"class {n}") for n in range(len(fast.classes))]
    _Cut(model, fast, struck).end_is_lost(shape)
    model.add(sum(struck) <= 2)
    # Small sets first, each then barred with all that hold it, until there is none left.
    model.minimize(sum(struck))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    while solver.solve(model) == cp_model.OPTIMAL:
        cause = tuple(n for n, var in enumerate(struck) if solver.boolean_value(var))
        found.add(cause)
        model.add_bool_or([~struck[n] for n in cause])
    return found


class _Cut:
    """An end that is lost, as constraints: a side for every unit, and no living run across."""

    def __init__(self, model: cp_model.CpModel, fast: Swept, struck: list[cp_model.IntVar]) -> None:
        self.model, self.fast, self.struck = model, fast, struck
        self.dead: dict[tuple[str, str], cp_model.IntVar] = {}

    def is_dead(self, what: str, name: str) -> cp_model.IntVar:
        """Give a variable that is true exactly where the thing is dead."""
        key = (what, name)
        if key in self.dead:
            return self.dead[key]
        var = self.dead[key] = self.model.new_bool_var(f"{what} {name}")
        causes = [self.struck[n] for n in self.fast.classes.striking.get(key, ())]
        sources = self.fast.calm.shared.sources.get(name, ()) if what == "unit" else ()
        if sources:
            off = []
            for kind, first, second in sources:
                gone = self.model.new_bool_var("source off")
                pair = (
                    (("circuit", first), ("supply", f"{name}/{second}"))
                    if kind == "circuit"
                    else (("run", first), ("unit", second))
                )
                self.model.add_max_equality(gone, [self.is_dead(*each) for each in pair])
                off.append(gone)
            unpowered = self.model.new_bool_var("unpowered")
            self.model.add_min_equality(unpowered, off)
            causes.append(unpowered)
        if causes:
            self.model.add_max_equality(var, causes)
        else:
            self.model.add(var == 0)
        return var

    def end_is_lost(self, shape: Shape) -> None:
        for paths, needs in shape:
            lost = self.model.new_bool_var("all ways lost")
            self.model.add_min_equality(lost, [self.path_is_lost(p) for p in paths])
            more = []
            for needed in needs:
                each = self.model.new_bool_var("needed lost")
                self.model.add_min_equality(each, [self.path_is_lost(p) for p in needed])
                more.append(each)
            self.model.add_bool_or([lost, *more])

    def path_is_lost(self, path: Path) -> cp_model.IntVar:
        causes = [self.is_dead("unit", u) for u in path.units]
        causes += [self.is_dead("run", run) for run in path.runs]
        causes += [self.is_dead(*each) for each in path.things]
        causes += [self.leg_is_lost(*leg) for leg in path.legs]
        lost = self.model.new_bool_var("path lost")
        self.model.add_max_equality(lost, causes)
        return lost

    def leg_is_lost(self, sender: str, receiver: str) -> cp_model.IntVar:
        parted = [self.net_parts(net, sender, receiver) for net in self.fast.webs]
        lost = self.model.new_bool_var("leg lost")
        self.model.add_min_equality(lost, parted)
        return lost

    def net_parts(self, net: str, sender: str, receiver: str) -> cp_model.IntVar:
        """Give a variable that may only be true where some cut of the net holds.

        A set of faults counts once some choice of cuts loses the end.
        """
        show, runs = self.fast.calm.show, self.fast.calm.network.runs_on(net)
        ends = {end.unit for run in runs for end in run.ends}
        switches = {u for u in ends if show.units[u].kind.does is Does.SWITCH}
        side = {u: self.model.new_bool_var(f"{u} cut off") for u in switches | {sender, receiver}}
        parts = self.model.new_bool_var("parted")
        down = self.is_dead("net", net)
        holds = self.model.new_bool_var("holds")
        self.model.add(side[sender] == 0)
        if sender in ends and receiver in ends:
            self.model.add(side[receiver] == 1).only_enforce_if(holds)
        for run in runs:
            one, other = (end.unit for end in run.ends)
            if one in side and other in side:
                gone = [self.is_dead("run", run.name)]
                gone += [self.is_dead("unit", unit) for unit in (one, other)]
                for a, b in ((one, other), (other, one)):
                    self.model.add_bool_or([side[a], ~side[b], *gone]).only_enforce_if(holds)
        self.model.add_max_equality(parts, [holds, down])
        return parts


def test_pairs_are_told_in_products_that_leave_none_out() -> None:
    fast = swept(ready("hall"))
    found = all_pairs(fast)
    groups = pair_groups(fast, found)
    of_fault = {members[0]: at for at, members in enumerate(fast.classes.members)}
    told: set[Pair] = set()
    for group in groups:
        for one, other in itertools.product(group.one, group.other):
            pair = (of_fault[one], of_fault[other])
            assert pair not in told
            told.add(pair)
            lost = set(found.together[pair])
            mine = (
                key
                for key, shapes in zip(fast.keys, fast.must_shapes, strict=True)
                if lost & set(shapes)
            )
            assert set(group.lines) >= set(mine)
    needed = {pair for pair, lost in found.together.items() if not fast.must.isdisjoint(lost)}
    assert told == needed


def test_planes_hold_the_cases_they_were_made_from() -> None:
    rng = random.Random(1)
    for count in (1, 8, 9, 1000):
        cases = sorted(rng.sample(range(count), count // 3 + 1))
        assert places_of(bits(cases, count)) == cases
