"""Cards of shows so small that an engineer sees at once what is right."""

from __future__ import annotations

import pytest

from lineproof.drill.calm import calm
from lineproof.graph.faults import Fault
from lineproof.rescue.rescue import rescue
from tests.drill.shows import ready, text_planned
from tests.rescue.evident import HEAD, TWO_BOXES, UNITS, back, card, moves, stays

BOX_2 = "  box-2: {kind: box-8-8, place: stage, number: 2, circuit: house}\n"


def with_unit(text: str, *rows: str) -> str:
    """Give a show with more units."""
    return text.replace("  desk:", "".join(f"  {row}\n" for row in rows) + "  desk:", 1)


# -- leads into another box -----------------------------------------------------------------------


def test_a_dead_box_takes_a_plug_and_a_route_for_each_line() -> None:
    found = card(TWO_BOXES, "box-1")
    assert moves(found) == [
        "lead of line 1 (Oboe): out of box-1:in-1, into box-2:in-1",
        "lead of line 2 (Tuba): out of box-1:in-2, into box-2:in-2",
        "desk:receive-1 hears box-2:send-1 instead of box-1:send-1",
        "desk:receive-2 hears box-2:send-2 instead of box-1:send-2",
    ]
    assert stays(TWO_BOXES, found) == []
    assert found.walk_m == 0.0


@pytest.mark.parametrize("metres", [12, 13])
def test_a_second_box_is_near_within_15_m_of_lead(metres: int) -> None:
    """A lead is its duct and 3 m more: 12 + 3 is near, 13 + 3 is not."""
    there = BOX_2.replace("place: stage", "place: side")
    text = TWO_BOXES.replace(BOX_2, there).replace("length: 10 m", f"length: {metres} m")
    assert len(back(text, card(text, "box-1"))) == (2 if metres == 12 else 0)


def test_a_lead_that_is_longer_already_reaches_as_far_elsewhere() -> None:
    """Both microphones stand 20 m from either box."""
    text = TWO_BOXES.replace("length: 10 m", "length: 20 m").replace("from: stage", "from: side")
    assert len(back(text, card(text, "box-1"))) == 2


def test_no_lead_goes_through_a_duct_that_is_cut() -> None:
    there = BOX_2.replace("place: stage", "place: side")
    text = TWO_BOXES.replace(BOX_2, there)
    assert len(back(text, card(text, "box-1"))) == 2
    assert card(text, "box-1", "duct:apron").moves == ()


def test_a_lead_whose_duct_is_cut_goes_to_a_box_on_its_own_side() -> None:
    there = BOX_2.replace("place: stage", "place: side")
    text = TWO_BOXES.replace("from: stage", "from: side").replace(BOX_2, there)
    run = "runs:\n  b-2: {from: 'box-2:1', to: 'sw-2:1', along: [wall]}\nlines:"
    text = text.replace("lines:", run)
    found = card(text, "duct:apron")
    assert moves(found)[0] == "lead of line 1 (Oboe): out of box-1:in-1, into box-2:in-1"
    assert [move.do.value for move in found.moves] == ["plug", "plug", "route", "route"]


def test_what_is_theirs_is_never_plugged_into() -> None:
    text = TWO_BOXES.replace(BOX_2, BOX_2.replace("number: 2", "number: 2, theirs: yes"))
    assert card(text, "box-1").moves == ()


def test_a_spare_takes_only_what_it_covers() -> None:
    covers = BOX_2.replace("number: 2", "number: 2, covers: box-1")
    other = BOX_2.replace("number: 2", "number: 2, covers: desk")
    assert len(back(TWO_BOXES, card(TWO_BOXES.replace(BOX_2, covers), "box-1"))) == 2
    assert card(TWO_BOXES.replace(BOX_2, other), "box-1").moves == ()


