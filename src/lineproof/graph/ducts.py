"""How a cable can lie: the shortest way along ducts between any two places."""

from __future__ import annotations

import heapq
from collections.abc import Mapping

from lineproof.show.model import Show


def ways_along_ducts(show: Show, start: str) -> Mapping[str, float]:
    """Give the metres along ducts from `start` to every place that ducts join to it.

    >>> from lineproof.show.model import Duct, Place, Show
    >>> from lineproof.kit.load import load_kit
    >>> ducts = [
    ...     Duct(name="d", between=("a", "b"), length_m=5),
    ...     Duct(name="e", between=("b", "c"), length_m=7),
    ... ]
    >>> show = Show(title="", rate_hz=48000, kit=load_kit(), ducts={d.name: d for d in ducts})
    >>> ways_along_ducts(show, "a")
    {'a': 0.0, 'b': 5.0, 'c': 12.0}
    """
    joined: dict[str, list[tuple[float, str]]] = {}
    for duct in show.ducts.values():
        a, b = duct.between
        joined.setdefault(a, []).append((duct.length_m, b))
        joined.setdefault(b, []).append((duct.length_m, a))
    done: dict[str, float] = {}
    ahead = [(0.0, start)]
    while ahead:
        metres, place = heapq.heappop(ahead)
        if place in done:
            continue
        done[place] = metres
        for length, other in joined.get(place, []):
            if other not in done:
                heapq.heappush(ahead, (metres + length, other))
    return done
