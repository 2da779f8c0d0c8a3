"""Power over network cables: classes from facts, section 5; ports and budgets from the kit."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lineproof.plan.network import Network
from lineproof.reckon.poe import CLASS_W, fed_units, feed_budgets, unfed
from lineproof.show.model import Show
from tests.net.hand_made import NETWORK, run, show


def fed(switch: str, count: int) -> tuple[Show, Network]:
    """Give so many personal mixers, each on a port of one switch; they have no other supply."""
    names = [f"ear-{n}" for n in range(1, count + 1)]
    units = "".join(f"  {name}: {{kind: personal-mixer-16, place: front}}\n" for name in names)
    this = show(("  sw-3: {kind: switch-8,", f"{units}  sw-3: {{kind: {switch},"))
    runs = tuple(run(name, f"{name}:1", f"sw-3:{n}") for n, name in enumerate(names, start=1))
    return this, replace(NETWORK, runs=runs)


def test_classes() -> None:
    # Facts, section 5: class 3 is 15.4 W at the port, class 4 30 W, class 8 90 W.
    assert [CLASS_W[n] for n in (3, 4, 8)] == [15.4, 30.0, 90.0]


def test_a_budget_counts_every_unit_with_its_class() -> None:
    (budget,) = feed_budgets(*fed("switch-8-poe", 4))
    assert (budget.switch, budget.asks_w, budget.budget_w) == ("sw-3", 61.6, 120.0)
    assert budget.enough
    (more,) = feed_budgets(*fed("switch-8-poe", 8))
    assert more.asks_w == pytest.approx(123.2)
    assert not more.enough


def test_a_switch_that_feeds_nothing_leaves_them_dark() -> None:
    this, network = fed("switch-8", 2)
    assert unfed(this, network) == ("ear-1", "ear-2")
    assert unfed(*fed("switch-8-poe", 2)) == ()


def test_fibre_feeds_nobody() -> None:
    this, network = fed("switch-8-poe", 1)
    network = replace(network, runs=tuple(replace(r, medium="multi-mode") for r in network.runs))
    assert [each.enough for each in fed_units(this, network)] == [False]


def test_units_with_a_supply_of_their_own_ask_for_nothing() -> None:
    assert fed_units(show(), NETWORK) == ()
