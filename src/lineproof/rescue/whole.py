"""The rescue from every single fault that takes something: one frozen result."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.drill.sweep import Swept
from lineproof.graph.faults import Fault
from lineproof.rescue.hand import AtHand
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue, rescue

#: How often is told how far it is.
_EVERY = 25


@dataclass(frozen=True, kw_only=True)
class Rescued:
    """By class of faults that take the same what to do; classes that take nothing have none.

    The first fault of a class stands for it.
    """

    swept: Swept
    by_class: Mapping[int, Rescue]

    def of(self, fault: Fault) -> Rescue | None:
        """Give the rescue from one fault, None where it takes nothing."""
        return self.by_class.get(self._class_of.get(fault, -1))

    @cached_property
    def _class_of(self) -> Mapping[Fault, int]:
        members = self.swept.classes.members
        return {fault: at for at, faults in enumerate(members) for fault in faults}


def rescue_all(swept: Swept, progress: Callable[[str], None] | None = None) -> Rescued:
    """Give the rescue from each class of single faults that loses any end."""
    hand = AtHand(swept.calm.show, swept.calm.plan)
    hurting = [at for at, lost in enumerate(swept.lost_alone) if lost]
    found = {}
    for n, at in enumerate(hurting):
        if progress is not None and n % _EVERY == 0:
            progress(f"rescues: {n} of {len(hurting)}")
        fault = swept.classes.members[at][0]
        found[at] = rescue(swept.calm, fault, hand=hand, lost=_ends(swept, at))
    return Rescued(swept=swept, by_class=found)


def _ends(swept: Swept, at: int) -> list[EndAt]:
    lost = swept.lost_alone[at]
    lines = {line for shape in lost for line in swept.lines_of[shape]}
    return [
        (line, n)
        for line in sorted(lines)
        for n, shape in enumerate(swept.line_shapes[line])
        if shape in lost
    ]
