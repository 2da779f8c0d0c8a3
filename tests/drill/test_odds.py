"""Likelihood: the formulas of facts 10, and the sum over minimal causes against drawing."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from lineproof.drill.draws import by_drawing, triples, wilson
from lineproof.drill.odds import (
    Assumed,
    Coming,
    availability,
    coming,
    down_hours,
    odds,
    shared_pair,
    survives,
)
from lineproof.drill.pairs import all_pairs
from lineproof.drill.sweep import swept
from lineproof.graph.faults import Fault
from tests.drill.shows import ROOM, ready

#: facts/10_redundancy_checks.csv: SMPTE ST 2022-7, RFC 4202 and worked formulas.
_TEXT = (Path(__file__).parent / "10_redundancy_checks.csv").read_text("utf-8")
FACTS = {row["id"]: row for row in csv.DictReader(_TEXT.splitlines())}


def fact(name: str) -> tuple[float, float]:
    return float(FACTS[name]["expected"]), float(FACTS[name]["tolerance"])


def test_availability_is_that_of_the_formula() -> None:
    expected, off = fact("RED-012")
    assert availability(50_000, 4) == pytest.approx(expected, abs=off)
    long_in_use = Coming(fails_h=1 / 50_000, mends_h=1 / 4)
    assert 1 - long_in_use.down(10_000) == pytest.approx(expected, abs=off)


def test_parts_in_series_and_paths_side_by_side() -> None:
    """Chances to be down, put together as causes are: any one, or all of a pair."""
    parts = [0.999, 0.9995, 0.9999, 0.99]
    assert math.prod(parts) == pytest.approx(fact("RED-013")[0], abs=fact("RED-013")[1])
    path = 1 - parts[0] * parts[1]
    pair, off = fact("RED-014")
    assert 1 - path**2 == pytest.approx(pair, abs=off)
    with_shared, off = fact("RED-015")
    assert (1 - path**2) * parts[2] == pytest.approx(with_shared, abs=off)


@pytest.mark.parametrize(("name", "count"), [("RED-017", 1), ("RED-018", 10), ("RED-019", 100)])
def test_none_of_so_many_fails_in_a_show(name: str, count: int) -> None:
    expected, off = fact(name)
    assert survives(50_000, 4, count) == pytest.approx(expected, abs=off)


def test_a_pair_without_repair_and_with_a_shared_share() -> None:
    never_mended = Coming(fails_h=1 / 50_000, mends_h=0.0)
    chance = never_mended.down(4)
    expected, off = fact("RED-020")
    assert 1 - chance**2 == pytest.approx(expected, abs=off)
    expected, off = fact("RED-021")
    assert shared_pair(chance, 0.05) == pytest.approx(expected, abs=off)


def test_minutes_down_come_to_the_long_run_share() -> None:
    """RED-016: 0.9999 is 52.56 minutes a year of 365 days."""
    each = Coming(fails_h=0.0001, mends_h=0.9999)
    year = 365 * 24
    start = down_hours([each], 64)
    later = (1 - 0.9999) * (year - 64)
    assert 60 * (start + later) == pytest.approx(fact("RED-016")[0], rel=1e-3)


def test_a_duct_that_both_ways_share_is_one_cause() -> None:
    """RED-023, RFC 4202 2.3: what the sets of both paths have in common."""
    text = ROOM.replace("  back: {between: [side, front], length: 30 m}\n", "")
    known = swept(ready(text))
    alone = {
        str(members[0])
        for members, lost in zip(known.classes.members, all_pairs(known).single, strict=True)
        if lost & known.must
    }
    assert "duct:floor" in alone
    assert "duct:floor" not in {
        str(cause.faults[0])
        for cause in odds(swept(ready(ROOM)), all_pairs(swept(ready(ROOM)))).causes
        if len(cause.faults) == 1
    }


@pytest.mark.parametrize("name", ["small", ROOM])
def test_the_sum_over_causes_is_what_drawing_finds(name: str) -> None:
    """At rates a hundred times as high, so that drawing sees something; the sum is a bound."""
    fast = swept(ready(name))
    often = Assumed(failures_a_year={w: 100 * r for w, r in Assumed().failures_a_year.items()})
    often = Assumed(
        failures_a_year=often.failures_a_year,
        unit_failures={u.kind.name: 5.0 for u in fast.calm.show.units.values()},
    )
    told = odds(fast, all_pairs(fast), often)
    share, error = by_drawing(fast, coming(fast, often), often.hours, draws=60_000)
    drawn = 60 * often.hours * share
    spread = 60 * often.hours * error
    assert share > 0.001
    assert told.minutes >= drawn - 3 * spread
    assert told.minutes <= drawn * 1.05 + 3 * spread


def test_every_figure_may_be_changed() -> None:
    fast = swept(ready("small"))
    pairs = all_pairs(fast)
    as_it_is = odds(fast, pairs)
    none = Assumed(
        failures_a_year={},
        unit_failures={unit.kind.name: 0.0 for unit in fast.calm.show.units.values()},
    )
    assert odds(fast, pairs, none).minutes == 0.0
    longer = odds(fast, pairs, Assumed(hours=8.0))
    assert longer.minutes > 2 * as_it_is.minutes
    show = fast.calm.show
    assert Assumed().rate_h(show, Fault(what="unit", name="play")) > Assumed().rate_h(
        show, Fault(what="unit", name="desk")
    )


def test_threes_are_drawn_the_same_each_time_and_say_how_sure_they_are() -> None:
    fast = swept(ready("hall"))
    pairs = all_pairs(fast)
    found = triples(fast, pairs, draws=500)
    assert found == triples(fast, pairs, draws=500)
    assert found.losing.least <= found.losing.share <= found.losing.most
    assert found.more.share <= found.losing.share


def test_the_interval_of_a_share() -> None:
    """Of 10 in 100 Wilson's 95 % interval is 5.5 to 17.4 % (standard tables, from memory)."""
    found = wilson(10, 100)
    assert (round(found.least, 3), round(found.most, 3)) == (0.055, 0.174)
