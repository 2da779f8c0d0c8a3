"""Standing in and passive things: change-over units, inserts, splits, drop boxes."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.part import ALSO
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.check.check import Check, Facts
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan
from lineproof.show.model import Line, Show
from lineproof.show.sockets_of import multicores, wrong_with
from lineproof.show.standbys import CHANGEOVER

_HEAD = "number,name,from,source,to,back-to\n"
_PA = "  pa: {kind"
_DROP = "  drop: {{kind: drop-box-8, place: front, sockets-of: '{}'}}\n  pa: {{kind"

NO_CHANGEOVER = Rule(
    name="no-changeover-unit",
    grade=Grade.STOP,
    why="Nothing changes over: when the first dies its standby is never heard.",
    do="name a change-over unit after `changeover:`, or write end or hand",
    source="Lineproof",
    fails=Example(
        lines="number,name,from,source,to,by\n1,Track,rec-1,playback,desk,changeover:pa\n"
    ),
    passes=Example(),
)
WRONG_INPUT = Rule(
    name="wrong-changeover-input",
    grade=Grade.STOP,
    why="A change-over unit passes on the two inputs of an output and no other: this is silent.",
    do="take the pin out, or pin both inputs and the output to numbers that belong together",
    source="the kind: output n has the inputs n and n + the number of its outputs",
    fails=Example(
        show=EXAMPLE_SHOW.replace(_PA, f"  co: {{kind: change-over-network, place: front}}\n{_PA}")
        + "pins: {1: {ends: {co from rec-1: 'co:receive-7'}}}\n",
        lines="number,name,from,source,to,by\n1,Track,rec-1|desk,playback,pa,changeover:co\n",
    ),
    passes=Example(),
)
INSERT_NOWHERE = Rule(
    name="insert-nowhere",
    grade=Grade.STOP,
    why="The return of an insert comes back into a strip; where its line has none it is not heard.",
    do="send both lines to one mixer, or name the line the insert is on",
    source="Lineproof",
    fails=Example(lines=_HEAD + "1,Voice,stage,dynamic mic,rec-1,\n2,Squeeze,stage,line,desk,1\n"),
    passes=Example(lines=_HEAD + "1,Voice,stage,dynamic mic,desk,\n2,Squeeze,stage,line,desk,1\n"),
)
SPLIT_PHANTOM = Rule(
    name="split-phantom",
    grade=Grade.RISK,
    why="With 48 V from two sides, or from none, a split microphone hums, drops out or is silent.",
    do="switch 48 V on at the named socket only, and label the others `no 48 V`",
    source="common practice; IEC 61938 for the supply",
    fails=Example(
        lines=(
            "number,name,from,source,to,also\n1,Voice,stage,condenser mic,desk rec-1,desk:in-3\n"
        )
    ),
    passes=Example(
        lines="number,name,from,source,to,also\n1,Voice,stage,dynamic mic,desk rec-1,desk:in-3\n"
    ),
)
WRONG_SOCKETS = Rule(
    name="wrong-sockets-of",
    grade=Grade.STOP,
    why="What is plugged into a drop box with nothing behind it is heard by nobody.",
    do="name sockets that the box has, as in `box-1:9-16`",
    source="Lineproof",
    fails=Example.changed((_PA, _DROP.format("box-1:12-20"))),
    passes=Example.changed((_PA, _DROP.format("box-1:9-16"))),
)


def no_changeover(facts: Facts) -> Iterator[Finding]:
    """Find lines and units whose change-over unit can't change over."""
    units = facts.show.units
    named = [(f"unit {u.name}", u.name, u.by, u.where) for u in units.values()]
    named += [(f"line {x.key} ({x.title})", str(x.key), x.by, x.where) for x in facts.show.lines]
    for title, name, by, where in named:
        if not folded(by).startswith(CHANGEOVER):
            continue
        unit = facts.show.find_unit(by.partition(":")[2])
        if unit is not None and unit.kind.does is not Does.CHANGEOVER:
            what = f"{title} is changed over by {unit.name}, which is a {unit.kind.label}"
            yield NO_CHANGEOVER.finding(what=what, where=where, of=(name, unit.name))


