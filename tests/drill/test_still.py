"""What is passed over for speed stands as it is told: every end, every load and delay worked out.

Where all that is left hangs as it hung, traffic has only gone, so `lose` works no delay out anew
and judges only ends that rest on something hurt. Here all is worked out.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import replace

import pytest

from lineproof.drill.after import Clocks, NetAfter
from lineproof.drill.calm import Calm
from lineproof.drill.lose import After, after_faults, lose, verdict
from lineproof.drill.verdict import Verdict
from lineproof.graph.faults import Fault, things
from lineproof.reckon.delay import bounds_after
from tests.drill.shows import ROOM, ready
from tests.drill.test_arena import arena
from tests.drill.test_laws import CHAINED
from tests.drill.test_sweep import MORE


def worked_out(net: NetAfter) -> NetAfter:
    if not net.still:
        return net
    return replace(net, still=False, bounds=bounds_after(net.calm.bounds, net.bounds.paths)[0])


def in_full(known: Calm, faults: tuple[Fault, ...]) -> tuple[Verdict, ...]:
    """Give the verdicts with every delay and load worked out, and every end looked at."""
    after = after_faults(known, faults)
    nets = {name: worked_out(net) for name, net in after.nets.items()}
    clocks = Clocks(calm=known, nets=nets)
    full = After(calm=known, dead=after.dead, nets=nets, clocks=clocks, blind=after.blind)
    return tuple(verdict(line, full) for line in known.lines)


def hold(known: Calm, sets: Iterable[tuple[Fault, ...]]) -> None:
    still = 0
    for faults in sets:
        found = lose(known.show, known.plan, faults, ready=known).verdicts
        assert found == in_full(known, faults), faults
        still += any(net.still for net in after_faults(known, faults).nets.values())
    assert still > 10


@pytest.mark.parametrize("name", ["small", "hall", ROOM, MORE, CHAINED])
def test_single_faults_and_pairs_stand_as_with_all_worked_out(name: str) -> None:
    known = ready(name)
    listed = things(known.show, known.network)
    rng = random.Random(f"still {name}")
    pairs = [tuple(rng.sample(listed, 2)) for _ in range(40)]
    hold(known, [*((fault,) for fault in listed), *pairs])


@pytest.mark.soak
def test_so_do_300_faults_of_an_arena(seed: int) -> None:
    known = arena()
    listed = things(known.show, known.network)
    hold(known, [(fault,) for fault in random.Random(seed).sample(listed, 300)])
