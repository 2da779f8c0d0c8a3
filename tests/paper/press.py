"""Shows, plans and editions for the tests of papers, made from a few rows of text."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from lineproof.base.spot import LineKey, Spot
from lineproof.decide.whole import decide_whole
from lineproof.outcome import Outcome, work_out
from lineproof.paper.edition import Edition
from lineproof.paper.readers import CREW, Reader
from lineproof.paper.sheet import Sheet, Table
from lineproof.paper.translate import words_of
from lineproof.plan.model import Issued, LinePlan, Plan
from lineproof.show.read import Reading, read_files, read_show

ROOT = Path(__file__).resolve().parents[2]

#: Two acts on one stage, a guest's mixer, a private line, an alarm, a rack.
SHOW = """\
title: Two Lamps
rate: 48 kHz
places:
  stage: {at: [0, 0, 0], label: Stage middle}
  edge:  {at: [-6, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
circuits:
  house: {supply: 230 V, limit: 16 A}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house, rack: left}
  desk: {kind: mixer-32, place: front, circuit: house, label: Front mixer}
  visit: {kind: mixer-32, place: front, circuit: house, theirs: yes}
  rec-1: {kind: computer-32, place: front, circuit: house}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house, muted-by: house alarm}
  fill: {kind: analogue-loudspeaker, place: edge, circuit: house}
  sw-1: {kind: switch-8, place: stage, circuit: house, rack: left}
acts:
  early: {stage: main, label: Early set}
  late: {stage: main, build: before}
lines: lines.csv
"""
LINES = """\
number,act,name,from,source,to,group,stand,role,private,player
1,early,Kick,stage,dynamic mic,desk rec-1,drums,short,,,Ada
2,early,Lute,stage,ribbon mic,desk rec-1,strings,tall,,,Bo
1,late,Kick,stage,dynamic mic,desk visit rec-1,drums,short,,,Cy
2,late,Choir,edge,condenser mic,desk visit,choir,tall,,,
3,late,Cue,edge,dynamic mic,desk visit,stage-hands,clip,,yes,
9,,Host,stage,active DI,desk,host,,,,Dee
41,,Main,desk,main mix,pa fill,,,,,
"""
#: Line to its spots: at the start, then end by end. The ways are written out by hand.
DECIDED: Mapping[str, tuple[Mapping[str, str], Mapping[str, str]]] = {
    "early/1": (
        {"stage": "box-1:in-1"},
        {"desk": "desk:receive-1 desk:strip-1", "rec-1": "rec-1:receive-1"},
    ),
    "early/2": (
        {"stage": "box-1:in-2"},
        {"desk": "desk:receive-2 desk:strip-2", "rec-1": "rec-1:receive-2"},
    ),
    "late/1": (
        {"stage": "box-1:in-1"},
        {
            "desk": "desk:receive-1 desk:strip-1",
            "visit": "visit:receive-1 visit:strip-1",
            "rec-1": "rec-1:receive-1",
        },
    ),
    "late/2": (
        {"edge": "box-1:in-2"},
        {"desk": "desk:receive-2 desk:strip-2", "visit": "visit:receive-2 visit:strip-2"},
    ),
    "late/3": (
        {"edge": "box-1:in-4"},
        {"desk": "desk:receive-4 desk:strip-3", "visit": "visit:receive-4 visit:strip-3"},
    ),
    "9": ({"stage": "box-1:in-3"}, {"desk": "desk:receive-3 desk:strip-9"}),
    "41": ({"desk": "desk:send-1"}, {"pa": "pa:receive-1", "fill": "box-1:out-1 fill:in-1"}),
}


def reading_of(show: str = SHOW, lines: str = LINES) -> Reading:
    """Give a show from its two texts."""
    return read_files({"show.yaml": show, "lines.csv": lines})


def plan_of(
    decided: Mapping[str, tuple[Mapping[str, str], Mapping[str, str]]], reading: Reading
) -> Plan:
    """Give a plan from spots written out."""
    assert reading.show is not None, reading.findings
    lines = []
    for text, (start, ends) in decided.items():
        key = LineKey.parse(text)
        line = reading.show.line(key)
        lines.append(
            LinePlan(
                key=key,
                name=line.name if line else "gone",
                starts_at=next(iter(start), ""),
                start={part: _spots(found) for part, found in start.items()},
                ends={part: _spots(found) for part, found in ends.items()},
            )
        )
    return Plan(lines=tuple(sorted(lines, key=lambda x: x.key.sort_key())))


def _spots(text: str) -> tuple[Spot, ...]:
    return tuple(Spot.parse(word) for word in text.split())


def outcome_of(
    show: str = SHOW,
    lines: str = LINES,
    decided: Mapping[str, tuple[Mapping[str, str], Mapping[str, str]]] = DECIDED,
    *,
    issued: Issued | None = None,
    is_draft: bool = True,
) -> Outcome:
    """Give the outcome of a show and a plan written out by hand."""
    reading = reading_of(show, lines)
    return work_out(reading, plan_of(decided, reading), issued=issued, is_draft=is_draft)


def issued_of(
    show: str = SHOW,
    lines: str = LINES,
    decided: Mapping[str, tuple[Mapping[str, str], Mapping[str, str]]] = DECIDED,
    *,
    revision: int = 1,
) -> Issued:
    """Give a revision issued with that show and plan."""
    reading = reading_of(show, lines)
    return Issued(
        revision=revision,
        by="Mo",
        at="2031-05-04T18:00",
        mark="AAAA-AAAA",
        plan=plan_of(decided, reading),
        show={"show.yaml": show, "lines.csv": lines},
    )


def edition_of(
    outcome: Outcome,
    *,
    reader: Reader = CREW,
    language: str = "en",
    before: Issued | None = None,
) -> Edition:
    """Give an edition of it."""
    return Edition(outcome=outcome, words=words_of(language), reader=reader, before=before)


@cache
def small() -> Outcome:
    """Give the small show as it is planned, with its network."""
    return planned_whole(read_show(ROOT / "shows" / "small"))


def planned_whole(reading: Reading) -> Outcome:
    """Give the outcome of a show as the planner plans it, network included."""
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    return work_out(reading, plan)


#: Two nets, two switches on each, a chain of amplifiers, a unit fed over its cable, a guest's
#: mixer, an uplink, a multicore, a stock of cables, a run given by hand.
WIRED = """\
title: Four Switches
rate: 48 kHz
nets: two
places:
  stage: {at: [0, 0, 0], label: Stage middle}
  wing: {at: [-9, 0, 0], label: Wing}
  front: {at: [0, 20, 0]}
