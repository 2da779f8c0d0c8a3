"""What the standby of a unit means for lines: it starts what the unit starts, hears what it hears.

The row names the unit alone; the starts and members that follow are marked as implied, and are not
written back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.names import folded
from lineproof.show.build_ends import starts_inside
from lineproof.show.model import End, Line, Target, Unit

#: With these nobody else is fed: the standby is patched by hand when it is needed.
BY_HAND = "hand"
CHANGEOVER = "changeover:"


def changeover_unit(line: Line, units: Mapping[str, Unit]) -> str:
    """Give the change-over unit that the line goes through, "" for none.

    The row's own word counts, else that of the unit in which the line starts.
    """
    start = units.get(line.starts[0].name) if line.starts else None
    by = line.by or (start.by if start else "")
    if not folded(by).startswith(CHANGEOVER):
        return ""
    name = by.partition(":")[2]
    return next((n for n in units if folded(n) == folded(name)), "")


def by_hand(line: Line, units: Mapping[str, Unit]) -> bool:
    """Say whether somebody has to patch before the second start of the line is heard."""
    start = units.get(line.starts[0].name) if line.starts else None
    return folded(line.by or (start.by if start else "")) == BY_HAND


def with_standbys(lines: tuple[Line, ...], units: Mapping[str, Unit]) -> tuple[Line, ...]:
    """Give the lines with what the standbys of units add to their starts and ends."""
    if not any(unit.standby for unit in units.values()):
        return lines
    return tuple(_with_starts(_with_members(line, units), units) for line in lines)


def _stands_in(name: str, units: Mapping[str, Unit]) -> str:
    unit = units.get(name)
    if unit is None or not unit.standby or folded(unit.by) == BY_HAND:
        return ""
    return unit.standby if unit.standby in units and unit.standby != name else ""


def _implied(target: Target, standby: str) -> Target:
    return replace(target, name=standby, implied=True)


def _with_starts(line: Line, units: Mapping[str, Unit]) -> Line:
    """Give the line with a second start: the standby of the unit inside which it starts."""
    if len(line.starts) != 1:
        return line
    standby = _stands_in(line.starts[0].name, units)
    if not standby or not starts_inside(units[line.starts[0].name].kind):
        return line
    if any(member.name == standby for _, member in line.end_members()):
        return line
    return replace(line, starts=(line.starts[0], _implied(line.starts[0], standby)))


def _with_members(line: Line, units: Mapping[str, Unit]) -> Line:
    ends = tuple(_with_member(line, end, units) for end in line.ends)
    return line if ends == line.ends else replace(line, ends=ends)


def _with_member(line: Line, end: End, units: Mapping[str, Unit]) -> End:
    """Give the end with the standbys of its members, but where the line starts or must not go."""
    names = {member.name for member in end.members}
    shut = names | {start.name for start in line.starts} | set(line.never)
    more = []
    for member in end.members:
        standby = _stands_in(member.name, units)
        if standby and standby not in shut and not units[member.name].by.startswith(CHANGEOVER):
            more.append(_implied(member, standby))
            shut.add(standby)
    return replace(end, members=(*end.members, *more)) if more else end
