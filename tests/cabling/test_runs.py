"""Runs as an engineer asks for them: where they lie, what they are of, what stays."""

import random

import pytest

from lineproof.base.finding import Finding
from lineproof.base.rule import EXAMPLE_SHOW
from lineproof.check.cabling import CHECKS
from lineproof.check.check import Facts
from lineproof.decide.cabling.plan import Cabling, plan_runs
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.reckon.figures import reckon
from lineproof.show.model import Show
from tests.cabling.small import show_of

ROOM = """\
title: Room
rate: 48 kHz
nets: one
places:
  p-0: {at: [0, 0, 0]}
  p-1: {at: [0, 30, 0]}
ducts:
  floor: {between: [p-0, p-1], length: 34 m}
circuits:
  house: {supply: 230 V}
  van: {supply: 230 V}
units:
  u-0: {kind: box-16-8, place: p-0, circuit: house}
  desk: {kind: mixer-32, place: p-1, circuit: house}
  sw-1: {kind: switch-8-fibre, place: p-0, circuit: house}
  sw-2: {kind: switch-8-fibre, place: p-1, circuit: house}
lines: lines.csv
"""


def changed(*changes: tuple[str, str], text: str = ROOM) -> Show:
    """Read the room with each (old, new) text changed once."""
    for old, new in changes:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    return show_of(text)


def with_unit(row: str, *changes: tuple[str, str]) -> Show:
    """Read the room with one more unit."""
    return changed(("lines: lines.csv", f"  {row}\nlines: lines.csv"), *changes)


def runs(cabling: Cabling) -> dict[str, PlannedRun]:
    return {run.name: run for run in cabling.runs}


def ends(run: PlannedRun) -> set[str]:
    return {str(end) for end in run.ends}


def findings(show: Show, cabling: Cabling) -> list[Finding]:
    plan = Plan(network=cabling.network())
    facts = Facts(show=show, plan=plan, figures=reckon(show, plan))
    return [finding for check in CHECKS for finding in check.find(facts)]


def test_a_room_is_joined_and_measured() -> None:
    """34 m and 3 m at each end and a tenth more is 44 m; beside the switch 6.6 m are 7 m."""
    found = runs(plan_runs(changed()))
    assert sorted(found) == ["desk-a", "sw-1-sw-2-a", "u-0-a"]
    assert found["sw-1-sw-2-a"].ducts == ("floor",)
    assert found["sw-1-sw-2-a"].length_m == 44
    assert (found["u-0-a"].length_m, found["u-0-a"].ducts) == (7, ())
    assert ends(found["desk-a"]) == {"desk:1", "sw-2:1"}


def test_copper_where_it_reaches_and_fibre_beyond() -> None:
    far = runs(plan_runs(changed(("length: 34 m", "length: 63 m"))))
    near = runs(plan_runs(changed(("length: 34 m", "length: 62 m"))))
    assert (near["sw-1-sw-2-a"].length_m, near["sw-1-sw-2-a"].medium) == (75, "copper")
    assert (far["sw-1-sw-2-a"].length_m, far["sw-1-sw-2-a"].medium) == (76, "multi-mode")


def test_installed_copper_reaches_100_m() -> None:
    show = changed(("length: 34 m", "length: 80 m, installed: yes"), *COPPER_ONLY)
    assert runs(plan_runs(show))["sw-1-sw-2-a"].medium == "copper"
    rolled_out = changed(("length: 34 m", "length: 80 m"), *COPPER_ONLY)
    assert "sw-1-sw-2-a" not in runs(plan_runs(rolled_out))


COPPER_ONLY = (
    ("{kind: switch-8-fibre, place: p-0", "{kind: switch-8, place: p-0"),
    ("{kind: switch-8-fibre, place: p-1", "{kind: switch-8, place: p-1"),
)
ON_VAN = (
    ("{kind: mixer-32, place: p-1, circuit: house}", "{kind: mixer-32, place: p-1, circuit: van}"),
    (
        "{kind: switch-8-fibre, place: p-1, circuit: house}",
        "{kind: switch-8-fibre, place: p-1, circuit: van}",
    ),
)


