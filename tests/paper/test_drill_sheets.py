"""The drill on paper: one page, which fault takes which line, rescue cards that can be trusted."""

from __future__ import annotations

import dataclasses
import itertools
import json
import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.cli import papers as papers_command
from lineproof.cli.main import main
from lineproof.decide.whole import decide_whole
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault, things
from lineproof.outcome import Outcome, work_out
from lineproof.paper.book import book
from lineproof.paper.edition import Edition
from lineproof.paper.pdf import PAPERS, draw_book
from lineproof.paper.readers import For, Reader
from lineproof.paper.sheet import Card, Cards, Part, Sheet, Text
from lineproof.paper.sheets.drill import drill_sheets, drill_tables
from lineproof.paper.sheets.drill_facts import Facts, facts_of
from lineproof.paper.sheets.rescue_cards import card_numbers
from lineproof.paper.sheets.rescue_moves import step_told
from lineproof.paper.translate import LANGUAGES
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.steps import steps_of
from lineproof.show.model import Need
from lineproof.show.read import Reading, read_show
from tests.paper.press import LINES, ROOT, SHOW, edition_of, reading_of, rows_of, sheet_named
from tests.paper.reading_pdf import Page, pages, sizes

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

# -- the page for who decides --------------------------------------------------------------------


@pytest.mark.needs("pdftotext", "poppler-utils")
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ALL)
def test_the_summary_takes_exactly_one_page(name: str, language: str, tmp_path: Path) -> None:
    edition = edition_of(outcome_named(name), language=language)
    sheet = sheet_named(drill_sheets(edition), "drill-summary")
    for paper in ("a4", "letter"):
        assert len(pages(draw_book(edition, [sheet], PAPERS[paper]), tmp_path)) == 1


def needed_by_plain(outcome: Outcome, fault: Fault) -> set[str]:
    """Give the needed lines that a fault takes where they must be, by the plain method."""
    show = outcome.show
    lost = set()
    for verdict in lose(show, outcome.plan, fault).verdicts:
        line = show.line(verdict.line)
        assert line is not None
        ends = [e for e in verdict.ends if e.standing.state is State.LOST and not e.want]
        if line.need in (Need.MUST, Need.SAFETY) and ends:
            lost.add(str(verdict.line))
    return lost


def test_the_summary_counts_what_the_plain_method_counts() -> None:
    outcome = shipped("small")
    faults = things(outcome.show, outcome.plan.network)
    taking = {fault: needed_by_plain(outcome, fault) for fault in faults}
    sheet = sheet_named(drill_sheets(edition_of(outcome)), "drill-summary")
    tried, worst, *_ = sheet.tables
    singles, pairs, threes = tried.rows
    assert singles.texts[1] == str(len(faults))
    assert singles.texts[2] == str(sum(1 for lost in taking.values() if lost))
    assert pairs.texts[1] == f"{len(faults) * (len(faults) - 1) // 2:,}"
    assert threes.texts[1] == "2,000"
    assert len(worst.rows) == 10
    assert worst.rows[0].texts[3] == str(max(len(lost) for lost in taking.values()))
    counts = [int(row.texts[3]) for row in worst.rows]
    assert counts == sorted(counts, reverse=True)


def test_the_summary_says_what_stops_and_what_somebody_took_on() -> None:
    accept = "accept: [{finding: safety-silenced, of: [pa], reason: staff shout, by: R. Roe}]\n"
    outcome = drilled(reading_of(HALLWAY + accept, HALLWAY_LINES))
    sheets = book(edition_of(outcome))
    standing = [f for f in outcome.drilled if f.grade.value == "stop" and not f.accepted]
    taken_on = [f for f in outcome.drilled if f.accepted]
    assert standing
    assert taken_on
    (loud,) = [
        b for b in sheet_named(sheets, "drill-summary").blocks if isinstance(b, Text) and b.loud
    ]
    assert f"Stops by one fault: {len(standing)}." in loud.paragraphs[0]
    assert loud.paragraphs[1].endswith(f"Accepted: {len(taken_on)}.")
    tables = {t.name: rows_of(t) for t in sheet_named(sheets, "findings").tables}
    assert [row for row in tables["accepted"] if "by R. Roe: staff shout" in row]
    assert len(tables["drill-findings"]) == len(outcome.drilled) - len(taken_on)


