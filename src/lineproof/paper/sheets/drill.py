"""The drill on paper: one page for who decides, which fault takes which line, rescue cards."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Sheet, Table
from lineproof.paper.sheets.drill_facts import facts_of
from lineproof.paper.sheets.drill_lines import line_sheet, states_table
from lineproof.paper.sheets.drill_summary import causes_table, pairs_table, summary_sheet
from lineproof.paper.sheets.rescue_cards import card_numbers, card_sheet, faults_table, moves_table


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


def drill_tables(edition: Edition) -> tuple[Table, ...]:
    """Give all of the drill that is too long for paper: it stands in the workbook and as CSV."""
    facts = facts_of(edition)
    if facts is None:
        return ()
    numbers = card_numbers(facts)
    made = (
        states_table(facts),
        faults_table(facts, numbers),
        moves_table(facts, numbers),
        pairs_table(facts),
        causes_table(facts),
    )
    return tuple(table for table in made if table.rows)
