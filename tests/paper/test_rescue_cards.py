"""Rescue cards: steps that say exactly the moves, and what stands on each card."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.paper.sheets.drill import drill_sheets
from lineproof.paper.sheets.rescue_cards import card_numbers
from lineproof.paper.sheets.rescue_moves import step_told
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.steps import steps_of
from lineproof.show.model import Need
from tests.paper.drilled import (
    ALL,
    cards_in,
    facts_in,
    hallway,
    unit,
)
from tests.paper.press import edition_of, sheet_named

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
    for new in [f"{name}:{parts['new']}" for name in units] or [parts["new"]]:
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
