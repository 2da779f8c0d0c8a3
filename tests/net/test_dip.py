"""A feed that is off for a second: what restarts, and when each path sounds again.

Start-up and lock times are the catalogue's; query interval and response 125 and 10 s (facts 02).
"""

from __future__ import annotations

import pytest

from lineproof.decide.whole import decide_whole
from lineproof.outcome import work_out
from lineproof.reckon.dip import Dip, dips
from lineproof.reckon.gap import Habits, tree_gap
from lineproof.show.read import read_files

SHOW = """\
title: Paper Boat Evening
rate: 48 kHz
nets: NETS
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
circuits:
  house: {supply: 230 V}
  stage: {fed-by: house, supply: 230 V}
  front: {fed-by: house, supply: 230 V}
  idle: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: stage}
  desk: {kind: mixer-32, place: front, circuit: front}
  rec-1: {kind: computer-32, place: front, circuit: front}
  ear: {kind: personal-mixer-16, place: stage, power: network}
  sw-stage: {kind: switch-8-poe, place: stage, circuit: stage, net: a}
  sw-front: {kind: switch-8, place: front, circuit: front, net: a}
MORE
addresses: {querier-a: QUERIERS, grandmaster: desk}
lines:
  - {number: 1, name: Oboe, from: stage, source: dynamic mic, to: desk rec-1}
  - {number: 2, name: Cue, from: desk, source: main mix, to: ear}
"""
SECOND_NET = """\
  sw-stage-b: {kind: switch-8, place: stage, circuit: stage, net: b}
  sw-front-b: {kind: switch-8, place: front, circuit: [front, idle], net: b}
"""


#: A third switch, with a supply of its own, that makes the two a ring.
THIRD = """\
  sw-side: {kind: switch-8, place: front, circuit: idle, net: a}
runs:
  t-1: {from: 'sw-stage:7', to: 'sw-side:7'}
  t-2: {from: 'sw-side:8', to: 'sw-front:7'}
  t-3: {from: 'sw-stage:8', to: 'sw-front:8'}
  box: {from: 'box-1:1', to: 'sw-stage:1'}
  rec: {from: 'rec-1:1', to: 'sw-front:1'}
"""


def worked(
    *changes: tuple[str, str], nets: str = "one", more: str = "", habits: Habits | None = None
) -> list[Dip]:
    more = SECOND_NET if nets == "two" else more
    text = SHOW.replace("NETS", nets).replace("MORE\n", more)
    for old, new in (*changes, ("QUERIERS", "sw-front sw-stage")):
        text = text.replace(old, new)
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    outcome = work_out(reading, plan)
    assert outcome.network is not None
    return list(dips(outcome.show, plan.network, outcome.network, habits))


def dip_of(found: list[Dip], circuit: str) -> Dip:
    return next(dip for dip in found if dip.circuit == circuit)


def path(dip: Dip, sender: str, receiver: str) -> tuple[float, float]:
    (each,) = (p for p in dip.paths if p.stream.startswith(sender) and p.receiver == receiver)
    return each.least_s, each.most_s


def test_what_is_fed_over_its_cable_restarts_with_its_switch() -> None:
    up = {each.unit: each for each in dip_of(worked(), "stage").restarts}
    assert set(up) == {"box-1", "sw-stage", "ear"}
    assert up["ear"].fed_by == ("sw-stage",)
    # 15 s by itself, once the switch, 60 s, is up at the latest.
    assert (up["ear"].least_s, up["ear"].most_s) == (15.0, 75.0)


def test_a_feed_takes_along_the_circuits_it_feeds_and_a_circuit_without_units_nothing() -> None:
    found = worked()
    assert {dip.circuit for dip in found} == {"house", "stage", "front"}
    units = {each.unit for each in dip_of(found, "house").restarts}
    assert units == {"box-1", "desk", "rec-1", "ear", "sw-stage", "sw-front"}


