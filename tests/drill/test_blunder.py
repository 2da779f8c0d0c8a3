"""Mistakes people make: what is heard, and why."""

from __future__ import annotations

from lineproof.drill.verdict import State
from tests.drill.shows import ROOM, cut, of_line, ready


def test_a_cable_in_the_other_nets_port_leaves_one_net() -> None:
    told = of_line(cut(ROOM, "mistake:wrong-net:desk-a"), "41")
    assert (told.state, told.standing.carries) == (State.OTHER_NET, "net b")


def test_two_boxes_with_one_number_may_both_be_heard() -> None:
    drilled = cut(ROOM, "mistake:same-number:box-2/box-1")
    for number in ("1", "2"):
        told = of_line(drilled, number)
        assert told.state is State.UNKNOWN
        assert "answer to one number" in told.standing.why
    assert not of_line(drilled, "3").ends


def test_the_wrong_desk_changes_what_all_hear() -> None:
    drilled = cut("small", "mistake:wrong-desk:box-1")
    assert of_line(drilled, "1").standing.why == (
        "gain or 48 V at box-1 is changed by one of desk and side, and the level jumps at all"
    )
    assert not of_line(drilled, "43").ends


def test_a_rival_clock_on_one_net_parts_those_that_only_the_other_has() -> None:
    drilled = cut(ROOM, "mistake:rival-clock:b")
    told = of_line(drilled, "3")
    assert told.state is State.UNKNOWN
    assert "follow different clocks" in told.standing.why
    both = of_line(drilled, "41")
    assert both.state is State.UNTOUCHED
    assert both.standing.gap.most_s > 0


def test_a_querier_switched_off_is_silence_minutes_later_where_none_follows() -> None:
    """Membership ends 260 s after the last query (RFC 3376 8; facts 02)."""
    rows = ROOM.splitlines(keepends=True)
    alone = "".join(row for row in rows if "sw-a2:" not in row and "sw-b2:" not in row)
    assert len(ready(alone).network.nets["a"].queriers) == 1
    told = of_line(cut(alone, "mistake:querier-off:a"), "1")
    assert told.state in (State.OTHER_NET, State.OTHER_END, State.LOST)
    assert "260 to 270 s after the last query" in told.standing.why
    followed = ready("one-net").network.nets["a"].queriers
    assert len(followed) == 2
    assert all(not v.ends for v in cut("one-net", "mistake:querier-off:a").verdicts)


def test_a_loop_where_nothing_breaks_it_fills_the_net() -> None:
    text = ROOM.replace("nets: two", "nets: one").replace(
        "  sw-a: {kind: switch-24-poe, place: front, circuit: left, net: a}\n",
        "  sw-a: {kind: switch-24-poe, place: front, circuit: left}\n",
    )
    for name in ("sw-b", "sw-a2", "sw-b2"):
        text = "".join(row for row in text.splitlines(keepends=True) if f"  {name}: " not in row)
    text = text.replace(
        "kind: box-16-8, place: stage, number: 1",
        "kind: box-16-8, ports: chain, place: stage, number: 1",
    )
    drilled = cut(text, "mistake:loop:box-1")
    told = of_line(drilled, "2")
    assert told.state is State.UNKNOWN
    assert "unless box-1 passes the spanning tree's messages on" in told.standing.why


def test_a_switch_without_snooping_is_harmless_where_there_is_room() -> None:
    assert all(not v.ends for v in cut("small", "mistake:no-snooping:sw-front").verdicts)
