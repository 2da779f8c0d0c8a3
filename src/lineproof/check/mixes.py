"""What mixes contain: ends a line must never reach, feeds that hear themselves, loops."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import LineKey
from lineproof.check.check import Check, Facts
from lineproof.show.model import Line, Show, Target

_HEAD = "number,name,from,source,to"
_ROWS = "1,Kick,stage,dynamic mic,desk rec-1"
_CALL = "41,Main,desk,main mix,pa"


def _table(column: str, *rows: str) -> Example:
    return Example(lines="\n".join([f"{_HEAD},{column}", *rows, ""]))


_BRIDGES = """\
  near: {kind: conference-bridge, place: front, circuit: house, meeting: board}
  far: {kind: conference-bridge, place: front, circuit: house, meeting: board}
  pa: {kind"""


def _call(contains: str) -> Example:
    rows = (
        "10,Chair,stage,dynamic mic,desk,",
        "11,Far end,far,remote,desk,",
        f"12,To the call,desk,group mix,near:1,{contains}",
    )
    show = Example.changed(("  pa: {kind", _BRIDGES)).show
    return Example(show=show, lines=_table("with", *rows).lines)


NEVER = Rule(
    name="never-reached",
    grade=Grade.STOP,
    why="Somebody said that this must not be heard there: a private word, or a feedback.",
    do="take the end out of `to`, or the name out of `never`",
    source="Lineproof",
    fails=_table("never", f"{_ROWS},rec-1"),
    passes=_table("never", f"{_ROWS},pa"),
)
HEARS_ITSELF = Rule(
    name="mix-holds-minus",
    grade=Grade.STOP,
    why="A feed that holds its own return makes an echo, or howls.",
    do="take the line out of the mix, or out of `minus`",
    source="common practice (mix-minus)",
    fails=_table("with,minus", f"{_ROWS},,", f"{_CALL},1,1"),
    passes=_table("with,minus", f"{_ROWS},,", "2,Voice,stage,dynamic mic,desk,,", f"{_CALL},2,1"),
)
MINUS_UNKNOWN = Rule(
    name="mix-unknown",
    grade=Grade.NOTE,
    why="Nobody wrote what the mix contains, so nobody can say that it leaves out what it must.",
    do="write under `with` which lines or groups the mix contains",
    source="common practice (mix-minus)",
    fails=_table("minus", f"{_ROWS},", f"{_CALL},1"),
    passes=_table("with,minus", f"{_ROWS},,", "2,Voice,stage,dynamic mic,desk,,", f"{_CALL},2,1"),
)
UNKNOWN_PART = Rule(
    name="mix-part-unknown",
    grade=Grade.STOP,
    why="A part of a mix that names nothing is checked by nobody.",
    do="name a line's number or a group",
    source="Lineproof",
    fails=_table("with", f"{_ROWS},", f"{_CALL},kcik"),
    passes=_table("with", f"{_ROWS},", f"{_CALL},1"),
)
MIX_LOOP = Rule(
    name="mix-loop",
    grade=Grade.STOP,
    why="A mix that contains itself, over however many others, howls at the first fader.",
    do="break the loop: take one of the mixes named out of another",
    source="common practice",
    fails=_table(
        "with", f"{_ROWS},", "41,Main,desk,main mix,pa,42", "42,Record,desk,main mix,rec-1,41"
    ),
    passes=_table(
        "with", f"{_ROWS},", "41,Main,desk,main mix,pa,1", "42,Record,desk,main mix,rec-1,41"
    ),
)
HEARS_CALL = Rule(
    name="call-hears-itself",
    grade=Grade.STOP,
    why="Whoever is far away hears their own voice again, late, and stops talking.",
    do="take the call's own lines out of what is sent to it (a mix-minus)",
    source="common practice (mix-minus)",
    fails=_call("10 11"),
    passes=_call("10"),
)


def parts(show: Show, words: tuple[str, ...]) -> Iterator[tuple[str, tuple[Line, ...]]]:
    """Give, for every word of `with` or `minus`, the lines it names: by number, or by group."""
    by_group: dict[str, list[Line]] = {}
    for line in show.lines if words else ():
        if line.group:
            by_group.setdefault(folded(line.group), []).append(line)
    for word in words:
        named = tuple(x for x in show.lines if folded(word) in _names(x))
        yield word, named or tuple(by_group.get(folded(word), ()))


def _names(line: Line) -> tuple[str, str]:
    return folded(line.key.number), folded(str(line.key))


def never_reached(facts: Facts) -> Iterator[Finding]:
    """Find lines with an end that they must never reach."""
    for line in facts.show.lines:
        never = {folded(name) for name in line.never}
        for end, member in line.end_members():
            if never & {folded(member.name), folded(end.part_of)}:
                what = f"line {line.key} ({line.title}) goes to {member}, which it must never reach"
                of = (str(line.key), member.name)
                yield NEVER.finding(what=what, where=(line.where, end.where), of=of)


def holds_minus(facts: Facts) -> Iterator[Finding]:
    """Find mixes that hold what they must leave out, directly or inside another mix."""
    for line in facts.show.lines:
        if not line.minus or not line.contains:
            continue
        inside = contents(facts.show, line)
        for word, named in parts(facts.show, line.minus):
            for other in named:
                if other.key in inside:
                    what = f"line {line.key} ({line.title}) contains line {other.key}, minus {word}"
                    of = (str(line.key), str(other.key))
                    where = (line.where, other.where)
                    yield HEARS_ITSELF.finding(what=what, where=where, of=of)


def contents(show: Show, line: Line) -> set[LineKey]:
    """Give every line that the mix contains, over mixes in it; itself only if it is in a loop."""
    found: set[LineKey] = set()
    ahead = [line]
    while ahead:
        for _, named in parts(show, ahead.pop().contains):
            new = [x for x in named if x.key not in found]
            found.update(x.key for x in new)
            ahead += new
    return found


def minus_unknown(facts: Facts) -> Iterator[Finding]:
    """Find mixes that must leave something out, or go to a call, and don't say what they hold."""
    for line in facts.show.lines:
        is_mix = line.source is not None and line.source.mix
        calls = _calls(facts.show, [m for _, m in line.end_members()]) if is_mix else []
        out = [*line.minus, *(f"what comes from the call {name}" for name in calls)]
        if out and not line.contains:
            what = f"line {line.key} ({line.title}) must not contain {', '.join(out)}: unknown"
            yield MINUS_UNKNOWN.finding(what=what, where=line.where, of=(str(line.key),))


def unknown_part(facts: Facts) -> Iterator[Finding]:
    """Find words of `with` and `minus` that name no line and no group."""
    for line in facts.show.lines:
        for word, named in parts(facts.show, (*line.contains, *line.minus)):
            if not named:
                what = (
                    f"line {line.key} ({line.title}) names {word!r}, which is no line and no group"
                )
                yield UNKNOWN_PART.finding(what=what, where=line.where, of=(str(line.key), word))


def mix_loop(facts: Facts) -> Iterator[Finding]:
    """Find mixes that contain themselves; a loop is told once, with all its mixes."""
    looped = [x for x in facts.show.lines if x.contains and x.key in contents(facts.show, x)]
    told: set[LineKey] = set()
    for line in looped:
        if line.key in told:
            continue
        mine = contents(facts.show, line)
        both = [x for x in looped if x.key in mine and line.key in contents(facts.show, x)]
        told.update(x.key for x in both)
        names = " and ".join(f"{x.key} ({x.title})" for x in both)
        what = f"the mix of line {names} contains itself"
        if len(both) > 1:
            what = f"the mixes of lines {names} contain each other"
        of = tuple(str(x.key) for x in both)
        yield MIX_LOOP.finding(what=what, where=tuple(x.where for x in both), of=of)


def hears_call(facts: Facts) -> Iterator[Finding]:
    """Find what is sent to a call and comes from it: two units in one meeting are one call."""
    show = facts.show
    for line in show.lines:
        calls = _calls(show, [member for _, member in line.end_members()])
        if not calls:
            continue
        inside = contents(show, line)
        for other in (line, *(x for x in show.lines if x.key in inside and x is not line)):
            both = [name for name in _calls(show, list(other.starts)) if name in calls]
            for name in both:
                way = "comes from it" if other is line else f"contains line {other.key} from it"
                what = f"line {line.key} ({line.title}) goes to the call {name} and {way}"
                of = (str(line.key), str(other.key), name)
                where = tuple(dict.fromkeys((line.where, other.where)))
                yield HEARS_CALL.finding(what=what, where=where, of=of)


def _calls(show: Show, targets: list[Target]) -> list[str]:
    """Give the calls that the units at these starts or ends are in, each once."""
    units = [show.units[t.name] for t in targets if t.name in show.units]
    return list(dict.fromkeys(folded(u.meeting) for u in units if u.meeting))


CHECKS: tuple[Check, ...] = (
    Check(rule=NEVER, find=never_reached),
    Check(rule=HEARS_ITSELF, find=holds_minus),
    Check(rule=MINUS_UNKNOWN, find=minus_unknown),
    Check(rule=UNKNOWN_PART, find=unknown_part),
    Check(rule=MIX_LOOP, find=mix_loop),
    Check(rule=HEARS_CALL, find=hears_call),
)
