"""No fewer moves bring back as much, and no moves more: held against trying every way out."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import Calm, calm
from lineproof.drill.sweep import swept
from lineproof.graph.faults import DIP, PORT, Fault
from lineproof.rescue.hand import AtHand
from lineproof.rescue.moves import Do
from lineproof.rescue.rescue import Rescue, rescue
from lineproof.show.read import read_files
from tests.drill.shows import ready
from tests.rescue.brute import World, best
from tests.rescue.evident import TWO_BOXES
from tests.rescue.law import broken_promises, is_whole, named
from tests.rescue.tiny import tiny


def others(known: Calm) -> Iterator[str]:
    """Give where trying everything finds more, or as much by other than as many moves."""
    hand, fast = AtHand(known.show, known.plan), swept(known)
    for members, lost in zip(fast.classes.members, fast.lost_alone, strict=True):
        for fault in _each_of(members) if lost else ():
            if nobody_asks(known, fault):
                continue
            found = rescue(known, fault, hand=hand)
            cables = sum(move.do in (Do.CABLE, Do.LAY) for move in found.moves)
            tried = best(known.show, known.plan, (fault,), most_cables=max(2, cables))
            if of(known, found) != tried:
                yield f"{fault}: {of(known, found)}, not {tried}"
            assert list(broken_promises(known, found)) == []


def nobody_asks(known: Calm, fault: Fault) -> bool:
    """Say whether a fault takes all queriers: what is brought back then stops within minutes."""
    world = World(known.show, known.plan, (fault,))
    nets = known.network.nets.values()
    return any(all(map(world.off, net.queriers)) for net in nets if net.queriers)


def _each_of(members: tuple[Fault, ...]) -> list[Fault]:
    """Give one fault of those that strike the same; a dead port is unlike a cut cable."""
    lasting = [fault for fault in members if fault.what != DIP]
    ports = [fault for fault in lasting if fault.what == PORT]
    return [*[fault for fault in lasting if fault.what != PORT][:1], *ports]


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


@pytest.mark.parametrize("number", [0, 3, 14, 200, 203])
def test_nothing_better_is_found_by_trying_everything(number: int) -> None:
    assert list(others(ready(tiny(number)))) == []


@pytest.mark.soak
def test_nothing_better_is_found_in_many_shows(seed: int) -> None:
    for number in range(seed * 1_000, seed * 1_000 + 60):
        show = read_files({"show.yaml": tiny(number)}).show
        assert show is not None
        plan = decide_whole(show).plan
        if plan is not None and not any(line.left_out for line in plan.lines):
            known = calm(show, plan)
            assert not is_whole(known) or list(others(known)) == [], number