@pytest.mark.parametrize("language", LANGUAGES)
def test_rates_and_paces_are_said_to_be_assumed(language: str) -> None:
    said = {"en": "assumed, not measured", "de": "angenommen, nicht gemessen"}[language]
    sheets = drill_sheets(edition_of(hallway(), language=language))
    for name in ("drill-summary", "drill-cards"):
        texts = [b for b in sheet_named(sheets, name).blocks if isinstance(b, Text)]
        assert said in " ".join(p for text in texts for p in text.paragraphs), name


# -- which fault takes which line ----------------------------------------------------------------


def test_every_letter_is_what_the_plain_method_says() -> None:
    outcome = shipped("small")
    facts = facts_in("small")
    sheet = sheet_named(drill_sheets(facts.edition), "drill-lines")
    heads = [column.title for table in sheet.tables for column in table.columns[2:]]
    columns = {}
    for table in sheet.tables:
        for n, column in enumerate(table.columns[2:], start=2):
            columns[column.title] = {row.texts[0]: row.texts[n] for row in table.rows}
    assert len(heads) == len(set(heads))
    letters = {"E": State.OTHER_END, "N": State.OTHER_NET, "S": State.STANDBY, "?": State.UNKNOWN}
    for name in ("desk", "side", "box-1", "sw-stage"):
        (head,) = [h for h in heads if h == name or h.startswith(f"{name} +")]
        verdicts = {
            str(v.line): v.state for v in lose(outcome.show, outcome.plan, unit(name)).verdicts
        }
        for key, state in verdicts.items():
            letter = columns[head].get(key, "")
            if state is State.LOST:
                assert letter.upper() in ("L", "R"), (name, key)
            else:
                assert letters.get(letter, State.UNTOUCHED) is state, (name, key)


def test_a_letter_tells_what_a_rescue_brings_back_and_what_the_act_can_do_without() -> None:
    sheet = sheet_named(drill_sheets(edition_of(hallway())), "drill-lines")
    (table,) = sheet.tables
    heads = [column.title for column in table.columns]
    rows = {row.texts[0]: row.texts for row in table.rows}
    box = next(n for n, head in enumerate(heads) if head.startswith("box-1"))
    desk = next(n for n, head in enumerate(heads) if head.startswith("desk"))
    # Box 2 stands beside box 1: the leads go over. Nothing stands in for the mixer.
    assert [rows[key][box] for key in ("1", "2", "3")] == ["R", "R", "R"]
    assert rows["9"][box].islower()
    assert rows["1"][desk] == "L"
    assert rows["9"][desk] == "l"


def test_the_workbook_has_every_line_that_each_fault_touches() -> None:
    outcome = hallway()
    table = next(t for t in drill_tables(edition_of(outcome)) if t.name == "drill-lines")
    told = {
        (fault, row.texts[1]): row.texts[3]
        for row in table.rows
        for fault in row.texts[0].split(", ")
    }
    assert outcome.drill is not None
    wanted = {
        (str(d.fault), str(v.line)): v.state.value
        for d in outcome.drill.singles
        for v in d.verdicts
        if v.state is not State.UNTOUCHED
    }
    assert told == wanted


