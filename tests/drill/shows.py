"""Shows to drill: the shipped ones, and one small enough to see what each fault does."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from lineproof.decide.whole import decide_whole
from lineproof.drill.blunder import drill
from lineproof.drill.calm import Calm, calm
from lineproof.drill.verdict import Drilled, Verdict
from lineproof.graph.faults import parse_fault
from lineproof.plan.model import Plan
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show

SHOWS = Path(__file__).resolve().parents[2] / "shows"

#: Two nets; a mixer with two supplies, and a talk-back station that either net feeds.
ROOM = """\
title: Tin Roof
rate: 48 kHz
nets: two
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
  side: {at: [9, 2, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
  wall: {between: [stage, side], length: 12 m}
  back: {between: [side, front], length: 30 m}
circuits:
  feed: {supply: 230 V}
  left: {fed-by: feed, supply: 230 V}
  right: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: left}
  box-2: {kind: box-16-8, place: stage, number: 2, circuit: right, rack: tower}
  desk: {kind: mixer-64, place: front, circuit: [left, right]}
  rec-1: {kind: computer-32, place: front, circuit: left}
  rec-2: {kind: computer-32, place: front, circuit: right}
  play-1: {kind: computer-16, place: front, circuit: left, standby: play-2}
  play-2: {kind: computer-16, place: front, circuit: right}
  talk: {kind: paging-station, place: front, power: network}
  pa: {kind: powered-loudspeaker, place: stage, circuit: right}
  sw-a: {kind: switch-24-poe, place: front, circuit: left, net: a}
  sw-b: {kind: switch-24-poe, place: front, circuit: right, net: b}
  sw-a2: {kind: switch-8, place: stage, circuit: left, net: a, rack: tower}
  sw-b2: {kind: switch-8, place: stage, circuit: right, net: b}
lines:
  - {number: 1, name: Kick, from: box-1, source: dynamic mic, to: desk rec-1|rec-2}
  - {number: 2, name: Voice, from: box-2, source: dynamic mic, to: desk rec-1|rec-2}
  - {number: 3, name: Track, from: play-1, source: playback, to: desk}
  - {number: 4, name: Call, from: talk, source: dynamic mic, to: desk}
  - {number: 41, name: Main, from: desk, source: main mix, to: pa, with: 1 2}
"""


def text_planned(text: str) -> tuple[Show, Plan]:
    """Give a show written in one text, and its plan."""
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, reading.findings
    decision = decide_whole(reading.show)
    assert decision.plan is not None, decision.findings
    return reading.show, decision.plan


@cache
def ready(name: str) -> Calm:
    """Give a shipped show, or one of the tests' own, ready to be drilled; or a show by its text."""
    if "\n" in name:
        return calm(*text_planned(name))
    shipped = (SHOWS / name).is_dir()
    show = read_show(SHOWS / name if shipped else SHOWS.parent / "tests" / name).show
    assert show is not None
    plan = decide_whole(show).plan
    assert plan is not None
    return calm(show, plan)


def cut(text: str, *names: str) -> Drilled:
    """Give what the faults of these names do together to a show."""
    known = ready(text)
    faults = tuple(parse_fault(name, known.show, known.plan) for name in names)
    return drill(known.show, known.plan, faults, ready=known)


def of_line(drilled: Drilled, number: str) -> Verdict:
    """Give the verdict of one line."""
    (found,) = (v for v in drilled.verdicts if str(v.line) == number)
    return found