def test_start_up_then_tree_then_clock_then_membership() -> None:
    # The switch on stage takes 60 s, the box 25 s; the box locks in 5 s; the switch at the front
    # asks, so the one on stage hears nothing of members until the next query.
    stage = dip_of(worked(), "stage")
    assert path(stage, "box-1", "rec-1") == (60.0, 60.0 + 1.0 + 5.0 + 125.0 + 10.0)


def test_a_switch_that_asks_itself_knows_at_once_who_listens() -> None:
    found = worked(("QUERIERS", "sw-stage sw-front"))
    assert path(dip_of(found, "stage"), "box-1", "rec-1") == (60.0, 60.0 + 1.0 + 5.0 + 10.0)


def test_a_shorter_query_interval_brings_sound_back_sooner() -> None:
    stage = dip_of(worked(habits=Habits(query_interval_s=30.0)), "stage")
    assert path(stage, "box-1", "rec-1")[1] == 60.0 + 1.0 + 5.0 + 30.0 + 10.0


def test_unicast_waits_for_no_membership() -> None:
    # Fed over its cable, the personal mixer may be up 75 s after the dip; it locks in 5 s.
    assert path(dip_of(worked(), "stage"), "desk", "ear") == (60.0, 75.0 + 1.0 + 5.0)


def test_where_the_tree_leads_round_what_restarts_sound_may_be_back_at_once() -> None:
    # The middle switch is root, so the direct run is blocked until its dip.
    roots = ("addresses: {", "addresses: {root-a: sw-side sw-front, ")
    found = worked(roots, more=THIRD)
    least, most = path(dip_of(found, "idle"), "box-1", "rec-1")
    assert least == tree_gap(Habits()).least_s < 1.0
    # What asks is up, so the middle one waits for the next query once it is back, 60 s later.
    assert most == 60.0 + 1.0 + 125.0 + 10.0


def test_without_the_grandmaster_its_units_wait_for_the_next() -> None:
    # The desk keeps the time. It takes 45 s, the computer 90 s, the switch 60 s. Meanwhile the
    # box leads, noticed after 6 s; the computer locks in 10 s.
    front = dip_of(worked(), "front")
    assert path(front, "box-1", "rec-1") == (90.0, 90.0 + 1.0 + 6.0 + 10.0 + 10.0)


def test_a_unit_with_two_supplies_does_not_restart() -> None:
    found = worked(("circuit: front}\n  rec-1", "circuit: [front, idle]}\n  rec-1"))
    assert "desk" not in {each.unit for each in dip_of(found, "front").restarts}


def test_what_the_other_net_keeps_up_is_not_lost() -> None:
    one = worked(
        ("place: stage, number: 1, circuit: stage", "place: stage, number: 1, circuit: idle")
    )
    assert path(dip_of(one, "front"), "box-1", "desk")
    two = worked(
        ("place: stage, number: 1, circuit: stage", "place: stage, number: 1, circuit: idle"),
        (
            "desk: {kind: mixer-32, place: front, circuit: front",
            "desk: {kind: mixer-32, place: front, circuit: idle",
        ),
        nets="two",
    )
    # Net b's switch at the front has a second supply, so the front circuit takes net a alone.
    lost = {(p.stream.partition("/")[0], p.receiver) for p in dip_of(two, "front").paths}
    assert ("box-1", "desk") not in lost
    assert ("box-1", "rec-1") in lost


@pytest.mark.parametrize("circuit", ["house", "stage", "front"])
def test_ranges_are_ranges_and_the_longest_comes_first(circuit: str) -> None:
    dip = dip_of(worked(), circuit)
    assert all(0 <= each.least_s <= each.most_s for each in dip.paths)
    assert [each.most_s for each in dip.paths] == sorted(
        (each.most_s for each in dip.paths), reverse=True
    )
    assert dip.longest_s == dip.paths[0].most_s
