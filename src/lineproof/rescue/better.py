"""What would make a show stand more: single improvements, each as the show changed by it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from lineproof.base.names import folded, natural
from lineproof.decide.cabling.reach import Supplies
from lineproof.graph.faults import CIRCUIT, DUCT, NET, PORT, RUN, SUPPLY, UNIT, Fault
from lineproof.graph.ports import unit_nets
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.show.model import Circuit, Show, Unit

Row = TypeVar("Row")

#: What a stand-in by hand can be of: a unit that somebody works with.
_WORKED = (Does.MIXER, Does.PROCESSOR)


@dataclass(frozen=True, kw_only=True)
class Improvement:
    """One thing to bring or to do, in words; the show with it; the plan it is planned after.

    `needs`: what has to be there that the show does not name, "" for nothing.
    """

    words: str
    show: Show
    plan: Plan
    needs: str = ""


def improvements(
    show: Show, plan: Plan, fault: Fault, own: Mapping[str, float]
) -> list[Improvement]:
    """Give what would help against one fault; nothing where nothing single would.

    `own`: by unit how much harm it does by itself, for which of several should be helped first.
    """
    maker = _Maker(show, plan, own)
    makers = {
        UNIT: maker.unit,
        SUPPLY: maker.supply,
        CIRCUIT: maker.circuit,
        DUCT: maker.duct,
        RUN: maker.run,
        PORT: maker.run,
        NET: maker.net,
    }
    return list(makers[fault.what](fault.name)) if fault.what in makers else []


def recorders_apart(show: Show, plan: Plan) -> list[Improvement]:
    """Give what parts recorders from one another: another net, another circuit for one of them."""
    maker = _Maker(show, plan, {})
    named = {member.name for line in show.lines for _, member in line.end_members()}
    units = [show.units[name] for name in sorted(named & show.units.keys(), key=natural)]
    recorders = [u for u in units if u.kind.does is Does.RECORDER or u.kind.disk_gbyte > 0]
    return list(maker.apart(recorders)) if len(recorders) > 1 else []


class _Maker:
    def __init__(self, show: Show, plan: Plan, own: Mapping[str, float]) -> None:
        self.show = show
        self.plan = plan
        self.own = own

    def unit(self, name: str) -> Iterator[Improvement]:
        """Give a spare of its kind beside it, or another unit that stands in."""
        unit = self.show.units[name]
        if unit.kind.does is Does.SWITCH:
            yield from self.net(unit.net or self.plan.network.switch_nets.get(name, ""))
            yield self._second_switch(unit)
            return
        if not any(name in other.covers for other in self.show.units.values()):
            yield self._spare(unit)
        if unit.kind.does in _WORKED and not unit.standby:
            yield from self._standbys(unit)

    def apart(self, recorders: list[Unit]) -> Iterator[Improvement]:
        """Give one recorder on the other net where all are on one, or on another circuit."""
        first = recorders[0]
        nets = {unit_nets(self.show, unit, self.plan.network) for unit in recorders}
        if self.show.nets == "two" and len(nets) == 1 and len(next(iter(nets))) == 1:
            other = "b" if next(iter(nets)) == ("a",) else "a"
            runs = tuple(
                run
                for run in self.plan.network.runs
                if run.given or first.name not in {end.unit for end in run.ends}
            )
            freed = replace(self.plan, network=replace(self.plan.network, runs=runs))
            changed = self._with(replace(first, net=other), f"{first.name} on net {other}")
            yield replace(changed, plan=freed)
        if len({unit.circuits for unit in recorders}) == 1 and first.circuits:
            circuit = self._other_circuit(first.circuits[0])
            if circuit:
                moved = replace(first, circuits=(circuit,))
                yield self._with(moved, f"{first.name} on circuit {circuit}")

    def supply(self, name: str) -> Iterator[Improvement]:
        """Give what helps the unit whose supply it is."""
        yield from self.unit(name.partition("/")[0])

    def circuit(self, name: str) -> Iterator[Improvement]:
        """Give a second supply for those of its units that do most harm by themselves."""
        hung = [u for u in self.show.units.values() if u.circuits == (name,)]
        hung = [u for u in hung if not u.kind.passive and u.power != "network"]
        hung.sort(key=lambda u: (-self.own.get(u.name, 0.0), natural(u.name)))
        if len(hung) > 1:
            yield self._all_supplied(name, hung)
        for unit in hung[:1]:
            yield self._second_supply(unit)

    def duct(self, name: str) -> Iterator[Improvement]:
        """Give another duct beside it; what lay in it may be laid anew."""
        duct = self.show.ducts[name]
        second = self._new(f"{name}-2", self.show.ducts)
        ducts = {**self.show.ducts, second: replace(duct, name=second, label="")}
        show = replace(self.show, ducts=_sorted(ducts))
        ends = " and ".join(duct.between)
        yield Improvement(
            words=f"another duct between {ends}, of {duct.length_m:g} m",
            show=show,
            plan=self._without_runs(name),
        )

    def run(self, name: str) -> Iterator[Improvement]:
        """Give a second net where there is one."""
        del name
        yield from self.net("a")

    def net(self, name: str) -> Iterator[Improvement]:
        """Give a second net: beside each switch another one for it."""
        del name
        if self.show.nets == "two":
            return
        units = dict(self.show.units)
        for unit in list(units.values()):
            if unit.kind.does is Does.SWITCH and not unit.net:
                units[unit.name] = replace(unit, net="a")
            if unit.kind.does is Does.SWITCH:
                second = self._new(f"{unit.name}-b", units)
                units[second] = self._like(unit, second, net="b")
        show = replace(self.show, nets="two", units=_sorted(units))
        yield Improvement(words="a second net, each switch twice", show=show, plan=self.plan)

    # -- units -----------------------------------------------------------------------------------

    def _spare(self, unit: Unit) -> Improvement:
        name = self._new(f"{unit.name}-spare", self.show.units)
        spare = self._like(unit, name, covers=(unit.name,))
        where = f"a spare {unit.kind.label.lower()} for {unit.name} at {unit.place}"
        return self._with(spare, f"{where}{self._on(spare)}")

    def _second_switch(self, unit: Unit) -> Improvement:
        name = self._new(f"{unit.name}-2", self.show.units)
        second = self._like(unit, name)
        return self._with(second, f"a second switch beside {unit.name}{self._on(second)}")

    def _standbys(self, unit: Unit) -> Iterator[Improvement]:
        """Give the other mixers that could stand in by hand, those with most channels first."""
        others = [
            u
            for u in self.show.units.values()
            if u.kind.does is unit.kind.does
            and u.name != unit.name
            and not u.theirs
            and not u.covers
        ]
        others.sort(key=lambda u: (-u.kind.strips, natural(u.name)))
        for other in others[:1]:
            changed = replace(unit, standby=other.name, by="hand")
            words = f"{other.name} stands in for {unit.name} by hand, its mixes prepared"
            yield self._with(changed, words)

    def _second_supply(self, unit: Unit) -> Improvement:
        words, show, needs = self._supplied([unit])
        return Improvement(words=words, show=show, plan=self.plan, needs=needs)

    def _all_supplied(self, name: str, units: list[Unit]) -> Improvement:
        _, show, needs = self._supplied(units)
        words = f"a second circuit for all {len(units)} units on {name}"
        return Improvement(words=words, show=show, plan=self.plan, needs=needs)

    def _supplied(self, units: list[Unit]) -> tuple[str, Show, str]:
        circuits = dict(self.show.circuits)
        other = self._other_circuit(units[0].circuits[0])
        needs = ""
        if not other:
            other = self._new("new-circuit", circuits)
            circuits[other] = Circuit(name=other)
            needs = "a circuit with a feed of its own; licensed people decide"
        single = [u.name for u in units if u.kind.supplies < len(u.circuits) + 1]
        if single:
            more = "an automatic changeover of supplies where a unit has one supply only"
            needs = f"{needs}, and {more}" if needs else more
        changed = {u.name: replace(u, circuits=(*u.circuits, other)) for u in units}
        show = replace(
            self.show, circuits=_sorted(circuits), units=_sorted({**self.show.units, **changed})
        )
        return f"a second supply for {units[0].name} from circuit {other}", show, needs

    def _other_circuit(self, name: str) -> str:
        """Give another circuit, one with another feed before one with the same; "" for none."""
        supplies = Supplies(self.show)
        others = [c for c in self.show.circuits if c != name and not self._feeds(c, name)]
        apart = [c for c in others if supplies.top(c) != supplies.top(name)]
        return min(apart or others, key=natural, default="")

    def _feeds(self, one: str, other: str) -> bool:
        """Say whether one circuit feeds another, directly or through others."""
        passed: set[str] = set()
        while other and other not in passed:
            if other == one:
                return True
            passed.add(other)
            circuit = self.show.circuits.get(other)
            other = circuit.fed_by if circuit is not None else ""
        return False

    def _like(self, unit: Unit, name: str, *, covers: tuple[str, ...] = (), net: str = "") -> Unit:
        """Give another unit of the kind at the place, on another circuit if there is one."""
        circuits = tuple(self._other_circuit(c) or c for c in unit.circuits)
        return replace(
            unit,
            name=name,
            number=None,
            label="",
            mac="",
            rack="",
            circuits=circuits,
            covers=covers,
            standby="",
            by="",
            meeting="",
            net=net or unit.net,
        )

    def _on(self, unit: Unit) -> str:
        return f", on circuit {' and '.join(unit.circuits)}" if unit.circuits else ""

    def _with(self, unit: Unit, words: str) -> Improvement:
        show = replace(self.show, units=_sorted({**self.show.units, unit.name: unit}))
        return Improvement(words=words, show=show, plan=self.plan)

    def _without_runs(self, duct: str) -> Plan:
        """Give the plan with the runs in a duct open to be laid anew."""
        network = self.plan.network
        runs = tuple(run for run in network.runs if run.given or duct not in run.ducts)
        return replace(self.plan, network=replace(network, runs=runs))

    def _new(self, stem: str, taken: Mapping[str, object]) -> str:
        names = {folded(name) for name in (*taken, *self.show.units, *self.show.places)}
        at, name = 1, stem
        while folded(name) in names:
            at += 1
            name = f"{stem}-{at}"
        return name


def _sorted(rows: Mapping[str, Row]) -> Mapping[str, Row]:
    return {name: rows[name] for name in sorted(rows, key=natural)}
