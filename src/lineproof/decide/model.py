"""The planner's model: which lead goes into which class of sockets (CP-SAT, integers only)."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.base.part import split_part
from lineproof.base.spot import LineKey, Side
from lineproof.decide import solver as cp_model
from lineproof.decide.classes import (
    FixedChannels,
    Half,
    SlotClass,
    slot_classes,
)
from lineproof.decide.near import Reach
from lineproof.decide.problem import Job, Plug, PlugId, Problem, plug_id

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
    by_line = {(job.line.key, _strand(job)): job for job in problem.jobs}
    pairs = []
    for job in problem.jobs:
        other = by_line.get((job.line.pair, _strand(job))) if job.line.pair else None
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


def _strand(job: Job) -> str:
    """Give which of a line's jobs it is, whatever number the start has: `from play-2`."""
    return job.strand.partition(":")[0]


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


@dataclass(frozen=True, kw_only=True)
class Heard:
    """The sockets of one class that a unit keeps a channel for all night: at most `sockets`.

    `plugs`: those it hears, each with whether it does.
    """

    plugs: tuple[tuple[PlugId, Var], ...]
    sockets: Var


class PatchModel:
    """Variables, hard constraints and the terms of the wish list, built in sorted order."""

    def __init__(self, problem: Problem, fixed: FixedChannels, reach: Reach) -> None:
        self.problem = problem
        self.fixed = fixed
        self.reach = reach
        self.show = problem.show
        self.cp = cp_model.CpModel()
        self.classes = slot_classes(problem, fixed)
        self.classes_of: dict[tuple[str, Side], list[int]] = {}
        for c, cls in enumerate(self.classes):
            self.classes_of.setdefault((cls.unit, cls.side), []).append(c)
        self.pairs = plug_pairs(problem)
        self.plugs: dict[PlugId, Plug] = {}
        for job in problem.jobs:
            for plug in job.plugs:
                self.plugs[plug_id(plug)] = plug
        self.single: dict[tuple[PlugId, int, int], Var] = {}
        self.paired: dict[tuple[int, int], Var] = {}
        self.gone: dict[tuple[LineKey, str], Var] = {}
        self.far: dict[PlugId, Var] = {}
        self.put: dict[PlugId, Linear] = {}
        #: Whether a plug goes into a unit or a drop box; and into a unit, in front or behind.
        self.in_front: dict[tuple[PlugId, str], Linear] = {}
        self.in_unit: dict[tuple[PlugId, str], Linear] = {}
        #: Whether a plug goes there without the tie that would make it near.
        self.without_tie: dict[tuple[PlugId, str], Var] = {}
        self.options_of: dict[PlugId, list[tuple[int, int, Var]]] = {i: [] for i in self.plugs}
        #: By class: what may go into it, with the variable that says so.
        self.singles_in: dict[int, list[tuple[PlugId, int, Var]]] = {}
        #: By class: how many of its sockets a unit may hear (or send), and which plugs it hears.
        self.heard: dict[int, list[Heard]] = {}
        self.pairs_in: dict[int, list[tuple[int, Var]]] = {}
        self._make_gone()
        self._standby_follows()
        self._make_places()
        self._limit_sockets()
        self._limit_ties()
        self._limit_multipins()

    # -- variables ---------------------------------------------------------------------------

    def _make_gone(self) -> None:
        for job in self.problem.jobs:
            key = job.line.key
            for part in job.parts:
                if job.may_go(part.part):
                    self.gone[key, part.part] = self.cp.new_bool_var(f"gone {key} {part.part}")

    def _standby_follows(self) -> None:
        """Let no standby arrive at an end from which the line itself is left out."""
        for (key, part), gone in self.gone.items():
            end, start = split_part(part)
            if start and (key, end) in self.gone:
                self.cp.add(gone >= self.gone[key, end])

    def is_gone(self, line: LineKey, part: str) -> Linear:
        """Give whether that end is left out: a variable for a want, 0 for a must."""
        return self.gone.get((line, part), 0)

    def _make_places(self) -> None:
        for ident, plug in self.plugs.items():
            self._make_singles(ident, plug)
        for at, pair in enumerate(self.pairs):
            self._make_pair(at, pair)
        served = self._served()
        for ident, plug in self.plugs.items():
            self._make_far(ident, plug)
            self._count_units(ident, plug)
            self.put[ident] = 1 - self._plug_gone(ident, served[ident])
            ways = [*self.puts(ident), *([self.far[ident]] if ident in self.far else [])]
            self.cp.add(sum(ways) == self.put[ident])

    def _offered(self, plug: Plug) -> list[int]:
        """Give the classes of the units that the plug is offered."""
        units = self.reach.units(plug)
        return [c for unit in units for c in self.classes_of.get((unit, plug.side), ())]

    def _allowed(self, ident: PlugId, plug: Plug, half: Half) -> bool:
        """Say whether the plug may go there; one that is closed only where it hangs."""
        takes = half.takes(plug, self.problem.running)
        return takes and (ident in half.kept or not self.reach.is_closed(plug))

    def _make_singles(self, ident: PlugId, plug: Plug) -> None:
        for c in self._offered(plug):
            for h, half in self.classes[c].halves():
                if self._allowed(ident, plug, half):
                    var = self.cp.new_bool_var(f"{ident} in {c}.{h}")
                    self.single[ident, c, h] = var
                    self.options_of[ident].append((c, h, var))
                    self.singles_in.setdefault(c, []).append((ident, h, var))

    def _make_pair(self, at: int, pair: PlugPair) -> None:
        left, right = plug_id(pair.left), plug_id(pair.right)
        there = set(self._offered(pair.right))
        for c in self._offered(pair.left):
            cls = self.classes[c]
            if c not in there or cls.even is None:
                continue
            fits = self._allowed(left, pair.left, cls.odd)
            if fits and self._allowed(right, pair.right, cls.even):
                var = self.cp.new_bool_var(f"pair {at} in {c}")
                self.paired[at, c] = var
                self.options_of[left].append((c, 0, var))
                self.options_of[right].append((c, 1, var))
                self.pairs_in.setdefault(c, []).append((at, var))

    def _make_far(self, ident: PlugId, plug: Plug) -> None:
        if self.reach.far_mm(plug) is not None:
            self.far[ident] = self.cp.new_bool_var(f"{ident} far")

    def _count_units(self, ident: PlugId, plug: Plug) -> None:
        inside: dict[str, list[Var]] = {front: [] for front in self.reach.units(plug)}
        for c, _, var in self.options_of[ident]:
            inside[self.classes[c].unit].append(var)
        for front, there in inside.items():
            self.in_front[ident, front] = sum(there)
        for unit in self.units(plug):
            fronts = [front for front in inside if self.problem.host(front) == unit]
            self.in_unit[ident, unit] = sum(sum(inside[front]) for front in fronts)

    def units(self, plug: Plug) -> list[str]:
        """Give the units into which the plug may go in this model, by whichever way."""
        return list(dict.fromkeys(map(self.problem.host, self.reach.units(plug))))

    def _limit_multipins(self) -> None:
        """Let at most one of the drop boxes that share sockets be used at a time."""
        for drops in self.problem.cores.sharing:
            for clique in self.problem.running.cliques:
                used = []
                for drop in drops:
                    there = [
                        term
                        for (ident, front), term in self.in_front.items()
                        if front == drop and in_clique(self.plugs[ident].acts, clique)
                    ]
                    if there:
                        var = self.cp.new_bool_var(f"{drop} in {sorted(clique)}")
                        for term in there:
                            self.cp.add(var >= term)
                        used.append(var)
                if len(used) > 1:
                    # A sum, as all conditions of the model are.
                    self.cp.add(sum(used) <= 1)

    def _limit_ties(self) -> None:
        """Let no more leads go over a tie than it has lines."""
        over: dict[str, list[tuple[Plug, Linear]]] = {}
        for ident, plug in self.plugs.items():
            for front, by in plug.ties.items():
                if (ident, front) not in self.in_front:
                    continue
                here = self.in_front[ident, front]
                if by.without_mm is not None:
                    without = self.cp.new_bool_var(f"{ident} in {front} without {by.tie}")
                    self.cp.add(without <= here)
                    self.without_tie[ident, front] = without
                    here = here - without
                over.setdefault(by.tie, []).append((plug, here))
        for tie, there in over.items():
            for clique in self.problem.running.cliques:
                takes = [term for plug, term in there if in_clique(plug.acts, clique)]
                self.cp.add(sum(takes) <= self.show.ties[tie].count)

    def puts(self, ident: PlugId) -> list[Var]:
        """Give all the ways the plug can be put, but for far."""
        return [var for _, _, var in self.options_of[ident]]

    def _plug_gone(self, ident: PlugId, parts: list[tuple[LineKey, str]]) -> Linear:
        """Give whether the plug stays out: all ends that it is for are left out."""
        if not parts or not all(part in self.gone for part in parts):
            return 0
        if len(parts) == 1:
            return self.gone[parts[0]]
        var = self.cp.new_bool_var(f"gone {ident}")
        for part in parts:
            self.cp.add(var <= self.gone[part])
        self.cp.add(var >= sum(self.gone[part] for part in parts) - len(parts) + 1)
        return var

    def _served(self) -> dict[PlugId, list[tuple[LineKey, str]]]:
        """Give the (line, end) that arrive over each plug."""
        found: dict[PlugId, list[tuple[LineKey, str]]] = {ident: [] for ident in self.plugs}
        mains = {job.line.key: job for job in self.problem.jobs if not job.strand}
        for job in self.problem.jobs:
            if job.plug is not None:
                # A standby that nobody hears by itself is for the ends of its line.
                for_whom = job if job.parts or not job.strand else mains[job.line.key]
                found[plug_id(job.plug)] += [(job.line.key, p.part) for p in for_whom.parts]
            for split in job.splits:
                found[plug_id(split)] += [(job.line.key, p.part) for p in job.parts]
        for ident, plug in self.plugs.items():
            if plug.side is Side.OUT:
                found[ident] = [(key, plug.part) for key in plug.lines]
        return found

    # -- hard constraints --------------------------------------------------------------------

    def _limit_sockets(self) -> None:
        for c, cls in enumerate(self.classes):
            if len(self.singles_in.get(c, ())) + len(self.pairs_in.get(c, ())) <= 1:
                continue
            if self._one_all_night(cls):
                # Its receive channel hears one send all night, whoever needs it when.
                self._limit_class(c, cls, frozenset())
                continue
            for clique in self.problem.running.cliques:
                self._limit_class(c, cls, clique)

    def _one_all_night(self, cls: SlotClass) -> bool:
        kind = self.show.units[self.problem.host(cls.unit)].kind
        keeps = self.show.routes != "per-act" and kind.networked and not kind.inside_patch
        return cls.side is Side.OUT and keeps

    def _limit_class(self, c: int, cls: SlotClass, clique: frozenset[str]) -> None:
        """Let no more be plugged at once than the class has sockets."""
        halves = self._halves_in(c, clique)
        singles: tuple[list[Var], list[Var]] = ([], [])
        for ident, h, var in self.singles_in.get(c, ()):
            if in_clique(self.plugs[ident].acts, clique):
                singles[h].append(var)
        room = len(cls.slots)
        if cls.alike:
            # Most classes have room for all that may come: nothing needs to be said of them.
            there = [*singles[0], *halves[0], *halves[1]]
            if len(there) > 2 * room:
                self.cp.add(sum(there) <= 2 * room)
            return
        for single, half in zip(singles, halves, strict=True):
            if len(single) + len(half) > room:
                self.cp.add(sum(single) + sum(half) <= room)

    def _halves_in(self, c: int, clique: frozenset[str]) -> tuple[list[Var], list[Var]]:
        """Give the left and the right halves of pairs in a class that are needed together."""
        found: tuple[list[Var], list[Var]] = ([], [])
        for at, var in self.pairs_in.get(c, ()):
            for h, half in enumerate((self.pairs[at].left, self.pairs[at].right)):
                if in_clique(half.acts, clique):
                    found[h].append(var)
        return found

    def starts_as(self, job: Job) -> object:
        """Give what tells the line's first spot from others': its plug, or its place inside a unit.

        Lines that share it share its channels too.
        """
        return plug_id(job.plug) if job.plug else (job.inside, job.same_inside)

    def starts_in(self, job: Job, unit: str) -> Linear:
        """Give whether the line starts in `unit`: from inside it, or plugged into it."""
        if unit in job.split_units:
            return 1
        if job.inside:
            return 1 if job.inside == unit else 0
        if job.plug is None:
            return 0
        return self.in_unit.get((plug_id(job.plug), unit), 0)

    def may_start_in(self, job: Job, unit: str) -> Linear:
        """Give whether the line starts in `unit`, or far, which may be there."""
        here = self.starts_in(job, unit)
        if job.plug is None or unit in job.split_units:
            return here
        far = self.far.get(plug_id(job.plug))
        if far is None or unit not in map(self.problem.host, job.plug.options):
            return here
        return here + far
