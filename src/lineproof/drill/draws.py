"""By drawing: what three faults at once take, and whether the odds hold."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from lineproof.drill.odds import Coming
from lineproof.drill.pairs import Pairs
from lineproof.drill.planes import places_of
from lineproof.drill.sweep import Sight, Swept


def by_drawing(
    swept: Swept, comings: Sequence[Coming], hours: float, *, draws: int, seed: int = 1
) -> tuple[float, float]:
    """Give the share of time in which some *must* line is lost, and its standard error, by drawing.

    Moments of the show are drawn evenly, and in each whatever is down then.
    """
    rng = random.Random(seed)  # noqa: S311 - a drawing that anybody can repeat
    sets = []
    for _ in range(draws):
        moment = rng.random() * hours
        sets.append([at for at, each in enumerate(comings) if rng.random() < each.down(moment)])
    sight = Sight(swept=swept, planes=swept.cases(sets))
    silent = 0
    for at in swept.must:
        silent |= sight.shapes[at][4]
    share = silent.bit_count() / draws
    return share, math.sqrt(share * (1 - share) / draws)


@dataclass(frozen=True, kw_only=True)
class Share:
    """A share found by drawing, with its 95 % interval (Wilson's)."""

    share: float
    least: float
    most: float
    draws: int


def wilson(hits: int, draws: int) -> Share:
    """Give the share of hits and its 95 % interval (E. B. Wilson 1927, from memory).

    >>> found = wilson(0, 100); round(found.least, 4), round(found.most, 4)
    (0.0, 0.037)
    """
    z = 1.959964
    share = hits / draws
    middle = (share + z * z / (2 * draws)) / (1 + z * z / draws)
    half = z * math.sqrt(share * (1 - share) / draws + z * z / (4 * draws**2))
    half /= 1 + z * z / draws
    # Where none or all hit, that end of the interval is the share itself.
    least = max(0.0, middle - half) if hits else 0.0
    most = min(1.0, middle + half) if hits < draws else 1.0
    return Share(share=share, least=least, most=most, draws=draws)


@dataclass(frozen=True, kw_only=True)
class Triples:
    """What three faults at once take, by drawing threes of all that can fail.

    `losing`: the share of threes that take a *must* line; `more`: of those that take one which no
    two of them take.
    """

    losing: Share
    more: Share


def triples(swept: Swept, pairs: Pairs, *, draws: int = 2_000, seed: int = 1) -> Triples:
    """Give how often three faults at once take a *must* line, and more than any two of them."""
    rng = random.Random(seed)  # noqa: S311 - a drawing that anybody can repeat
    of_class = [at for at, members in enumerate(swept.classes.members) for _ in members]
    sets = [sorted(rng.sample(range(len(of_class)), 3)) for _ in range(draws)] if draws else []
    drawn = [[of_class[fault] for fault in each] for each in sets]
    sight = Sight(swept=swept, planes=swept.cases(drawn))
    losing = more = 0
    lost_in: list[set[int]] = [set() for _ in drawn]
    for at in sorted(swept.must):
        plane = sight.shapes[at][4]
        losing |= plane
        for case in places_of(plane):
            lost_in[case].add(at)
    for case, (one, two, three) in enumerate(drawn):
        known = pairs.lost(one, two) | pairs.lost(two, three) | pairs.lost(one, three)
        more += bool(lost_in[case] - known)
    return Triples(losing=wilson(losing.bit_count(), draws), more=wilson(more, draws))
