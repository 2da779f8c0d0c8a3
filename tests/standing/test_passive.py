"""Passive things: inserts, splits, drop boxes on a multicore, ties; and rooms joined or apart."""

from __future__ import annotations

import pytest

from lineproof.base.finding import Finding
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.check.check import Facts
from lineproof.check.every import find_all
from lineproof.decide.decide import decide
from lineproof.graph.signal import By, ways
from lineproof.plan.model import Plan
from lineproof.reckon.figures import reckon
from lineproof.show.model import Show
from tests.second.rig import heard_from, issue, planned, show_of, spots


def checked(show: Show, plan: Plan) -> list[Finding]:
    return find_all(Facts(show=show, plan=plan, figures=reckon(show, plan)))


MIC = "source: dynamic mic"
COMPRESSOR = """\
  comp: {kind: comp-2, place: front}
"""
COMP_KIND = (
    "kinds:\n",
    """kinds:
  comp-2: {like: analogue-loudspeaker, does: processor, sockets: [
    {side: in, count: 2, signal: line, connector: XLR 3},
    {side: out, count: 2, signal: line, connector: XLR 3}]}
""",
)
DROP = "  drop: {kind: drop-box-8, place: wing, sockets-of: 'box-1:9-16'}\n"
TIE = "ties: {wall: {between: [wing, front], count: 2}}\n"


# -- inserts ---------------------------------------------------------------------------------------


def test_an_insert_returns_into_the_strip_of_its_line() -> None:
    show = show_of(
        f"number: 1, from: stage, {MIC}, to: desk",
        "number: 2, from: desk, source: line, to: comp",
        "number: 3, from: comp, source: line, to: desk, back-to: 1",
        units=COMPRESSOR,
        change=COMP_KIND,
    )
    found = planned(show)
    strip = spots(found["1"], "desk").split()[-1]
    assert spots(found["3"], "desk").split()[-1] == strip
    # It takes no strip of its own.
    used = {s.number for line in found.values() for s in line.spots() if s.side is Side.STRIP}
    assert len(used) == 1


# -- splits ----------------------------------------------------------------------------------------


def test_a_split_microphone_is_heard_where_its_socket_is_without_the_network() -> None:
    show = show_of(f"number: 1, from: stage, {MIC}, to: 'desk side', also: 'side:in-3'")
    found = planned(show)["1"]
    assert spots(found, "side") == "side:in-3 side:strip-1"
    carried = {way.end: {hop.by for hop in way.hops()} for way in ways(show, found)}
    assert By.NETWORK in carried["desk"]
    assert By.NETWORK not in carried["side"]


def test_nobody_else_is_plugged_into_the_socket_of_a_split() -> None:
    lines = [f"number: {n}, from: stage, {MIC}, to: desk" for n in range(2, 17)]
    show = show_of(f"number: 1, from: stage, {MIC}, to: desk, also: 'box-1:in-4'", *lines)
    taken = [
        s for line in planned(show).values() for s in set(line.spots()) if str(s) == "box-1:in-4"
    ]
    assert len(taken) == 1


def test_a_split_condenser_says_which_side_gives_phantom() -> None:
    show = show_of("number: 1, from: stage, source: condenser mic, to: desk, also: 'side:in-3'")
    plan = decide(show).plan
    assert plan is not None
    found = [f for f in checked(show, plan) if f.rule == "split-phantom"]
    assert len(found) == 1
    assert "off at side:in-3" in found[0].what


# -- drop boxes ------------------------------------------------------------------------------------


def test_a_drop_box_brings_the_boxs_sockets_near() -> None:
    show = show_of(f"number: 1, from: wing, {MIC}, to: desk", units=DROP)
    plan = decide(show).plan
    assert plan is not None
    found = plan.lines[0]
    assert spots(found, "wing") == "drop:in-1 box-1:in-9"
    assert [(str(x.spot), x.length_m) for x in reckon(show, plan).leads] == [("drop:in-1", 3.0)]
    # The box's number implies the channel of the socket behind.
    assert spots(found, "desk").split()[0] == "desk:receive-9"


