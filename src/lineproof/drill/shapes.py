"""What an end rests on, without the names of its channels: many ends have one shape."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.drill.bearing import Arrival, Course, Member
from lineproof.graph.faults import DUCT, PLACE


@dataclass(frozen=True, kw_only=True)
class Path:
    """A course as the sweep sees it: its numbers apart, channels together."""

    things: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    runs: tuple[str, ...]
    legs: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, course: Course) -> Path:
        """Give what a course needs, channels of the same two units as one."""
        places = [(PLACE, name) for name in course.places]
        ducts = [(DUCT, name) for name in course.ducts]
        legs = dict.fromkeys((leg.sender, leg.receiver) for leg in course.legs)
        return cls(
            things=(*places, *ducts),
            units=course.units,
            runs=course.runs,
            legs=tuple(legs),
        )


#: By member its paths, then the sets of paths of which one each must arrive as well.
Shape = tuple[tuple[tuple[Path, ...], tuple[tuple[Path, ...], ...]], ...]


def shape_of(arrival: Arrival) -> Shape:
    """Give an end without the names of its channels: many ends have one shape."""
    return tuple(_member_shape(member) for member in arrival.members)


def _member_shape(member: Member) -> tuple[tuple[Path, ...], tuple[tuple[Path, ...], ...]]:
    first = tuple(Path.of(course) for course in member.courses)
    needs = tuple(
        tuple(dict.fromkeys(Path.of(course) for course in needed)) for needed in member.needs
    )
    return (first, tuple(dict.fromkeys(needs)))