def test_what_would_fill_too_many_sheets_is_told_as_a_list(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lineproof.paper.sheets.drill_lines._MOST_SHEETS", 1)
    edition = edition_of(shipped("hall"))
    sheet = sheet_named(drill_sheets(edition), "drill-lines")
    (table,) = sheet.tables
    counts = [int(row.texts[1]) for row in table.rows]
    assert counts == sorted(counts, reverse=True)
    (box,) = [row for row in rows_of(table) if row.startswith("box-1 |")]
    assert "Harbour Choir 1–4" in box


def test_where_no_fault_takes_a_line_the_sheet_says_so() -> None:
    lines = "number,name,from,source,to,need\n"
    show = HALLWAY
    reading = reading_of(show, lines)
    assert reading.show is not None
    plan = decide_whole(reading.show).plan
    assert plan is not None
    outcome = work_out(reading, plan, upto="rescue")
    sheet = sheet_named(drill_sheets(edition_of(outcome)), "drill-lines")
    assert [b.paragraphs for b in sheet.blocks if isinstance(b, Text)] == [
        ("No single fault takes a line.",)
    ]
    assert not sheet_named(drill_sheets(edition_of(outcome)), "drill-cards").cards


# -- steps that can be taken apart again ---------------------------------------------------------


def numbers(text: str) -> list[int]:
    """Give the numbers of a range as people write it: `3–5` or `7`."""
    first, _, last = text.partition("–")
    return list(range(int(first), int(last or first) + 1))


#: What steps say, each with the parts of what is put in, and how its pairs of numbers are joined.
SAID = (
    (r"\d+ leads out of (?P<old>\S+) into (?P<new>\S+): (?P<runs>.*)", " to "),
    (r"Patch (?P<old>\S+) to (?P<new>\S+): (?P<runs>.*)", " to "),
    (r"At (?P<units>.*): (?P<new>\S+) hear (?P<old>\S+): (?P<runs>.*)", " from "),
    (r"At (?P<units>.*): (?P<new>\S+) hears (?P<old>\S+)", ""),
    (r"(?P<new>\S+) hear (?P<old>\S+): (?P<runs>.*)", " from "),
    (r"(?P<new>\S+) hears (?P<old>\S+)", ""),
    (r"Patch (?P<old>\S+) to (?P<new>\S+)", ""),
    (r"Lead of .*: out of (?P<old>\S+), into (?P<new>\S+)", ""),
)


def expanded(told: str) -> set[tuple[str, str]]:
    """Give what a step means, spot by spot, from where and to where: from its words alone."""
    found, between = next((m, b) for text, b in SAID if (m := re.fullmatch(text, told)))
    parts = found.groupdict()
    units = parts["units"].split(", ") if "units" in parts else []
    made: set[tuple[str, str]] = set()
    for new in [f"{unit}:{parts['new']}" for unit in units] or [parts["new"]]:
        if between:
            made |= paired(parts["old"], new, parts["runs"], between)
        else:
            made.add((parts["old"], new))
    return made


def paired(old: str, new: str, runs: str, between: str) -> set[tuple[str, str]]:
    made = set()
    for run in runs.split(", "):
        one, other = run.split(between)
        olds, news = (one, other) if between == " to " else (other, one)
        made |= {
            (f"{old}-{a}", f"{new}-{b}") for a, b in zip(numbers(olds), numbers(news), strict=True)
        }
    return made


def meant(move: Move) -> tuple[str, str]:
    """Give from where to where a move goes, by itself."""
    if move.do is Do.ROUTE:
        return move.what, move.new
    if move.do is Do.PATCH:
        side, _, name = move.what.partition(" of ")
        return f"{name}:{side}", move.new
    return move.old, move.new


@pytest.mark.parametrize("name", ["small", "hall"])
def test_the_steps_of_a_card_say_exactly_the_moves(name: str) -> None:
    facts = facts_in(name)
    cards = cards_in(name)
    shortened = 0
    for toll in facts.tolls:
        moves = toll.rescue.moves
        if not moves:
            continue
        steps = [s for part in cards[toll.faults[0]].parts for s in part.steps]
        spots = [s for s in steps if not s.startswith(("Lay ", "Network cable ", "Mix ", "Play "))]
        wanted = [m for m in moves if m.do in (Do.PLUG, Do.PATCH, Do.ROUTE)]
        said = [expanded(step) for step in spots]
        assert set().union(*said) == {meant(move) for move in wanted}
        assert sum(map(len, said)) == len(wanted)
        assert len(steps) - len(spots) == len(moves) - len(wanted)
        shortened += len(moves) - len(steps)
    assert shortened > 0 or name == "small"


@given(
    st.lists(
        st.tuples(
            st.sampled_from([Do.PLUG, Do.PATCH, Do.ROUTE]),
            st.sampled_from(["box-1", "box-2"]),
            st.sampled_from(["desk", "side", "rec-1"]),
            st.integers(1, 40),
            st.integers(1, 40),
        ),
        unique=True,
        max_size=80,
    )
)
def test_any_moves_are_told_in_steps_that_say_just_them(
    drawn: list[tuple[Do, str, str, int, int]],
) -> None:
    moves = [
        Move(
            do=do,
            place="stage",
            unit=unit,
            what=f"{box}:send-{a}",
            old="",
            new=f"{unit}:receive-{b}",
        )
        if do is Do.ROUTE
        else Move(
            do=do,
            place="stage",
            unit=unit,
            what=f"receive-{a} of {unit}",
            old="",
            new=f"{unit}:out-{b}",
        )
        if do is Do.PATCH
        else Move(
            do=do,
            place="stage",
            unit=unit,
            what="lead of line 1 (x)",
            old=f"{box}:in-{a}",
            new=f"{unit}:in-{b}",
        )
        for do, box, unit, a, b in drawn
    ]
    edition = edition_of(hallway())
    steps = steps_of(moves)
    assert sorted(map(repr, itertools.chain(*(s.moves for s in steps)))) == sorted(map(repr, moves))
    told = [(step.first.do, expanded(step_told(edition, step))) for step in steps]
    assert {(do, pair) for do, each in told for pair in each} == {(m.do, meant(m)) for m in moves}


# -- the cards -----------------------------------------------------------------------------------


def test_a_dead_box_has_a_card_that_says_what_to_plug_where() -> None:
    card = cards_in("hallway")[unit("box-1")]
    assert card.title == "First box (box-1) dead"
    facts = dict(card.facts)
    assert facts["Lost"] == (
        "3 lines: 1 Kick, 2 Snare, 3 Lute; at desk; besides these, 1 that the act can do without"
    )
    assert facts["Back"].startswith("all of it, in about ")
    assert facts["Back"].endswith(" min (assumed)")
    first, last = card.parts
    assert (first.title, last.title) == ("Stage middle", "At screens")
    assert expanded(first.steps[0]) == {(f"box-1:in-{n}", f"box-2:in-{n}") for n in (1, 2, 3, 9)}
    assert "Mute before you plug." in card.cautions


def test_what_is_beyond_help_has_a_card_that_says_so() -> None:
    card = cards_in("hallway")[unit("desk")]
    assert dict(card.facts)["Back"] == "nothing at hand brings it back"
    assert card.parts == ()


@pytest.mark.parametrize("name", ALL)
def test_every_fault_that_hurts_a_needed_line_is_in_the_index(name: str) -> None:
    facts = facts_in(name)
    sheet = sheet_named(drill_sheets(facts.edition), "drill-cards")
    texts = [row.texts for table in sheet.tables for row in table.rows]
    told = [(row[n], row[n + 1]) for row in texts for n in range(0, len(row), 2) if row[n]]
    hurting = [
        fault
        for fault, rescue in facts.rescued.by_fault.items()
        if any(facts.needs(end) for end in rescue.lost)
    ]
    assert len(told) == len(hurting)
    numbers_told = sorted({int(n) for _, n in told if n != "–"})
    assert numbers_told == [card.number for card in sheet.cards]
    assert numbers_told == list(range(1, len(sheet.cards) + 1))


def test_what_takes_one_line_and_can_not_be_helped_is_only_in_the_index() -> None:
    facts, numbers_of = facts_in("small"), card_numbers(facts_in("small"))
    without = [t for t in facts.tolls if t.faults[0] not in numbers_of]
    assert without
    for toll in without:
        assert len(toll.lines) == 1
        assert toll.rescue.moves == ()
        assert facts.line(toll.lines[0]).need is not Need.SAFETY


@pytest.mark.parametrize("name", ALL)
def test_cards_of_circuits_and_announcements_defer_to_those_who_decide(name: str) -> None:
    cards = cards_in(name)
    facts = facts_in(name)
    for toll in facts.tolls:
        card = cards.get(toll.faults[0])
        if card is None:
            continue
        said = " ".join(card.cautions)
        assert ("licensed people" in said) == any(
            fault.what in ("circuit", "supply", "place") for fault in toll.faults
        )
        safety = any(facts.line(at).need is Need.SAFETY for at in toll.lines)
        assert ("emergency plan and local codes" in said) == safety
        by_hand = any(move.do.by_hand for move in toll.rescue.moves)
        assert ("Nobody climbs" in said) == by_hand
    if name == "hallway":
        assert any("emergency plan" in c for card in cards.values() for c in card.cautions)


def test_places_stand_in_walking_order_and_screens_last() -> None:
    facts = facts_in("hall")
    cards = cards_in("hall")
    for toll in facts.tolls:
        if toll.rescue.moves:
            walked = dict.fromkeys(m.place for m in toll.rescue.moves if m.do.by_hand)
            titles = [part.title for part in cards[toll.faults[0]].parts]
            places = [facts.edition.show.places[p].label or p for p in walked]
            screens = any(not m.do.by_hand for m in toll.rescue.moves)
            assert titles == [*places, *(["At screens"] if screens else [])]


def test_on_german_cards_only_names_stay_as_they_are() -> None:
    card = cards_in("hallway", "de")[unit("box-1")]
    assert card.title == "First box (box-1) ausgefallen"
    assert [name for name, _ in card.facts] == ["Weg", "Zurück"]
    assert card.parts[0].steps[0].startswith("4 Kabel aus box-1:in in box-2:in: 1–3 auf 1–3")
    assert card.parts[-1].title == "Am Bildschirm"


# -- as they are printed -------------------------------------------------------------------------


def page_of(found: list[Page], words: str) -> set[int]:
    """Give the pages on which some words stand, blanks left out: they may be set in rows."""
    bare = words.replace(" ", "")
    return {n for n, page in enumerate(found) if bare in page.text.replace(" ", "")}


def card_sheet_of(cards: tuple[Card, ...]) -> Sheet:
    return Sheet(name="x", title="x", for_whom="x", blocks=(Cards(cards=cards),))


@pytest.mark.needs("pdftotext", "poppler-utils")
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("name", "language"), [("hall", "en"), ("hostile", "de"), ("small", "de")])
def test_no_card_is_on_two_pages_and_nothing_of_it_is_missing(
    name: str, language: str, paper: str, tmp_path: Path
) -> None:
    edition = edition_of(outcome_named(name), language=language)
    cards = sheet_named(drill_sheets(edition), "drill-cards").cards
    assert cards
    found = pages(draw_book(edition, [card_sheet_of(cards)], PAPERS[paper]), tmp_path)
    for page in found:
        outside = [
            w for w in page.words if w.right > page.width - 11.8 or w.bottom > page.height - 5
        ]
        assert outside == []
    if name == "hostile":
        return  # broken words come back in pieces; that they stay on the page is what counts
    for card in cards:
        texts = [card.title, *(text for _, text in card.facts), *card.cautions]
        texts += [step for part in card.parts for step in part.steps]
        together = set.intersection(*(page_of(found, text) for text in texts))
        assert together, card.title