def test_between_two_supplies_goes_fibre_at_any_length() -> None:
    assert runs(plan_runs(changed(*ON_VAN)))["sw-1-sw-2-a"].medium == "multi-mode"


def test_between_two_buildings_goes_fibre_at_any_length() -> None:
    show = changed(
        ("{at: [0, 0, 0]}", "{at: [0, 0, 0], building: hall}"),
        ("{at: [0, 30, 0]}", "{at: [0, 30, 0], building: annexe}"),
    )
    assert runs(plan_runs(show))["sw-1-sw-2-a"].medium == "multi-mode"


def test_what_only_copper_could_join_is_told_with_what_would_help() -> None:
    row = "u-9: {kind: box-32-16, place: p-2, circuit: van}"
    place = ("  p-1: {at: [0, 30, 0]}", "  p-1: {at: [0, 30, 0]}\n  p-2: {at: [0, 60, 0]}")
    duct = ("ducts:", "ducts:\n  yard: {between: [p-1, p-2], length: 30 m}")
    show = with_unit(row, place, duct)
    (told,) = [f for f in findings(show, plan_runs(show)) if f.rule == "not-joined"]
    assert told.what == (
        "u-9 (Stage box, 32 in, 16 out) is not joined to net a: "
        "copper to sw-2 would join two supplies or buildings"
    )
    assert "take kind box-32-16-fibre" in told.do


def test_a_place_without_a_duct_is_reached_from_10_m_and_no_farther() -> None:
    row = "u-9: {kind: box-16-8, place: p-2, circuit: house}"
    for metres, found in ((40, {"u-9-a"}), (41, set())):
        place = ("ducts:", f"  p-2: {{at: [0, {metres}, 0]}}\nducts:")
        show = with_unit(row, place)
        cabling = plan_runs(show)
        assert {"u-9-a"} & set(runs(cabling)) == found
        loose = [f.of for f in findings(show, cabling) if f.rule == "run-loose"]
        assert bool(loose) == bool(found)


def test_given_runs_are_kept_as_they_are() -> None:
    given = "runs: {trunk: {from: 'sw-1:2', to: 'sw-2:9', along: [floor], cable: single-mode}}\n"
    show = changed(("'sw-1:2'", "'sw-1:9'"), text=ROOM.replace("lines:", f"{given}lines:"))
    found = runs(plan_runs(show))
    assert sorted(found) == ["desk-a", "trunk", "u-0-a"]
    trunk = found["trunk"]
    assert trunk.given
    assert (ends(trunk), trunk.medium) == ({"sw-1:9", "sw-2:9"}, "single-mode")


def test_a_given_run_of_a_unit_is_its_run() -> None:
    given = "runs: {mine: {from: desk, to: 'sw-2:5', length: 12 m}}\n"
    found = runs(plan_runs(show_of(ROOM.replace("lines:", f"{given}lines:"))))
    assert "desk-a" not in found
    assert (ends(found["mine"]), found["mine"].length_m) == ({"desk:1", "sw-2:5"}, 12)


def test_every_switch_keeps_two_named_ports_open() -> None:
    cabling = plan_runs(changed())
    by_switch: dict[str, list[PortAt]] = {}
    for rescue in cabling.rescue_ports:
        by_switch.setdefault(rescue.port.unit, []).append(rescue.port)
        assert rescue.name == f"{rescue.port.unit}-rescue-{rescue.port.number}"
    assert {name: len(ports) for name, ports in by_switch.items()} == {"sw-1": 2, "sw-2": 2}
    taken = {end for run in cabling.runs for end in run.ends}
    assert not taken & {rescue.port for rescue in cabling.rescue_ports}


def test_a_unit_fed_over_its_cable_hangs_on_a_port_that_feeds() -> None:
    """Both switches stand as near; only sw-2 feeds."""
    row = "talk: {kind: paging-station, place: p-0, power: network}"
    show = with_unit(row, ("{kind: switch-8-fibre, place: p-1", "{kind: switch-8-poe, place: p-1"))
    talk = runs(plan_runs(show))["talk-a"]
    assert talk.other_end("talk").unit == "sw-2"


