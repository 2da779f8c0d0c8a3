"""Circuits: units on none, and more on one than its breaker holds, or nobody knows."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.check import Check, Facts
from lineproof.reckon.power import circuit_loads

NO_CIRCUIT = Rule(
    name="no-circuit",
    grade=Grade.NOTE,
    why="A unit on an unknown circuit can't be counted when that circuit fails.",
    do="fill in `circuit`",
    source="Lineproof",
    fails=Example.changed(
        ("{kind: computer-32, place: front, circuit: house}", "{kind: computer-32, place: front}")
    ),
    passes=Example(),
)
OVERLOAD = Rule(
    name="circuit-overload",
    grade=Grade.STOP,
    why="A breaker that falls in the loud part takes everything on the circuit with it.",
    do="put units on another circuit; let a licensed electrician check, local codes decide",
    source="P = U I; figures of the kinds are typical practice, unity power factor assumed",
    fails=Example.changed(
        ("house: {supply: 230 V, limit: 16 A}", "house: {supply: 230 V, limit: 1 A}")
    ),
    passes=Example(),
)
NOT_FED = Rule(
    name="not-fed",
    grade=Grade.STOP,
    why="A unit that can't be fed over its network cable stays dark when the cable is plugged.",
    do="fill in `circuit` instead of `power: network`, or take a kind that can be fed so",
    source="IEEE 802.3 clause 33: what shows no class is given no power (from memory)",
    fails=Example.changed(
        (
            "rec-1: {kind: computer-32, place: front, circuit: house}",
            "rec-1: {kind: computer-32, place: front, power: network}",
        )
    ),
    passes=Example(),
)
UNMEASURED = Rule(
    name="circuit-unmeasured",
    grade=Grade.NOTE,
    why="Without voltage and limit nobody can say whether the breaker holds.",
    do="ask whoever answers for the mains, and fill in `supply` and `limit`",
    source="Lineproof",
    fails=Example.changed(("house: {supply: 230 V, limit: 16 A}", "house: {supply: 230 V}")),
    passes=Example(),
)


def no_circuit(facts: Facts) -> Iterator[Finding]:
    """Find units that take mains and are on no circuit."""
    for unit in facts.show.units.values():
        needs = unit.kind.worst_w > 0 and unit.kind.supplies > 0 and unit.power != "network"
        if needs and not unit.circuits:
            what = f"{unit.name} ({unit.kind.label}) is on no circuit"
            yield NO_CIRCUIT.finding(what=what, where=unit.where, of=(unit.name,))


def overload(facts: Facts) -> Iterator[Finding]:
    """Find circuits on which the worst load is more than the breaker holds."""
    for load in circuit_loads(facts.show):
        circuit = facts.show.circuits[load.circuit]
        if (
            load.worst_a is not None
            and circuit.limit_a is not None
            and load.worst_a > circuit.limit_a
        ):
            what = (
                f"circuit {circuit.name} holds {circuit.limit_a:g} A; "
                f"all that hangs on it takes up to {load.worst_a:.1f} A"
                f" ({load.programme_a:.1f} A at a usual programme)"
            )
            yield OVERLOAD.finding(what=what, where=circuit.where, of=(circuit.name, *load.units))


def not_fed(facts: Facts) -> Iterator[Finding]:
    """Find units said to be fed over their network cable, of a kind that can't be."""
    for unit in facts.show.units.values():
        if unit.power == "network" and unit.kind.poe_class is None:
            what = f"{unit.name} ({unit.kind.label}) can't be fed over its network cable"
            yield NOT_FED.finding(what=what, where=unit.where, of=(unit.name,))


def unmeasured(facts: Facts) -> Iterator[Finding]:
    """Find circuits with units on them and no voltage or no limit."""
    for load in circuit_loads(facts.show):
        circuit = facts.show.circuits[load.circuit]
        known = {"supply": circuit.supply_v, "limit": circuit.limit_a}
        lacking = [word for word, figure in known.items() if figure is None]
        if load.units and lacking:
            what = f"circuit {circuit.name} has no {' and no '.join(lacking)}"
            yield UNMEASURED.finding(what=what, where=circuit.where, of=(circuit.name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_CIRCUIT, find=no_circuit),
    Check(rule=OVERLOAD, find=overload),
    Check(rule=NOT_FED, find=not_fed),
    Check(rule=UNMEASURED, find=unmeasured),
)
