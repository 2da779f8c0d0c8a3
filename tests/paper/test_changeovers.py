"""What moves between acts: plugs, multipins as one, 48 V, routes; what stays is no move."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import pytest

from lineproof.cli.main import main
from lineproof.plan.model import Plan
from lineproof.plan.store import save_draft, save_issued
from lineproof.reckon.changeover import Changeover, changeovers
from tests.paper.press import DECIDED, LINES, SHOW, issued_of, plan_of, reading_of

#: Two rolling risers, each with its drop box, that hang on the same eight sockets in turn.
RISERS = """\
title: Turning Wheels
rate: 48 kHz
places:
  wing: {at: [4, 0, 0]}
  riser-1: {at: [0, 0, 0]}
  riser-2: {at: [0, 3, 0]}
  front: {at: [0, 20, 0]}
units:
  box-1: {kind: box-32-16, place: wing}
  drop-1: {kind: drop-box-8, place: riser-1, sockets-of: "box-1:9-16"}
  drop-2: {kind: drop-box-8, place: riser-2, sockets-of: "box-1:9-16"}
  desk: {kind: mixer-32, place: front}
acts:
  one: {stage: main}
  two: {stage: main}
  three: {stage: main}
lines: lines.csv
"""
RISER_LINES = """\
number,act,name,from,source,to
1,one,Kick,riser-1,dynamic mic,desk
2,one,Hat,riser-1,condenser mic,desk
3,one,Lute,wing,ribbon mic,desk
1,two,Kick,riser-2,dynamic mic,desk
2,two,Bell,riser-2,dynamic mic,desk
1,three,Kick,riser-1,dynamic mic,desk
3,three,Lute,wing,ribbon mic,desk
"""


def start(part: str, spots: str) -> tuple[Mapping[str, str], Mapping[str, str]]:
    return ({part: spots}, {})


def told(turn: Changeover) -> list[str]:
    rows = []
    for move in turn.moves:
        off = move.off or (move.was.line.name if move.was else "-")
        on = move.on or move.now.line.name
        volts = {None: "", True: " 48 V on", False: " 48 V off"}[move.phantom]
        rows.append(f"{move.how.value} {move.at}: {off} > {on}{volts}")
    return rows


def turns(
    show: str, lines: str, decided: Mapping[str, tuple[Mapping[str, str], ...]]
) -> tuple[Changeover, ...]:
    reading = reading_of(show, lines)
    assert reading.show is not None, reading.findings
    plan: Plan = plan_of(decided, reading)  # type: ignore[arg-type]
    return changeovers(reading.show, plan)


#: The same night planned on the box's sockets, and on those of the drop boxes: it is one thing.
ON_THE_BOX = {
    "one/1": start("riser-1", "box-1:in-9"),
    "one/2": start("riser-1", "box-1:in-10"),
    "one/3": start("wing", "box-1:in-1"),
    "two/1": start("riser-2", "box-1:in-9"),
    "two/2": start("riser-2", "box-1:in-10"),
    "three/1": start("riser-1", "box-1:in-9"),
    "three/3": start("wing", "box-1:in-1"),
}
ON_THE_DROPS = {
    **ON_THE_BOX,
    "one/1": start("riser-1", "drop-1:in-1"),
    "one/2": start("riser-1", "drop-1:in-2"),
    "two/1": start("riser-2", "drop-2:in-1"),
    "two/2": start("riser-2", "drop-2:in-2"),
    "three/1": start("riser-1", "drop-1:in-1"),
}


@pytest.mark.parametrize("decided", [ON_THE_BOX, ON_THE_DROPS], ids=["box", "drops"])
def test_a_multipin_that_moves_as_a_whole_is_one_move(decided: Mapping[str, tuple]) -> None:  # type: ignore[type-arg]
    first, second = turns(RISERS, RISER_LINES, decided)
    assert (first.count, second.count) == (1, 1)
    assert told(first) == [
        # What is plugged on the riser is plugged before it rolls on.
        "plug drop-2:in-1: - > Kick",
        "plug drop-2:in-2: - > Bell 48 V off",
        "multipin box-1:in-9-16: drop-1 > drop-2",
    ]
    # The first riser's plugs stayed in all the while, and so did the lute.
    assert told(second) == ["multipin box-1:in-9-16: drop-2 > drop-1"]


def test_a_single_plug_in_a_multipins_socket_is_a_move_and_back() -> None:
    lines = RISER_LINES.replace("1,two,Kick,riser-2", "1,two,Cue,wing").replace(
        "2,two,Bell,riser-2", "2,two,Bell,wing"
    )
    decided = {
        **ON_THE_BOX,
        "two/1": start("wing", "box-1:in-9"),
        "two/2": start("wing", "box-1:in-20"),
    }
    first, second = turns(RISERS, lines, decided)
    assert [row for row in told(first) if "in-9" in row] == ["plug box-1:in-9: drop-1 > Cue"]
    assert first.count == 1
    assert told(second) == ["multipin box-1:in-9-16: Cue > drop-1"]
    assert second.count == 1


NIGHT = """\
title: One Box
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  yard: {at: [9, 0, 0]}
units:
  box-1: {kind: box-8-8, place: stage}
  box-2: {kind: box-8-8, place: yard}
  desk: {kind: mixer-32, place: stage}