@pytest.mark.needs("pdftotext", "poppler-utils")
def test_the_longest_card_takes_one_page_and_says_what_it_leaves_out(tmp_path: Path) -> None:
    facts = facts_in("hallway")
    toll = next(t for t in facts.tolls if t.faults[0] == unit("box-1"))
    # Three hundred cables that can't be told together.
    moves = tuple(
        Move(
            do=Do.CABLE,
            place=f"p{n % 7}",
            unit="desk",
            what=f"network cable {'w' * 40}-{n}",
            old=f"box-1:{n}",
            new=f"box-2:{n}",
        )
        for n in range(300)
    )
    outcome = facts.edition.outcome
    assert outcome.rescued is not None
    rescue = dataclasses.replace(toll.rescue, moves=moves)
    by_fault = {**outcome.rescued.by_fault, unit("box-1"): rescue}
    rescued = dataclasses.replace(outcome.rescued, by_fault=by_fault)
    edition = edition_of(dataclasses.replace(outcome, rescued=rescued))
    sheet = sheet_named(drill_sheets(edition), "drill-cards")
    card = sheet.cards[0]
    assert card.title.endswith("(box-1) dead")
    assert "table drill-moves" in " ".join(card.cautions)
    moved = next(t for t in drill_tables(edition) if t.name == "drill-moves")
    assert len(moved.rows) >= 300
    for paper in ("a4", "letter"):
        found = pages(draw_book(edition, [card_sheet_of((card,))], PAPERS[paper]), tmp_path)
        assert len([page for page in found if "box-1" in page.text]) == 1