ducts:
  edge: {between: [stage, wing], length: 10 m, label: Edge duct}
  floor: {between: [wing, front], length: 30 m}
  wall: {between: [stage, front], length: 40 m, installed: yes}
circuits:
  house: {supply: 230 V, limit: 32 A}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house, mac: '02:00:00:00:00:0a'}
  visit: {kind: mixer-32, place: front, circuit: house, theirs: yes, net: a}
  visit-2: {kind: mixer-32, place: front, circuit: house, theirs: yes, net: a}
  talk: {kind: paging-station, place: wing, net: a, power: network}
  uplink: {kind: internet-uplink, place: front, circuit: house, net: a}
  amp-1: {kind: amplifier-4, place: wing, circuit: house, net: b, ports: chain}
  sub: {kind: passive-subwoofer, place: wing}
  sw-a-1: {kind: switch-24-poe, place: wing, circuit: house, net: a}
  sw-a-2: {kind: switch-8, place: front, circuit: house, net: a}
  sw-b-1: {kind: switch-8-fibre, place: wing, circuit: house, net: b}
  sw-b-2: {kind: switch-8-fibre, place: front, circuit: house, net: b}
runs:
  long-one: {from: 'sw-a-1:24', to: 'sw-a-2:8', along: [floor], cable: copper, label: Long one}
lines: lines.csv
"""
WIRED_LINES = """\
number,name,from,source,to,private
1,Kick,stage,dynamic mic,desk visit,
2,Lute,stage,ribbon mic,desk,
7,Call,talk,,desk,
41,Main,desk,main mix,sub,
"""


@cache
def wired() -> Outcome:
    """Give a show with all sorts of things on its network, as it is planned."""
    return planned_whole(reading_of(WIRED, WIRED_LINES))


def sheet_named(sheets: tuple[Sheet, ...], name: str) -> Sheet:
    """Give the one sheet of that name."""
    (found,) = [sheet for sheet in sheets if sheet.name == name]
    return found


def rows_of(table: Table) -> list[str]:
    """Give a table's rows as texts, cells parted by bars, blanks at the ends left out."""
    rows = [" | ".join(row.texts).replace("\u00a0", " ") for row in table.rows]
    return [row.rstrip(" |") for row in rows]


def all_text(sheets: tuple[Sheet, ...]) -> str:
    """Give everything the sheets say in tables and texts, to look for what must not be there."""
    rows = [row for sheet in sheets for table in sheet.tables for row in rows_of(table)]
    pictures = [picture.svg for sheet in sheets for picture in sheet.pictures]
    return "\n".join([*(sheet.title for sheet in sheets), *rows, *pictures])