def test_phantom_comes_from_sockets_that_have_it_or_the_line_stays_lost() -> None:
    plain = (
        "kinds:\n  plain-8:\n    like: box-8-8\n    sockets:\n"
        "      - {side: in, count: 8, signal: mic, connector: XLR 3, most-dbu: 24}\n"
        "      - {side: out, count: 8, signal: line, connector: XLR 3, most-dbu: 24}\n"
    )
    text = TWO_BOXES.replace("places:", plain + "places:").replace(
        BOX_2, BOX_2.replace("box-8-8", "plain-8")
    )
    text = text.replace(
        "name: Tuba, from: stage, source: dynamic", "name: Tuba, from: stage, source: condenser"
    )
    found = card(text, "box-1")
    assert (back(text, found), stays(text, found)) == (["1 at desk"], ["2 at desk"])


def rows(*needs: str) -> str:
    row = (
        "  - {{number: {0}, name: Reed {0}, from: stage, source: dynamic mic, to: desk, "
        "need: {1}, socket: 'box-{2}:in-{3}'}}\n"
    )
    mine = [row.format(n, need, 1, n) for n, need in enumerate(needs, start=1)]
    theirs = [row.format(n, "must", 2, n - 20) for n in range(21, 27)]
    return HEAD + UNITS + "lines:\n" + "".join(mine + theirs)


def test_what_is_needed_most_gets_the_sockets_that_are_left() -> None:
    """Two are free on the second box: safety goes before must, must before want and spare."""
    text = rows("want", "spare", "must", "safety")
    found = card(text, "box-1")
    assert back(text, found) == ["3 at desk", "4 at desk"]
    assert [move.new for move in found.moves if move.unit == "box-2"] == [
        "box-2:in-7",
        "box-2:in-8",
    ]


def test_no_socket_or_channel_is_given_twice() -> None:
    text = rows("must", "must", "must", "must")
    found = card(text, "box-1")
    taken = [move.new for move in found.moves]
    assert len(taken) == len(set(taken)) == 4
    busy = {str(spot) for line in ready(text).plan.lines for spot in line.spots()}
    assert {move.new for move in found.moves if move.unit == "box-2"} == {
        "box-2:in-7",
        "box-2:in-8",
    }
    assert busy.isdisjoint(move.new for move in found.moves if move.unit == "box-2")
    assert len(found.crowded) == 2


ACTS = HEAD.replace("circuits:", "acts:\n  early: {stage: main}\n  late: {stage: main}\ncircuits:")
TWO_ACTS = """\
lines:
  - {number: 1, name: Oboe, from: stage, source: dynamic mic, to: desk, act: early,
     socket: 'box-1:in-1'}
  - {number: 2, name: Tuba, from: stage, source: dynamic mic, to: desk, act: late,
     socket: 'box-1:in-1'}
  - {number: 3, name: Harp, from: stage, source: dynamic mic, to: desk, act: late,
     socket: 'box-1:in-2'}
"""


def test_lines_of_two_acts_in_one_socket_go_with_one_plug_and_one_route() -> None:
    found = card(ACTS + UNITS + TWO_ACTS, "box-1")
    assert moves(found) == [
        "lead of line early/1 (Oboe) or line late/2 (Tuba): out of box-1:in-1, into box-2:in-1",
        "lead of line late/3 (Harp): out of box-1:in-2, into box-2:in-2",
        "desk:receive-1 hears box-2:send-1 instead of box-1:send-1",
        "desk:receive-2 hears box-2:send-2 instead of box-1:send-2",
    ]


def test_a_guests_box_takes_only_what_plays_while_it_is_there() -> None:
    text = ACTS + UNITS.replace("number: 2", "number: 2, here: [late]") + TWO_ACTS
    assert back(text, card(text, "box-1")) == ["late/3 at desk"]


def test_a_mixer_that_stands_near_takes_leads_into_its_own_sockets() -> None:
    text = TWO_BOXES.replace(BOX_2, "").replace(
        "  sw-1", "  wings: {kind: mixer-16, place: stage, circuit: house}\n  sw-1"
    )
    found = card(
        text.replace("to: desk, socket: 'box-1:in-2'", "to: wings, socket: 'box-1:in-2'"), "box-1"
    )
    assert moves(found) == [
        "lead of line 1 (Oboe): out of box-1:in-1, into wings:in-1",
        "lead of line 2 (Tuba): out of box-1:in-2, into wings:in-2",
        "patch in-1 of wings to wings:send-1",
        "patch in-2 of wings to wings:strip-2",
        "desk:receive-1 hears wings:send-1 instead of box-1:send-1",
    ]


