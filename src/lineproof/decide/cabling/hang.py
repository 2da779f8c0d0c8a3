"""Where units may hang: for units that are alike, every choice of switches and ways."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from lineproof.base.names import natural
from lineproof.decide.cabling.ground import Cable, Ground, Need, feeds_dw
from lineproof.kit.kinds import Port
from lineproof.plan.network import PlannedRun
from lineproof.show.model import Unit


@dataclass(frozen=True, kw_only=True)
class Hang:
    """A unit's run to a switch. `slow`: the switch has no free port of the unit's speed."""

    switch: str
    cable: Cable
    slow: bool = False


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One way to hang a unit: a hang for each of its needs, None where it stays without.

    `risks` counts what both its nets share (ducts, a rack, circuits) and slow ports.
    """

    hangs: tuple[Hang | None, ...]
    risks: int

    @property
    def metres(self) -> int:
        """Give the metres of cable it takes."""
        return sum(hang.cable.length_m for hang in self.hangs if hang)

    @property
    def missing(self) -> int:
        """Give how many runs it leaves out."""
        return sum(hang is None for hang in self.hangs)

    def sort_key(self) -> tuple[object, ...]:
        """Order choices from the best to the worst, the same however rows are ordered."""
        names = tuple((natural(h.switch), h.cable.way.ducts) if h else ((), ()) for h in self.hangs)
        return (self.missing, self.risks, self.metres, names)


@dataclass(frozen=True, kw_only=True)
class Group:
    """Units that are alike: same place, supplies, needs, and runs that they have already."""

    units: tuple[str, ...]
    needs: tuple[Need, ...]
    choices: tuple[Choice, ...]


def groups_of(
    ground: Ground,
    switch_nets: Mapping[str, str],
    free: Mapping[str, Sequence[Port]],
    kept: Sequence[PlannedRun],
) -> list[Group]:
    """Give the units that still want runs, grouped by likeness, each group with its choices."""
    feeding = frozenset(
        switch_nets[s.name] for s in ground.switches if any(p.feeds_w for p in s.kind.ports)
    )
    # On a net without a switch units are joined to one another, elsewhere.
    switched = frozenset(switch_nets[s.name] for s in ground.switches)
    have = _runs_by_unit(kept)
    alike: dict[tuple[object, ...], list[str]] = {}
    example: dict[tuple[object, ...], tuple[Unit, tuple[Need, ...], tuple[PlannedRun, ...]]] = {}
    for unit in ground.units:
        if ground.is_chained(unit):
            continue
        runs = tuple(have.get(unit.name, ()))
        nets = {run.net for run in runs}
        asked = ground.needs(unit, feeding)
        needs = tuple(n for n in asked if n.net not in nets and n.net in switched)
        if needs:
            key = (unit.place, ground.killed_by[unit.name], _shape(needs), _shape_of_runs(runs))
            alike.setdefault(key, []).append(unit.name)
            example.setdefault(key, (unit, needs, runs))
    chooser = _Chooser(ground, switch_nets, free)
    return [
        Group(
            units=tuple(names),
            needs=example[key][1],
            choices=chooser.choices(*example[key]),
        )
        for key, names in alike.items()
    ]


def _runs_by_unit(runs: Sequence[PlannedRun]) -> dict[str, list[PlannedRun]]:
    found: dict[str, list[PlannedRun]] = {}
    for run in runs:
        for end in run.ends:
            if run.net:
                found.setdefault(end.unit, []).append(run)
    return found


def _shape(needs: tuple[Need, ...]) -> tuple[Need, ...]:
    return tuple(replace(need, unit="") for need in needs)


def _shape_of_runs(runs: tuple[PlannedRun, ...]) -> tuple[object, ...]:
    return tuple((run.net, run.ducts, tuple(sorted(e.unit for e in run.ends))) for run in runs)


class _Chooser:
    def __init__(
        self,
        ground: Ground,
        switch_nets: Mapping[str, str],
        free: Mapping[str, Sequence[Port]],
    ) -> None:
        self.ground = ground
        self.free = free
        self.on: dict[str, list[Unit]] = {net: [] for net in ground.nets}
        for switch in ground.switches:
            self.on.setdefault(switch_nets[switch.name], []).append(switch)

    def choices(
        self,
        unit: Unit,
        needs: tuple[Need, ...],
        runs: tuple[PlannedRun, ...],
    ) -> tuple[Choice, ...]:
        """Give the choices of a unit, the best way for each choice of switches."""
        sides = [[*self._hangs(unit, need), None] for need in needs]
        best: dict[tuple[str, ...], Choice] = {}
        for hangs in product(*sides):
            choice = Choice(hangs=hangs, risks=self._risks(unit, hangs, runs))
            key = tuple(f"{h.switch} {h.cable.medium}" if h else "" for h in hangs)
            if key not in best or choice.sort_key() < best[key].sort_key():
                best[key] = choice
        return tuple(sorted(best.values(), key=Choice.sort_key))

    def _hangs(self, unit: Unit, need: Need) -> list[Hang]:
        found = []
        for switch in self.on.get(need.net, ()):
            ports = [
                p
                for p in self.free[switch.name]
                if p.medium == need.medium and feeds_dw(p) >= need.feed_dw
            ]
            if not ports:
                continue
            best = max(p.speed_mbit for p in ports)
            speed = min(need.speed_mbit, best)
            cables = self.ground.cables(unit.place, switch.place, need.medium, speed)
            slow = best < need.speed_mbit
            found += [Hang(switch=switch.name, cable=cable, slow=slow) for cable in cables]
        return found

    def _risks(
        self, unit: Unit, hangs: tuple[Hang | None, ...], runs: tuple[PlannedRun, ...]
    ) -> int:
        ways = [(h.switch, h.cable.way.ducts) for h in hangs if h]
        for run in runs:
            other = run.other_end(unit.name).unit
            if other in self.free:
                ways.append((other, run.ducts))
        slow = sum(h.slow for h in hangs if h)
        if len(ways) != 2:
            return slow
        (one, ducts), (other, other_ducts) = ways
        return slow + len(shared(self.ground, unit, one, other)) + len({*ducts} & {*other_ducts})


def shared(ground: Ground, unit: Unit, one: str, other: str) -> tuple[str, ...]:
    """Give what two switches of a unit share: a rack, circuits that take both but not the unit."""
    racks = {ground.show.units[name].rack for name in (one, other)}
    rack = racks if len(racks) == 1 and "" not in racks else set()
    both = ground.killed_by[one] & ground.killed_by[other]
    return (*sorted(rack), *sorted(both - ground.killed_by[unit.name], key=natural))
