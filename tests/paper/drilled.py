"""Shows whose drill is printed, worked out once: shipped ones, and some made for the purpose."""

from __future__ import annotations

from functools import cache

from lineproof.decide.whole import decide_whole
from lineproof.graph.faults import Fault
from lineproof.outcome import Outcome, work_out
from lineproof.paper.sheet import Card
from lineproof.paper.sheets.drill import drill_sheets
from lineproof.paper.sheets.drill_facts import Facts, facts_of
from lineproof.paper.sheets.rescue_cards import card_numbers
from lineproof.show.read import Reading, read_show
from tests.paper.press import LINES, ROOT, SHOW, edition_of, reading_of, sheet_named

#: Two boxes side by side, a spare mixer beside the mixer, announcements over one loudspeaker.
HALLWAY = """\
title: Two Boxes
rate: 48 kHz
places:
  stage: {at: [0, 0, 0], label: Stage middle}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
circuits:
  left: {supply: 230 V, label: Left feed}
  right: {supply: 230 V}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: left, label: First box}
  box-2: {kind: box-16-8, place: stage, number: 2, circuit: right}
  desk: {kind: mixer-64, place: front, circuit: right}
  pa: {kind: powered-loudspeaker, place: stage, circuit: right}
  sw-1: {kind: switch-8, place: stage, circuit: right}
lines: lines.csv
"""
HALLWAY_LINES = """\
number,name,from,source,to,socket,need
1,Kick,stage,dynamic mic,desk,box-1:1,
2,Snare,stage,dynamic mic,desk,box-1:2,
3,Lute,stage,dynamic mic,desk,box-1:3,
9,Room,stage,dynamic mic,desk,box-1:9,want
41,Announcements,desk,main mix,pa,,safety
"""
#: What people could write, or mean to break things with.
HOSTILE = ("W" * 64, "#panic() *bold* <label>", "Donaudampfschifffahrtsgesellschaft" * 2, "=1+1")


def drilled(reading: Reading) -> Outcome:
    """Give the outcome of a show as the planner plans it, drilled to the rescues."""
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    return work_out(reading, plan, upto="rescue")


@cache
def shipped(name: str) -> Outcome:
    return drilled(read_show(ROOT / "shows" / name))


@cache
def hallway() -> Outcome:
    return drilled(reading_of(HALLWAY, HALLWAY_LINES))


@cache
def acts() -> Outcome:
    return drilled(reading_of(SHOW, LINES))


@cache
def hostile() -> Outcome:
    """Give a show in which lines, units, circuits and places have the worst labels."""
    show, lines = HALLWAY, HALLWAY_LINES
    for old, new in zip(("Kick", "Snare", "Announcements", "Lute"), HOSTILE, strict=True):
        lines = lines.replace(f",{old},", f',"{new}",')
    for old, new in zip(("First box", "Left feed", "Stage middle"), HOSTILE, strict=False):
        show = show.replace(f"label: {old}", f"label: '{new}'")
    return drilled(reading_of(show, lines))


SHOWS = {"small": shipped, "hall": shipped}
MADE = {"hallway": hallway, "acts": acts, "hostile": hostile}


def outcome_named(name: str) -> Outcome:
    return SHOWS[name](name) if name in SHOWS else MADE[name]()


def facts_in(name: str, language: str = "en") -> Facts:
    found = facts_of(edition_of(outcome_named(name), language=language))
    assert found is not None
    return found


def cards_in(name: str, language: str = "en") -> dict[Fault, Card]:
    """Give the cards by fault."""
    facts = facts_in(name, language)
    sheet = sheet_named(drill_sheets(facts.edition), "drill-cards")
    by_number = {card.number: card for card in sheet.cards}
    return {fault: by_number[n] for fault, n in card_numbers(facts).items()}


def unit(name: str) -> Fault:
    return Fault(what="unit", name=name)


ALL = ("small", "hall", *MADE)
