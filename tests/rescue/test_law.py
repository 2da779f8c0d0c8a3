"""A card, carried out with the faults still standing and drilled again, gives what it promises."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import strikes, what_dies
from lineproof.drill.sweep import swept
from lineproof.graph.faults import Fault, parse_fault, things
from lineproof.plan.model import Plan
from lineproof.rescue.hand import AtHand
from lineproof.rescue.rescue import Rescue, rescue
from lineproof.rescue.whole import rescue_all
from lineproof.show.read import read_files
from tests.drill.shows import ROOM, ready
from tests.drill.test_arena import arena
from tests.drill.test_laws import CHAINED
from tests.drill.test_sweep import MORE
from tests.rescue.drawn import drawn
from tests.rescue.hands import Hands
from tests.rescue.law import broken_promises, is_whole

#: Shows drawn by chance: amplifiers and spares, acts with routes of their own, ties, two nets.
DRAWN = (0, 6, 20, 28)


def rescues(known: Calm) -> Iterator[tuple[Fault, Rescue]]:
    """Give every rescue from a single fault, of faults that strike the same with one card one."""
    alike: dict[object, tuple[Fault, Rescue]] = {}
    for fault, found in rescue_all(swept(known)).by_fault.items():
        alike.setdefault((strikes(known.shared, fault), found.moves), (fault, found))
    yield from alike.values()


def broken(known: Calm) -> list[str]:
    return [
        f"{fault}: {what}"
        for fault, found in rescues(known)
        for what in broken_promises(known, found)
    ]


@pytest.mark.parametrize("name", ["small", "hall", "one-net", ROOM, MORE, CHAINED])
def test_every_card_of_a_show_gives_what_it_promises(name: str) -> None:
    assert broken(ready(name)) == []
    assert any(found.back for _, found in rescues(ready(name)))


@pytest.mark.parametrize("number", DRAWN)
def test_every_card_of_a_show_drawn_by_chance_does(number: int) -> None:
    assert broken(ready(drawn(number))) == []


@pytest.mark.parametrize("name", ["small", ROOM])
def test_no_move_of_a_card_is_in_vain(name: str) -> None:
    known = ready(name)
    for fault, found in rescues(known):
        for n, move in enumerate(found.moves):
            less = replace(found, moves=(*found.moves[:n], *found.moves[n + 1 :]))
            assert list(broken_promises(known, less)), f"{fault}: {move.words}"


@pytest.mark.parametrize("name", ["small", "one-net", ROOM])
def test_the_plan_that_a_rescue_hands_on_is_what_its_moves_make(name: str) -> None:
    known = ready(name)
    for fault, found in rescues(known):
        hands = Hands(known.show, known.plan, what_dies(known.shared, (fault,)))
        _, plan = hands.carry_out(found.moves)
        assert spots(plan) == spots(found.plan), fault
        assert plugs(plan) == plugs(found.plan), fault


def spots(plan: Plan) -> list[object]:
    return [(line.key, dict(line.start), dict(line.ends)) for line in plan.lines]


def plugs(plan: Plan) -> list[list[str]]:
    return sorted(sorted(map(str, run.ends)) for run in plan.network.runs)


def test_two_faults_together_have_a_card_that_holds_too() -> None:
    known = ready(ROOM)
    hand = AtHand(known.show, known.plan)
    pairs = (("box-1", "sw-a"), ("rec-1", "run:box-2-a"), ("desk", "circuit:left"))
    for names in pairs:
        struck = [parse_fault(name, known.show, known.plan) for name in names]
        assert list(broken_promises(known, rescue(known, struck, hand=hand))) == []


@pytest.mark.soak
def test_many_shows_drawn_by_chance(seed: int) -> None:
    for number in range(seed * 1_000, seed * 1_000 + 100):
        known = _planned(drawn(number))
        assert known is None or broken(known) == [], number


def _planned(text: str) -> Calm | None:
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    known = None if plan is None else calm(reading.show, plan)
    return known if known is not None and is_whole(known) else None


@pytest.mark.soak
def test_a_sample_of_an_arena(seed: int) -> None:
    known = arena()
    hand, rng = AtHand(known.show, known.plan), random.Random(seed)
    listed = things(known.show, known.network)
    counts = [*[1] * 40, *[2] * 10]
    some = [tuple(rng.sample(listed, count)) for count in counts]
    brought = 0
    for faults in some:
        found = rescue(known, faults, hand=hand)
        assert list(broken_promises(known, found)) == [], faults
        brought += len(found.back)
    assert brought
