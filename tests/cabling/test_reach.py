"""How far copper, fibre and power reach, held against the table of check values."""

import pytest

from lineproof.decide.cabling.reach import (
    copper_reach_m,
    fibre_for,
    fibre_reach_m,
    poe_watts,
    run_length_m,
)
from lineproof.graph.ducts import Way
from lineproof.kit.load import load_kit
from lineproof.show.model import Duct, Show, Weights

#: Watts a feeding port sets aside (IEEE 802.3af, at, bt).
POE = {0: 15.4, 1: 4.0, 2: 7.0, 3: 15.4, 4: 30.0, 5: 45.0, 6: 60.0, 7: 75.0, 8: 90.0}
#: IEEE 802.3: 100BASE-FX full duplex, 1000BASE-SX on OM2, 10GBASE-SR on OM3, 25GBASE-SR on OM3,
#: 40GBASE-SR4 on OM3; 1000BASE-LX, 10GBASE-LR and 40GBASE-LR4 on single-mode.
MULTI_MODE = {100: 2000, 1000: 550, 10_000: 300, 25_000: 70, 40_000: 100}
SINGLE_MODE = {1000: 5000, 10_000: 10_000, 40_000: 10_000}


def show(*, installed: tuple[bool, ...] = ()) -> Show:
    ducts = [
        Duct(name=f"d-{n}", between=("a", "b"), length_m=5, installed=fixed)
        for n, fixed in enumerate(installed)
    ]
    return Show(title="", rate_hz=48000, kit=load_kit(), ducts={d.name: d for d in ducts})


@pytest.mark.parametrize(("poe_class", "watts"), POE.items())
def test_watts_by_class(poe_class: int, watts: float) -> None:
    assert poe_watts(poe_class) == watts


def test_the_budget_of_the_worked_sums() -> None:
    """Sums of IEEE 802.3 classes: 106.2 W fit into 120 W, with one more of class 3 they don't."""
    assert round(sum(map(poe_watts, (3, 3, 3, 4, 4))), 1) == 106.2
    assert round(sum(map(poe_watts, (3, 3, 3, 4, 4, 3))), 1) == 121.6


@pytest.mark.parametrize(("speed", "metres"), MULTI_MODE.items())
def test_multi_mode(speed: int, metres: int) -> None:
    assert fibre_reach_m("multi-mode", speed) == metres
    assert fibre_for(metres, speed) == "multi-mode"
    assert fibre_for(metres + 1, speed) != "multi-mode"


@pytest.mark.parametrize(("speed", "metres"), SINGLE_MODE.items())
def test_single_mode(speed: int, metres: int) -> None:
    assert fibre_for(metres, speed) == "single-mode"
    assert not fibre_for(metres + 1, speed)


def test_copper_that_is_installed_reaches_100_m_and_rolled_out_75_m() -> None:
    """ISO/IEC 11801-1: 100 m. 75 m and 2 m a coupler are common practice."""
    two = show(installed=(True, False))
    assert copper_reach_m(two, ("d-0",)) == 100
    assert copper_reach_m(two, ("d-1",)) == 75
    assert copper_reach_m(two, ("d-0", "d-1")) == 75
    assert copper_reach_m(two, ()) == 75
    assert copper_reach_m(two, ("d-1",), couplers=2) == 71


@pytest.mark.parametrize(
    ("way_m", "drop_m", "slack", "metres"),
    [(34, 3, 10, 44), (0, 3, 10, 7), (40, 0, 0, 40), (40, 2.5, 20, 54), (14, 3, 10, 22)],
)
def test_length_is_way_drops_and_slack(
    way_m: int, drop_m: float, slack: float, metres: int
) -> None:
    """By hand: (34 + 6) x 1.1 = 44; (40 + 5) x 1.2 = 54; a broken metre is rounded up."""
    weights = Weights(drop_m=drop_m, slack_percent=slack)
    own = Show(title="", rate_hz=48000, kit=load_kit(), weights=weights)
    assert run_length_m(own, Way(ducts=("d",), length_mm=way_m * 1000)) == metres
