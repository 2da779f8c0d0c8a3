"""What comes off the truck, in which order people walk and switch, what moves between acts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.reckon.changeover import changeovers
from lineproof.reckon.figures import reckon
from lineproof.reckon.order import switching_on, walking_order
from lineproof.reckon.stores import (
    STOCK_M,
    cables,
    direct_boxes,
    microphones,
    racks,
    shelves,
    stands,
    stock_lengths,
)
from lineproof.show.model import Show
from tests.paper.press import DECIDED, LINES, SHOW, plan_of, reading_of


def show_of(show: str = SHOW, lines: str = LINES) -> Show:
    found = reading_of(show, lines).show
    assert found is not None
    return found


PLAN = plan_of(DECIDED, reading_of())


@given(st.floats(min_value=0.0, max_value=400.0))
def test_stock_lengths_reach_and_no_shorter_last_lead_would(length_m: float) -> None:
    found = stock_lengths(length_m)
    assert set(found) <= set(STOCK_M)
    assert sum(found) >= length_m - 1e-6
    shorter = [stock for stock in STOCK_M if stock < found[-1]]
    assert all(sum(found[:-1]) + stock < length_m for stock in shorter)


@pytest.mark.parametrize(
    ("length_m", "stock"), [(3.0, (3,)), (3.1, (5,)), (50, (50,)), (51, (50, 1))]
)
def test_the_next_longer_lead_is_taken(length_m: float, stock: tuple[int, ...]) -> None:
    assert stock_lengths(length_m) == stock


def test_a_lead_that_stays_for_several_acts_is_brought_once() -> None:
    found = cables(reckon(show_of(), PLAN))
    kick = [c for c in found if str(c.spot) == "box-1:in-1"]
    assert [tuple(map(str, c.lines)) for c in kick] == [("early/1", "late/1")]
    counts = {(s.place, s.length_m): s.count for s in shelves(found)}
    # Stage: kick, lute, host at the box, 3 m. Edge: choir, cue, fill: 6 m x 1.2 + 3 m.
    assert counts == {("edge", 15): 3, ("stage", 3): 3}


def test_microphones_and_stands_are_counted_by_act_and_all_at_once() -> None:
    show = show_of()
    said = {c.item: (c.most, c.all_at_once) for c in microphones(show, PLAN)}
    # The kick's stays in for both acts; late has the kick's and the cue's.
    assert said == {"condenser mic": (1, 1), "dynamic mic": (2, 2), "ribbon mic": (1, 1)}
    assert {c.item: (c.most, c.all_at_once) for c in stands(show, PLAN)} == {
        "clip": (1, 1),
        "short": (1, 1),
        "tall": (1, 2),
    }
    assert [(c.item, c.most) for c in direct_boxes(show, PLAN)] == [("active DI", 1)]


def test_a_rack_weighs_what_its_units_weigh() -> None:
    show = show_of()
    left = racks(show)[0]
    masses = [show.units[name].kind.mass_kg for name in ("box-1", "sw-1")]
    assert (left.rack, left.units) == ("left", ("box-1", "sw-1"))
    assert left.mass_kg == pytest.approx(sum(masses))
    everything = sum(unit.kind.mass_kg for unit in show.units.values())
    assert sum(rack.mass_kg for rack in racks(show)) == pytest.approx(everything)


def test_the_walk_begins_on_the_left_and_goes_to_the_nearest_next() -> None:
    assert walking_order(show_of()) == ("edge", "stage", "front")


def test_loudspeakers_are_switched_on_last() -> None:
    steps = switching_on(show_of())
    assert [step.stage for step in steps] == ["network", "stage", "mixers", "loud"]
    assert [unit.name for unit in steps[-1].units] == ["fill", "pa"]
    assert all(s.wait_s == max(u.kind.start_s for u in s.units) for s in steps)


def test_transmitters_to_ears_come_on_with_the_loudspeakers() -> None:
    more = "  ears: {kind: in-ear-rack-2, place: stage, circuit: house}\nacts:"
    steps = switching_on(show_of(SHOW.replace("acts:", more)))
    assert "ears" in [unit.name for unit in steps[-1].units]


THREE = SHOW.replace("  late: {", "  talk: {stage: main}\n  late: {")


def moves(show: str, lines: str, decided: dict[str, str]) -> list[str]:
    """Give what moves before each act: spot, what comes off, what comes on, m for mute first."""
    spots = {key: ({"stage": spot}, {"desk": "desk:receive-1"}) for key, spot in decided.items()}
    plan = plan_of(spots, reading_of(show, lines))
    return [
        f"{change.after.name}: {move.spot} {move.was.line.name if move.was else '-'}"
        f" {move.now.line.name}{' m' if move.mute_first else ''}"
        for change in changeovers(show_of(show, lines), plan)
        for move in change.moves
    ]


HEAD = "number,act,name,from,source,to,role\n"


def test_a_plug_that_stays_in_through_an_act_without_it_is_not_moved() -> None:
    lines = (
        HEAD
        + "1,early,Voice,stage,dynamic mic,desk,\n"
        + "2,talk,Chair,stage,dynamic mic,desk,\n"
        + "3,late,Voice,stage,dynamic mic,desk,\n"
    )
    spots = {"early/1": "box-1:in-1", "talk/2": "box-1:in-2", "late/3": "box-1:in-1"}
    assert moves(THREE, lines, spots) == ["talk: box-1:in-2 - Chair"]


def test_a_socket_that_last_held_another_role_is_moved_and_muted_first() -> None:
    lines = (
        HEAD
        + "1,early,Voice,stage,dynamic mic,desk,\n"
        + "2,talk,Chair,stage,dynamic mic,desk,\n"
        + "3,late,Voice,stage,dynamic mic,desk,\n"
    )
    spots = {"early/1": "box-1:in-1", "talk/2": "box-1:in-1", "late/3": "box-1:in-1"}
    assert moves(THREE, lines, spots) == [
        "talk: box-1:in-1 Voice Chair m",
        "late: box-1:in-1 Chair Voice m",
    ]


def test_one_role_under_two_names_stays_in() -> None:
    lines = (
        HEAD
        + "1,early,Ada,stage,dynamic mic,desk,lead\n"
        + "1,late,Bo,stage,dynamic mic,desk,lead\n"
    )
    assert moves(SHOW, lines, {"early/1": "box-1:in-1", "late/1": "box-1:in-1"}) == []


def test_phantom_that_comes_on_is_muted_first_even_at_a_free_socket() -> None:
    lines = (
        HEAD + "1,early,Voice,stage,dynamic mic,desk,\n" + "2,late,Harp,stage,condenser mic,desk,\n"
    )
    spots = {"early/1": "box-1:in-1", "late/2": "box-1:in-2"}
    assert moves(SHOW, lines, spots) == ["late: box-1:in-2 - Harp m"]


def test_stages_do_not_move_each_others_plugs() -> None:
    show = SHOW.replace("late: {stage: main", "late: {stage: other")
    lines = (
        HEAD + "1,early,Voice,stage,dynamic mic,desk,\n" + "2,late,Harp,stage,condenser mic,desk,\n"
    )
    assert moves(show, lines, {"early/1": "box-1:in-1", "late/2": "box-1:in-1"}) == []