LOUD = with_unit(
    HEAD + UNITS, "fill: {kind: analogue-loudspeaker, place: stage, circuit: house}"
) + (
    "lines:\n  - {number: 41, name: Main, from: desk, source: main mix, to: fill,"
    " socket: 'box-1:out-3'}\n"
)


def test_a_loudspeakers_lead_goes_into_the_other_box() -> None:
    found = card(LOUD, "box-1")
    (plug, route) = moves(found)
    assert plug.startswith("lead of line 41 (Main): out of box-1:out-")
    number = found.moves[0].new.removeprefix("box-2:out-")
    assert route == f"box-2:receive-{number} hears desk:send-{sent_of(LOUD, '41')}"
    assert back(LOUD, found) == ["41 at fill"]


def sent_of(text: str, number: str) -> int:
    (line,) = (line for line in ready(text).plan.lines if line.key.number == number)
    return next(iter(line.start.values()))[-1].number


# -- network cables --------------------------------------------------------------------------------

#: A second switch beside the first, on another circuit; both boxes hang on the first.
BESIDE = with_unit(TWO_BOXES, "sw-3: {kind: switch-8, place: stage, circuit: other}").replace(
    "lines:",
    "runs:\n  b-1: {from: 'box-1:1', to: 'sw-1:1'}\n  b-2: {from: 'box-2:1', to: 'sw-1:2'}\nlines:",
)


def test_a_dead_switch_takes_one_plug_into_the_switch_beside_it() -> None:
    found = card(BESIDE, "sw-1")
    opened = {str(each.port) for each in ready(BESIDE).plan.network.rescue_ports}
    (move,) = found.moves
    assert move.words == f"network cable b-1: out of sw-1:1, into {move.new}"
    assert move.new in opened
    assert move.unit == "sw-3"
    assert len(back(BESIDE, found)) == 2


def test_each_box_that_hung_on_a_dead_switch_takes_a_port_of_its_own() -> None:
    text = BESIDE.replace("socket: 'box-1:in-2'", "socket: 'box-2:in-2'")
    found = card(text, "sw-1")
    assert [move.old for move in found.moves] == ["sw-1:1", "sw-1:2"]
    assert len({move.new for move in found.moves}) == 2


def test_a_cut_cable_takes_one_spare_between_the_same_two_ports() -> None:
    (run,) = (r for r in ready(TWO_BOXES).plan.network.runs if r.name == "box-1-a")
    found = card(TWO_BOXES, "run:box-1-a")
    one, other = run.ends
    assert moves(found) == [f"lay a spare copper network cable, 7 m or more, {one} to {other}"]


def test_a_dead_port_takes_one_plug_into_a_rescue_port() -> None:
    (run,) = (r for r in ready(TWO_BOXES).plan.network.runs if r.name == "box-1-a")
    switch = run.other_end("box-1")
    (move,) = card(TWO_BOXES, f"port:{switch}").moves
    assert (move.old, move.unit) == (str(switch), "sw-1")
    assert move.new in {str(each.port) for each in ready(TWO_BOXES).plan.network.rescue_ports}


def test_a_cable_that_is_cut_at_a_dead_port_is_not_plugged_in_elsewhere() -> None:
    (run,) = (r for r in ready(TWO_BOXES).plan.network.runs if r.name == "box-1-a")
    (move,) = card(TWO_BOXES, "run:box-1-a", f"port:{run.other_end('box-1')}").moves
    assert (move.do.value, move.old) == ("lay", "box-1:1")
    assert move.new in {str(each.port) for each in ready(TWO_BOXES).plan.network.rescue_ports}


