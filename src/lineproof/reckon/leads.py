"""How long the lead between two places is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

from lineproof.graph.ducts import ways_along_ducts
from lineproof.show.model import Show, Tie

#: What a lead needs at its two ends together, in metres (common practice).
AT_THE_ENDS_M = 3.0
#: How much longer a lead is than the straight line between places no duct joins (practice).
DETOUR = 1.2


class Leads:
    """Lead lengths of one show, worked out once a place."""

    def __init__(self, show: Show) -> None:
        self.show = show
        self._along = lru_cache(maxsize=None)(self._ways)

    def _ways(self, start: str) -> Mapping[str, float]:
        return ways_along_ducts(self.show, start)

    def length_m(self, a: str, b: str) -> float | None:
        """Give the metres of lead between two places, or None if nobody can say.

        Along the ducts that join them, else 1.2 times the straight line, and 3 m more.
        """
        if a == b:
            return AT_THE_ENDS_M
        along = self._along(a).get(b)
        if along is not None:
            return along + AT_THE_ENDS_M
        first, second = self.show.places[a].at_m, self.show.places[b].at_m
        if first is None or second is None:
            return None
        return math.dist(first, second) * DETOUR + AT_THE_ENDS_M

    def length_mm(self, a: str, b: str) -> int | None:
        """Give the same in whole millimetres, as the planner reckons."""
        metres = self.length_m(a, b)
        return None if metres is None else round(metres * 1000)

    def over_m(self, tie: Tie, a: str, b: str) -> float | None:
        """Give the metres of the two leads that join two places over a tie, or None."""
        lengths = []
        for near, far in (tie.between, tie.between[::-1]):
            here, there = self.length_m(a, near), self.length_m(far, b)
            if here is not None and there is not None:
                lengths.append(here + there)
        return min(lengths, default=None)
