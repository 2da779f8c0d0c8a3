"""The drill on paper: one page for who decides, which fault takes which line, rescue cards."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Sheet
from lineproof.paper.sheets.drill_facts import facts_of
from lineproof.paper.sheets.drill_lines import line_sheet
from lineproof.paper.sheets.drill_summary import summary_sheet
from lineproof.paper.sheets.rescue_cards import card_numbers, card_sheet


def drill_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the sheets of the drill, none where it was not worked out to the rescues."""
    facts = facts_of(edition)
    if facts is None:
        return ()
    numbers = card_numbers(facts)
    return (
        summary_sheet(facts, numbers),
        line_sheet(facts, numbers),
        card_sheet(facts, numbers),
    )