def test_what_comes_back_is_joined_to_a_querier_too() -> None:
    """Without one, switches forget who listens: within 260 s all multicast stops (IGMP).

    The mixer in the wings needs one plug to be beside the box again, and nobody would ask.
    """
    text = with_unit(
        HEAD + UNITS,
        "wings: {kind: mixer-16, place: stage, circuit: house}",
        "sw-3: {kind: switch-8, place: stage, circuit: house}",
    ) + (
        "addresses: {root-a: sw-1 sw-2, querier-a: sw-1 sw-2}\n"
        "runs:\n  b-1: {from: 'box-1:1', to: 'sw-3:1'}\n  w-1: {from: 'wings:1', to: 'sw-1:1'}\n"
        "  t-1: {from: 'sw-1:8', to: 'sw-2:8', along: [floor]}\n"
        "  t-2: {from: 'sw-1:7', to: 'sw-3:8'}\nlines:\n"
        "  - {number: 1, name: Oboe, from: stage, source: dynamic mic, to: wings desk,"
        " socket: 'box-1:in-1'}\n"
    )
    others = {"sw-2", "sw-3"}
    between = [
        f"run:{run.name}"
        for run in ready(text).plan.network.runs
        if {end.unit for end in run.ends} == others
    ]
    found = card(text, "desk", "sw-1", *between)
    assert back(text, found) == ["1 at wings"]
    assert {move.old for move in found.moves} == {"sw-1:1", "sw-1:8"}


def test_a_unit_fed_over_its_cable_goes_into_a_port_that_feeds() -> None:
    """The switch in front feeds nothing; the one on the stage does."""
    text = with_unit(HEAD + UNITS, "talk: {kind: paging-station, place: stage, power: network}") + (
        "lines:\n  - {number: 1, name: Call, from: talk, source: dynamic mic, to: desk}\n"
    )
    (run,) = (r for r in ready(text).plan.network.runs if r.name == "talk-a")
    (move,) = card(text, f"port:{run.other_end('talk')}").moves
    assert (move.old, move.unit) == (str(run.other_end("talk")), "sw-1")
    assert card(text, "sw-1").moves == ()


@pytest.mark.parametrize("loudspeakers", [3, 4])
def test_a_switch_feeds_no_more_than_it_can_in_all(loudspeakers: int) -> None:
    """Of 120 W four units of class 4 take 30 W each (IEEE 802.3, from memory); none is left."""
    fed = [
        f"cell-{n}: {{kind: ceiling-loudspeaker, place: stage, power: network}}"
        for n in range(loudspeakers + 1)
    ]
    text = with_unit(
        HEAD.replace(
            "places:", "kinds:\n  feeder: {like: switch-24-poe, poe-budget-w: 120}\nplaces:"
        )
        + UNITS.replace("switch-8-poe", "feeder"),
        *fed,
        "sw-3: {kind: switch-8-poe, place: stage, circuit: other}",
    )
    runs = [f"  c-{n}: {{from: 'cell-{n}:1', to: 'sw-1:{n}'}}\n" for n in range(1, len(fed))]
    text += "runs:\n  c-0: {from: 'cell-0:1', to: 'sw-3:1'}\n" + "".join(runs) + "lines:\n"
    text += "".join(
        f"  - {{number: {n + 1}, name: Cell, from: desk, source: main mix, to: cell-{n}}}\n"
        for n in range(len(fed))
    )
    found = card(text, "sw-3")
    assert "sw-1" in {each.port.unit for each in ready(text).plan.network.rescue_ports}
    assert [move.old for move in found.moves] == (["sw-3:1"] if loudspeakers == 3 else [])


@pytest.mark.parametrize("more", [0, 1])
def test_no_cable_is_laid_that_the_truck_does_not_have(more: int) -> None:
    """Five cables are planned of five or six; without a sixth the leads are moved instead."""
    count = len([run for run in ready(TWO_BOXES).plan.network.runs if run.net]) + more
    reel = f"stock:\n  reel: {{cable: copper, length: 60 m, count: {count}}}\nunits:"
    text = TWO_BOXES.replace("units:", reel)
    known = ready(text)
    assert {run.stock for run in known.plan.network.runs} == {"reel"}
    found = card(text, "run:box-1-a")
    assert [move.do.value for move in found.moves] == (
        ["lay"] if more else ["plug", "plug", "route", "route"]
    )


# -- what stands in --------------------------------------------------------------------------------

