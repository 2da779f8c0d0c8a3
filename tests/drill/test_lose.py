"""What faults do to lines, on a show small enough to see it."""

from __future__ import annotations

import pytest

from lineproof.decide.decide import decide
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault, dead_units
from lineproof.show.read import read_files
from tests.drill.shows import ROOM, cut, of_line, ready


@pytest.mark.parametrize(
    ("faults", "line", "state"),
    [
        ("box-1", "1", State.LOST),
        ("box-1", "2", State.UNTOUCHED),
        ("rec-2", "1", State.OTHER_END),
        ("rec-1 rec-2", "1", State.LOST),
        ("play-1", "3", State.STANDBY),
        ("play-2", "3", State.UNTOUCHED),
        ("play-1 play-2", "3", State.LOST),
        ("sw-b", "1", State.OTHER_NET),
        ("sw-a sw-b", "41", State.LOST),
        ("run:box-1-a run:box-1-b", "1", State.LOST),
        ("port:box-1:1 run:box-1-b", "1", State.LOST),
        ("net:a net:b", "41", State.LOST),
        ("rack:tower", "2", State.LOST),
        ("place:stage", "41", State.LOST),
        ("circuit:right", "41", State.LOST),
        ("circuit:feed", "1", State.LOST),
        ("duct:floor duct:back", "41", State.LOST),
        ("duct:floor", "41", State.UNTOUCHED),
    ],
)
def test_the_state_is_what_one_sees_in_the_room(faults: str, line: str, state: State) -> None:
    assert of_line(cut(ROOM, *faults.split()), line).state is state


def test_no_fault_and_nothing_is_lost() -> None:
    for name in ("small", "hall", ROOM):
        known = ready(name)
        assert all(not v.ends for v in lose(known.show, known.plan, (), ready=known).verdicts)


def test_two_supplies_carry_a_unit_until_both_are_gone() -> None:
    assert not of_line(cut(ROOM, "supply:desk/1"), "3").ends
    for other in ("supply:desk/2", "circuit:right"):
        gone = of_line(cut(ROOM, "supply:desk/1", other), "3")
        assert (gone.state, gone.standing.why) == (State.LOST, "desk has no power")


def test_what_a_dead_switch_fed_is_dead_too() -> None:
    gone = of_line(cut(ROOM, "sw-a"), "4")
    assert (gone.state, gone.standing.why) == (State.LOST, "talk has no power")


def test_a_mix_lives_on_what_is_left_in_it() -> None:
    assert not of_line(cut(ROOM, "box-1"), "41").ends
    gone = of_line(cut(ROOM, "box-1", "box-2"), "41")
    assert (gone.state, gone.lost) == (State.LOST, ("pa",))


def test_a_verdict_tells_what_carries_the_line_and_whether_someone_must_act() -> None:
    standby = of_line(cut(ROOM, "play-1"), "3").standing
    assert (standby.carries, standby.must_act, standby.why) == ("play-2", True, "play-1 is dead")
    other = of_line(cut(ROOM, "sw-b"), "1").standing
    assert (other.carries, other.must_act, other.gap.most_s) == ("net a", False, 0.0)
    end = of_line(cut(ROOM, "rec-1"), "1").standing
    assert (end.carries, end.why) == ("rec-2", "rec-1 is dead")


def test_another_way_on_the_only_net_takes_until_the_next_query() -> None:
    """Up to 1 s for the tree, 125 s to the next query and 10 s for the answers (facts 02, 10)."""
    known = ready("one-net")
    moved = [
        v.standing.gap
        for name in ("run:sw-front-sw-stage-a", "run:sw-front-sw-stage-a-2")
        for v in cut("one-net", name).verdicts
        if v.ends
    ]
    assert moved
    assert {(gap.least_s, gap.most_s) for gap in moved} <= {(0.01, 136.0), (0.01, 1.0)}
    assert all(not gap.measured for gap in moved)
    assert known.network.nets["a"].queriers


def test_a_dip_is_silence_for_the_longest_start_up_at_least() -> None:
    told = of_line(cut(ROOM, "dip:left"), "3")
    assert told.state is State.UNTOUCHED
    start = max(ready(ROOM).show.units[n].kind.start_s for n in ("play-1", "sw-a"))
    assert told.standing.gap.least_s == start
    assert told.standing.gap.most_s > start
    assert of_line(cut(ROOM, "dip:left"), "41").state is State.OTHER_NET


def test_a_dead_insert_silences_the_line_it_is_on() -> None:
    text = ROOM + "  - {number: 5, name: Back, from: rec-2, to: desk, back-to: 2}\n"
    assert of_line(cut(text, "run:rec-2-a"), "2").state is State.LOST
    assert of_line(cut(text, "run:rec-2-a"), "1").state is State.OTHER_END


def test_a_changeover_unit_needs_nobody() -> None:
    text = ROOM.replace(
        "  pa: {kind",
        "  co: {kind: change-over-network, place: front, circuit: right}\n  pa: {kind",
    ).replace("standby: play-2", "standby: play-2, by: 'changeover:co'")
    standing = of_line(cut(text, "play-1"), "3").standing
    assert (standing.state, standing.must_act, standing.carries) == (State.STANDBY, False, "play-2")
    assert of_line(cut(text, "co"), "3").state is State.LOST


