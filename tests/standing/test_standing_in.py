"""What stands in: standby starts and ends, by whom they are changed over, spares."""

from __future__ import annotations

from lineproof.base.spot import LineKey
from lineproof.decide.decide import Decision, decide
from lineproof.graph.signal import ways
from lineproof.show.model import Show
from lineproof.show.read import read_files
from lineproof.show.write import write_show
from tests.second.rig import BOTH, STANDBY, heard_from, issue, planned, show_of, spots

# -- at the end ------------------------------------------------------------------------------------


def test_both_starts_arrive_on_channels_of_their_own_and_on_one_strip() -> None:
    show = show_of(f"number: 1, {BOTH}, to: desk")
    found = planned(show)["1"]
    first, strip = spots(found, "desk").split()
    second, same = spots(found, "desk from play-2").split()
    assert first != second
    assert strip == same == "desk:strip-1"
    assert heard_from(show, found, "desk") == ["play-1", "play-2"]


def test_the_standby_sends_on_the_number_of_what_it_stands_in_for() -> None:
    show = show_of(
        "number: 7, from: play-2, source: playback, to: rec-1, bus: '1'",
        *(f"number: {n}, {BOTH}, to: desk" for n in (1, 2, 3)),
    )
    found = planned(show)
    for number in ("2", "3"):
        first, second = spots(found[number], "play-1"), spots(found[number], "play-2")
        assert first.split("-")[-1] == second.split("-")[-1]
    # Number 1 is taken on the standby: there it takes another, and is heard all the same.
    assert spots(found["1"], "play-1") == "play-1:send-1"
    assert heard_from(show, found["1"], "desk") == ["play-1", "play-2"]


def test_the_standby_of_a_unit_starts_all_that_starts_there() -> None:
    lines = [f"number: {n}, from: play-1, source: playback, to: desk" for n in (1, 2)]
    show = show_of(*lines, change=STANDBY)
    for found in planned(show).values():
        assert heard_from(show, found, "desk") == ["play-1", "play-2"]


def test_the_standby_of_a_mixer_hears_what_the_mixer_hears() -> None:
    change = (
        "desk: {kind: mixer-32, place: front",
        "desk: {kind: mixer-32, place: front, standby: side",
    )
    show = show_of(
        "number: 1, from: stage, source: dynamic mic, to: desk",
        "number: 41, from: desk, source: main mix, to: rec-1",
        change=change,
    )
    found = planned(show)
    assert spots(found["1"], "side").split()[-1] == "side:strip-1"
    assert heard_from(show, found["41"], "rec-1") == ["desk", "side"]


def test_a_standby_is_not_written_into_the_list() -> None:
    show = show_of("number: 1, from: play-1, source: playback, to: desk", change=STANDBY)
    files = write_show(show)
    row = files["lines.csv"].splitlines()[1]
    assert "play-2" not in row
    again = read_files(files).show
    assert again == show


def test_where_there_is_no_channel_for_the_standby_it_is_told_and_the_line_is_kept() -> None:
    decision = decide(show_of(f"number: 1, {BOTH}, to: 'desk pa'"))
    assert decision.plan is not None
    assert [f.of for f in decision.findings if f.rule == "left-out"] == [("1", "pa from play-2")]
    assert spots(decision.plan.lines[0], "pa") == "pa:receive-1"


def test_by_hand_only_the_first_is_heard_and_the_second_is_ready() -> None:
    show = show_of(f"number: 1, {BOTH}, by: hand, to: desk")
    found = planned(show)["1"]
    assert heard_from(show, found, "desk") == ["play-1"]
    assert spots(found, "play-2") == "play-2:send-1"


def test_a_standby_added_later_moves_nothing() -> None:
    line = "number: 1, from: play-1, source: playback, to: 'desk rec-1'"
    others = [
        f"number: {n}, from: stage, source: dynamic mic, to: 'desk rec-1'" for n in range(2, 9)
    ]
    before = show_of(line, *others)
    first = issue(before)
    after = planned(show_of(line, *others, change=STANDBY), first)
    for old in first.plan.lines:
        new = after[str(old.key)]
        assert {part: new.ends[part] for part in old.ends} == old.ends
        assert {part: new.start[part] for part in old.start} == old.start


def test_a_standby_keeps_its_channels_when_lines_come() -> None:
    first = issue(show_of(f"number: 5, {BOTH}, to: desk"))
    more = [f"number: {n}, {BOTH}, to: desk" for n in (1, 2)]
    after = planned(show_of(*more, f"number: 5, {BOTH}, to: desk"), first)["5"]
    old = first.plan.line(LineKey(act="", number="5"))
    assert old is not None
    assert (after.start, after.ends) == (old.start, old.ends)


# -- over a change-over unit -----------------------------------------------------------------------

CHANGER = "  co: {kind: change-over-network, place: front, circuit: house}\n"
ANALOGUE = (
    "  co: {kind: change-over, place: front, circuit: house}\n"
    "  cd-1: {kind: player, place: front}\n  cd-2: {kind: player, place: front}\n"
)


