"""The planner's model: which lead goes into which class of sockets (CP-SAT, integers only)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ortools.sat.python import cp_model

from lineproof.base.spot import LineKey, Side
from lineproof.decide.classes import FixedChannels, PlugId, SlotClass, off_number, plug_id, slot_classes
from lineproof.decide.problem import Arrival, Job, Plug, Problem

Linear = cp_model.LinearExprT
Var = cp_model.IntVar

#: A lead's place in the solution: the class, and the half for a single (None in a class of alike
#: halves), or "pair" for a plug that shares its slot with the other half of its pair.
Put = tuple[int, int | None, bool]


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
            parts = [p for p in (*job.arrivals, *job.outs) if p.may_go]
            for part in parts:
                self.gone[part.line, part.part] = self.cp.new_bool_var(f"gone {part.line} {part.part}")

    def is_gone(self, line: LineKey, part: str) -> Linear:
        """Give whether that end is left out: a variable for a want, 0 for a must."""
        return self.gone.get((line, part), 0)

    def _make_places(self) -> None:
        pair_of = {}
        for at, pair in enumerate(self.pairs):
            pair_of[plug_id(pair.left)] = at
            pair_of[plug_id(pair.right)] = at
        for at, pair in enumerate(self.pairs):
            for c, cls in enumerate(self.classes):
                if self._pair_fits(pair, cls):
                    self.paired[at, c] = self.cp.new_bool_var(f"pair {at} in {c}")
        for ident, plug in self.plugs.items():
            for c, cls in enumerate(self.classes):
                if cls.side is plug.side and cls.unit in plug.options:
                    for h, half in cls.halves():
                        if half.takes(plug):
                            self.single[ident, c, h] = self.cp.new_bool_var(f"{ident} in {c}.{h}")
        self._index(pair_of)
        for ident, plug in self.plugs.items():
            self.cp.add(sum(self.puts(ident)) == 1 - self._plug_gone(ident, plug))

    def _index(self, pair_of: Mapping[PlugId, int]) -> None:
        self._puts: dict[PlugId, list[tuple[int, int, Var]]] = {ident: [] for ident in self.plugs}
        for (ident, c, h), var in self.single.items():
            self._puts[ident].append((c, h, var))
        for ident, at in pair_of.items():
            h = 0 if plug_id(self.pairs[at].left) == ident else 1
            for c in range(len(self.classes)):
                if (at, c) in self.paired:
                    self._puts[ident].append((c, h, self.paired[at, c]))
        for ident, plug in self.plugs.items():
            for unit in plug.options:
                inside = [v for c, _, v in self._puts[ident] if self.classes[c].unit == unit]
                self.in_unit[ident, unit] = sum(inside) if inside else 0

    def puts(self, ident: PlugId) -> list[Var]:
        """Give all the ways the plug can be put."""
        return [var for _, _, var in self._puts[ident]]

    def _pair_fits(self, pair: PlugPair, cls: SlotClass) -> bool:
        if cls.even is None or cls.side is not pair.left.side:
            return False
        if not (cls.unit in pair.left.options and cls.unit in pair.right.options):
            return False
        return cls.odd.takes(pair.left) and cls.even.takes(pair.right)

    def _plug_gone(self, ident: PlugId, plug: Plug) -> Linear:
        """Give whether the plug is not plugged at all: its end left out, or all ends of its line."""
        if plug.side is Side.OUT:
            return self.is_gone(plug.line, plug.part)
        job = next(j for j in self.problem.jobs if j.plug is plug)
        parts = [*job.arrivals, *job.outs]
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
            singles = {h: [v for (_, cc, hh), v in self.single.items() if (cc, hh) == (c, h)] for h in (0, 1)}
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
                own.setdefault((job.own_out, Side.OUT), []).append(sum(self.puts(plug_id(job.plug))))
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

    # -- terms -------------------------------------------------------------------------------

    def left_out(self) -> Linear:
        """Give the weight of what is left out: a want 1000, an end of a spare line 1 (practice)."""
        spare = {job.line.key for job in self.problem.jobs if job.line.need.value == "spare"}
        return sum((1 if key[0] in spare else 1000) * var for key, var in self.gone.items())

    def moved(self) -> Linear:
        """Give how many labels move, 1000 each, and how many freed sockets are reused, 1 each."""
        terms: list[Linear] = []
        for ident, plug in self.plugs.items():
            if plug.kept is not None:
                stays = [v for c, h, v in self._puts[ident] if self._is_kept(ident, c, h)]
                terms.append(1000 * (1 - sum(stays)))
            terms += [v for c, h, v in self._puts[ident] if self._half(c, h).freed]
        return sum(terms)

    def _half(self, c: int, h: int) -> object:
        cls = self.classes[c]
        return cls.odd if h == 0 or cls.even is None else cls.even

    def _is_kept(self, ident: PlugId, c: int, h: int) -> bool:
        return self._half(c, h).kept == ident  # type: ignore[attr-defined]

    def apart(self) -> Linear:
        """Give how many pairs do not sit on neighbouring odd and even sockets of one unit."""
        terms: list[Linear] = []
        for at, pair in enumerate(self.pairs):
            together = [self.paired[at, c] for c in range(len(self.classes)) if (at, c) in self.paired]
            put = sum(self.puts(plug_id(pair.left)))
            terms.append(put - sum(together))
        return sum(terms)

    def bunched(self) -> Linear:
        """Give how many sets of lines that should be spread sit all in one unit."""
        terms: list[Linear] = []
        for name, plugs in spread_sets(self.problem).items():
            bunch = self.cp.new_bool_var(f"bunched {name}")
            for unit in sorted({u for p in plugs for u in p.options}):
                there = [self.in_unit[plug_id(p), unit] for p in plugs if unit in p.options]
                self.cp.add(sum(there) <= len(plugs) - 1 + bunch)
            terms.append(bunch)
        return sum(terms)

    def leads(self) -> Linear:
        """Give the millimetres of all leads."""
        return sum(
            self.in_unit[ident, unit] * length
            for ident, plug in self.plugs.items()
            for unit, length in plug.options.items()
        )

    def groups(self) -> Linear:
        """Give the millimetres that stand for further units used by groups."""
        weight = round(self.show.weights.group_m * 1000)
        terms: list[Linear] = []
        for name, plugs in group_sets(self.problem).items():
            units = sorted({u for p in plugs for u in p.options})
            used = [self._used(f"{name} uses {unit}", plugs, unit) for unit in units]
            most = max(self._sockets(u, plugs[0].side) for u in units) if units else 1
            must = [p for p in plugs if not p.may_go]
            # A cut: a group can't use fewer units than its lines need sockets.
            self.cp.add(sum(used) >= -(-len(must) // max(most, 1)))
            any_put = self.cp.new_bool_var(f"{name} is there")
            for plug in plugs:
                self.cp.add(any_put >= sum(self.puts(plug_id(plug))))
            terms.append(sum(used) - any_put)
        return weight * sum(terms)

    def _used(self, name: str, plugs: list[Plug], unit: str) -> Var:
        used = self.cp.new_bool_var(name)
        there = [self.in_unit[plug_id(p), unit] for p in plugs if unit in p.options]
        for one in there:
            self.cp.add(used >= one)
        most = min(len(there), self._sockets(unit, plugs[0].side))
        self.cp.add(sum(there) <= most * used)
        return used

    def _sockets(self, unit: str, side: Side) -> int:
        return self.show.count(self.show.units[unit], side)

    def off_numbers(self) -> Linear:
        """Give the millimetres that stand for receive channels off their box's number."""
        weight = round(self.show.weights.off_number_m * 1000)
        terms: list[Linear] = []
        for job in self.problem.jobs:
            if job.plug is None:
                continue
            ident = plug_id(job.plug)
            for a in job.arrivals:
                if self.show.units[a.unit].kind.follows_numbers:
                    off = [v for c, h, v in self._puts[ident] if self._is_off(c, h, job.plug, a.unit)]
                    terms.append(self._unless_gone(sum(off), a))
        return weight * sum(terms)

    def _is_off(self, c: int, h: int, plug: Plug, mixer: str) -> bool:
        return off_number(self._half(c, h), plug, mixer, self.fixed)  # type: ignore[arg-type]

    def _unless_gone(self, off: Linear, arrival: Arrival) -> Linear:
        gone = self.is_gone(arrival.line, arrival.part)
        if isinstance(gone, int):
            return off
        counted = self.cp.new_bool_var(f"off {arrival.line} {arrival.part}")
        self.cp.add(counted >= off - gone)
        return counted

    def tie_break(self) -> Linear:
        """Give a sum that one solution alone makes least.

        Early lines prefer the units and sockets that come first; weights drawn from names settle
        the rest (isolation lemma of Mulmuley, Vazirani and Vazirani, 1987, from memory: with
        weights below 2**32 two of n variables tie with a chance under n / 2**32).
        """
        order = {ident: at for at, ident in enumerate(sorted(self.plugs, key=_plug_order))}
        terms = []
        for ident, puts in self._puts.items():
            early = len(order) - order[ident]
            for c, h, var in puts:
                cls = self.classes[c]
                terms.append(var * ((early * (c + 1) << 32) + _drawn(ident, cls.unit, cls.slots[0], h)))
        return sum(terms)