def test_what_comes_out_at_a_drop_box_is_not_plugged_at_the_box() -> None:
    lines = [f"number: {n}, from: stage, {MIC}, to: desk" for n in range(1, 13)]
    found = planned(show_of(*lines, units=DROP))
    at_box = [x.start["stage"][0] for x in found.values()]
    assert sum(1 for s in at_box if s.unit == "box-1") == 8
    assert sum(1 for s in at_box if s.unit == "drop") == 4


def test_the_socket_behind_a_drop_box_can_be_pinned_by_either_name() -> None:
    for pin in ("drop:in-3", "box-1:in-11"):
        show = show_of(f"number: 1, from: wing, {MIC}, to: desk, socket: '{pin}'", units=DROP)
        assert spots(planned(show)["1"], "wing") == "drop:in-3 box-1:in-11"


def test_phantom_comes_through_a_drop_box() -> None:
    show = show_of("number: 1, from: wing, source: condenser mic, to: desk", units=DROP)
    plan = decide(show).plan
    assert plan is not None
    assert spots(plan.lines[0], "wing").startswith("drop:")
    assert "no-phantom" not in {f.rule for f in checked(show, plan)}


def test_a_drop_box_keeps_its_plugs_when_lines_come() -> None:
    first = issue(show_of(f"number: 5, from: wing, {MIC}, to: desk", units=DROP))
    lines = [f"number: {n}, from: wing, {MIC}, to: desk" for n in (1, 2, 5)]
    after = planned(show_of(*lines, units=DROP), first)["5"]
    assert after.start == first.plan.lines[0].start


# -- ties ------------------------------------------------------------------------------------------


def test_a_lead_goes_over_a_tie_where_that_is_nearer() -> None:
    show = show_of(f"number: 1, from: wing, {MIC}, to: desk, via: cable", more=TIE)
    plan = decide(show).plan
    assert plan is not None
    assert plan.lines[0].ties == {"wing": Spot(unit="wall", side=Side.IN, number=1)}
    # Three metres at each end of the tie: the tie itself hangs already.
    assert [lead.length_m for lead in reckon(show, plan).leads] == [6.0]


def test_no_more_leads_go_over_a_tie_than_it_has_lines() -> None:
    lines = [f"number: {n}, from: wing, {MIC}, to: desk, via: cable" for n in (1, 2, 3)]
    found = planned(show_of(*lines, more=TIE))
    used = [line.ties["wing"].number for line in found.values() if line.ties]
    assert sorted(used) == [1, 2]


def test_a_lead_keeps_its_line_of_the_tie() -> None:
    def line(number: int) -> str:
        return f"number: {number}, from: wing, {MIC}, to: desk, via: cable"

    first = issue(show_of(line(5), more=TIE))
    after = planned(show_of(line(1), line(5), more=TIE), first)
    assert after["5"].ties == first.plan.lines[0].ties
    assert after["1"].ties != after["5"].ties


@pytest.mark.parametrize("all_night", [0, 1, 2])
def test_who_needs_a_tie_all_night_finds_a_line_free_all_night(all_night: int) -> None:
    """Two lines of a tie; one lead for every act and one in each of two acts fit on them."""
    acts = ["early", "late"]
    acts.insert(all_night, "")
    lines = [
        f"number: {n}, {f'act: {act}, ' if act else ''}name: Part {n}, from: wing, {MIC}, "
        "to: desk, via: cable"
        for n, act in enumerate(acts, start=1)
    ]
    found = planned(show_of(*lines, more=f"{TIE}acts: {{early: {{}}, late: {{}}}}\n"))
    assert all(line.ties for line in found.values())


# -- arrangements ----------------------------------------------------------------------------------

ROOMS = "arrangements: {joined: [stage], apart: [wing]}\n"


def test_a_microphone_of_two_arrangements_stays_where_it_is() -> None:
    lines = [
        f"number: 1, name: Lectern, act: {act}, from: stage, {MIC}, to: desk"
        for act in ("joined", "apart")
    ]
    found = planned(show_of(*lines, more=ROOMS))
    assert found["joined/1"].start == found["apart/1"].start
    assert found["joined/1"].ends == found["apart/1"].ends


