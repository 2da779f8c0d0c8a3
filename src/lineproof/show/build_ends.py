"""Where a line starts and ends: names become places and units, numbers become spots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from lineproof.base.finding import Finding
from lineproof.base.names import folded
from lineproof.base.spot import Side
from lineproof.kit.kinds import Does, Kind
from lineproof.show import rules, words
from lineproof.show.ends import EndError, Written, read_end, read_target
from lineproof.show.fields import Fields, Names, words_in
from lineproof.show.found import is_full
from lineproof.show.model import End, Target, Unit
from lineproof.show.tree import Node, Text

#: Ends of all lines together, each member of a zone or range counted in each row.
MOST_ENDS = 100_000


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What the rows stand on: names, units, zones and lists, and how acts are spelled.

    `groups` and `acts` go by folded name.
    """

    names: Names
    units: Mapping[str, Unit]
    groups: Mapping[str, tuple[str, ...]]
    findings: list[Finding]
    rate_hz: int
    acts: Mapping[str, str] = field(default_factory=dict)
    #: How many ends were read; a zone in every row is read in every row.
    read: Counter[str] = field(default_factory=Counter)
    #: What each word in `to` stands for.
    written: dict[str, tuple[Written, ...] | EndError] = field(default_factory=dict)


#: Into these a signal is plugged from outside.
_PLUGGED = (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT)


def starts_inside(kind: Kind) -> bool:
    """Say whether a signal can start inside such a unit; into a box it is plugged from outside."""
    plugged = kind.does in _PLUGGED
    # A paging station has no socket: its microphone is built in.
    return not plugged or (kind.networked and not kind.sockets_on(Side.IN))


def silent(unit: Unit, *, starts: bool) -> str:
    """Say why no line can start (or end) at a unit: it has no sound of its own; "" if it has."""
    kind = unit.kind
    if not (kind.sockets or kind.networked):
        return f"a {kind.does.value} ({kind.name}) has neither a socket nor a channel for sound"
    plugged = Side.IN if kind.does in _PLUGGED else Side.OUT
    if starts and not (kind.sockets_on(plugged) or any(kind.send.values())):
        return f"nothing comes out of a {kind.does.value} ({kind.name}), by socket or by channel"
    return ""


def line_starts(fields: Fields, ground: Ground) -> tuple[Target, ...]:
    """Give where the line starts: one target, or two for a standby both ways."""
    node = fields.nodes.get("from")
    if node is None or _undecided(node):
        _no(fields, ground, "from", "nobody says where it starts")
        return ()
    found = words_in(node)
    if len(found) != 1:
        fields.wrong("from", node, f"{len(found)} names stand here, not one")
        return ()
    starts = []
    for part in found[0].value.split("|"):
        target = _known(part, found[0], fields, ground)
        if target is not None:
            target = _start_side(target, fields, ground, node)
        if target is not None:
            starts.append(target)
    return tuple(starts)


def line_ends(fields: Fields, ground: Ground) -> tuple[End, ...]:
    """Give every end of the line in the order written, each once."""
    node = fields.nodes.get("to")
    if node is None or _undecided(node):
        _no(fields, ground, "to", "nobody says where it goes")
        return ()
    ends: dict[tuple[str, ...], End] = {}
    for word in words_in(node):
        if ground.read["ends"] > MOST_ENDS:
            what = f"more than {MOST_ENDS:,} ends are named by here; the rest is not read"
            ground.findings.append(rules.TOO_LARGE.finding(what=what, where=word.where))
            break
        its = _ends_of(word, fields, ground, node)
        if not its and is_full(ground.findings):
            break  # the row can't be read, and why is not told any more
        for end in its:
            ends.setdefault(tuple(folded(str(m)) for m in end.members), end)
    if not ends and not words_in(node):
        _no(fields, ground, "to", "nobody says where it goes")
    return tuple(ends.values())


def _undecided(node: Node) -> bool:
    return isinstance(node, Text) and folded(node.value) in words.UNDECIDED


def _no(fields: Fields, ground: Ground, key: str, problem: str) -> None:
    if key in fields.refused:
        return
    rule = rules.NO_START if key == "from" else rules.NO_END
    node = fields.nodes.get(key)
    written = f" ({node.value!r} stands there)" if isinstance(node, Text) else ""
    what = f"{fields.title}: {problem}{written}; expected {words.LINE[key].expected()}"
    ground.findings.append(rule.finding(what=what, where=fields.at(key)))


def _ends_of(word: Text, fields: Fields, ground: Ground, node: Node) -> list[End]:
    written = _written(word, ground)
    if isinstance(written, EndError):
        fields.wrong("to", word, str(written))
        return []
    ground.read["ends"] += sum(1 + len(w.members[0].numbers) for w in written)
    if not written:
        # A zone or list of nothing is told where it stands; told once is enough.
        fields.broken = True
    ends: list[End] = []
    for w in written:
        its = _end(w, word, fields, ground, node)
        if not its and is_full(ground.findings):
            return []
        ends += its
    return ends


