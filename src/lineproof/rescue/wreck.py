"""What still stands after faults: for hands that would move something."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from lineproof.drill.bearing import Resting
from lineproof.drill.lose import After
from lineproof.kit.kinds import Does
from lineproof.reckon.poe import wants_feed
from lineproof.rescue.hand import AtHand
from lineproof.show.model import Unit


@dataclass(frozen=True, kw_only=True)
class Wreck:
    """What is at hand, and what the faults have left of it."""

    hand: AtHand
    after: After
    _joined: dict[tuple[str, str], bool] = field(default_factory=dict, compare=False)

    @property
    def lines(self) -> tuple[Resting, ...]:
        """Give all planned lines."""
        return self.after.calm.lines

    @cached_property
    def wakes(self) -> frozenset[str]:
        """Give the units that only lack the power they get over their network cable."""
        units = self.hand.show.units
        dark = self.after.dead.unpowered
        return frozenset(n for n in dark if wants_feed(units[n]) and self.reached(units[n].place))

    @cached_property
    def dead_units(self) -> frozenset[str]:
        """Give the units that no cable can bring back."""
        return self.after.dead.units - self.wakes

    def alive(self, unit: str) -> bool:
        """Say whether a unit works, or would with its cable in another port; one can get at it."""
        return unit not in self.dead_units and self.reached(self.hand.place(unit))

    def reached(self, place: str) -> bool:
        """Say whether a place is still there."""
        return place not in self.after.dead.places

    def lead_lies(self, place: str, other: str) -> bool:
        """Say whether a lead between two places lies in no dead duct."""
        return self.after.dead.ducts.isdisjoint(self.hand.ducts(place, other))

    def joined(self, sender: str, receiver: str) -> bool:
        """Say whether some net still joins two units."""
        if (sender, receiver) not in self._joined:
            self._joined[sender, receiver] = self._are_joined(sender, receiver)
        return self._joined[sender, receiver]

    def _are_joined(self, sender: str, receiver: str) -> bool:
        for net in self.after.nets.values():
            index, root = net.tree.fabric.index, net.tree.root
            a, b = index.get(sender), index.get(receiver)
            if a is not None and b is not None and not net.down and root[a] == root[b] >= 0:
                return True
        return False

    def can_hear(self, name: str) -> bool:
        """Say whether a line may be heard at a unit or place, or at another box near it."""
        return self.works(name) or self.is_door(name)

    def works(self, name: str) -> bool:
        """Say whether a unit is alive, or a place is there."""
        if name in self.hand.show.units:
            return self.alive(name)
        return self.reached(name)

    def is_door(self, name: str) -> bool:
        """Say whether a row names only where one plugs in: another box near would do as well."""
        unit = self.hand.show.units.get(name)
        door = unit is not None and unit.kind.does in (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL)
        return door and self.reached(self.hand.place(name))

    def unit(self, name: str) -> Unit:
        """Give a unit by its name."""
        return self.hand.show.units[name]