PLAYERS = (
    "play-1: {kind: computer-16, place: front, standby: play-2, by: hand, circuit: house}",
    "play-2: {kind: computer-16, place: front, circuit: house}",
)
TRACK = "lines:\n  - {number: 1, name: Track, from: play-1, source: playback, to: desk}\n"


def test_a_standby_by_hand_is_started_and_routed() -> None:
    text = with_unit(HEAD + UNITS, *PLAYERS) + TRACK
    found = card(text, "play-1")
    assert [move.do.value for move in found.moves] == ["start", "route"]
    assert moves(found)[0] == "play line 1 (Track) from play-2:send-1 instead of play-1"


def test_what_is_not_there_in_an_act_does_not_stand_in_for_it() -> None:
    text = with_unit(ACTS + UNITS, *PLAYERS).replace(
        "play-2: {kind: computer-16", "play-2: {kind: computer-16, here: [late]"
    )
    early, late = (
        text + TRACK.replace("to: desk", f"to: desk, act: {a}") for a in ("early", "late")
    )
    assert card(early, "play-1").moves == ()
    assert len(card(late, "play-1").moves) == 2


SPARE = with_unit(TWO_BOXES, "spare: {kind: mixer-32, place: side, covers: desk, circuit: house}")


def test_a_spare_mixer_hears_what_the_dead_one_did_each_on_a_strip() -> None:
    assert moves(card(SPARE, "desk")) == [
        "patch receive-1 of spare to spare:strip-1",
        "patch receive-2 of spare to spare:strip-2",
        "spare:receive-1 hears box-1:send-1",
        "spare:receive-2 hears box-1:send-2",
    ]


def test_a_line_whose_lead_is_in_what_stands_in_is_patched_to_a_strip_there() -> None:
    text = SPARE.replace("place: side, covers", "place: stage, covers").replace(
        "box-1:in-2", "spare:in-2"
    )
    found = moves(card(text, "desk"))
    assert "patch in-2 of spare to spare:strip-2" in found
    assert not any("line 2" in move for move in found)


def test_a_dead_mixers_end_comes_back_with_that_of_what_stands_in() -> None:
    """The spare hears the line too, once its lead is in the second box; nothing else is to do."""
    text = SPARE.replace("to: desk, socket: 'box-1:in-1'", "to: desk spare, socket: 'box-1:in-1'")
    found = card(text, "box-1", "desk")
    assert back(text, found)[:2] == ["1 at desk", "1 at spare"]
    assert [move.do.value for move in found.moves if "1" in map(str, move.lines)] == [
        "plug",
        "route",
    ]


def test_lines_that_shared_a_channel_share_it_at_what_stands_in_too() -> None:
    text = with_unit(
        ACTS + UNITS, "spare: {kind: mixer-32, place: side, covers: desk, circuit: house}"
    )
    found = card(text + TWO_ACTS, "desk")
    routes = [move for move in moves(found) if "hears" in move]
    assert routes == ["spare:receive-1 hears box-1:send-1", "spare:receive-2 hears box-1:send-2"]


def test_nothing_hears_a_line_that_must_never_reach_it() -> None:
    for never in ("spare", "crew"):
        text = SPARE.replace("lines:", "lists:\n  crew: [spare]\nlines:").replace(
            "socket: 'box-1:in-2'", f"socket: 'box-1:in-2', never: {never}"
        )
        assert back(text, card(text, "desk")) == ["1 at desk"]


def test_a_private_line_is_in_no_stream_that_another_unit_hears() -> None:
    text = with_unit(TWO_BOXES, "rec-1: {kind: computer-32, place: front, circuit: house}")
    text = text.replace("socket: 'box-1:in-1'", "socket: 'box-1:in-1', private: yes")
    text = text.replace("to: desk, socket: 'box-1:in-2'", "to: desk rec-1, socket: 'box-1:in-2'")
    found = card(text, "box-1")
    (send,) = (
        move.what
        for move in found.moves
        if move.do.value == "route" and "1" in map(str, move.lines)
    )
    heard = {
        name
        for stream in found.plan.network.streams_of("box-2")
        if int(send.partition("-2:send-")[2]) in stream.channels
        for name in stream.receivers
    }
    assert heard == {"desk"}


