"""Drop boxes that hang on a box by one multipin: which of their sockets is which of the box's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.base.spot import Spot
from lineproof.show.model import Show
from lineproof.show.sockets_of import multicores


@dataclass(frozen=True, kw_only=True)
class Multipins:
    """`behind`: the box's socket by the drop box's; `sockets`: all of a box's that a drop takes.

    Two drop boxes may name the same sockets: one multipin is then plugged after the other.
    `in_front` finds the drop's socket by the box's and by where the drop box stands.
    """

    behind: Mapping[Spot, Spot]
    sockets: Mapping[str, tuple[Spot, ...]]
    in_front: Mapping[tuple[Spot, str], Spot]

    @classmethod
    def of(cls, show: Show) -> Multipins:
        """Give those of a show; what `sockets-of` names and isn't there joins nothing."""
        behind = multicores(show).behind
        sockets: dict[str, tuple[Spot, ...]] = {}
        in_front: dict[tuple[Spot, str], Spot] = {}
        for drop, box in behind.items():
            sockets[drop.unit] = (*sockets.get(drop.unit, ()), box)
            in_front.setdefault((box, show.units[drop.unit].place), drop)
        return cls(behind=behind, sockets=sockets, in_front=in_front)

    def plugged_at(self, spot: Spot, place: str) -> Spot:
        """Give the socket a lead is really in: that of the drop box where the lead comes from."""
        return self.in_front.get((spot, place), spot)