def wrong_input(facts: Facts) -> Iterator[Finding]:
    """Find lines that come into a change-over unit where their output does not listen."""
    for decided in facts.plan.lines:
        line = facts.show.line(decided.key)
        for chain in decided.start.values():
            for heard, out in itertools.pairwise(chain):
                if line is not None and _unheard(facts.show, heard, out):
                    what = (
                        f"line {line.key} ({line.title}) comes in at {heard}, but leaves at {out}"
                    )
                    of = (str(line.key), str(heard))
                    yield WRONG_INPUT.finding(what=what, where=line.where, of=of)


def _unheard(show: Show, heard: Spot, out: Spot) -> bool:
    unit = show.units.get(heard.unit)
    if unit is None or heard.unit != out.unit or unit.kind.does is not Does.CHANGEOVER:
        return False
    return heard.number not in (out.number, out.number + show.count(unit, out.side))


def insert_nowhere(facts: Facts) -> Iterator[Finding]:
    """Find returns whose line is in no strip of a mixer to which they come back."""
    for line in facts.show.lines:
        if not line.back_to:
            continue
        other = _named(facts.show, line)
        if other is not None and other.key == line.key:
            what = f"line {line.key} ({line.title}) is the return of an insert on itself"
            yield INSERT_NOWHERE.finding(what=what, where=line.where, of=(str(line.key),))
        elif other is not None and not _mixers(facts.show, line) & _mixers(facts.show, other):
            what = (
                f"line {line.key} ({line.title}) returns to line {other.key} ({other.title}), "
                "but the two come together on no mixer"
            )
            of = (str(line.key), str(other.key))
            yield INSERT_NOWHERE.finding(what=what, where=(line.where, other.where), of=of)


def _named(show: Show, line: Line) -> Line | None:
    try:
        key = LineKey.parse(line.back_to)
    except SpotError:
        return None  # told where the list is read
    return show.line(LineKey(act=key.act or line.key.act, number=key.number)) or show.line(key)


def _mixers(show: Show, line: Line) -> set[str]:
    names = {member.name for _, member in line.end_members()} & set(show.units)
    return {name for name in names if show.units[name].kind.strips}


def split_phantom(facts: Facts) -> Iterator[Finding]:
    """Find microphones with 48 V that are split: one side alone may give it."""
    for line in facts.show.lines:
        decided = facts.plan.line(line.key)
        if decided is None or not line.also or not line.needs_phantom:
            continue
        giving = [s for s in _sides(facts.show, decided) if _gives(facts.show, s)]
        others = ", ".join(map(str, giving[1:]))
        if len(giving) == 1:
            continue
        what = f"line {line.key} ({line.title}) wants 48 V and is split: "
        what += f"{giving[0]} gives it, off at {others}" if giving else "no side gives it"
        of = (str(line.key), *map(str, giving))
        yield SPLIT_PHANTOM.finding(what=what, where=line.where, of=of)


def _sides(show: Show, decided: LinePlan) -> list[Spot]:
    """Give the sockets that the microphone reaches, its own first."""
    found: list[Spot] = []
    for part, chain in decided.start.items():
        ins = [spot for spot in chain if spot.side is Side.IN]
        if ins and (part.startswith(ALSO) or not found):
            found.append(multicores(show).real(ins[0]))
    return found


def _gives(show: Show, spot: Spot) -> bool:
    unit = show.units.get(spot.unit)
    sockets = unit.kind.sockets_on(Side.IN) if unit else ()
    return spot.number <= len(sockets) and sockets[spot.number - 1].phantom


def wrong_sockets(facts: Facts) -> Iterator[Finding]:
    """Find drop boxes whose `sockets-of` names what isn't there."""
    for unit in facts.show.units.values():
        wrong = wrong_with(unit.sockets_of, unit, facts.show.units) if unit.sockets_of else None
        if wrong is not None:
            what = f"sockets-of of unit {unit.name}: {wrong}"
            yield WRONG_SOCKETS.finding(what=what, where=unit.where, of=(unit.name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_CHANGEOVER, find=no_changeover),
    Check(rule=WRONG_INPUT, find=wrong_input),
    Check(rule=INSERT_NOWHERE, find=insert_nowhere),
    Check(rule=SPLIT_PHANTOM, find=split_phantom),
    Check(rule=WRONG_SOCKETS, find=wrong_sockets),
)