AMPLIFIERS = with_unit(
    HEAD + UNITS,
    "amp-1: {kind: amplifier-4, place: stage, circuit: other}",
    "amp-2: {kind: amplifier-4, place: stage, circuit: other}",
    "amp-3: {kind: amplifier-4, place: stage, covers: amp-1 amp-2, circuit: house}",
) + (
    "lines:\n"
    "  - {number: 1, name: Left, from: desk, source: main mix, to: 'amp-1:1'}\n"
    "  - {number: 2, name: Right, from: desk, source: main mix, to: 'amp-2:1'}\n"
    "  - {number: 3, name: Subs, from: desk, source: main mix, to: 'amp-2:2'}\n"
)


def test_what_hangs_on_a_dead_amplifier_goes_to_the_same_outputs_of_the_spare() -> None:
    found = card(AMPLIFIERS, "amp-2")
    one, two = (sent_of(AMPLIFIERS, number) for number in ("2", "3"))
    assert moves(found) == [
        "loudspeaker leads of amp-2: out of outputs of amp-2, into the same outputs of amp-3",
        f"amp-3:receive-1 hears desk:send-{one}",
        f"amp-3:receive-2 hears desk:send-{two}",
    ]


def test_one_spare_amplifier_takes_the_loudspeakers_of_one() -> None:
    found = card(AMPLIFIERS, "circuit:other")
    assert back(AMPLIFIERS, found) == ["2 at amp-2:receive-1", "3 at amp-2:receive-2"]
    assert stays(AMPLIFIERS, found) == ["1 at amp-1:receive-1"]


def test_an_amplifier_whose_channel_is_taken_is_no_spare_for_that_channel() -> None:
    assert card(AMPLIFIERS.replace("to: 'amp-2:2'", "to: 'amp-3:1'"), "amp-1").moves == ()


def test_a_loudspeakers_lead_goes_into_the_one_that_covers_it() -> None:
    text = with_unit(
        LOUD, "fill-2: {kind: analogue-loudspeaker, place: stage, covers: fill, circuit: house}"
    )
    (move,) = card(text, "fill").moves
    assert move.words == "lead of line 41 (Main): out of fill:in-1, into fill-2:in-1"


# -- what would do harm ----------------------------------------------------------------------------


def near_corners() -> str:
    """Give three switches in a ring; other traffic leaves room for 35 Mbit/s on each run."""
    ins = "".join(
        f"  - {{number: {n}, name: Mic {n}, from: box-{1 + n // 17}, source: dynamic mic,"
        " to: desk}\n"
        for n in range(1, 33)
    )
    text = HEAD.replace("nets: one", "nets: one\nother: 965 Mbit/s").replace("stage:", "left:", 1)
    return text.replace("[stage", "[left") + (
        "units:\n"
        "  box-1: {kind: box-32-16, place: left, number: 1, circuit: house}\n"
        "  box-2: {kind: box-32-16, place: side, number: 2, circuit: house}\n"
        "  desk: {kind: mixer-64, place: front, circuit: house}\n"
        "  sw-1: {kind: switch-8, place: left, circuit: house}\n"
        "  sw-2: {kind: switch-8, place: side, circuit: house}\n"
        "  sw-3: {kind: switch-8, place: front, circuit: house}\n"
        "addresses: {root-a: sw-3 sw-1}\n"
        "lines:\n" + ins
    )


def test_no_more_lines_are_moved_than_the_run_behind_the_second_box_carries() -> None:
    """Eight channels of 24 bits at 48 kHz in packets of 1 ms are 9.9 Mbit/s on the wire.

    8 x 48 x 3 + 12 (RTP) + 8 + 20 + 14 + 4 (tag) + 4 + 8 + 12 = 1,234 bytes (IEEE 802.3, RFC 3550).
    Of 35 Mbit/s the second box's own sixteen lines take two streams; one more fits, two do not.
    """
    room = (1_000 - 965) * 1_000_000
    one = (8 * 48 * 3 + 12 + 8 + 20 + 14 + 4 + 4 + 8 + 12) * 8 * 1_000
    assert 3 * one <= room < 4 * one
    text = near_corners()
    assert back(text, card(text, "box-1")) == [f"{n} at desk" for n in range(1, 9)]


