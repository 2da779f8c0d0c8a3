"""Drop boxes that hang on a box by one multipin: which of their sockets is which of the box's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lineproof.base.spot import Side, Spot
from lineproof.show.model import Show, Unit
from lineproof.show.sockets_of import targets


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
        behind: dict[Spot, Spot] = {}
        sockets: dict[str, tuple[Spot, ...]] = {}
        in_front: dict[tuple[Spot, str], Spot] = {}
        for drop in show.units.values():
            pairs = tuple(_pairs(show, drop)) if drop.sockets_of else ()
            behind.update(pairs)
            if pairs:
                sockets[drop.name] = tuple(box for _, box in pairs)
            for here, box in pairs:
                in_front.setdefault((box, drop.place), here)
        return cls(behind=behind, sockets=sockets, in_front=in_front)

    def plugged_at(self, spot: Spot, place: str) -> Spot:
        """Give the socket a lead is really in: that of the drop box where the lead comes from."""
        return self.in_front.get((spot, place), spot)


def _pairs(show: Show, drop: Unit) -> Iterator[tuple[Spot, Spot]]:
    """Give (drop's socket, box's socket): those named are taken in order, inputs by themselves."""
    given = {Side.IN: 0, Side.OUT: 0}
    for target in targets(drop.sockets_of):
        box, side = show.find_unit(target.name), target.side or Side.IN
        if box is None or box.name == drop.name or side not in given:
            continue
        count = len(box.kind.sockets_on(side))
        for number in target.numbers or range(1, count + 1):
            given[side] += 1
            if number <= count and given[side] <= len(drop.kind.sockets_on(side)):
                here = Spot(unit=drop.name, side=side, number=given[side])
                yield here, Spot(unit=box.name, side=side, number=number)