def test_nothing_moves_between_arrangements() -> None:
    names = {"joined": "Guest", "apart": "Choir"}
    lines = [
        f"number: 1, name: {name}, act: {act}, from: stage, {MIC}, to: desk"
        for act, name in names.items()
    ]
    found = planned(show_of(*lines, more=ROOMS))
    assert found["joined/1"].start != found["apart/1"].start


def test_an_act_built_before_waits_only_for_its_own_stage() -> None:
    acts = "acts:\n  a: {stage: one}\n  b: {stage: two}\n  c: {stage: one, build: before}\n"
    lines = [
        f"number: {n}, name: {act}{n}, act: {act}, from: stage, {MIC}, to: desk"
        for act in "abc"
        for n in range(1, 9)
    ]
    found = planned(show_of(*lines, more=acts))
    of_act = {
        act: {s for key, x in found.items() if key.startswith(act) for s in x.start["stage"]}
        for act in "abc"
    }
    assert of_act["c"].isdisjoint(of_act["a"])
    assert LineKey.parse("b/1") in {x.key for x in found.values()}
    assert heard_from(show_of(*lines, more=acts), found["a/1"], "desk") == ["stage"]


TWO_DROPS = (
    "  drop: {kind: drop-box-8, place: near, sockets-of: 'box-1:9-16'}\n"
    "  drop-2: {kind: drop-box-8, place: far, sockets-of: 'box-1:9-16'}\n"
)
TWO_PLACES = (
    "  wing: {at: [-8, 0, 0]}\n",
    "  wing: {at: [-8, 0, 0]}\n  near: {at: [-30, 0, 0]}\n  far: {at: [40, 0, 0]}\n",
)


def test_one_multipin_serves_two_drop_boxes_in_two_acts_and_counts_as_one_move() -> None:
    lines = [
        f"number: {n}, name: {act}{n}, act: {act}, from: {place}, {MIC}, to: desk"
        for act, place in (("one", "near"), ("two", "far"))
        for n in (1, 2, 3)
    ]
    acts = "acts: {one: {}, two: {}}\n"
    decision = decide(show_of(*lines, units=TWO_DROPS, change=TWO_PLACES, more=acts))
    assert decision.plan is not None
    used = {str(x.key): x.start[x.starts_at][0].unit for x in decision.plan.lines}
    assert {used["one/1"], used["one/2"], used["one/3"]} == {"drop"}
    assert {used["two/1"], used["two/2"], used["two/3"]} == {"drop-2"}
    assert [t.value for t in decision.terms if t.name == "moves"] == [5.0]


def test_drop_boxes_of_one_multipin_are_not_used_at_once() -> None:
    lines = [
        f"number: {n}, from: {place}, {MIC}, to: desk"
        for n, place in enumerate(("near", "near", "far", "far"), 1)
    ]
    found = planned(show_of(*lines, units=TWO_DROPS, change=TWO_PLACES))
    assert len({s.unit for x in found.values() for s in x.spots()} & {"drop", "drop-2"}) == 1


def test_a_socket_is_not_lent_out_while_its_own_plug_comes_back() -> None:
    """Lending costs two moves, taking over one: the socket of who does not return is taken."""
    box = ("kind: box-16-8", "kind: box-2-2")
    lines = [
        f"number: 1, name: Stays, act: {act}, from: stage, {MIC}, to: desk" for act in ("a", "c")
    ]
    lines += [
        f"number: 2, name: Goes, act: a, from: stage, {MIC}, to: desk",
        f"number: 3, name: Comes, act: b, from: stage, {MIC}, to: desk",
    ]
    show = show_of(*lines, change=box, more="acts: {a: {}, b: {}, c: {}}\n")
    decision = decide(show)
    assert decision.plan is not None
    at = {str(x.key): x.start["stage"][0] for x in decision.plan.lines}
    assert at["b/3"] == at["a/2"] != at["a/1"]
    assert [t.value for t in decision.terms if t.name == "moves"] == [5.0]
