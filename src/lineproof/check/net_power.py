"""Units that live on their network cable and hang on nothing that feeds, and switching on."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, Facts, some
from lineproof.check.net_facts import on_figures
from lineproof.reckon.delay_figures import NetworkFigures
from lineproof.reckon.power import circuit_loads
from lineproof.show.model import Show

_EAR = EXAMPLE_SHOW.replace(
    "  sw-1:", "  ear: {kind: personal-mixer-16, place: front}\n  sw-1:"
).replace("lines:", "runs: {e: {from: 'ear:1', to: 'sw-1:1'}}\nlines:")
_LOUD = EXAMPLE_SHOW.replace("kind: powered-loudspeaker,", "kind: powered-subwoofer,")

#: In the first half-wave a supply takes up to so many times its most (common practice).
_FIRST_MOMENT = 10
#: A breaker of type B may fall at so many times its rating, without delay (IEC 60898-1, memory).
_MAY_FALL = 3

UNFED = Rule(
    name="not-fed-by-cable",
    grade=Grade.STOP,
    why="A unit whose only supply is its network cable stays dark on a port that feeds nothing.",
    do="write `power: network`, so that a port is chosen that feeds it, or give it a `circuit`",
    source="IEEE 802.3 clauses 33 and 145",
    fails=Example(show=_EAR),
    passes=Example(show=_EAR.replace("kind: switch-8,", "kind: switch-8-poe,")),
)
ALL_AT_ONCE = Rule(
    name="switch-on-in-steps",
    grade=Grade.NOTE,
    why="Supplies that fill up all at once can make a sound breaker fall, also after a dip.",
    do="switch on one unit after another; a licensed person judges breakers, local codes decide",
    source=(
        "common practice: up to 10 times the most in the first moment; IEC 60898-1: type B may "
        "fall at 3 times its rating (from memory)"
    ),
    fails=Example(show=_LOUD),
    passes=Example(show=_LOUD.replace("limit: 16 A", "limit: 125 A")),
)


def not_fed(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find units without another supply that hang on no port which feeds enough."""
    for name in figures.unfed:
        unit = show.units[name]
        if unit.power == "network":
            continue  # told with the runs
        what = f"{name} ({unit.kind.label}) has no supply but its cable, and nothing feeds it there"
        yield UNFED.finding(what=what, where=unit.where, of=(name,))


def all_at_once(facts: Facts) -> Iterator[Finding]:
    """Find circuits whose breaker may fall when all on them starts at once; told as one."""
    found = {}
    for load in circuit_loads(facts.show):
        circuit = facts.show.circuits[load.circuit]
        if load.worst_a is None or circuit.limit_a is None or len(load.units) < 2:
            continue
        first = load.worst_a * _FIRST_MOMENT
        if first > circuit.limit_a * _MAY_FALL and load.worst_a <= circuit.limit_a:
            found[circuit.name] = f"{circuit.name} {first:.0f} A on {circuit.limit_a:g} A"
    if found:
        what = "switched on at once, or after a dip, circuits may take for a moment: "
        where = facts.show.circuits[next(iter(found))].where
        yield ALL_AT_ONCE.finding(
            what=what + some(tuple(found.values())), where=where, of=tuple(found)
        )


CHECKS: tuple[Check, ...] = (
    Check(rule=UNFED, find=on_figures(not_fed)),
    Check(rule=ALL_AT_ONCE, find=all_at_once),
)