def _written(word: Text, ground: Ground) -> tuple[Written, ...] | EndError:
    """Give what a word stands for, worked out once however many rows hold it."""
    known = ground.written.get(word.value)
    if known is None:
        try:
            known = read_end(word, ground.groups)
        except EndError as error:
            known = error
        ground.written[word.value] = known
    return known


def _end(w: Written, word: Text, fields: Fields, ground: Ground, node: Node) -> list[End]:
    members = []
    for member in w.members:
        target = _known(str(member), word, fields, ground)
        if target is not None:
            target = _end_side(target, fields, ground, node)
        if target is None:
            return []
        members.append(target)
    part_of = w.text.rstrip("?") if folded(w.text.rstrip("?")) != folded(str(members[0])) else ""
    if len(members) == 1 and len(members[0].numbers) > 1:
        # Each number is an end of its own: both are fed, both must arrive.
        split = [replace(members[0], numbers=(n,)) for n in members[0].numbers]
        return [End(members=(m,), want=w.want, part_of=w.text, where=word.where) for m in split]
    if len(members) > 1:
        part_of = ""
    return [End(members=tuple(members), want=w.want, part_of=part_of, where=word.where)]


def half_of(ends: tuple[End, ...], *, left: bool) -> tuple[End, ...]:
    """Give a pair's half of the ends: of `amp-1:1-2` the odd number goes to the left."""
    kept = []
    for end in ends:
        numbers = end.members[0].numbers
        siblings = [
            e for e in ends if e.part_of and e.part_of == end.part_of and e.where == end.where
        ]
        both = len({s.members[0].numbers[0] % 2 for s in siblings if s.members[0].numbers}) == 2
        if not (both and numbers) or (numbers[0] % 2 == 1) == left:
            kept.append(end)
    return tuple(kept)


def _known(part: str, word: Text, fields: Fields, ground: Ground) -> Target | None:
    """Give the target with its name as its owner spells it, or None with a finding."""
    key = "to" if word.value in _texts(fields.nodes.get("to")) else "from"
    try:
        target = read_target(part)
    except EndError as error:
        fields.wrong(key, word, str(error))
        return None
    named = Text(value=target.name, where=word.where)
    name = ground.names.look_up(named, "place", "unit", by=fields.title)
    if name is None:
        return None
    target = replace(target, name=name)
    unit = ground.units.get(name)
    if unit is None and ground.names.what(name) == "unit":
        # Told where the unit stands; told once is enough.
        fields.broken = True
        return None
    if unit is not None and (problem := silent(unit, starts=key == "from")):
        what = f"{key} of {fields.title} names {name!r}: {problem}"
        where = (word.where, unit.where)
        ground.findings.append(rules.NO_WAY.finding(what=what, where=where, of=(name,)))
        return None
    if target.numbers and name not in ground.units:
        fields.wrong(key, word, f"{part!r}: {name!r} is a place and has no numbers")
        return None
    return target


def _texts(node: Node | None) -> set[str]:
    return {w.value for w in words_in(node)} if node is not None else set()


def _start_side(target: Target, fields: Fields, ground: Ground, node: Node) -> Target | None:
    unit = ground.units.get(target.name)
    if unit is None or not target.numbers:
        return target
    if not starts_inside(unit.kind):
        sides: tuple[Side, ...] = (Side.IN,)
    elif unit.kind.networked and fields.text("via") != "cable":
        sides = (Side.SEND,)
    else:
        sides = (Side.OUT,)
    return _sided(target, unit, sides, "from", fields, ground, node)


def _end_side(target: Target, fields: Fields, ground: Ground, node: Node) -> Target | None:
    unit = ground.units.get(target.name)
    if unit is None or not target.numbers:
        return target
    if unit.kind.does is Does.BOX:
        sides: tuple[Side, ...] = (Side.OUT,)
    elif unit.kind.networked and fields.text("via") != "cable":
        sides = (Side.RECEIVE, Side.STRIP) if unit.kind.strips else (Side.RECEIVE,)
    else:
        sides = (Side.IN,)
    return _sided(target, unit, sides, "to", fields, ground, node)


def _sided(
    target: Target,
    unit: Unit,
    sides: tuple[Side, ...],
    key: str,
    fields: Fields,
    ground: Ground,
    node: Node,
) -> Target | None:
    """Give the target with its side, if the unit has such spots; else None with a finding."""
    side = target.side or (sides[0] if len(sides) == 1 else None)
    if side is None:
        which = " or ".join(f"{unit.name}:{s.value}-{target.numbers[0]}" for s in sides)
        fields.wrong(key, node, f"{str(target)!r} could be {which}")
        return None
    count = unit.kind.count(side, unit.rate_hz or ground.rate_hz)
    if side not in sides or target.numbers[-1] > count:
        has = ", ".join(
            f"{unit.kind.count(s, unit.rate_hz or ground.rate_hz)} {s.value}" for s in sides
        )
        fields.wrong(key, node, f"{str(target)!r}: {unit.name} ({unit.kind.name}) has {has}")
        return None
    return replace(target, side=side)
