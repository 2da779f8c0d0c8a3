"""What somebody does with hands, or at a screen, to bring lines back; and how long that takes."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lineproof.base.spot import LineKey


class Do(enum.Enum):
    """One sort of move."""

    CABLE = "cable"  # a network cable out of one port into another
    LAY = "lay"  # a spare network cable between two ports
    PLUG = "plug"  # an audio lead out of one socket into another
    START = "start"  # what stands in plays, or mixes, what the dead unit did
    PATCH = "patch"  # inside a unit
    ROUTE = "route"  # a receive channel hears another send channel

    @property
    def by_hand(self) -> bool:
        """Say whether somebody has to walk there."""
        return self in (Do.CABLE, Do.LAY, Do.PLUG)


@dataclass(frozen=True, kw_only=True)
class Move:
    """One thing to do, at a place, on a unit.

    `what`: which lead, cable or signal, in words; `old` where it is, "" for what is nowhere yet;
    `new` where it goes. `lines`: those that need it. `length_m`: of a cable to be laid.
    """

    do: Do
    place: str
    unit: str
    what: str
    old: str
    new: str
    lines: tuple[LineKey, ...] = ()
    length_m: float = 0.0

    @property
    def words(self) -> str:
        """Give the move as one tells it to somebody."""
        if self.do is Do.LAY:
            return (
                f"lay a spare {self.what}, {self.length_m:.0f} m or more, {self.old} to {self.new}"
            )
        if self.do is Do.ROUTE:
            return f"{self.new} hears {self.what}" + (f" instead of {self.old}" if self.old else "")
        if self.do is Do.PATCH:
            return f"patch {self.what} to {self.new}"
        if self.do is Do.START:
            return f"{self.what} from {self.new} instead of {self.old}"
        return f"{self.what}: out of {self.old}, into {self.new}"


@dataclass(frozen=True, kw_only=True)
class Pace:
    """How fast hands are, in seconds and metres a second: assumptions, none is measured.

    `plug_s`: to find a plug, pull it and push it in elsewhere; `lay_s`: to fetch a cable and plug
    both its ends; `lay_m_s`: rolling it out; `walk_m_s`: walking in the dark; `screen_s`: one
    route, patch or start at a screen; `notice_s`: until somebody knows what is broken.
    """

    notice_s: float = 30.0
    plug_s: float = 15.0
    lay_s: float = 45.0
    lay_m_s: float = 0.5
    walk_m_s: float = 1.0
    screen_s: float = 10.0


def seconds(moves: Sequence[Move], walk_m: float, pace: Pace | None = None) -> float:
    """Give how long the moves take one person, one after the other, with so far to walk."""
    at = pace or Pace()
    total = at.notice_s + walk_m / at.walk_m_s
    for move in moves:
        if move.do is Do.LAY:
            total += at.lay_s + move.length_m / at.lay_m_s
        elif move.do.by_hand:
            total += at.plug_s
        else:
            total += at.screen_s
    return total


def counted(moves: Iterable[Move]) -> str:
    """Give how many moves of each sort there are, in words.

    >>> counted([]), counted([Move(do=Do.PLUG, place="", unit="", what="", old="", new="")])
    ('nothing to do', '1 plug')
    """
    each = list(moves)
    told = []
    for do, one, more in _COUNTED:
        count = sum(1 for move in each if move.do is do)
        if count:
            told.append(f"{count} {one if count == 1 else more}")
    return ", ".join(told) or "nothing to do"


_COUNTED = (
    (Do.CABLE, "network plug", "network plugs"),
    (Do.LAY, "cable laid", "cables laid"),
    (Do.PLUG, "plug", "plugs"),
    (Do.START, "start", "starts"),
    (Do.PATCH, "patch", "patches"),
    (Do.ROUTE, "route", "routes"),
)
