"""How long a net is silent: the ranges hold what was measured, and what the standards say."""

from __future__ import annotations

import pytest

from lineproof.reckon.gap import (
    Habits,
    Loss,
    Protocol,
    multicast_gap,
    restored_gap,
    tree_gap,
    unicast_gap,
)

#: As the kernel's bridges were set when they were measured.
MEASURED = Habits(
    protocol=Protocol.CLASSIC,
    hello_s=2.0,
    maximum_age_s=6.0,
    forward_delay_s=2.0,
    query_interval_s=10.0,
)


@pytest.mark.parametrize("seconds", [4.0, 9.0])
def test_unicast_came_back_within_the_range(seconds: float) -> None:
    gap = tree_gap(MEASURED)
    assert gap.least_s <= seconds <= gap.most_s
    assert gap.measured


@pytest.mark.parametrize("seconds", [4.0, 15.0])
def test_multicast_came_back_within_the_range(seconds: float) -> None:
    gap = multicast_gap(MEASURED)
    assert gap.least_s <= seconds <= gap.most_s


def test_multicast_was_away_for_more_than_42_s_at_the_usual_query_interval() -> None:
    assert multicast_gap(Habits(query_interval_s=125.0)).most_s > 42.0


def test_putting_the_cable_back_cost_8_s() -> None:
    gap = restored_gap(MEASURED)
    assert gap.least_s <= 8.0 <= gap.most_s


def test_classic_defaults_as_the_facts_have_them() -> None:
    # ETH-033 and ETH-034: 50 s at worst, 30 s where the port sees it.
    gap = tree_gap(Habits(protocol=Protocol.CLASSIC))
    assert (gap.least_s, gap.most_s) == (30.0, 50.0)


def test_rapid_figures_are_marked_as_unmeasured() -> None:
    for loss in Loss:
        assert not tree_gap(Habits(), loss).measured
        assert not multicast_gap(Habits(), loss).measured
    # ETH-032: three hellos of 2 s where the run only falls silent.
    silent = tree_gap(Habits(), Loss.SILENT)
    assert silent.least_s <= 6.0 <= silent.most_s


def test_without_snooping_multicast_waits_for_the_tree_only() -> None:
    assert multicast_gap(Habits(), snooping=False) == tree_gap(Habits())


def test_a_switch_that_asks_at_once_shortens_the_gap_and_it_is_said() -> None:
    asks = multicast_gap(Habits(asks_at_change=True))
    waits = multicast_gap(Habits())
    assert asks.most_s < waits.most_s
    assert "a switch asks for members when the tree changes" in asks.assumed
    assert "no switch asks for members when the tree changes" in waits.assumed


def test_unicast_waits_for_a_word_of_the_receiver_behind_classic_bridges_only() -> None:
    # Seen on the kernel's bridges: 11.0 s where the tree may take 10.
    loss = Loss.SILENT
    assert tree_gap(MEASURED, loss).most_s < 11.03 <= unicast_gap(MEASURED, loss).most_s + 0.1
    assert unicast_gap(Habits()) == tree_gap(Habits())


def test_a_lost_querier_is_missed_for_255_s() -> None:
    # Facts, section 2 (RFC 3376 8.5): other querier 255 s.
    assert Habits().other_querier_s == 255.0
    lost = multicast_gap(Habits(), querier_lost=True)
    assert lost.most_s == pytest.approx(multicast_gap(Habits()).most_s + 255.0)
