"""How much silence single faults bring on average, where the rescue is done if it is quicker."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.drill.odds import Assumed
from lineproof.graph.faults import Fault
from lineproof.rescue.moves import Pace
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.whole import Rescued
from lineproof.show.model import Line, Need


@dataclass(frozen=True, kw_only=True)
class Harm:
    """The average of one show, in minutes of needed lines silent at some end.

    Two lines silent for three minutes are six. Failure rates, repair times and paces are assumed,
    none is measured. A line is back with the rescue, if all its ends are, else with the repair.
    """

    rescued: Rescued
    assumed: Assumed
    pace: Pace

    @cached_property
    def by_fault(self) -> Mapping[Fault, float]:
        """Give the line-minutes a show that each single fault brings, those that bring any."""
        show = self.rescued.swept.calm.show
        found = {}
        for fault, rescue in self.rescued.by_fault.items():
            once = self.minutes_once(fault, rescue)
            if once:
                chance = self.assumed.rate_h(show, fault) * self.assumed.hours
                found[fault] = chance * once
        return found

    @property
    def total(self) -> float:
        """Give the line-minutes a show by all single faults."""
        return sum(self.by_fault.values())

    def minutes_once(self, fault: Fault, rescue: Rescue) -> float:
        """Give the line-minutes that a fault brings each time it happens."""
        repair = 60.0 * self.assumed.repair_h(fault)
        quick = min(repair, rescue.seconds(self.pace) / 60.0)
        lost = self._needed(rescue.lost)
        stay = self._needed(rescue.stays)
        return len(stay) * repair + len(lost - stay) * quick

    def _needed(self, ends: tuple[tuple[int, int], ...]) -> set[int]:
        lines = self.rescued.swept.calm.lines
        return {
            at for at, n in ends if needed(lines[at].line) and not lines[at].arrivals[n].end.want
        }


def needed(line: Line) -> bool:
    """Say whether the act can't go on without a line."""
    return line.need in (Need.MUST, Need.SAFETY)


def harm(rescued: Rescued, assumed: Assumed | None = None, pace: Pace | None = None) -> Harm:
    """Give the harm of all single faults."""
    return Harm(rescued=rescued, assumed=assumed or Assumed(), pace=pace or Pace())
