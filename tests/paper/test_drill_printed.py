"""The drill as it is printed: no card parted, nothing cut off, to be read in the dark."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from lineproof.paper.pdf import PAPERS, draw_book
from lineproof.paper.sheet import Card, Cards, Part, Sheet
from lineproof.paper.sheets.drill import drill_sheets, drill_tables
from lineproof.rescue.moves import Do, Move
from tests.paper.drilled import (
    HALLWAY,
    HALLWAY_LINES,
    drilled,
    facts_in,
    hallway,
    outcome_named,
    shipped,
    unit,
)
from tests.paper.press import edition_of, reading_of, sheet_named
from tests.paper.reading_pdf import Page, pages, sizes

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
