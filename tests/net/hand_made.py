"""A small show and its network, by hand: three switches in a ring, a chained loudspeaker."""

from __future__ import annotations

from lineproof.decide.decide import decide
from lineproof.plan.model import Plan
from lineproof.plan.network import ClockRank, NetPlan, Network, PlannedRun, PortAt, Stream
from lineproof.show.model import Show
from lineproof.show.read import read_files

SHOW = """\
title: Tin Whistle Night
rate: 48 kHz
other: 50 Mbit/s
places:
  stage: {at: [0, 0, 0]}
  left: {at: [-8, 0, 0]}
  right: {at: [8, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
  wall: {between: [stage, front], length: 40 m}
circuits:
  house: {supply: 230 V}
  other: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  rec-1: {kind: computer-32, place: front, circuit: house}
  pa-left: {kind: powered-loudspeaker, place: left, circuit: house, ports: chain}
  pa-right: {kind: powered-loudspeaker, place: right, circuit: house}
  clock: {kind: grandmaster-clock, place: front, circuit: house}
  sw-1: {kind: switch-8, place: stage, circuit: house, rack: r-1}
  sw-2: {kind: switch-8, place: front, circuit: house, mac: '02:00:00:00:00:02'}
  sw-3: {kind: switch-8, place: front, circuit: other, mac: '02:00:00:00:00:03'}
lines:
  - {number: 1, name: Kick, from: stage, source: dynamic mic, to: desk rec-1}
  - {number: 41, name: Main left, from: desk, source: main mix, to: pa-left, pair: 42}
  - {number: 42, name: Main right, from: desk, source: main mix, to: pa-right, pair: 41}
"""


def show(*changes: tuple[str, str]) -> Show:
    """Give the show with each (old, new) text changed."""
    text = SHOW
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, reading.findings
    return reading.show


def plan(show: Show) -> Plan:
    found = decide(show).plan
    assert found is not None
    return found


def run(name: str, first: str, second: str, *ducts: str) -> PlannedRun:
    ends = (PortAt.parse(first), PortAt.parse(second))
    return PlannedRun(name=name, net="a", ends=ends, ducts=ducts, length_m=30.0)


def stream(name: str, *receivers: str, multicast: bool = False) -> Stream:
    return Stream(
        name=name,
        sender=name.partition("/")[0],
        channels=(1, 2),
        receivers=receivers,
        multicast=multicast,
        packet_us=1000,
        depth_bits=24,
    )


NETWORK = Network(
    switch_nets={"sw-1": "a", "sw-2": "a", "sw-3": "a"},
    runs=(
        run("trunk-1", "sw-1:7", "sw-2:7", "floor"),
        run("trunk-2", "sw-1:8", "sw-3:8", "wall"),
        run("link", "sw-2:8", "sw-3:7"),
        run("box-1", "box-1:1", "sw-1:1"),
        run("pa-left", "pa-left:1", "sw-1:2"),
        run("pa-right", "pa-right:1", "pa-left:2"),
        run("desk", "desk:1", "sw-2:1"),
        run("rec-1", "rec-1:1", "sw-2:2"),
        run("clock", "clock:1", "sw-3:1"),
    ),
    streams=(
        stream("box-1/1", "desk", "rec-1", multicast=True),
        stream("desk/1", "pa-left"),
        stream("desk/2", "pa-right"),
    ),
    nets={
        "a": NetPlan(
            name="a",
            range="10.9.0.0/24",
            groups="239.193.0.0/24",
            roots=("sw-2", "sw-3"),
            queriers=("sw-2", "sw-3"),
        )
    },
    clock=(
        ClockRank(unit="clock", net="a", priority1=10, priority2=10, rank=1),
        ClockRank(unit="desk", net="a", priority1=20, priority2=20, rank=2),
    ),
)
