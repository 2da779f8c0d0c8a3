"""Every bug the search found, with the smallest show that had it."""

from __future__ import annotations

from lineproof.decide.decide import Decision, decide
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.read import read_files
from lineproof.show.write import write_show
from tests.second.draw import issued

HEAD = """\
title: Found
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
kinds:
  box: {like: box-4-4}
  no-line:
    like: box-4-4
    sockets: [{side: in, count: 4, signal: mic, connector: XLR 3, most-dbu: 0}]
  half: {like: box-4-4, send: {48000: 2}}
  one-in:
    like: mixer-32
    receive: {48000: 1}
    sockets: [{side: out, count: 2, signal: line, connector: XLR 3}]
  one-track: {like: computer-32, receive: {48000: 1}}
  two-tracks: {like: computer-32, receive: {48000: 2}}
units:
  desk: {kind: mixer-32, place: front}
"""


def plan_it(text: str, earlier: Plan | None = None) -> Decision:
    reading = read_files({"show.yaml": text})
    assert reading.show is not None
    assert not reading.stops, [str(f) for f in reading.findings]
    return decide(reading.show, issued(earlier) if earlier else None)


def lines(decision: Decision) -> dict[str, LinePlan]:
    assert decision.plan is not None, [str(f) for f in decision.findings]
    return {line.key.number: line for line in decision.plan.lines}


def spots(decision: Decision, number: str, part: str) -> str:
    line = lines(decision)[number]
    return " ".join(map(str, line.start.get(part) or line.ends[part]))


def term(decision: Decision, name: str) -> float:
    return next(t.value for t in decision.terms if t.name == name)


def test_a_group_that_is_left_out_is_no_gain() -> None:
    # The groups' term came to -8 m.
    decision = plan_it(
        HEAD
        + """\
  box: {kind: box, place: stage}
  tape: {kind: one-track, place: front}
lines:
  - {number: 1, from: stage, to: tape}
  - {number: 2, from: stage, to: 'tape?', group: choir}
  - {number: 3, from: stage, to: 'tape?', group: choir}
"""
    )
    assert term(decision, "groups") == 0


def test_a_mixer_hears_a_line_whose_arrival_is_left_out_on_its_way_to_a_lead() -> None:
    # It ended in a traceback: the mixer's one channel was given to line 1 and to line 2.
    decision = plan_it(
        HEAD.replace("desk: {kind: mixer-32", "desk: {kind: one-in")
        + """\
  box: {kind: box, place: stage}
  pa: {kind: analogue-loudspeaker, place: front}
lines:
  - {number: 1, from: stage, to: desk}
  - {number: 2, from: stage, to: 'desk? pa', need: must}
pins: {2: {ends: {pa: 'desk:out-1'}}}
"""
    )
    assert decision.plan is None
    assert {name for f in decision.findings for name in f.of} == {"1", "2"}


def test_two_leads_from_one_mixer_take_one_channel_of_it() -> None:
    # It was refused: each of the two loudspeakers was given a channel of its own.
    decision = plan_it(
        HEAD.replace("desk: {kind: mixer-32", "desk: {kind: one-in")
        + """\
  box: {kind: box, place: stage}
  fill-1: {kind: analogue-loudspeaker, place: front}
  fill-2: {kind: analogue-loudspeaker, place: front}
lines:
  - {number: 1, from: stage, to: 'fill-1 fill-2'}
"""
    )
    assert spots(decision, "1", "fill-1") == "desk:receive-1 desk:out-1 fill-1:in-1"
    assert spots(decision, "1", "fill-2") == "desk:receive-1 desk:out-2 fill-2:in-1"


def test_an_end_that_is_a_must_once_is_a_must() -> None:
    # Written twice, once as a want, the end was left out for a line that came later.
    decision = plan_it(
        HEAD
        + """\
  box: {kind: box, place: stage}
  tape: {kind: one-track, place: front}
  spare: {kind: one-track, place: front}
lines:
  - {number: 1, from: stage, to: 'tape|spare tape?'}
  - {number: 2, from: stage, to: 'tape?'}
"""
    )
    assert [line.left_out for line in lines(decision).values()] == [(), ("tape",)]


def test_a_box_has_as_many_inputs_as_it_has_channels() -> None:
    # Sockets 3 and 4 were used though no channel leaves by them.
    rows = [f"  - {{number: {n}, from: stage, to: desk}}\n" for n in (1, 2, 3)]
    text = HEAD + "  box: {kind: half, place: stage}\nlines:\n"
    assert spots(plan_it(text + "".join(rows[:2])), "2", "stage") == "box:in-2"
    # The third goes all the way to the mixer.
    assert spots(plan_it(text + "".join(rows)), "3", "stage") == "desk:in-1"


def test_a_signal_from_inside_a_radio_rack_leaves_by_a_channel() -> None:
    # A unit with channels and no inside patch was given none.
    decision = plan_it(
        HEAD
        + """\
  radio: {kind: radio-rack-4, place: stage}
lines:
  - {number: 1, from: radio, to: desk}
  - {number: 2, from: radio, to: desk}
"""
    )
    assert spots(decision, "1", "radio") == "radio:send-1"
    assert spots(decision, "2", "radio") == "radio:send-2"


def test_a_radio_rack_has_as_many_signals_as_channels() -> None:
    rows = "".join(f"  - {{number: {n}, from: radio, to: desk}}\n" for n in range(1, 6))
    text = HEAD + "  radio: {kind: radio-rack-4, place: stage}\nlines:\n" + rows
    (finding,) = plan_it(text).findings
    assert finding.what.startswith("5 lines ask for a send channel of radio, there are 4")


