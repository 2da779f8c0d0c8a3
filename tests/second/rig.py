"""A small rig for what stands in: two mixers, two players, one box."""

from __future__ import annotations

from lineproof.base.finding import Grade
from lineproof.decide.decide import decide
from lineproof.graph.signal import ways
from lineproof.plan.model import Issued, LinePlan
from lineproof.show.model import Show
from lineproof.show.read import read_files
from lineproof.show.write import write_show

HEAD = """\
title: T
rate: 48 kHz
nets: one
places:
  stage: {at: [0, 0, 0]}
  wing: {at: [-8, 0, 0]}
  front: {at: [0, 20, 0]}
circuits: {house: {supply: 230 V, limit: 63 A}}
kinds:
  player: {like: analogue-loudspeaker, does: radio, sockets: [
    {side: out, count: 2, signal: line, connector: XLR 3}]}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  side: {kind: mixer-32, place: wing, circuit: house}
  rec-1: {kind: computer-32, place: front, circuit: house}
  play-1: {kind: computer-16, place: front, circuit: house}
  play-2: {kind: computer-16, place: front, circuit: house}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house}
"""
BOTH = "from: 'play-1|play-2', source: playback"
STANDBY = (
    "play-1: {kind: computer-16, place: front, circuit: house",
    "play-1: {kind: computer-16, place: front, circuit: house, standby: play-2",
)


def show_of(
    *lines: str, units: str = "", change: tuple[str, str] = ("", ""), more: str = ""
) -> Show:
    head = HEAD.replace(*change) if change[0] else HEAD
    text = head + units + "lines:\n" + "".join(f"  - {{{line}}}\n" for line in lines) + more
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, [f.what for f in reading.findings]
    assert not [f for f in reading.findings if f.grade is Grade.STOP]
    return reading.show


def planned(show: Show, issued: Issued | None = None) -> dict[str, LinePlan]:
    decision = decide(show, issued)
    assert decision.plan is not None, [f.what for f in decision.findings]
    return {str(line.key): line for line in decision.plan.lines}


def spots(found: LinePlan, part: str) -> str:
    return " ".join(map(str, {**found.start, **found.ends}[part]))


def heard_from(show: Show, found: LinePlan, end: str) -> list[str]:
    return [way.start for way in ways(show, found) if way.end == end]


def issue(show: Show) -> Issued:
    plan = decide(show).plan
    assert plan is not None
    return Issued(revision=1, by="", at="", mark="", plan=plan, show=write_show(show))
