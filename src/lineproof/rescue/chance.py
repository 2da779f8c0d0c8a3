"""One way by which a lost end may come back; which is taken is chosen elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.base.spot import Spot
from lineproof.drill.bearing import Course


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """What stands in for a dead unit in a line: another unit at its start, or at an end.

    `socket`: an input of that unit for the end's lead, None where it hears the network.
    """

    unit: str
    dead: str
    socket: Spot | None = None


@dataclass(frozen=True, kw_only=True)
class Chance:
    """One way by which an end may come back.

    `part`: the member of the end that hears it then. `course`: it is there and only its legs must
    join again. Else `start` and `end` say what is changed: a perch of the lead (its place in
    `Lead.perches`), a unit that stands in, or None for as it is. `beside`: nothing but that this
    other end of the line comes back, at what stands in. `legs`: pairs of units that some net must
    join. `receives`: a unit of which the line takes a further receive channel; `strips`: and a
    strip.
    """

    part: str = ""
    course: Course | None = None
    start: int | StandIn | None = None
    end: int | StandIn | None = None
    beside: int | None = None
    legs: tuple[tuple[str, str], ...] = ()
    sender: str = ""
    receiver: str = ""
    receives: str = ""
    strips: str = ""

    @property
    def routed(self) -> bool:
        """Say whether it needs a route that is not there."""
        return self.course is None and bool(self.legs) and not (self.start is None and self.swapped)

    @property
    def swapped(self) -> bool:
        """Say whether only what hangs on the end's lead is another: the lead goes into that."""
        return isinstance(self.end, StandIn) and self.end.socket is not None