@pytest.mark.needs("pdftohtml", "poppler-utils")
def test_steps_are_set_to_be_read_in_the_dark(tmp_path: Path) -> None:
    part = Part(title="Stage", steps=("Lead of Kick: out of box-1:in-1, into box-2:in-1",))
    card = Card(number=7, title="Box dead", facts=(("Lost", "Kick"),), parts=(part,))
    edition = edition_of(hallway())
    found = sizes(draw_book(edition, [card_sheet_of((card,))], PAPERS["a4"]), tmp_path)
    steps = {size for text, used in found.items() if "Lead of" in text for size in used}
    titles = {size for text, used in found.items() if "Box dead" in text for size in used}
    assert (steps, titles) == ({14}, {18})


@pytest.mark.needs("pdftohtml", "poppler-utils")
def test_nothing_of_the_drill_is_set_below_10_points(tmp_path: Path) -> None:
    edition = edition_of(shipped("hall"), language="de")
    found = sizes(draw_book(edition, drill_sheets(edition), PAPERS["letter"]), tmp_path)
    assert min(size for used in found.values() for size in used) >= 10


@pytest.mark.needs("pdftotext", "poppler-utils")
@pytest.mark.parametrize("name", ["small", "hostile"])
def test_every_sheet_of_the_drill_keeps_its_margins_and_says_its_status(
    name: str, tmp_path: Path
) -> None:
    edition = edition_of(outcome_named(name))
    for page in pages(draw_book(edition, drill_sheets(edition), PAPERS["a4"]), tmp_path):
        assert page.text.count(edition.status) >= 2
        assert [w for w in page.words if w.left < 11.8 or w.right > page.width - 11.8] == []