def test_a_switch_feeds_no_more_than_its_budget() -> None:
    """Class 3 takes 15.4 W at the switch: of 40 W two are fed, the third is not joined."""
    rows = [f"talk-{n}: {{kind: paging-station, place: p-1, power: network}}" for n in range(3)]
    text = ROOM.replace("{kind: switch-8-fibre, place: p-1", "{kind: weak, place: p-1").replace(
        "lines:",
        "".join(f"  {row}\n" for row in rows)
        + "kinds: {weak: {like: switch-8-poe, poe-budget-w: 40}}\nlines:",
    )
    show = show_of(text)
    cabling = plan_runs(show)
    assert len([name for name in runs(cabling) if name.startswith("talk")]) == 2
    told = [f.what for f in findings(show, cabling) if f.rule == "not-joined"]
    assert len(told) == 1
    assert told[0].endswith("what sw-2 can feed is given out")


def test_chained_units_hang_on_one_another() -> None:
    """Three loudspeakers side by side, far from the switch: one long run, two short ones."""
    rows = "".join(
        f"  pa-{n}: {{kind: powered-loudspeaker, place: p-2, circuit: house, ports: chain}}\n"
        for n in range(3)
    )
    text = ROOM.replace(
        "ducts:", "  p-2: {at: [0, 60, 0]}\nducts:\n  up: {between: [p-1, p-2], length: 30 m}"
    ).replace("lines:", f"{rows}lines:")
    cabling = plan_runs(show_of(text))
    chain = [run for run in cabling.runs if run.name.startswith("pa-")]
    assert sorted(run.length_m for run in chain) == [7, 7, 40]
    assert len({end for run in chain for end in run.ends}) == 6


def test_two_units_without_a_switch_are_joined_directly() -> None:
    text = ROOM.replace("  sw-1: {kind: switch-8-fibre, place: p-0, circuit: house}\n", "").replace(
        "  sw-2: {kind: switch-8-fibre, place: p-1, circuit: house}\n", ""
    )
    found = runs(plan_runs(show_of(text)))
    assert [ends(run) for run in found.values()] == [{"u-0:1", "desk:1"}]
    three = text.replace("lines:", "  rec: {kind: computer-32, place: p-1, circuit: house}\nlines:")
    show = show_of(three)
    cabling = plan_runs(show)
    assert not cabling.runs


def test_three_units_without_a_switch_chain_where_they_can() -> None:
    text = ROOM.replace("  sw-1: {kind: switch-8-fibre, place: p-0, circuit: house}\n", "").replace(
        "  sw-2: {kind: switch-8-fibre, place: p-1, circuit: house}\n",
        "  rec: {kind: computer-32, place: p-1, circuit: house}\n",
    )
    show = show_of(text.replace("u-0: {kind: box-16-8,", "u-0: {kind: box-16-8, ports: chain,"))
    found = plan_runs(show)
    assert sorted(sorted(e.unit for e in run.ends) for run in found.runs) == [
        ["desk", "u-0"],
        ["rec", "u-0"],
    ]


def test_a_drop_box_gets_its_multicore() -> None:
    row = "drop: {kind: drop-box-8, place: p-1, sockets-of: 'u-0:1-8'}"
    (core,) = [run for run in plan_runs(with_unit(row)).runs if run.medium == "multicore"]
    assert (core.name, core.net, core.ducts, core.length_m) == (
        "u-0-drop-multicore",
        "",
        ("floor",),
        44,
    )


# -- two nets ----------------------------------------------------------------------------------


def test_switches_without_a_net_are_shared_out() -> None:
    text = ROOM.replace("nets: one", "nets: two").replace(
        "lines:",
        "  sw-3: {kind: switch-8-fibre, place: p-0, circuit: house}\n"
        "  sw-4: {kind: switch-8-fibre, place: p-1, circuit: house, net: a}\nlines:",
    )
    cabling = plan_runs(show_of(text))
    nets = cabling.switch_nets
    assert nets["sw-4"] == "a"
    assert nets["sw-2"] == "b"
    assert {nets["sw-1"], nets["sw-3"]} == {"a", "b"}
    assert {run.net for run in cabling.runs if run.name.startswith("desk")} == {"a", "b"}


