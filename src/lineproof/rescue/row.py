"""One line as it is being changed by a rescue: its row in the show, and its spots."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.base.spot import Spot
from lineproof.show.model import End, Line, Target


@dataclass(kw_only=True)
class Row:
    """A line with the spots of its starts and ends, and its ties, by part: to be changed."""

    line: Line
    start: dict[str, tuple[Spot, ...]]
    ends: dict[str, tuple[Spot, ...]]
    ties: dict[str, Spot]


def first_start(line: Line, unit: str) -> tuple[Target, ...]:
    """Give the starts of a line with a unit in the place of the first."""
    others = tuple(start for start in line.starts[1:] if start.name != unit)
    return (Target(name=unit), *others)


def standing_in(line: Line, part: str, other: str) -> Target:
    """Give what stands in at an end as its member: written as that was, but for the unit."""
    members = (member for _, member in line.end_members() if str(member) == part)
    return replace(next(members, Target(name=part)), name=other, implied=False)


def member_at(line: Line, unit: str) -> Target:
    """Give the member by which a line is heard at a unit already."""
    members = (member for _, member in line.end_members() if member.name == unit)
    return next(members, Target(name=unit))


def with_member(line: Line, part: str, other: Target) -> tuple[End, ...]:
    """Give the ends with one member of one of them replaced."""
    planned = [n for n, end in enumerate(line.ends) if any(str(m) == part for m in end.members)]
    found = []
    for n, end in enumerate(line.ends):
        if n in planned:
            members = tuple(
                other if str(m) == part else m
                for m in end.members
                if str(m) == part or m.name != other.name
            )
            found.append(replace(end, members=members))
        else:
            found.append(end)
    return tuple(found)