#: The front hangs on `two` and elects the root; without it `one` feeds `two` and `four` directly.
ROOT = """\
title: Four Corners
rate: 48 kHz
nets: one
other: 965 Mbit/s
places:
  one: {at: [0, 0, 0]}
  two: {at: [40, 0, 0]}
  four: {at: [20, 40, 0]}
  front: {at: [60, 30, 0]}
ducts:
  edge: {between: [one, two], length: 20 m}
  left: {between: [one, four], length: 46 m}
  right: {between: [two, four], length: 46 m}
  trench: {between: [two, front], length: 30 m}
  roof: {between: [two, front], length: 35 m}
circuits:
  house: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: one, number: 1, circuit: house}
  box-2: {kind: box-16-8, place: one, number: 2, circuit: house}
  box-4: {kind: box-16-8, place: four, number: 4, circuit: house}
  desk-2: {kind: mixer-32, place: two, circuit: house}
  desk-4: {kind: mixer-32, place: four, circuit: house}
  desk-3: {kind: mixer-32, place: front, circuit: house}
  sw-1: {kind: switch-8, place: one, circuit: house}
  sw-2: {kind: switch-8, place: two, circuit: house}
  sw-3: {kind: switch-8, place: front, circuit: house}
  sw-4: {kind: switch-8, place: four, circuit: house}
runs:
  r-12: {from: 'sw-1:1', to: 'sw-2:1', along: [edge]}
  r-14: {from: 'sw-1:2', to: 'sw-4:2', along: [left]}
  r-24: {from: 'sw-2:3', to: 'sw-4:3', along: [right]}
  r-13: {from: 'sw-1:4', to: 'sw-3:4', along: [edge, trench]}
  r-23: {from: 'sw-2:5', to: 'sw-3:5', along: [trench]}
addresses: {root-a: sw-3 sw-1}
lines:
""" + "".join(
    f"  - {{number: {n}, name: Mic {n}, from: box-{1 + n // 17}, source: dynamic mic,"
    f" to: desk-{4 if n < 17 else 2}}}\n"
    for n in range(1, 33)
)
HOST = "  - {number: 33, name: Host, from: box-4, source: dynamic mic, to: desk-3}\n"


def test_no_cable_is_laid_for_one_line_that_would_silence_all_others() -> None:
    """With the old root back, both boxes would go over one run, which carries one of them."""
    assert card(ROOT + HOST, "duct:trench", "run:sw-2-sw-3-a").moves == ()
    roomy = (ROOT + HOST).replace("other: 965", "other: 900")
    assert [m.do.value for m in card(roomy, "duct:trench", "run:sw-2-sw-3-a").moves] == ["lay"]


def test_either_member_of_an_end_will_do_when_a_cable_is_laid() -> None:
    """The first recorder's switch is dead, 73 m from the next; the second's cable is cut."""
    text = TWO_BOXES.replace("to: desk", "to: rec-1|rec-2").replace(
        "  desk:",
        "  rec-1: {kind: computer-32, place: far, circuit: house}\n"
        "  rec-2: {kind: computer-32, place: front, circuit: house}\n"
        "  sw-9: {kind: switch-8, place: far, circuit: house}\n  desk:",
    )
    text = text.replace(
        "ducts:", "  far: {at: [0, 95, 0]}\nducts:\n  hall: {between: [front, far], length: 60 m}"
    )
    found = card(text, "sw-9", "run:rec-2-a")
    assert len(back(text, found)) == 2
    (move,) = found.moves
    assert "rec-2:1" in (move.old, move.new)


def test_a_plan_without_rows_or_faults_needs_no_rescue() -> None:
    known = calm(*text_planned(TWO_BOXES))
    assert rescue(known, ()).lost == ()
    found = rescue(known, Fault(what="unit", name="box-2"))
    assert (found.lost, found.moves, found.seconds()) == ((), (), 0.0)
