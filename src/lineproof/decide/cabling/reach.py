"""How long a run is, and how far copper, fibre and power over the cable reach."""

from __future__ import annotations

from functools import cached_property
from types import MappingProxyType

from lineproof.graph.ducts import Way
from lineproof.show.model import Show

#: Copper that is installed, and copper that is rolled out for the day (cord all the way), in m.
#: ISO/IEC 11801-1: 100 m; 70 to 80 m is common practice for temporary cable.
COPPER_INSTALLED_M, COPPER_ROLLED_M = 100, 75
#: What each coupler takes away (common practice).
COUPLER_M = 2

#: IEEE 802.3: how far a port of so many Mbit/s reaches over multi-mode (OM2 to 1 Gbit/s, OM3
#: above), and over single-mode.
_MULTI_MODE_M = MappingProxyType({100: 2000, 1000: 550, 10_000: 300, 25_000: 70, 40_000: 100})
_SINGLE_MODE_M = MappingProxyType({1000: 5000, 10_000: 10_000, 40_000: 10_000})

#: IEEE 802.3: watts that the feeding side sets aside for a unit of each class.
POE_W = (15.4, 4.0, 7.0, 15.4, 30.0, 45.0, 60.0, 75.0, 90.0)


def run_length_m(show: Show, way: Way) -> int:
    """Give whole metres to be pulled: the way, a drop at each end, and slack (practice).

    >>> from lineproof.kit.load import load_kit
    >>> show = Show(title="", rate_hz=48000, kit=load_kit())
    >>> run_length_m(show, Way(ducts=("floor",), length_mm=34_000))
    44
    """
    ends_mm = 2 * round(show.weights.drop_m * 1000)
    share = 100_000 + round(show.weights.slack_percent * 1000)
    # Whole numbers throughout: 1,000 mm in a metre, 100,000 thousandths of a hundred.
    return -(-(way.length_mm + ends_mm) * share // 100_000_000)


def copper_reach_m(show: Show, ducts: tuple[str, ...], couplers: int = 0) -> int:
    """Give how long copper through these ducts may be: 100 m where all of it is installed.

    75 m where any of it is rolled out; each coupler takes 2 m.
    """
    known = [show.ducts[name] for name in ducts if name in show.ducts]
    fixed = bool(known) and len(known) == len(ducts) and all(duct.installed for duct in known)
    return (COPPER_INSTALLED_M if fixed else COPPER_ROLLED_M) - COUPLER_M * couplers


def fibre_reach_m(cable: str, speed_mbit: int) -> int:
    """Give how far multi-mode or single-mode reaches at a speed; 0 if we know of no such link."""
    table = _MULTI_MODE_M if cable == "multi-mode" else _SINGLE_MODE_M
    return table.get(speed_mbit, table[1000] if speed_mbit < 1000 else 0)


def fibre_for(length_m: float, speed_mbit: int) -> str:
    """Give the fibre that reaches so far: multi-mode, else single-mode, "" if neither does."""
    for cable in ("multi-mode", "single-mode"):
        if length_m <= fibre_reach_m(cable, speed_mbit):
            return cable
    return ""


def poe_watts(poe_class: int) -> float:
    """Give the watts a switch sets aside for a unit of the class, cable losses included."""
    return POE_W[poe_class]


class Supplies:
    """Which supplies feed what stands at a place, and which places copper must not join."""

    def __init__(self, show: Show) -> None:
        self.show = show

    def top(self, circuit: str) -> str:
        """Give the circuit at the beginning of the chain that feeds `circuit`."""
        passed: set[str] = set()
        while circuit not in passed:
            passed.add(circuit)
            above = self.show.circuits[circuit].fed_by
            if above not in self.show.circuits:
                break
            circuit = above
        return circuit

    @cached_property
    def _at(self) -> dict[str, frozenset[str]]:
        found: dict[str, set[str]] = {}
        for unit in self.show.units.values():
            if unit.power != "network":
                found.setdefault(unit.place, set()).update(self.top(c) for c in unit.circuits)
        return {place: frozenset(tops) for place, tops in found.items()}

    def at(self, place: str) -> frozenset[str]:
        """Give the supplies at a place; none where no unit there says."""
        return self._at.get(place, frozenset())

    def apart(self, one: str, other: str) -> bool:
        """Say whether copper between the two places would join supplies or buildings.

        Where both are known and have none in common; a place fed by both joins nothing new.
        """
        first, second = self.show.places[one].building, self.show.places[other].building
        if first and second and first.casefold() != second.casefold():
            return True
        mine, theirs = self.at(one), self.at(other)
        return bool(mine) and bool(theirs) and not mine & theirs
