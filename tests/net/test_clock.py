"""The grandmaster's election against four worked cases, and what follows on its loss.

Cases and identities: facts, section 4 (IEEE 1588-2008 9.3.4 and 7.5.2.2.2, from memory there).
"""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lineproof.graph.net import fabric
from lineproof.plan.network import ClockRank
from lineproof.reckon.clock import (
    Announced,
    Timing,
    clock_identity,
    elect,
    hand_over,
    one_clock,
    rate_crossings,
    rate_islands,
    reigns,
)
from lineproof.reckon.tree import spanning_tree
from tests.net.hand_made import NETWORK, show

CASES = json.loads((Path(__file__).parent / "04_bmca_examples.json").read_text("utf-8"))


def clock(facts: dict[str, Any]) -> Announced:
    return Announced(
        name=facts["name"],
        priority1=facts["priority1"],
        clock_class=facts["clock_class"],
        accuracy=facts["clock_accuracy"],
        variance=facts["offset_scaled_log_variance"],
        priority2=facts["priority2"],
        identity=int(facts["identity"].replace("-", ""), 16),
    )


@pytest.mark.parametrize("case", CASES["examples"], ids=lambda case: case["name"])
def test_worked_elections(case: dict[str, Any]) -> None:
    clocks = [clock(each) for each in case["clocks"]]
    for order in itertools.permutations(clocks):
        assert elect(order)[0].name == case["winner"]


def test_four_cases_were_read() -> None:
    assert len(CASES["examples"]) == 4


def test_one_that_only_follows_is_never_elected() -> None:
    first = clock(CASES["examples"][0]["clocks"][0])
    assert elect([replace(first, clock_class=255, priority1=0), first]) == (first,)


def test_identity_from_a_hardware_address() -> None:
    # PTP-015: 00-1A-2B-3C-4D-5E gives 00-1A-2B-FF-FE-3C-4D-5E, no bit inverted.
    assert clock_identity(0x001A2B3C4D5E) == 0x001A2BFFFE3C4D5E


def test_the_planned_grandmaster_reigns_and_the_planned_second_follows() -> None:
    this = show()
    (reign,) = reigns(this, NETWORK, spanning_tree(fabric(this, NETWORK, "a")))
    assert reign.order[:2] == ("clock", "desk")
    assert reign.by_name == ()
    assert "clock" not in reign.follow
    over = hand_over(this, reign)
    assert over is not None
    assert (over.gone, over.next, over.worse) == ("clock", "desk", True)
    # Facts: 3 x 2 s at AES67's default, 3 x 0.25 s at SMPTE ST 2059-2's.
    assert over.noticed_s == 6.0
    assert over.locked_s == 6.0 + max(this.units[n].kind.clock_lock_s for n in over.lock_s)
    assert "desk" not in over.lock_s
    quick = hand_over(this, reign, Timing(announce_s=0.25))
    assert quick is not None
    assert quick.noticed_s == 0.75


def test_each_part_of_a_parted_net_has_its_own_time() -> None:
    this = show()
    net = fabric(this, NETWORK, "a").without(runs=["trunk-1", "trunk-2"])
    parts = reigns(this, NETWORK, spanning_tree(net))
    # box-1 is the only one on stage that can be grandmaster, at the kinds' usual 128.
    assert {part.grandmaster for part in parts} == {"box-1", "clock"}
    assert len(parts) == 2


def test_two_clocks_that_only_an_unknown_address_tells_apart_are_told() -> None:
    this = show()
    level = tuple(
        ClockRank(unit=name, net="a", priority1=1, priority2=1) for name in ("desk", "box-1")
    )
    network = replace(NETWORK, clock=level)
    (reign,) = reigns(this, network, spanning_tree(fabric(this, network, "a")))
    assert this.units["desk"].kind.clock == this.units["box-1"].kind.clock
    assert reign.by_name == ("box-1", "desk")


@pytest.mark.parametrize(
    ("of_a", "of_b", "one"),
    [
        ("clock", "clock", True),
        ("desk", "desk", True),
        ("clock", "desk", False),
        ("desk", "rec-1", False),
        ("clock", "", False),
    ],
)
def test_two_nets_keep_one_time_by_one_unit_or_one_source(of_a: str, of_b: str, one: bool) -> None:
    assert one_clock(show(), {"a": of_a, "b": of_b}).one is one


def test_two_satellite_clocks_are_one_time() -> None:
    this = show(("  sw-1:", "  clock-2: {kind: grandmaster-clock, place: stage}\n  sw-1:"))
    found = one_clock(this, {"a": "clock", "b": "clock-2"})
    assert found.one
    assert found.why == "clock and clock-2 are each locked to a primary source"


def test_units_at_another_rate_are_an_island() -> None:
    this = show(("number: 1, circuit: house", "number: 1, circuit: house, rate: 96 kHz"))
    assert [(i.rate_hz, "box-1" in i.units) for i in rate_islands(this)] == [
        (48_000, False),
        (96_000, True),
    ]
    assert rate_crossings(this, NETWORK) == (("box-1/1", "desk"), ("box-1/1", "rec-1"))
    assert rate_crossings(show(), NETWORK) == ()
