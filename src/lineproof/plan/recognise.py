"""Who is who after a list was renumbered: the plan's lines found again in the show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import LineKey
from lineproof.plan.freed import all_freed
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import Line, Show

_TWO = "1,Kick,stage,dynamic mic,desk rec-1\n2,Voice,stage,dynamic mic,desk rec-1\n"
_SWAPPED = "2,Kick,stage,dynamic mic,desk rec-1\n1,Voice,stage,dynamic mic,desk rec-1\n"
_SHIFTED = "2,Kick,stage,dynamic mic,desk rec-1\n3,Voice,stage,dynamic mic,desk rec-1\n"

WHICH_LINE = Rule(
    name="which-line",
    grade=Grade.STOP,
    why="If the wrong line keeps a socket, two microphones answer each other's channel.",
    do="plan with `--follow names` if numbers were changed, `--follow numbers` if names were",
    source="Lineproof",
    fails=Example.changed(lines=(_TWO, _SWAPPED), before=Example()),
    passes=Example.changed(lines=(_TWO, _SHIFTED), before=Example()),
)
RENUMBERED = Rule(
    name="renumbered",
    grade=Grade.NOTE,
    why="The line keeps its sockets under its new number; labels that show the number are old.",
    do="print the labels again",
    source="Lineproof",
    fails=Example.changed(lines=(_TWO, _SHIFTED), before=Example()),
    passes=Example(before=Example()),
)
RULES: tuple[Rule, ...] = (WHICH_LINE, RENUMBERED)

#: What tells a line when its number doesn't: its act, name and `from`.
Likeness = tuple[str, str, str]


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """The earlier plan under the show's present numbers, and what was found on the way."""

    plan: Plan
    findings: tuple[Finding, ...] = ()


def recognise(show: Show, earlier: Plan, *, follow: str = "") -> Recognised:
    """Give the earlier plan with every line under the number it has now.

    A line whose old number is gone or taken, and whose act, name and `from` match exactly one
    planned line, keeps that line's decisions. Where lines have changed numbers among themselves
    it could be either, and is asked: `follow` answers, "names" or "numbers".
    """
    moved = {} if follow == "numbers" else _moved(show, earlier)
    circle = _in_circles(moved)
    if circle and not follow:
        moved = {new: old for new, old in moved.items() if new not in circle}
    asked = _asked(show, circle) if circle and not follow else ()
    told = tuple(_told(show, new, old) for new, old in moved.items())
    return Recognised(plan=_under(earlier, moved), findings=(*asked, *told))


def _moved(show: Show, earlier: Plan) -> dict[LineKey, LineKey]:
    """Give, by present key, the planned key of every line that goes by a new number."""
    planned = {line.key.same(): line for line in earlier.lines}
    stays = {
        line.key.same()
        for line in show.lines
        if (was := planned.get(line.key.same())) and _alike(line) == _alike_planned(was)
    }
    lost = [line for line in earlier.lines if line.key.same() not in stays]
    new = [line for line in show.lines if line.key.same() not in stays]
    moved = _matched(new, lost, with_act=True)
    # Acts added to a show without: lines keep what they had when they belonged to every act.
    rest = [line for line in new if line.key not in moved and line.key.act]
    without_act = [p for p in lost if not p.key.act and p.key not in moved.values()]
    present = {line.key.same() for line in show.lines}
    gone = [p for p in without_act if p.key.same() not in present]
    moved.update(_matched(rest, gone, with_act=False))
    return moved


def _matched(
    lines: Iterable[Line], planned: Iterable[LinePlan], *, with_act: bool
) -> dict[LineKey, LineKey]:
    """Give present key to planned key where likeness fits exactly one of each."""
    lines, planned = list(lines), list(planned)

    def key(act: str, likeness: Likeness) -> Likeness:
        return (folded(act) if with_act else "", likeness[1], likeness[2])

    of_lines = [key(line.key.act, _alike(line)) for line in lines]
    of_planned = [key(p.key.act, _alike_planned(p)) for p in planned]
    twice = {k for k, n in (Counter(of_lines) | Counter(of_planned)).items() if n > 1}
    by_likeness = dict(zip(of_planned, planned, strict=True))
    return {
        line.key: by_likeness[k].key
        for line, k in zip(lines, of_lines, strict=True)
        if k in by_likeness and k not in twice and line.key != by_likeness[k].key
    }


def _alike(line: Line) -> Likeness:
    starts_at = "|".join(str(s) for s in line.starts)
    return (folded(line.key.act), folded(line.name), folded(starts_at))


def _alike_planned(line: LinePlan) -> Likeness:
    return (folded(line.key.act), folded(line.name), folded(line.starts_at))


def _in_circles(moved: Mapping[LineKey, LineKey]) -> set[LineKey]:
    """Give the lines that have changed numbers among themselves, however many of them."""
    found: set[LineKey] = set()
    for start in moved:
        seen = [start]
        at = moved[start]
        while at in moved and at not in seen:
            seen.append(at)
            at = moved[at]
        if at == start:
            found.update(seen)
    return found


def _under(earlier: Plan, moved: Mapping[LineKey, LineKey]) -> Plan:
    """Give the plan with the lines under their new keys; whoever's number was taken is freed."""
    new_of = {old: new for new, old in moved.items()}
    lines, freed = [], list(earlier.freed)
    for line in earlier.lines:
        if line.key in new_of:
            lines.append(replace(line, key=new_of[line.key]))
        elif line.key in moved:
            freed += all_freed(line, revision=0)
        else:
            lines.append(line)
    lines.sort(key=lambda x: x.key.sort_key())
    return replace(earlier, lines=tuple(lines), freed=tuple(freed))


def _asked(show: Show, circle: set[LineKey]) -> tuple[Finding, ...]:
    lines = [line for line in show.lines if line.key in circle]
    names = " and ".join(f"{line.key} ({line.title})" for line in lines)
    what = f"lines {names} have changed numbers or names among themselves: which was it?"
    where = tuple(line.where for line in lines)
    of = tuple(str(line.key) for line in lines)
    return (WHICH_LINE.finding(what=what, where=where, of=of),)


def _told(show: Show, new: LineKey, old: LineKey) -> Finding:
    line = show.line(new)
    assert line is not None
    what = f"line {new} ({line.title}) was line {old}; it keeps its decisions"
    return RENUMBERED.finding(what=what, where=line.where, of=(str(new), str(old)))
