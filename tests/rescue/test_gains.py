"""What single improvements bring is what the show written with them would show."""

from __future__ import annotations

from functools import cache

import pytest

from lineproof.drill.calm import calm
from lineproof.drill.odds import Assumed
from lineproof.drill.sweep import swept
from lineproof.graph.faults import parse_fault
from lineproof.plan.model import Plan
from lineproof.rescue.better import improvements, recorders_apart
from lineproof.rescue.gains import Gain, gains
from lineproof.rescue.harm import harm
from lineproof.rescue.whole import Rescued, rescue_all
from lineproof.show.model import Show
from tests.drill.shows import text_planned

SHOW = """\
title: Salt Store
rate: 48 kHz
nets: one
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
circuits:
  feed: {supply: 230 V}
  left: {fed-by: feed, supply: 230 V}
  right: {fed-by: feed, supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: left}
  desk: {kind: mixer-32, place: front, circuit: right}
  side: {kind: mixer-32, place: stage, circuit: left}
  rec-1: {kind: computer-32, place: front, circuit: right}
  pa: {kind: powered-loudspeaker, place: stage, circuit: left}
  sw-1: {kind: switch-24, place: front, circuit: right}
lines:
  - {number: 1, name: Voice, from: box-1, source: dynamic mic, to: desk}
  - {number: 2, name: Reader, from: box-1, source: dynamic mic, to: 'desk rec-1?'}
  - {number: 41, name: Main, from: desk, source: main mix, to: pa}
"""


@cache
def planned(text: str = SHOW) -> tuple[Show, Plan]:
    return text_planned(text)


def rescued(show: Show, plan: Plan) -> Rescued:
    return rescue_all(swept(calm(show, plan)))


def words_against(name: str, text: str = SHOW) -> list[str]:
    show, plan = planned(text)
    return [each.words for each in improvements(show, plan, parse_fault(name, show, plan), {})]


def test_each_sort_of_fault_has_what_helps_against_it() -> None:
    assert words_against("box-1") == [
        "a spare stage box, 16 in, 8 out for box-1 at stage, on circuit right"
    ]
    assert words_against("circuit:left") == [
        "a second circuit for all 3 units on left",
        "a second supply for box-1 from circuit right",
    ]
    assert words_against("duct:floor") == ["another duct between stage and front, of 25 m"]
    assert words_against("run:desk-a") == ["a second net, each switch twice"]
    assert words_against("place:stage") == []
    assert words_against("desk")[1:] == ["side stands in for desk by hand, its mixes prepared"]


def test_recorders_on_one_net_or_circuit_are_parted() -> None:
    two = SHOW.replace("nets: one", "nets: two").replace(
        "  pa:", "  rec-2: {kind: computer-32, place: front, circuit: right}\n  pa:"
    )
    two = two.replace("desk rec-1?", "desk rec-1|rec-2?")
    two = two.replace("circuit: right}\nlines", "circuit: right, net: a}\nlines")
    show, plan = planned(two)
    assert [each.words for each in recorders_apart(show, plan)] == [
        "rec-1 on net b",
        "rec-1 on circuit left",
    ]
    assert recorders_apart(*planned()) == []


@cache
def found() -> dict[str, Gain]:
    each = gains(rescued(*planned()), most=40)
    return {gain.words: gain for gain in each}


@pytest.mark.parametrize(
    ("words", "old", "new"),
    [
        (
            "side stands in for desk by hand, its mixes prepared",
            "front, circuit: right}\n  side",
            "front, circuit: right, standby: side, by: hand}\n  side",
        ),
        (
            "a spare stage box, 16 in, 8 out for box-1 at stage, on circuit right",
            "  desk:",
            "  box-1-spare: {kind: box-16-8, place: stage, circuit: right, covers: box-1}\n  desk:",
        ),
        (
            "a second circuit for all 3 units on right",
            "circuit: right}",
            "circuit: [right, left]}",
        ),
    ],
)
def test_a_gain_is_what_the_show_written_so_would_show(words: str, old: str, new: str) -> None:
    """The improved show is written as text, read and planned from nothing."""
    assert old in SHOW
    apart = harm(rescued(*text_planned(SHOW.replace(old, new))), Assumed())
    gain = found()[words]
    assert gain.after is not None
    assert gain.after.minutes == pytest.approx(apart.total)
    assert gain.minutes > 0


def test_the_best_comes_first_and_no_improvement_is_told_twice() -> None:
    each = list(found().values())
    assert each == sorted(each, key=lambda g: (-g.stops, -g.minutes, g.words))
    assert len({gain.words for gain in each}) == len(each) > 4


def test_silence_is_what_is_lost_for_as_long_as_repair_or_rescue_take() -> None:
    """Two voices and the main, 15 min of repair; one failure in 20 years of use, a show of 4 h."""
    show, plan = planned()
    known = rescued(show, plan)
    assumed = Assumed(hours=4.0, unit_failures={"mixer-32": 0.05})
    desk = parse_fault("desk", show, plan)
    assert harm(known, assumed).by_fault[desk] == pytest.approx(3 * 15.0 * 0.05 * 4 / 8766)
    cable = parse_fault("run:desk-a", show, plan)
    rescue = known.by_fault[cable]
    assert not rescue.stays
    once = 3 * rescue.seconds() / 60
    assert harm(known, assumed).minutes_once(cable, rescue) == pytest.approx(once)


def test_what_must_be_there_for_it_is_said() -> None:
    gain = found()["a second circuit for all 3 units on right"]
    assert gain.needs == "an automatic changeover of supplies where a unit has one supply only"
