"""What runs carry after a fault, from what moved, is what working all of it out gives."""

from __future__ import annotations

import pytest

from lineproof.drill.calm import overloaded
from lineproof.drill.loads import newly_full, rates_after
from lineproof.drill.lose import after_faults
from lineproof.graph.faults import things
from lineproof.reckon.loads import rates_bps
from tests.drill.shows import ROOM, ready
from tests.drill.test_laws import CHAINED


@pytest.mark.parametrize("name", ["hall", ROOM, CHAINED])
@pytest.mark.parametrize("other_mbit", [None, 999.0])
def test_after_every_single_fault(name: str, other_mbit: float | None) -> None:
    """With so much other traffic as leaves no room, so that ways become full."""
    known = ready(name)
    moved = 0
    for fault in things(known.show, known.network):
        for net in after_faults(known, (fault,)).nets.values():
            before, after = net.calm.bounds, net.bounds
            changed = rates_after(before.paths, net.calm.rates, after.paths)
            found = {way: rate for way, rate in {**net.calm.rates, **changed}.items() if rate}
            assert found == rates_bps(after.paths), fault
            full = newly_full(before.paths, net.calm.rates, after.paths, other_mbit)
            was = overloaded(before, other_mbit)
            assert full - was == overloaded(after, other_mbit) - was, fault
            moved += bool(full - was)
    assert bool(moved) == (other_mbit is not None)