def test_over_a_change_over_unit_only_its_output_takes_a_channel() -> None:
    lines = [f"number: {n}, {BOTH}, by: 'changeover:co', to: desk" for n in (1, 2)]
    show = show_of(*lines, units=CHANGER)
    for found in planned(show).values():
        ways_of = list(ways(show, found))
        assert {way.spots[-2:] for way in ways_of} == {found.ends["desk"]}
        assert [way.spots[0].unit for way in ways_of] == ["play-1", "play-2"]
        assert all("co" in way.units() for way in ways_of)


def test_the_inputs_of_a_change_over_unit_belong_to_its_output() -> None:
    show = show_of(
        *(f"number: {n}, {BOTH}, by: 'changeover:co', to: desk" for n in (1, 2, 3)), units=CHANGER
    )
    outputs = show.units["co"].kind.send[48000]
    for found in planned(show).values():
        for start, plus in (("play-1", 0), ("play-2", outputs)):
            heard, out = (s for s in found.start[start] if s.unit == "co")
            assert heard.number == out.number + plus


def test_two_players_with_sockets_only_go_straight_into_the_change_over_unit() -> None:
    line = "number: 1, from: 'cd-1|cd-2', source: playback, by: 'changeover:co', to: 'desk side'"
    show = show_of(line, units=ANALOGUE)
    found = planned(show)["1"]
    assert spots(found, "cd-1").startswith("cd-1:out-1 co:in-1 co:out-1 ")
    assert spots(found, "cd-2").startswith("cd-2:out-1 co:in-9 co:out-1 ")
    assert spots(found, "cd-1").split()[2:] == spots(found, "cd-2").split()[2:]


def test_network_players_reach_an_analogue_change_over_unit_by_outputs_near_it() -> None:
    line = f"number: 1, {BOTH}, by: 'changeover:co', to: side"
    show = show_of(line, units=ANALOGUE)
    found = planned(show)["1"]
    taken = [s for chain in found.start.values() for s in chain if s.unit == "desk"]
    assert len({s for s in taken if s.side.value == "out"}) == 2
    assert {
        s.number for chain in found.start.values() for s in chain if str(s).startswith("co:in")
    } == {1, 9}


def test_a_line_that_stands_in_for_another_comes_in_beside_it() -> None:
    show = show_of(
        "number: 5, from: play-1, source: playback, standby: 6, by: 'changeover:co', to: desk",
        "number: 6, from: play-2, source: playback, to: rec-1",
        units=CHANGER,
    )
    found = planned(show)
    assert spots(found["5"], "play-1") == "play-1:send-1 co:receive-1 co:send-1"
    assert spots(found["6"], "co") == "co:receive-33"
    assert "rec-1" in found["6"].ends


def test_a_change_over_unit_keeps_its_numbers_when_lines_come() -> None:
    def line(number: int) -> str:
        return f"number: {number}, {BOTH}, by: 'changeover:co', to: desk"

    first = issue(show_of(line(5), units=CHANGER))
    after = planned(show_of(line(1), line(2), line(5), units=CHANGER), first)["5"]
    old = first.plan.lines[0]
    assert (after.start, after.ends) == (old.start, old.ends)


# -- spares and guests -----------------------------------------------------------------------------


def test_nothing_is_plugged_into_a_spare() -> None:
    units = "  spare: {kind: box-16-8, place: wing, covers: [box-1], circuit: house}\n"
    show = show_of("number: 1, from: wing, source: dynamic mic, to: desk", units=units)
    assert "spare" not in {s.unit for s in planned(show)["1"].spots()}


def refused(show: Show) -> Decision:
    decision = decide(show)
    assert decision.plan is None
    return decision


def test_a_guest_hears_only_the_acts_it_is_there_for() -> None:
    more = "acts: {early: {}, late: {}}\n"
    guest = (
        "side: {kind: mixer-32, place: wing",
        "side: {kind: mixer-32, place: wing, here: [late]",
    )
    fine = show_of(
        "number: 1, act: late, from: stage, source: dynamic mic, to: side", change=guest, more=more
    )
    assert "side" in planned(fine)["late/1"].ends
    wrong = show_of(
        "number: 1, act: early, from: stage, source: dynamic mic, to: side", change=guest, more=more
    )
    assert [f.rule for f in refused(wrong).findings] == ["no-way"]


def test_no_line_of_another_act_is_plugged_into_a_guests_mixer() -> None:
    more = "acts: {early: {}, late: {}}\n"
    guest = (
        "side: {kind: mixer-32, place: wing",
        "side: {kind: mixer-32, place: wing, here: [late]",
    )
    show = show_of(
        "number: 1, act: early, from: wing, source: dynamic mic, to: desk", change=guest, more=more
    )
    assert spots(planned(show)["early/1"], "wing").startswith("box-1:")