def _plug_order(ident: PlugId) -> tuple[object, ...]:
    return (ident[0].sort_key(), ident[2].rank, ident[1])


def _drawn(*words: object) -> int:
    text = "\0".join(map(str, words))
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:4], "big")


def group_sets(problem: Problem) -> dict[str, list[Plug]]:
    """Give the plugs of each group, inputs and outputs apart; groups of one plug left out."""
    found: dict[str, list[Plug]] = {}
    for job in problem.jobs:
        if job.line.group:
            for plug in (*([job.plug] if job.plug else []), *job.outs):
                found.setdefault(f"{plug.side.value} {job.line.group}", []).append(plug)
    return {name: plugs for name, plugs in sorted(found.items()) if len(plugs) > 1}


def spread_sets(problem: Problem) -> dict[str, list[Plug]]:
    """Give the plugs that should not all sit in one unit: lines of one `spread` name, and the
    speech of a group; only where a second unit is near.
    """
    found: dict[str, list[Plug]] = {}
    for job in problem.jobs:
        if job.plug is None:
            continue
        line = job.line
        if line.spread:
            found.setdefault(f"spread {line.spread}", []).append(job.plug)
        elif line.group and _is_speech(job):
            found.setdefault(f"speech of {line.group}", []).append(job.plug)
    within = round(problem.show.weights.spread_within_m * 1000)
    return {n: p for n, p in sorted(found.items()) if len(p) > 1 and _second_is_near(p, within)}


def _is_speech(job: Job) -> bool:
    line = job.line
    content = line.content or (line.source.content if line.source else "")
    return content == "speech"


def _second_is_near(plugs: Iterable[Plug], within_mm: int) -> bool:
    """Say whether some plug could go to a second unit with at most so much more lead."""
    for plug in plugs:
        lengths = sorted(plug.options.values())
        if len(lengths) > 1 and lengths[1] - lengths[0] <= within_mm:
            return True
    return False
