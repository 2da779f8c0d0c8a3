"""The rescue from every single fault that takes something: one frozen result."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from lineproof.drill.sweep import Swept
from lineproof.graph.faults import PORT, Fault
from lineproof.rescue.hand import AtHand
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue, rescue

#: How often is told how far it is.
_EVERY = 25


@dataclass(frozen=True, kw_only=True)
class Card:
    """Faults from which one rescue leads back: they take the same, and the same is to be done."""

    faults: tuple[Fault, ...]
    rescue: Rescue


@dataclass(frozen=True, kw_only=True)
class Rescued:
    """By single fault what to do; faults that take nothing have no rescue."""

    swept: Swept
    by_fault: Mapping[Fault, Rescue]

    def of(self, fault: Fault) -> Rescue | None:
        """Give the rescue from one fault, None where it takes nothing."""
        return self.by_fault.get(fault)

    @cached_property
    def cards(self) -> tuple[Card, ...]:
        """Give every rescue once, with all faults that it leads back from, in their order."""
        alike: dict[object, list[Fault]] = {}
        for fault, found in self.by_fault.items():
            alike.setdefault((found.lost, found.back, found.moves), []).append(fault)
        return tuple(
            Card(faults=tuple(faults), rescue=self.by_fault[faults[0]]) for faults in alike.values()
        )


def rescue_all(swept: Swept, progress: Callable[[str], None] | None = None) -> Rescued:
    """Give the rescue from each single fault that loses any end.

    What strikes the same has the same rescue, but for ports: a cable that is cut wants another
    cable, a port that is dead another port.
    """
    hand = AtHand(swept.calm.show, swept.calm.plan)
    hurting = [at for at, lost in enumerate(swept.lost_alone) if lost]
    found: dict[Fault, Rescue] = {}
    for n, at in enumerate(hurting):
        if progress is not None and n % _EVERY == 0:
            progress(f"rescues: {n} of {len(hurting)}")
        ends, first = _ends(swept, at), None
        for fault in swept.classes.members[at]:
            if fault.what == PORT:
                found[fault] = rescue(swept.calm, fault, hand=hand, lost=ends)
                continue
            first = first or rescue(swept.calm, fault, hand=hand, lost=ends)
            found[fault] = replace(first, faults=(fault,))
    return Rescued(swept=swept, by_fault=found)


def _ends(swept: Swept, at: int) -> list[EndAt]:
    lost = swept.lost_alone[at]
    lines = {line for shape in lost for line in swept.lines_of[shape]}
    return [
        (line, n)
        for line in sorted(lines)
        for n, shape in enumerate(swept.line_shapes[line])
        if shape in lost
    ]
