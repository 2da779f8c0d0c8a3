"""Sockets: phantom where it harms or is missing, pairs apart or unlike."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import Side, Spot
from lineproof.check.check import Check, Facts
from lineproof.kit.kinds import Does, Socket
from lineproof.show.model import Line, Show

_LINE_SOCKETS = "{side: in, count: 8, signal: line, connector: XLR 3}"
_LINE_BOX = f"line-box: {{like: box-16-8, sockets: [{_LINE_SOCKETS}]}}"

NO_PHANTOM = Rule(
    name="no-phantom",
    grade=Grade.STOP,
    why="A condenser microphone or an active DI without 48 V is silent.",
    do="take the pin away, or pin the line to a socket that gives 48 V",
    source="IEC 61938 (phantom power P48; from memory)",
    fails=Example.changed(
        ("kind: box-16-8,", "kind: line-box,"),
        ("units:\n", f"kinds: {{{_LINE_BOX}}}\nunits:\n"),
        lines=(
            "number,name,from,source,to\n1,Kick,stage,dynamic mic,desk rec-1",
            "number,name,from,source,to,socket\n1,Kick,stage,condenser mic,desk rec-1,box-1:in-1",
        ),
    ),
    passes=Example(),
)
PHANTOM_HARM = Rule(
    name="phantom-harm",
    grade=Grade.RISK,
    why="48 V on the wrong source can destroy it.",
    do="switch phantom off on the socket before plugging, and label it so",
    source="common practice",
    fails=Example(lines="number,name,from,source,to,phantom\n1,Horn,stage,ribbon mic,desk,yes\n"),
    passes=Example(),
)
PAIR_APART = Rule(
    name="pair-apart",
    grade=Grade.NOTE,
    why="Two halves of a pair on distant sockets are swapped or trimmed apart more easily.",
    do="nothing; look twice at line check, or free two neighbouring sockets",
    source="common practice",
    fails=Example(
        lines=(
            "number,name,from,source,to,pair,socket\n"
            "5,Keys L,stage,line,desk,6,box-1:in-1\n6,Keys R,stage,line,desk,5,box-1:in-4\n"
        )
    ),
    passes=Example(
        lines=(
            "number,name,from,source,to,pair\n"
            "5,Keys L,stage,line,desk,6\n6,Keys R,stage,line,desk,5\n"
        )
    ),
)
PAIR_DIFFERS = Rule(
    name="pair-differs",
    grade=Grade.NOTE,
    why="A pair is set up as one: what only one half has is missing from the other, or a slip.",
    do="nothing, if it is meant; else write the same into both rows",
    source="common practice",
    fails=Example(
        lines=(
            "number,name,from,source,to,pair\n"
            "5,Keys L,stage,active DI,desk rec-1,6\n6,Keys R,stage,passive DI,desk,5\n"
        )
    ),
    passes=Example(
        lines=(
            "number,name,from,source,to,pair\n"
            "5,Keys L,stage,line,desk,6\n6,Keys R,stage,line,desk,5\n"
        )
    ),
)
#: Where both halves of a pair are wanted; loudspeakers have a half each.
_BOTH = frozenset({Does.MIXER, Does.COMPUTER, Does.RECORDER, Does.BRIDGE})


def plugged(facts: Facts, line: Line) -> Spot | None:
    """Give the socket into which the line's start is plugged; behind a drop box its own."""
    decided = facts.plan.line(line.key)
    spots = decided.start.get(str(line.starts[0]), ()) if decided else ()
    at = next((n for n, s in enumerate(spots) if s.side is Side.IN), None)
    if at is None:
        return None
    behind = spots[at + 1 : at + 2]
    return behind[0] if behind and behind[0].side is Side.IN else spots[at]


def socket_of(show: Show, spot: Spot) -> Socket | None:
    """Give what the kind says of the socket, None if the unit has no such socket."""
    unit = show.units.get(spot.unit)
    sockets = unit.kind.sockets_on(spot.side) if unit else ()
    return sockets[spot.number - 1] if spot.number <= len(sockets) else None


def no_phantom(facts: Facts) -> Iterator[Finding]:
    """Find lines that want 48 V on a socket that gives none."""
    for line in facts.show.lines:
        spot = plugged(facts, line)
        socket = socket_of(facts.show, spot) if spot else None
        if socket is not None and line.needs_phantom and not socket.phantom:
            what = f"line {line.key} ({line.title}) wants 48 V, but {spot} gives none"
            yield NO_PHANTOM.finding(what=what, where=line.where, of=(str(line.key), str(spot)))


def phantom_harm(facts: Facts) -> Iterator[Finding]:
    """Find lines for which the list asks 48 V although it harms their source."""
    for line in facts.show.lines:
        if line.phantom and line.source is not None and line.source.harm:
            what = (
                f"line {line.key} ({line.title}) asks for 48 V on a {line.source.label}: "
                f"{line.source.harm}"
            )
            yield PHANTOM_HARM.finding(what=what, where=line.where, of=(str(line.key),))


def pair_apart(facts: Facts) -> Iterator[Finding]:
    """Find pairs that start at one place and are not on odd and even neighbours of one unit."""
    for line in facts.show.lines:
        other = facts.show.line(line.pair) if line.pair and line.left else None
        if other is None or line.starts[0] != other.starts[0]:
            continue
        left, right = plugged(facts, line), plugged(facts, other)
        if left and right and not neighbours(left, right):
            what = f"the pair {line.key} and {other.key} is apart: {left} and {right}"
            of = (str(line.key), str(other.key))
            yield PAIR_APART.finding(what=what, where=(line.where, other.where), of=of)


def pair_differs(facts: Facts) -> Iterator[Finding]:
    """Find pairs whose halves differ in source, phantom, need, group, or in who hears them."""
    for line in facts.show.lines:
        other = facts.show.line(line.pair) if line.pair and line.left else None
        unlike = _unlike(facts.show, line, other) if other is not None else []
        if other is not None and unlike:
            what = f"the halves of the pair {line.key} and {other.key} differ in {_and(unlike)}"
            of = (str(line.key), str(other.key))
            yield PAIR_DIFFERS.finding(what=what, where=(line.where, other.where), of=of)


def _unlike(show: Show, line: Line, other: Line) -> list[str]:
    """Give in words what differs between the halves of a pair."""
    same = {
        "source": line.source == other.source,
        "phantom": line.needs_phantom == other.needs_phantom,
        "need": line.need is other.need,
        "group": line.group == other.group,
    }
    unlike = [word for word, is_same in same.items() if not is_same]
    alone = sorted(_hearers(show, line) ^ _hearers(show, other))
    return [*unlike, *(f"going to {name}" for name in alone)]


def _hearers(show: Show, line: Line) -> set[str]:
    names = {member.name for _, member in line.end_members()} & set(show.units)
    return {name for name in names if show.units[name].kind.does in _BOTH}


def _and(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def neighbours(left: Spot, right: Spot) -> bool:
    """Say whether two spots are an odd one and the even one after it, in one unit."""
    same = (left.unit, left.side) == (right.unit, right.side)
    return same and left.number % 2 == 1 and right.number == left.number + 1


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_PHANTOM, find=no_phantom),
    Check(rule=PHANTOM_HARM, find=phantom_harm),
    Check(rule=PAIR_APART, find=pair_apart),
    Check(rule=PAIR_DIFFERS, find=pair_differs),
)
