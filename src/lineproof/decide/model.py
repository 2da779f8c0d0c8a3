"""The planner's model: which lead goes into which class of sockets (CP-SAT, integers only)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model

from lineproof.base.spot import LineKey, Side
from lineproof.decide.classes import FixedChannels, PlugId, SlotClass, plug_id, slot_classes
from lineproof.decide.problem import Job, Plug, Problem

Linear = cp_model.LinearExpr | int
Var = cp_model.IntVar


@dataclass(frozen=True, kw_only=True)
class PlugPair:
    """Two plugs that want neighbouring sockets: `left` the odd one."""

    left: Plug
    right: Plug

    @property
    def acts(self) -> frozenset[str]:
        """Give the acts in which either half is needed."""
        return self.left.acts | self.right.acts


def plug_pairs(problem: Problem) -> tuple[PlugPair, ...]:
    """Give the plugs that want to be neighbours.

    The two halves of a pair at their start, where both start at one place; and at an end, where
    both go to the same place or the same unit. Loudspeakers on two sides of a stage are no such
    pair: the lead counts for more there.
    """
    by_line = {job.line.key: job for job in problem.jobs}
    pairs = []
    for job in problem.jobs:
        other = by_line.get(job.line.pair) if job.line.pair else None
        if other is None or not job.line.left:
            continue
        if job.plug and other.plug and _together(job.plug, other.plug):
            pairs.append(PlugPair(left=job.plug, right=other.plug))
        free = list(other.outs)
        for out in job.outs:
            match = next((o for o in free if _together(out, o)), None)
            if match is not None:
                free.remove(match)
                pairs.append(PlugPair(left=out, right=match))
    return _once(pairs)


def _once(pairs: list[PlugPair]) -> tuple[PlugPair, ...]:
    """Give each pair once, and no plug in two pairs: roles shared by acts bring them up again."""
    taken: set[PlugId] = set()
    found = []
    for pair in pairs:
        idents = {plug_id(pair.left), plug_id(pair.right)}
        if len(idents) == 2 and not idents & taken:
            taken |= idents
            found.append(pair)
    return tuple(found)


def _together(a: Plug, b: Plug) -> bool:
    return (a.place, a.beyond) == (b.place, b.beyond)


def in_clique(acts: frozenset[str], clique: frozenset[str]) -> bool:
    """Say whether something needed in `acts` is needed while the acts of `clique` play."""
    return "" in acts or not clique or bool(acts & clique)


class PatchModel:
    """Variables, hard constraints and the terms of the wish list, built in sorted order."""

    def __init__(self, problem: Problem, fixed: FixedChannels) -> None:
        self.problem = problem
        self.fixed = fixed
        self.show = problem.show
        self.cp = cp_model.CpModel()
        self.classes = slot_classes(problem, fixed)
        self.pairs = plug_pairs(problem)
        self.plugs: dict[PlugId, Plug] = {}
        for job in problem.jobs:
            for plug in job.plugs:
                self.plugs[plug_id(plug)] = plug
        self.single: dict[tuple[PlugId, int, int], Var] = {}
        self.paired: dict[tuple[int, int], Var] = {}
        self.gone: dict[tuple[LineKey, str], Var] = {}
        self.in_unit: dict[tuple[PlugId, str], Linear] = {}
        self._make_gone()
        self._make_places()
        self._limit_sockets()

    # -- variables ---------------------------------------------------------------------------

    def _make_gone(self) -> None:
        for job in self.problem.jobs:
            key = job.line.key
            for part in job.parts:
                if job.may_go(part.part):
                    self.gone[key, part.part] = self.cp.new_bool_var(f"gone {key} {part.part}")

    def is_gone(self, line: LineKey, part: str) -> Linear:
        """Give whether that end is left out: a variable for a want, 0 for a must."""
        return self.gone.get((line, part), 0)

    def _make_places(self) -> None:
        pair_of = {}
        for at, pair in enumerate(self.pairs):
            pair_of[plug_id(pair.left)] = at
            pair_of[plug_id(pair.right)] = at
            for c, cls in enumerate(self.classes):
                if self._pair_fits(pair, cls):
                    self.paired[at, c] = self.cp.new_bool_var(f"pair {at} in {c}")
        for ident, plug in self.plugs.items():
            self._make_singles(ident, plug)
        self._index(pair_of)
        for ident, plug in self.plugs.items():
            self.cp.add(sum(self.puts(ident)) == 1 - self._plug_gone(ident, plug))

    def _make_singles(self, ident: PlugId, plug: Plug) -> None:
        for c, cls in enumerate(self.classes):
            if cls.side is plug.side and cls.unit in plug.options:
                for h, half in cls.halves():
                    if half.takes(plug):
                        self.single[ident, c, h] = self.cp.new_bool_var(f"{ident} in {c}.{h}")

    def _index(self, pair_of: Mapping[PlugId, int]) -> None:
        self.options_of: dict[PlugId, list[tuple[int, int, Var]]] = {
            ident: [] for ident in self.plugs
        }
        for (ident, c, h), var in self.single.items():
            self.options_of[ident].append((c, h, var))
        for ident, at in pair_of.items():
            h = 0 if plug_id(self.pairs[at].left) == ident else 1
            for c in range(len(self.classes)):
                if (at, c) in self.paired:
                    self.options_of[ident].append((c, h, self.paired[at, c]))
        for ident, plug in self.plugs.items():
            for unit in plug.options:
                inside = [v for c, _, v in self.options_of[ident] if self.classes[c].unit == unit]
                self.in_unit[ident, unit] = sum(inside) if inside else 0

    def puts(self, ident: PlugId) -> list[Var]:
        """Give all the ways the plug can be put."""
        return [var for _, _, var in self.options_of[ident]]

    def _pair_fits(self, pair: PlugPair, cls: SlotClass) -> bool:
        if cls.even is None or cls.side is not pair.left.side:
            return False
        if not (cls.unit in pair.left.options and cls.unit in pair.right.options):
            return False
        return cls.odd.takes(pair.left) and cls.even.takes(pair.right)

    def _plug_gone(self, ident: PlugId, plug: Plug) -> Linear:
        """Give whether the plug stays out: all ends that it is for are left out."""
        parts = self._served(plug)
        if not parts or not all(part in self.gone for part in parts):
            return 0
        if len(parts) == 1:
            return self.gone[parts[0]]
        var = self.cp.new_bool_var(f"gone {ident}")
        for part in parts:
            self.cp.add(var <= self.gone[part])
        self.cp.add(var >= sum(self.gone[part] for part in parts) - len(parts) + 1)
        return var

    def _served(self, plug: Plug) -> list[tuple[LineKey, str]]:
        """Give the (line, end) that arrive over the plug."""
        if plug.side is Side.OUT:
            return [(key, plug.part) for key in plug.lines]
        jobs = [job for job in self.problem.jobs if job.plug is plug]
        return [(job.line.key, p.part) for job in jobs for p in job.parts]

    # -- hard constraints --------------------------------------------------------------------

    def _limit_sockets(self) -> None:
        for c, cls in enumerate(self.classes):
            for clique in self.problem.running.cliques:
                self._limit_class(c, cls, clique)

    def _limit_class(self, c: int, cls: SlotClass, clique: frozenset[str]) -> None:
        """Let no more be plugged at once than the class has sockets."""
        pairs = [v for (at, cc), v in self.paired.items() if cc == c and self._pair_in(at, clique)]
        singles: tuple[list[Var], list[Var]] = ([], [])
        for (ident, cc, h), var in self.single.items():
            if cc == c and in_clique(self.plugs[ident].acts, clique):
                singles[h].append(var)
        room = len(cls.slots)
        if cls.alike:
            self.cp.add(sum(singles[0]) + 2 * sum(pairs) <= 2 * room)
        else:
            self.cp.add(sum(singles[0]) + sum(pairs) <= room)
            self.cp.add(sum(singles[1]) + sum(pairs) <= room)

    def _pair_in(self, at: int, clique: frozenset[str]) -> bool:
        return in_clique(self.pairs[at].acts, clique)

    def starts_as(self, job: Job) -> object:
        """Give what tells the line's first spot from others': its plug, or its place inside a unit.

        Lines that share it share its channels too.
        """
        return plug_id(job.plug) if job.plug else (job.inside, job.same_inside)

    def starts_in(self, job: Job, unit: str) -> Linear:
        """Give whether the line starts in `unit`: from inside it, or plugged into it."""
        if job.inside:
            return 1 if job.inside == unit else 0
        assert job.plug is not None
        return self.in_unit.get((plug_id(job.plug), unit), 0)
