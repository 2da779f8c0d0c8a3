"""From a show and its plan to streams: every route is carried, and the show's words are kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lineproof.decide.decide import decide
from lineproof.decide.streams.needs import needs_of
from lineproof.decide.streams.pack import pack
from lineproof.decide.streams.ways import hops_of
from lineproof.graph.signal import routes
from lineproof.plan.model import Plan
from lineproof.plan.network import NetPlan, Network, PlannedRun, PortAt
from lineproof.show.model import Show
from lineproof.show.read import read_show
from tests.streams.served import wrong

SHOW = """\
title: Two rooms
rate: 48 kHz
packet: 1 ms
nets: one
places:
  stage: {{at: [0, 0, 0]}}
  front: {{at: [0, 20, 0]}}
ducts:
  floor: {{between: [stage, front], length: 30 m}}
circuits:
  house: {{supply: 230 V, limit: 63 A}}
units:
  box: {{kind: box-16-8, place: stage, number: 1, circuit: house}}
  desk: {{kind: mixer-16, place: front, circuit: house}}
  side: {{kind: mixer-16, place: stage, circuit: house}}
  rec: {{kind: computer-32, place: front, circuit: house}}
  sw-1: {{kind: {switch}, place: stage, circuit: house}}
  sw-2: {{kind: switch-8, place: front, circuit: house}}
lines: lines.csv
"""
HEAD = "number,name,from,source,to,never,private\n"
CABLES = (
    ("box:1", "sw-1:1"),
    ("side:1", "sw-1:2"),
    ("sw-1:3", "sw-2:3"),
    ("desk:1", "sw-2:1"),
    ("rec:1", "sw-2:2"),
)


def network() -> Network:
    runs = tuple(
        PlannedRun(name=f"run-{n}", net="a", ends=(PortAt.parse(a), PortAt.parse(b)))
        for n, (a, b) in enumerate(CABLES)
    )
    nets = {"a": NetPlan(name="a", range="", groups="", roots=("sw-1",))}
    return Network(runs=runs, nets=nets, switch_nets={"sw-1": "a", "sw-2": "a"})


def planned(folder: Path) -> tuple[Show, Plan]:
    show = read_show(folder).show
    assert show is not None
    plan = decide(show).plan
    assert plan is not None
    return show, plan


def wired(folder: Path, rows: str, switch: str = "switch-8") -> tuple[Show, Plan]:
    (folder / "show.yaml").write_text(SHOW.format(switch=switch), "utf-8")
    (folder / "lines.csv").write_text(HEAD + rows, "utf-8")
    show, plan = planned(folder)
    return show, replace(plan, network=network())


@pytest.mark.parametrize("name", ["small", "lantern", "hall"])
def test_every_route_of_a_shipped_show_is_in_just_one_stream(root: Path, name: str) -> None:
    show, plan = planned(root / "shows" / name)
    needs = needs_of(show, plan, hops_of(show, plan.network))
    packing = pack(needs)
    assert wrong(needs, packing.streams) == []
    assert packing.shortages == ()
    for route in routes(show, plan):
        carrying = [
            s.name
            for s in packing.streams
            if s.sender == route.send.unit
            and route.send.number in s.channels
            and route.receive.unit in s.receivers
        ]
        assert len(carrying) == 1


def test_a_run_counts_once_however_many_listen_behind_it(tmp_path: Path) -> None:
    show, plan = wired(tmp_path, "1,Kick,stage,dynamic mic,desk rec,,\n")
    hops = hops_of(show, plan.network)
    assert hops("box", frozenset({"desk"})) == 3
    assert hops("box", frozenset({"desk", "rec"})) == 4
    assert hops("box", frozenset({"side"})) == 2


def test_private_and_never_stand_in_what_streams_must_keep(tmp_path: Path) -> None:
    rows = "1,Host,stage,dynamic mic,desk side,,yes\n2,Kick,stage,dynamic mic,desk side,rec,\n"
    show, plan = wired(tmp_path, rows)
    (sender,) = needs_of(show, plan, hops_of(show, plan.network)).senders
    channel = {str(r.lines[0]): r.send.number for r in routes(show, plan)}
    assert sender.private == {channel["1"]}
    assert sender.never == {channel["2"]: frozenset({"rec"})}
    assert not sender.may_hear(channel["1"], "rec")
    assert sender.may_hear(channel["2"], "side")


def test_a_want_and_a_recorder_make_a_second_listener_likely(tmp_path: Path) -> None:
    rows = (
        "1,Kick,stage,dynamic mic,desk,,\n"
        "2,Snare,stage,dynamic mic,desk side?,,\n"
        "3,Hat,stage,condenser mic,rec,,\n"
    )
    show, plan = wired(tmp_path, rows)
    (sender,) = needs_of(show, plan, hops_of(show, plan.network)).senders
    channel = {str(r.lines[0]): r.send.number for r in routes(show, plan)}
    assert sender.likely == {channel["2"], channel["3"]}


def test_a_switch_that_floods_gets_no_multicast(tmp_path: Path) -> None:
    rows = "1,Kick,stage,dynamic mic,desk side rec,,\n"
    show, plan = wired(tmp_path, rows)
    needs = needs_of(show, plan, hops_of(show, plan.network))
    assert [(s.receivers, s.multicast) for s in pack(needs).streams] == [
        (("desk", "rec", "side"), True)
    ]
    show, plan = wired(tmp_path, rows, switch="switch-8-plain")
    needs = needs_of(show, plan, hops_of(show, plan.network))
    assert [(s.receivers, s.multicast) for s in pack(needs).streams] == [
        (("desk",), False),
        (("rec",), False),
        (("side",), False),
    ]