def test_a_socket_that_takes_0_dbu_does_not_take_line_level() -> None:
    # 0 dBu was read as "nobody says".
    text = HEAD + "  box: {kind: no-line, place: stage}\nlines:\n"
    row = "  - {number: 1, from: stage, to: desk, source: playback}\n"
    assert "box" not in spots(plan_it(text + row), "1", "stage")


def test_of_equal_wants_the_later_goes() -> None:
    # The earlier went, because a lead that is not there costs nothing.
    decision = plan_it(
        HEAD
        + """\
  box: {kind: box, place: stage}
  tape: {kind: one-track, place: front}
lines:
  - {number: 1, from: stage, to: 'tape?'}
  - {number: 2, from: stage, to: 'tape?'}
"""
    )
    assert [line.left_out for line in lines(decision).values()] == [(), ("tape",)]


def test_what_is_left_of_a_spread_is_spread() -> None:
    # The line that was left out counted as if it sat in another box.
    decision = plan_it(
        HEAD
        + """\
  box-1: {kind: box, place: stage}
  box-2: {kind: box, place: stage}
  tape: {kind: two-tracks, place: front}
lines:
  - {number: 1, from: stage, to: 'tape?', spread: voices}
  - {number: 2, from: stage, to: 'tape?', spread: voices}
  - {number: 3, from: stage, to: 'tape?', spread: voices}
"""
    )
    starts = {str(spot).partition(":")[0] for x in lines(decision).values() for spot in x.spots()}
    assert {"box-1", "box-2"} <= starts


def test_one_half_alone_is_no_pair_apart() -> None:
    decision = plan_it(
        HEAD
        + """\
  box: {kind: box, place: stage}
  tape: {kind: one-track, place: front}
lines:
  - {number: 1, from: stage, to: 'tape?', pair: 2}
  - {number: 2, from: stage, to: 'tape?'}
"""
    )
    assert term(decision, "pairs apart") == 0


def test_a_channel_in_use_counts_where_a_box_comes_later() -> None:
    # Line 9 has desk:receive-1 on its way to the loudspeaker; the box came later, and line 1 was
    # said to land on its number.
    before = (
        HEAD
        + """\
  play: {kind: computer-16, place: front}
  pa: {kind: analogue-loudspeaker, place: front}
lines:
  - {number: 9, from: play, to: pa}
"""
    )
    first = plan_it(before)
    assert spots(first, "9", "pa") == "desk:receive-1 desk:out-1 pa:in-1"
    after = before.replace("lines:\n", "  box: {kind: box, place: stage, number: 1}\nlines:\n")
    after += "  - {number: 1, from: stage, to: desk, socket: 'box:1'}\n"
    second = plan_it(after, first.plan)
    assert spots(second, "9", "pa") == spots(first, "9", "pa")
    assert not spots(second, "1", "desk").startswith("desk:receive-1 ")
    assert term(second, "off number") == 3


def test_leads_of_one_line_can_be_pinned_each() -> None:
    decision = plan_it(
        HEAD
        + """\
  box: {kind: box, place: stage}
  fill-1: {kind: analogue-loudspeaker, place: stage}
  fill-2: {kind: analogue-loudspeaker, place: stage}
lines:
  - {number: 1, from: desk, to: 'fill-1 fill-2'}
pins: {1: {ends: {fill-1: 'box:out-2', fill-2: 'box:out-1'}}}
"""
    )
    assert spots(decision, "1", "fill-1") == "box:out-2 fill-1:in-1"


def test_the_order_of_kinds_changes_no_byte_of_the_written_show() -> None:
    tail = "lines:\n  - {number: 1, from: front, to: desk}\n"
    one, two = "  box: {like: box-4-4}\n", "  half: {like: box-4-4, send: {48000: 2}}\n"
    show = read_files({"show.yaml": HEAD + tail}).show
    turned = HEAD.replace(two, "").replace(one, two + one)
    other = read_files({"show.yaml": turned + tail}).show
    assert show is not None
    assert other is not None
    assert write_show(show) == write_show(other)


def test_too_many_lines_at_different_places_are_refused_and_not_given_up() -> None:
    # With twelve leads of different lengths to weigh against ten sockets, the counted work ran
    # out before it was proved that there is no plan, and that was a traceback.
    at = [(-12, 17), (-2, 6), (18, 14), (-2, -6), (-16, -19), (-12, 16), (-18, 9), (3, 9)]
    at += [(-19, -5), (4, 20), (14, 16), (0, 0)]
    text = "title: Found\nrate: 48 kHz\nplaces:\n"
    text += "  left: {at: [19, 0, 0]}\n  right: {at: [0, 0, 0]}\n"
    text += "".join(f"  at-{n}: {{at: [{x}, {y}, 0]}}\n" for n, (x, y) in enumerate(at))
    text += """\
kinds:
  five:
    like: box-4-4
    send: {48000: 5}
    sockets:
      - {side: in, count: 2, signal: mic, connector: XLR 3, phantom: yes}
      - {side: in, count: 3, signal: mic, connector: XLR 3}
units:
  tape: {kind: computer-32, place: left}
  box-1: {kind: five, place: left}
  box-2: {kind: five, place: right}
lines:
"""
    row = "  - {{number: {n}, from: at-{at}, to: tape, source: dynamic mic}}\n"
    text += "".join(row.format(n=n + 1, at=n) for n in range(12))
    (finding,) = plan_it(text).findings
    assert finding.what.startswith("11 lines ask for an input socket on box-1, box-2, there are 10")
