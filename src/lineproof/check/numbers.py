"""Unit numbers: two boxes with one number, numbers beyond what a mixer hears."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import Side
from lineproof.check.check import MOST_TOLD, Check, Facts, some
from lineproof.show.model import Unit

SAME_NUMBER = Rule(
    name="same-number",
    grade=Grade.STOP,
    why="Two boxes with one number land on the same channels: two lines answer, or none.",
    do="give one of the boxes another number, on the box and in the show",
    source="common practice",
    fails=Example.changed(
        (
            "  desk: {kind",
            "  box-2: {kind: box-16-8, place: stage, number: 1, circuit: house}\n  desk: {kind",
        )
    ),
    passes=Example(),
)
BEYOND = Rule(
    name="number-beyond",
    grade=Grade.NOTE,
    why="The channels that the box's number implies are more than a mixer hears.",
    do="nothing; its lines are patched by hand on that mixer, or give the box a lower number",
    source="common practice",
    fails=Example.changed(("number: 1,", "number: 7,")),
    passes=Example(),
)
IMPLIES_NOTHING = Rule(
    name="number-idle",
    grade=Grade.NOTE,
    why="A number implies channels only on boxes; whoever set it counted on something else.",
    do="take the number out, or give it to the box that was meant",
    source="Lineproof",
    fails=Example.changed(("desk: {kind: mixer-32,", "desk: {kind: mixer-32, number: 2,")),
    passes=Example(),
)
UNNUMBERED = Rule(
    name="number-missing",
    grade=Grade.NOTE,
    why="Without the number set on the box nobody knows on which channels it lands by itself.",
    do="write in `number` what is set on the box",
    source="common practice",
    fails=Example.changed(("number: 1, ", "")),
    passes=Example(),
)


def numbered(facts: Facts) -> list[Unit]:
    """Give the units whose number implies channels."""
    return [u for u in facts.show.units.values() if u.kind.numbering and u.number is not None]


def implied_channels(unit: Unit) -> range:
    """Give the receive channels that the unit's number implies for its inputs."""
    assert unit.kind.numbering is not None
    assert unit.number is not None
    inputs = len(unit.kind.sockets_on(Side.IN))
    first = unit.kind.numbering.receive_channel(unit_number=unit.number, socket=1)
    return range(first, first + inputs)


def same_number(facts: Facts) -> Iterator[Finding]:
    """Find numbered units whose implied channels overlap."""
    units = numbered(facts)
    for at, one in enumerate(units):
        for other in units[at + 1 :]:
            both = sorted(set(implied_channels(one)) & set(implied_channels(other)))
            if both:
                what = (
                    f"{one.name} (number {one.number}) and {other.name} (number {other.number}) "
                    f"both claim channels {both[0]} to {both[-1]}"
                )
                where = (one.where, other.where)
                yield SAME_NUMBER.finding(what=what, where=where, of=(one.name, other.name))


def beyond(facts: Facts) -> Iterator[Finding]:
    """Find numbered units with lines to a mixer that hears fewer channels than they imply."""
    heard = {(r.receive.unit, r.send.unit) for r in facts.figures.routes}
    followers = [m for m in facts.show.units.values() if m.kind.follows_numbers]
    for unit in numbered(facts):
        last = implied_channels(unit)[-1] if implied_channels(unit) else 0
        for mixer in followers:
            count = facts.show.count(mixer, Side.RECEIVE)
            if (mixer.name, unit.name) in heard and last > count:
                what = (
                    f"{unit.name} (number {unit.number}) implies channels up to {last}; "
                    f"{mixer.name} hears {count}"
                )
                yield BEYOND.finding(what=what, where=unit.where, of=(unit.name, mixer.name))


def implies_nothing(facts: Facts) -> Iterator[Finding]:
    """Find numbers on units of a kind whose number implies no channels."""
    for unit in facts.show.units.values():
        if unit.number is not None and unit.kind.numbering is None:
            what = (
                f"{unit.name} ({unit.kind.label}) has number {unit.number}, which implies nothing"
            )
            yield IMPLIES_NOTHING.finding(what=what, where=unit.where, of=(unit.name,))


def unnumbered(facts: Facts) -> Iterator[Finding]:
    """Find units whose number would imply channels, and that have none: all of them at once."""
    units = [u for u in facts.show.units.values() if u.number is None and u.kind.numbering]
    if units:
        names = tuple(unit.name for unit in units)
        where = tuple(unit.where for unit in units[:MOST_TOLD])
        what = f"no number stands for {some(names)}"
        yield UNNUMBERED.finding(what=what, where=where, of=names)


CHECKS: tuple[Check, ...] = (
    Check(rule=SAME_NUMBER, find=same_number),
    Check(rule=BEYOND, find=beyond),
    Check(rule=IMPLIES_NOTHING, find=implies_nothing),
    Check(rule=UNNUMBERED, find=unnumbered),
)
