"""The drill's papers in the face: the same words as on paper, once rescues are worked out."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from lineproof.paper.sheet import Cards, Table
from lineproof.paper.sheets.drill import drill_sheets
from lineproof.web.views.papers import Wish, edition_of
from lineproof.web.worked import Worked
from tests.web.conftest import Ask, worked_out


@pytest.fixture(scope="module")
def rescued(issued_small: Path) -> Worked:
    return worked_out(issued_small, "rescue")


def words(text: str) -> str:
    """Give a page's text without marks, and without blanks, which may stand anywhere in it."""
    return "".join(unescape(re.sub(r"<[^>]*>", "", text)).split())


@pytest.mark.parametrize("name", ["drill-summary", "drill-lines", "drill-cards"])
def test_the_page_says_all_that_the_sheet_says(name: str, rescued: Worked, ask: Ask) -> None:
    sheets = drill_sheets(edition_of(rescued, Wish()))
    (sheet,) = [each for each in sheets if each.name == name]
    page = ask(rescued).get(f"/papers?sheet={name}")
    assert page.status_code == 200
    text = words(page.text)
    for block in sheet.blocks:
        if isinstance(block, Table):
            said = [cell for row in block.rows for cell in row.texts if cell]
        elif isinstance(block, Cards):
            said = [card.title for card in block.cards]
            said += [part.title for card in block.cards for part in card.parts]
            said += [step for card in block.cards for part in card.parts for step in part.steps]
            said += [fact for card in block.cards for _, fact in card.facts]
            said += [caution for card in block.cards for caution in card.cautions]
        else:
            continue
        assert said
        assert [each for each in said if words(each) not in text] == []


def test_the_api_gives_the_cards_step_by_step(rescued: Worked, ask: Ask) -> None:
    sheets = drill_sheets(edition_of(rescued, Wish()))
    cards = sheets[-1].cards
    shown = ask(rescued).get("/api/papers?sheet=drill-cards").json()["shown"]
    (told,) = [block["cards"] for block in shown["blocks"] if "cards" in block]
    assert [card["title"] for card in told] == [card.title for card in cards]
    assert [[p["steps"] for p in c["parts"]] for c in told] == [
        [list(part.steps) for part in card.parts] for card in cards
    ]


def test_before_rescues_are_worked_out_there_is_no_such_sheet(small: Worked, ask: Ask) -> None:
    assert "sheet=drill-" not in ask(small).get("/papers").text
