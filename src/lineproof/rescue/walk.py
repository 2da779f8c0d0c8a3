"""In which order to go: the shortest walk past all places, then what is done at screens."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

from lineproof.base.names import natural
from lineproof.reckon.leads import AT_THE_ENDS_M
from lineproof.rescue.hand import AtHand
from lineproof.rescue.moves import Do, Move

#: Up to so many places every order is tried; beyond, always the nearest next.
_MOST_TRIED = 7
_ORDER = {do: n for n, do in enumerate((Do.CABLE, Do.LAY, Do.PLUG, Do.START, Do.PATCH, Do.ROUTE))}

Metres = Callable[[str, str], float]


def in_walking_order(
    hand: AtHand, moves: Sequence[Move], begin: str = ""
) -> tuple[tuple[Move, ...], float]:
    """Give the moves in the order in which to do them, and the metres to walk.

    What takes hands first, place by place, from the place `begin` if it is known; then what is
    done at a screen, unit by unit: that takes no steps, as units are set over the network.
    """
    places = sorted({move.place for move in moves if move.do.by_hand}, key=natural)
    route, metres = shortest_walk(places, lambda a, b: _metres(hand, a, b), begin)
    at = {place: n for n, place in enumerate(route)}
    hands = [move for move in moves if move.do.by_hand]
    screens = [move for move in moves if not move.do.by_hand]
    hands.sort(key=lambda m: (at[m.place], _ORDER[m.do], natural(m.unit), natural(m.new)))
    screens.sort(key=lambda m: (_ORDER[m.do], natural(m.unit), natural(m.new), natural(m.what)))
    laid = sum(
        _metres(hand, m.place, hand.place(m.new.partition(":")[0])) for m in hands if m.do is Do.LAY
    )
    return (*hands, *screens), round(metres + laid, 1)


def shortest_walk(
    places: Sequence[str], metres: Metres, begin: str = ""
) -> tuple[list[str], float]:
    """Give the order of places with the least to walk, and how far that is."""
    if not places:
        return [], 0.0

    def length(order: Sequence[str]) -> float:
        stops = [*([begin] if begin else []), *order]
        return sum(itertools.starmap(metres, itertools.pairwise(stops)))

    if len(places) <= _MOST_TRIED:
        best = min(itertools.permutations(places), key=length)
        return list(best), length(best)
    left, order, here = list(places), [], begin or places[0]
    while left:
        here = min(left, key=lambda place: metres(here, place))
        left.remove(here)
        order.append(here)
    return order, length(order)


def _metres(hand: AtHand, one: str, other: str) -> float:
    """Give how far it is to walk: as a lead lies, 0 where nobody knows."""
    if one == other or not {one, other} <= hand.show.places.keys():
        return 0.0
    metres = hand.near_m(one, other)
    return 0.0 if metres is None else max(0.0, metres - AT_THE_ENDS_M)
