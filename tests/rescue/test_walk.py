"""Moves stand in walking order: each place once, by the shortest walk, then what is at screens."""

from __future__ import annotations

import itertools
from math import dist

import networkx as nx  # type: ignore[import-untyped]
import pytest

from lineproof.drill.sweep import swept
from lineproof.graph.faults import UNIT
from lineproof.rescue.moves import Do, Pace
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.whole import rescue_all
from lineproof.show.model import Show
from tests.drill.shows import ROOM, ready
from tests.rescue.drawn import drawn

HANDS = (Do.CABLE, Do.LAY, Do.PLUG)


def metres(show: Show, one: str, other: str) -> float:
    """Give how far it is along the ducts, else 1.2 times the straight line."""
    ducts = nx.Graph()
    ducts.add_nodes_from(show.places)
    for duct in sorted(show.ducts.values(), key=lambda duct: -duct.length_m):
        ducts.add_edge(*duct.between, weight=duct.length_m)
    if nx.has_path(ducts, one, other):
        return float(nx.dijkstra_path_length(ducts, one, other))
    a, b = show.places[one].at_m, show.places[other].at_m
    return 0.0 if a is None or b is None else 1.2 * dist(a, b)


def shortest(show: Show, begin: str, places: list[str]) -> float:
    """Give the least to walk past all places, tried in every order."""
    return min(
        sum(itertools.starmap(lambda a, b: metres(show, a, b), itertools.pairwise(order)))
        for order in (
            [*([begin] if begin else []), *some] for some in itertools.permutations(places)
        )
    )


def begin(show: Show, found: Rescue) -> str:
    """Give the place of a unit that has died: there one stands when one knows."""
    first = found.faults[0]
    return show.units[first.name].place if first.what == UNIT else ""


@pytest.mark.parametrize("name", ["one-net", drawn(0)])
def test_one_walks_past_each_place_once_by_the_shortest_way(name: str) -> None:
    show, tried = ready(name).show, 0
    for fault, found in rescue_all(swept(ready(name))).by_fault.items():
        by_hand = [move for move in found.moves if move.do in HANDS]
        assert list(found.moves[: len(by_hand)]) == by_hand, fault
        places = [place for place, _ in itertools.groupby(move.place for move in by_hand)]
        assert len(places) == len(set(places)), fault
        walked = shortest(show, begin(show, found), places)
        for move in by_hand:
            if move.do is Do.LAY:
                there = show.units[move.new.partition(":")[0]].place
                walked += metres(show, move.place, there)
        assert found.walk_m == pytest.approx(walked, abs=0.1), fault
        tried += len(places) > 1
    assert tried


def test_minutes_are_hands_feet_and_screens_one_after_the_other() -> None:
    """30 s to notice, 15 s a plug, 10 s at a screen, 45 s and 2 s a metre for a cable, 1 m/s."""
    known = ready(ROOM)
    by_fault = rescue_all(swept(known)).by_fault
    for fault, found in by_fault.items():
        sorts = [move.do for move in found.moves]
        laid = sum(move.length_m for move in found.moves if move.do is Do.LAY)
        plugs = sorts.count(Do.PLUG) + sorts.count(Do.CABLE)
        screens = len(sorts) - plugs - sorts.count(Do.LAY)
        seconds = 30 + 15 * plugs + 10 * screens + 45 * sorts.count(Do.LAY) + 2 * laid
        expected = seconds + found.walk_m if sorts else 0.0
        assert found.seconds() == pytest.approx(expected), fault
    slow = Pace(notice_s=600)
    some = next(found for found in by_fault.values() if found.moves)
    assert some.seconds(slow) == pytest.approx(some.seconds() + 570)
