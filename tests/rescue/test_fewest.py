"""No fewer moves bring back as much, and no moves more: held against trying every way out."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.sweep import swept
from lineproof.graph.faults import DIP, PORT, Fault, things
from lineproof.rescue.choose import Chosen, choose
from lineproof.rescue.hand import AtHand
from lineproof.rescue.hurt import EndAt, Hurt
from lineproof.rescue.joins import Joins
from lineproof.rescue.moves import Do
from lineproof.rescue.rescue import Rescue, rescue
from lineproof.show.read import read_files
from tests.drill.shows import ROOM, ready
from tests.rescue.brute import World, best
from tests.rescue.drawn import drawn
from tests.rescue.evident import TWO_BOXES
from tests.rescue.law import broken_promises, is_whole, named
from tests.rescue.tiny import tiny


def others(known: Calm, sets: Iterable[tuple[Fault, ...]]) -> Iterator[str]:
    """Give where trying everything finds more, or as much by other than as many moves."""
    hand = AtHand(known.show, known.plan)
    for faults in sets:
        found = rescue(known, faults, hand=hand)
        cables = sum(move.do in (Do.CABLE, Do.LAY) for move in found.moves)
        if cables > 3 or not found.lost:
            continue
        tried = best(known.show, known.plan, faults, most_cables=max(2, cables))
        if of(known, found) != tried and not is_unasked(known, faults):
            yield f"{', '.join(map(str, faults))}: {of(known, found)}, not {tried}"
        assert list(broken_promises(known, found)) == []


def singles(known: Calm) -> list[tuple[Fault, ...]]:
    """Give one fault of those that strike the same; a dead port is unlike a cut cable."""
    fast = swept(known)
    found: list[tuple[Fault, ...]] = []
    for members, lost in zip(fast.classes.members, fast.lost_alone, strict=True):
        lasting = [fault for fault in members if fault.what != DIP]
        ports = [fault for fault in lasting if fault.what == PORT]
        others = [fault for fault in lasting if fault.what != PORT]
        found += [(fault,) for fault in (*others[:1], *ports)] if lost else []
    return found


def is_unasked(known: Calm, faults: tuple[Fault, ...]) -> bool:
    """Say whether some switch hears no querier: what comes back behind it stops within minutes.

    Trying everything knows nothing of that; the drill does.
    """
    world = World(known.show, known.plan, faults)
    joined = world.joins()
    return any(
        not any(frozenset((switch, querier)) in joined for querier in net.queriers)
        for net in known.network.nets.values()
        for switch, its_net in known.network.switch_nets.items()
        if its_net == net.name and not world.off(switch)
    )


def of(known: Calm, found: Rescue) -> tuple[tuple[int, ...], int]:
    """Give what a rescue brings back, as trying everything counts it, and its moves."""
    world = World(known.show, known.plan, found.faults)
    moves = sum(2 if move.do is Do.LAY else 1 for move in found.moves)
    return world.gain(named(known, found.back)), moves


def test_trying_everything_finds_what_is_evident() -> None:
    """Two microphones: two plugs and two routes; a cut cable: one more, which counts as two."""
    known = ready(TWO_BOXES)
    for name, moves in (("box-1", 4), ("desk", 0)):
        faults = (Fault(what="unit", name=name),)
        gain = (0, 2, 0, 0) if moves else (0, 0, 0, 0)
        assert best(known.show, known.plan, faults, most_cables=2) == (gain, moves)
    cut = (Fault(what="run", name="box-1-a"),)
    assert best(known.show, known.plan, cut, most_cables=2) == ((0, 2, 0, 0), 2)


def test_a_card_has_just_the_moves_that_were_weighed(monkeypatch: pytest.MonkeyPatch) -> None:
    weighed: list[int] = []

    def noted(hurt: Hurt, joins: Joins, *, hopeless: frozenset[EndAt]) -> Chosen:
        chosen = choose(hurt, joins, hopeless=hopeless)
        weighed.append(chosen.steps)
        return chosen

    monkeypatch.setattr("lineproof.rescue.rescue.choose", noted)
    for name in ("one-net", ROOM, drawn(0)):
        known = ready(name)
        for faults in singles(known):
            assert of(known, rescue(known, faults))[1] == weighed[-1], faults


@pytest.mark.parametrize("number", [0, 3, 14, 200, 203])
def test_nothing_better_is_found_by_trying_everything(number: int) -> None:
    assert list(others(ready(tiny(number)), singles(ready(tiny(number))))) == []


@pytest.mark.soak
def test_nothing_better_is_found_in_many_shows_after_one_fault_or_two(seed: int) -> None:
    rng = random.Random(seed)
    for number in range(seed * 1_000, seed * 1_000 + 60):
        show = read_files({"show.yaml": tiny(number)}).show
        assert show is not None
        plan = decide_whole(show).plan
        if plan is not None and not any(line.left_out for line in plan.lines):
            known = calm(show, plan)
            listed = things(show, plan.network)
            pairs = [tuple(rng.sample(listed, 2)) for _ in range(10)]
            if is_whole(known):
                assert list(others(known, [*singles(known), *pairs])) == [], number