def test_a_standby_that_is_patched_by_hand_is_named_and_not_counted_on() -> None:
    text = ROOM.replace("standby: play-2", "standby: play-2, by: hand")
    told = of_line(cut(text, "play-1"), "3")
    assert (told.state, told.standing.must_act) == (State.LOST, True)
    assert told.standing.why == "play-1 is dead; play-2 stands by, to be patched by hand"
    both = of_line(cut(text, "play-1", "play-2"), "3")
    assert both.standing.why == "play-1 is dead"


def test_a_lead_dies_with_the_duct_it_lies_in() -> None:
    """The fiddle hangs on the mixer in the wings, the overheads on the box on their own side."""
    gone = of_line(cut("small", "duct:curtain"), "9")
    assert (gone.state, gone.standing.why) == (State.LOST, "its lead lies in curtain")
    run = of_line(cut("small", "duct:curtain"), "4").standing.why
    assert run.startswith("net a no longer joins box-1 and ")


def test_a_grandmaster_that_dies_may_be_heard_until_all_follow_the_next() -> None:
    """Announce timeout 3 x 2 s (facts 10), then the kinds' own time to lock."""
    standing = of_line(cut("hall", "clock"), "comet/1").standing
    show = ready("hall").show
    lock = max(show.units[n].kind.clock_lock_s for n in ("box-1", "box-3", "desk", "side", "cast"))
    assert standing.state is State.UNTOUCHED
    assert standing.gap.least_s == 0.0
    assert standing.gap.most_s <= 6.0 + max(lock, show.units["rec-1"].kind.clock_lock_s)


def test_without_a_planned_network_nothing_is_promised_behind_a_dead_switch() -> None:
    show = read_files({"show.yaml": ROOM.replace("nets: two", "nets: one")}).show
    assert show is not None
    plan = decide(show).plan
    assert plan is not None
    drilled = lose(show, plan, Fault(what="unit", name="sw-a"))
    assert drilled.lines(State.UNKNOWN)
    assert not drilled.lines(State.LOST)


def test_a_unit_with_two_supplies_lives_on_either_circuit() -> None:
    assert "desk" not in dead_units(ready(ROOM).show, Fault(what="circuit", name="feed"))


#: Three switches in a ring; what is declared beside the streams leaves room for one box, not two.
CORNERS = """\
title: Three Corners
rate: 48 kHz
nets: one
other: 965 Mbit/s
places:
  left: {at: [0, 0, 0]}
  right: {at: [20, 0, 0]}
  front: {at: [10, 20, 0]}
ducts:
  apron: {between: [left, right], length: 24 m}
  west: {between: [left, front], length: 26 m}
  east: {between: [right, front], length: 26 m}
circuits:
  house: {supply: 230 V}
units:
  box-1: {kind: box-32-16, place: left, number: 1, circuit: house}
  box-2: {kind: box-32-16, place: right, number: 2, circuit: house}
  desk: {kind: mixer-64, place: front, circuit: house}
  sw-1: {kind: switch-8, place: left, circuit: house}
  sw-2: {kind: switch-8, place: right, circuit: house}
  sw-3: {kind: switch-8, place: front, circuit: house}
runs:
  west-1: {from: 'sw-1:8', to: 'sw-3:8', along: [west]}
  east-1: {from: 'sw-2:8', to: 'sw-3:7', along: [east]}
  apron-1: {from: 'sw-1:7', to: 'sw-2:7', along: [apron]}
addresses: {root-a: sw-3 sw-1}
lines:
""" + "".join(
    f"  - {{number: {n}, name: Mic {n}, from: box-{1 + n // 17}, source: dynamic mic, to: desk}}\n"
    for n in range(1, 33)
)


def test_a_run_over_its_speed_after_a_fault_is_unknown_and_says_which() -> None:
    """Two boxes' 2 x 19.7 Mbit/s (16 channels each, 24 bit, 48 kHz) and 965 are above 1,000."""
    drilled = cut(CORNERS, "run:west-1")
    assert {v.state for v in drilled.verdicts} == {State.UNKNOWN}
    assert {v.standing.why for v in drilled.verdicts} == {
        "net a: sw-2:8 > sw-3:7 is over its speed"
    }
    known = ready(CORNERS)
    faults = [Fault(what="run", name="west-1")]
    alone = lose(known.show, known.plan, faults, ready=known, only_arrival=True)
    assert all(v.state is State.UNTOUCHED for v in alone.verdicts)
    roomy = CORNERS.replace("other: 965", "other: 900")
    assert {v.state for v in cut(roomy, "run:west-1").verdicts} == {State.UNTOUCHED}


def test_a_multicore_takes_what_is_plugged_at_its_far_end() -> None:
    text = (
        ROOM.replace(
            "  pa: {kind",
            "  drop: {kind: drop-box-8, place: side, sockets-of: 'box-1:9-16'}\n  pa: {kind",
        )
        + "  - {number: 6, name: Horn, from: side, source: dynamic mic, to: desk}\n"
    )
    (run,) = (r.name for r in ready(text).network.runs if r.medium == "multicore")
    for fault in (f"run:{run}", "duct:wall"):
        gone = of_line(cut(text, fault), "6")
        assert (gone.state, gone.standing.why) == (State.LOST, f"multicore {run} is cut")
        assert of_line(cut(text, fault), "1").state is State.UNTOUCHED