acts:
  one: {stage: main}
  far: {stage: second}
  two: {stage: main, build: before}
  three: {stage: main}
lines: lines.csv
"""
NIGHT_LINES = """\
number,act,name,from,source,to
1,one,Kick,stage,dynamic mic,desk
2,one,Hat,stage,dynamic mic,desk
1,far,Horn,yard,dynamic mic,desk
5,two,Hat,stage,condenser mic,desk
1,three,Kick,stage,dynamic mic,desk
2,three,Drum,stage,dynamic mic,desk
"""
NIGHT_PLAN = {
    "one/1": start("stage", "box-1:in-1"),
    "one/2": start("stage", "box-1:in-2"),
    "far/1": start("yard", "box-2:in-1"),
    "two/5": start("stage", "box-1:in-2"),
    "three/1": start("stage", "box-1:in-1"),
    "three/2": start("stage", "box-1:in-2"),
}


def test_the_act_before_is_the_one_before_on_the_same_stage() -> None:
    found = turns(NIGHT, NIGHT_LINES, NIGHT_PLAN)
    assert [(t.before.name, t.after.name) for t in found] == [("one", "two"), ("two", "three")]


def test_a_plug_that_stays_in_through_an_act_without_it_is_no_move() -> None:
    _, last = turns(NIGHT, NIGHT_LINES, NIGHT_PLAN)
    # The kick is not in the act before, but its plug is where it was.
    assert told(last) == ["plug box-1:in-2: Hat > Drum 48 V off"]
    assert last.count == 1


def test_48_volts_for_a_plug_that_stays_are_told_and_are_no_move() -> None:
    first, _ = turns(NIGHT, NIGHT_LINES, NIGHT_PLAN)
    (move,) = first.moves
    assert told(first) == ["phantom box-1:in-2: Hat > Hat 48 V on"]
    assert move.mute_first
    assert first.count == 0


def test_a_role_that_comes_back_to_its_socket_is_a_move_each_time() -> None:
    lines = NIGHT_LINES.replace("5,two,Hat", "5,two,Bell").replace("2,three,Drum", "2,three,Hat")
    first, second = turns(NIGHT, lines, NIGHT_PLAN)
    assert (first.count, second.count) == (1, 1)


@pytest.mark.parametrize(("routes", "found"), [("per-act", 1), ("all-night", 0)])
def test_routes_are_told_where_they_are_per_act(routes: str, found: int) -> None:
    show = NIGHT.replace("units:", f"routes: {routes}\nunits:")
    decided = {
        **NIGHT_PLAN,
        "one/1": ({"stage": "box-1:in-1"}, {"desk": "desk:receive-1 desk:strip-1"}),
        "two/5": ({"stage": "box-1:in-2"}, {"desk": "desk:receive-1 desk:strip-1"}),
    }
    first, _ = turns(show, NIGHT_LINES, decided)
    rows = [row for row in told(first) if row.startswith("route")]
    assert rows == ["route desk:receive-1: Kick > Hat"][:found]


# -- the command ---------------------------------------------------------------------------------


def folder(tmp_path: Path) -> Path:
    made = tmp_path / "show"
    made.mkdir()
    (made / "show.yaml").write_text(SHOW, "utf-8")
    (made / "lines.csv").write_text(LINES, "utf-8")
    save_draft(made, plan_of(DECIDED, reading_of()))
    return made


def test_diff_tells_what_moves_before_an_act(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["diff", str(folder(tmp_path)), "--act", "late"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "",
        "early to late, while it plays: 1 plug moves",
        "  plug      box-1:in-2       2 Lute -> 2 Choir, from edge, 48 V on, mute first",
        "  free      box-1:in-4       3 Cue, from edge",
    ]


def test_diff_in_json_has_the_same_changeovers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["diff", str(folder(tmp_path)), "--json"]) == 0
    (turn,) = json.loads(capsys.readouterr().out)["changeovers"]
    assert (turn["act"], turn["after-act"], turn["count"]) == ("late", "early", 1)
    assert [(m["how"], m["counts"], m["spots"]) for m in turn["moves"]] == [
        ("plug", True, ["box-1:in-2"]),
        ("plug", False, ["box-1:in-4"]),
    ]


def test_without_a_draft_diff_looks_at_the_issued_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = folder(tmp_path)
    (made / "plan" / "draft.json").unlink()
    save_issued(made, issued_of())
    assert main(["diff", str(made)]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[0] == "no differences between ISSUED 1 and ISSUED 1"
    assert "early to late, while it plays: 1 plug moves" in rows


@pytest.mark.parametrize(
    ("act", "said"),
    [
        ("lat", "no act of the show is called 'lat'; did you mean 'late'?"),
        ("early", "no act comes before early on its stage: nothing is changed over"),
    ],
)
def test_an_act_nothing_moves_before_is_a_wrong_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], act: str, said: str
) -> None:
    assert main(["diff", str(folder(tmp_path)), "--act", act]) == 4
    assert capsys.readouterr().err == f"lineproof: {said}\n"