def test_the_nets_of_a_unit_lie_in_different_ducts_where_there_are_two() -> None:
    text = ROOM.replace("nets: one", "nets: two").replace(
        "circuits:", "  wall: {between: [p-0, p-1], length: 50 m}\ncircuits:"
    )
    text = text.replace("circuit: house}\n  sw-2", "circuit: house, net: a}\n  sw-2").replace(
        "{kind: switch-8-fibre, place: p-0, circuit: house, net: a}",
        "{kind: switch-8-fibre, place: p-1, circuit: house, net: a}",
    )
    found = runs(plan_runs(show_of(text)))
    assert {found["u-0-a"].ducts, found["u-0-b"].ducts} == {("floor",), ("wall",)}


# -- what stays --------------------------------------------------------------------------------


def drawn_rows(seed: int) -> list[str]:
    """Give rows of eleven units, drawn."""
    chance = random.Random(seed)
    kinds = ("box-16-8", "computer-32", "powered-loudspeaker", "mixer-32")
    return [
        f"  x-{n}: {{kind: {chance.choice(kinds)}, place: p-{chance.randrange(2)}, circuit: house}}"
        for n in range(11)
    ]


def with_rows(rows: list[str]) -> Show:
    return show_of(ROOM.replace("lines:", "\n".join(rows) + "\nlines:"))


@pytest.mark.parametrize("seed", range(8))
def test_one_more_unit_moves_no_run(seed: int) -> None:
    rows = drawn_rows(seed)
    chance = random.Random(seed + 100)
    at = chance.randrange(len(rows))
    before = plan_runs(with_rows(rows[:at] + rows[at + 1 :]))
    after = plan_runs(with_rows(rows), before.network())
    assert set(before.runs) <= set(after.runs)
    new = set(after.runs) - set(before.runs)
    assert {run.name for run in new} == {f"x-{at}-a"}


@pytest.mark.parametrize("seed", range(8))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    rows = drawn_rows(seed)
    mixed = list(rows)
    random.Random(seed).shuffle(mixed)
    assert plan_runs(with_rows(rows)) == plan_runs(with_rows(mixed))


def test_planned_again_nothing_changes() -> None:
    show = with_rows(drawn_rows(3))
    once = plan_runs(show)
    again = plan_runs(show, once.network())
    assert (again.runs, again.rescue_ports, again.retired) == (once.runs, once.rescue_ports, ())


def test_a_name_is_never_given_again_but_to_the_same_two_ports() -> None:
    row = "u-9: {kind: box-16-8, place: p-0, circuit: house}"
    first = plan_runs(with_unit(row))
    gone = plan_runs(changed(), first.network())
    assert [(r.what, r.value) for r in gone.retired] == [("run", "u-9-a")]
    back = plan_runs(with_unit(row), gone.network())
    assert runs(back)["u-9-a"].ends == runs(first)["u-9-a"].ends
    moved = with_unit(row.replace("p-0", "p-1"))
    assert "u-9-a-2" in runs(plan_runs(moved, gone.network()))


def test_a_run_whose_duct_is_gone_is_planned_anew() -> None:
    before = plan_runs(changed())
    show = changed(("floor: {between", "wall: {between"))
    after = runs(plan_runs(show, before.network()))
    assert "sw-1-sw-2-a" not in after
    assert after["sw-1-sw-2-a-2"].ducts == ("wall",)


def test_used_units_only() -> None:
    found = runs(plan_runs(changed(), used=frozenset({"desk"})))
    assert sorted(found) == ["desk-a", "sw-1-sw-2-a"]


def test_switches_and_units_of_the_little_show() -> None:
    show = show_of(
        EXAMPLE_SHOW.replace("stage: {at", "p-0: {at")
        .replace("stage", "p-0")
        .replace("box-1:", "u-0:")
    )
    joined = {end.unit for run in plan_runs(show).runs for end in run.ends}
    assert joined == {u.name for u in show.units.values() if u.kind.does is not Does.DROP_BOX}
