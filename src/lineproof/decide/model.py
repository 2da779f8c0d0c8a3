"""The planner's model: which lead goes into which class of sockets (CP-SAT, integers only)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model

from lineproof.base.spot import LineKey, Side
from lineproof.decide.classes import FixedChannels, PlugId, SlotClass, plug_id, slot_classes
from lineproof.decide.problem import Arrival, Job, Plug, Problem

Linear = cp_model.LinearExpr | int
Var = cp_model.IntVar


@dataclass(frozen=True, kw_only=True)
class PlugPair:
    """Two plugs that want neighbouring sockets: `left` the odd one."""

    left: Plug
    right: Plug


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
    return tuple(pairs)


def _together(a: Plug, b: Plug) -> bool:
    return (a.place, a.beyond) == (b.place, b.beyond)


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
            for plug in (*([job.plug] if job.plug else []), *job.outs):
                self.plugs[plug_id(plug)] = plug
        self.single: dict[tuple[PlugId, int, int], Var] = {}
        self.paired: dict[tuple[int, int], Var] = {}
        self.gone: dict[tuple[LineKey, str], Var] = {}
        self.in_unit: dict[tuple[PlugId, str], Linear] = {}
        self._make_gone()
        self._make_places()
        self._limit_sockets()
        self._limit_channels()

    # -- variables ---------------------------------------------------------------------------

    def _make_gone(self) -> None:
        for job in self.problem.jobs:
            for part in filter(lambda p: p.may_go, job.parts):
                self.gone[part.line, part.part] = self.cp.new_bool_var(
                    f"gone {part.line} {part.part}"
                )

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
        """Give whether the plug stays out: its end is left out, or all ends of its line are."""
        if plug.side is Side.OUT:
            return self.is_gone(plug.line, plug.part)
        job = next(j for j in self.problem.jobs if j.plug is plug)
        parts = job.parts
        if not parts or not all((p.line, p.part) in self.gone for p in parts):
            return 0
        var = self.cp.new_bool_var(f"gone {ident}")
        for part in parts:
            self.cp.add(var <= self.gone[part.line, part.part])
        return var

    # -- hard constraints --------------------------------------------------------------------

    def _limit_sockets(self) -> None:
        for c, cls in enumerate(self.classes):
            pairs = [self.paired[at, c] for at in range(len(self.pairs)) if (at, c) in self.paired]
            singles = {
                h: [v for (_, cc, hh), v in self.single.items() if (cc, hh) == (c, h)]
                for h in (0, 1)
            }
            room = len(cls.slots)
            if cls.alike:
                self.cp.add(sum(singles[0]) + 2 * sum(pairs) <= 2 * room)
            else:
                self.cp.add(sum(singles[0]) + sum(pairs) <= room)
                self.cp.add(sum(singles[1]) + sum(pairs) <= room)

    def starts_in(self, job: Job, unit: str) -> Linear:
        """Give whether the line starts in `unit`: from inside it, or plugged into it."""
        if job.inside:
            return 1 if job.inside == unit else 0
        assert job.plug is not None
        return self.in_unit.get((plug_id(job.plug), unit), 0)

    def _limit_channels(self) -> None:
        heard: dict[str, list[Linear]] = {}
        sent: dict[str, list[Linear]] = {}
        strips: dict[str, list[Linear]] = {}
        own: dict[tuple[str, Side], list[Linear]] = {}
        for job in self.problem.jobs:
            routed = self._routed(job, heard)
            self._count_sends(job, routed, sent)
            for a in job.arrivals:
                if a.strip:
                    strips.setdefault(a.unit, []).append(1 - self.is_gone(a.line, a.part))
            for plug in job.outs:
                if plug.beyond:
                    put = 1 - self.is_gone(plug.line, plug.part)
                    own.setdefault((plug.beyond, Side.IN), []).append(put)
            if job.own_out and job.plug:
                own.setdefault((job.own_out, Side.OUT), []).append(
                    sum(self.puts(plug_id(job.plug)))
                )
        self._limit(heard, Side.RECEIVE)
        self._limit(sent, Side.SEND)
        self._limit(strips, Side.STRIP)
        for (unit, side), terms in own.items():
            self.cp.add(sum(terms) <= self._room(unit, side))

    def _limit(self, terms: Mapping[str, list[Linear]], side: Side) -> None:
        for unit, found in terms.items():
            self.cp.add(sum(found) <= self._room(unit, side))

    def _room(self, unit: str, side: Side) -> int:
        held = sum(1 for s in self.problem.held if s.unit == unit and s.side is side)
        return self.show.count(self.show.units[unit], side) - held

    def _routed(self, job: Job, heard: dict[str, list[Linear]]) -> list[tuple[str, Linear]]:
        """Give (unit, whether the line comes to it by a route); counts the receive channels."""
        routed: list[tuple[str, Linear]] = []
        for a in job.arrivals:
            comes = self._comes(job, a)
            if not isinstance(comes, int) or comes:
                routed.append((a.unit, comes))
                heard.setdefault(a.unit, []).append(comes)
        arriving = {a.unit for a in job.arrivals}
        for plug in job.outs:
            for unit in plug.options:
                put, here = self.in_unit[plug_id(plug), unit], self.starts_in(job, unit)
                if not self.show.units[unit].kind.inside_patch:
                    # A box has no inside way from an input to an output.
                    self.cp.add(put + here <= 1)
                    routed.append((unit, put))
                elif job.inside != unit:
                    comes = self.cp.new_bool_var(f"route {job.line.key} {unit} {plug.part}")
                    self.cp.add(comes >= put - here)
                    routed.append((unit, comes))
                    if unit not in arriving:
                        heard.setdefault(unit, []).append(comes)
        return routed

    def _comes(self, job: Job, arrival: Arrival) -> Linear:
        gone = self.is_gone(arrival.line, arrival.part)
        here = self.starts_in(job, arrival.unit)
        if isinstance(gone, int) and isinstance(here, int):
            return max(0, 1 - gone - here)
        comes = self.cp.new_bool_var(f"route {arrival.line} {arrival.part}")
        self.cp.add(comes >= 1 - gone - here)
        return comes

    def _count_sends(
        self, job: Job, routed: list[tuple[str, Linear]], sent: dict[str, list[Linear]]
    ) -> None:
        units = [job.inside] if job.inside else list(job.plug.options if job.plug else ())
        for unit in units:
            if not self.show.units[unit].kind.inside_patch:
                continue
            sends = self.cp.new_bool_var(f"send {job.line.key} {unit}")
            here = self.starts_in(job, unit)
            for other, comes in routed:
                if other != unit:
                    self.cp.add(sends >= here + comes - 1)
            sent.setdefault(unit, []).append(sends)