@pytest.mark.parametrize("name", ["small", "hostile"])
def test_the_sheets_of_the_drill_are_valid_pdf_ua(name: str) -> None:
    page = pytest.importorskip("page", reason="page-validation (a validator of PDF/UA)")
    edition = edition_of(outcome_named(name))
    pdf = draw_book(edition, drill_sheets(edition), PAPERS["a4"])
    report = page.validate_pdf_bytes(pdf, profile="ua1")
    assert [failure.message for failure in report.failures] == []


def test_the_same_drill_gives_the_same_bytes() -> None:
    made = [
        draw_book(e, drill_sheets(e), PAPERS["a4"])
        for e in (edition_of(hallway()), edition_of(drilled(reading_of(HALLWAY, HALLWAY_LINES))))
    ]
    assert made[0] == made[1]


# -- who gets it, and when -----------------------------------------------------------------------


def drill_names(edition: Edition) -> list[str]:
    return [sheet.name for sheet in book(edition) if sheet.name.startswith("drill-")]


def test_only_the_crew_gets_the_drill() -> None:
    outcome = acts()
    assert drill_names(edition_of(outcome)) == ["drill-summary", "drill-lines", "drill-cards"]
    for reader in (Reader(kind=For.PERFORMER, name="drums"), Reader(kind=For.GUEST)):
        assert drill_names(edition_of(outcome, reader=reader)) == []


def test_before_rescues_were_worked_out_no_sheet_of_the_drill_is_printed() -> None:
    reading = reading_of(HALLWAY, HALLWAY_LINES)
    assert reading.show is not None
    plan = decide_whole(reading.show).plan
    assert plan is not None
    for upto in ("figures", "pairs"):
        edition = edition_of(work_out(reading, plan, upto=upto))
        assert drill_names(edition) == []
        assert "drill-findings" not in [t.name for s in book(edition) for t in s.tables]


def show_in(folder: Path) -> Path:
    folder.mkdir()
    (folder / "show.yaml").write_text(HALLWAY, "utf-8")
    (folder / "lines.csv").write_text(HALLWAY_LINES, "utf-8")
    assert main(["plan", str(folder), "--quiet"]) == 0
    return folder


def printed(folder: Path, out: Path, *more: str) -> set[str]:
    main(["papers", str(folder), "--out", str(out), *more])
    return {p.name for p in (out / "csv").iterdir() if p.name.startswith("drill-")}


def test_papers_print_the_drill_but_not_without_it(tmp_path: Path) -> None:
    folder = show_in(tmp_path / "show")
    with_it = printed(folder, tmp_path / "out")
    assert {"drill-lines.csv", "drill-cards.csv", "drill-moves.csv"} <= with_it
    assert printed(folder, tmp_path / "out", "--without", "drill") == set()


def test_a_large_show_is_told_how_to_have_its_drill_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(papers_command, "MOST_TO_DRILL", 10)
    folder = show_in(tmp_path / "show")
    capsys.readouterr()
    assert printed(folder, tmp_path / "out", "--json") == set()
    told = capsys.readouterr()
    assert "Print them with --drill" in told.err
    assert "rescues" in json.loads(told.out)["not-tried"]
    assert printed(folder, tmp_path / "out", "--drill") != set()


def test_asking_for_the_drill_and_against_it_is_a_wrong_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = show_in(tmp_path / "show")
    out = str(tmp_path / "out")
    assert main(["papers", str(folder), "--out", out, "--drill", "--without", "drill"]) == 4
    assert "--drill and --without drill: say one or the other" in capsys.readouterr().err
