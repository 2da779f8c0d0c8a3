"""The patch book: which sheets a reader gets, in which order."""

from __future__ import annotations

from lineproof.paper.edition import Edition
from lineproof.paper.readers import For
from lineproof.paper.sheet import Sheet
from lineproof.paper.sheets.changes import change_sheets, changeover_sheets
from lineproof.paper.sheets.cover import cover_sheet
from lineproof.paper.sheets.findings import caution_sheets, finding_sheets
from lineproof.paper.sheets.inputs import input_sheets
from lineproof.paper.sheets.linecheck import line_check_sheets
from lineproof.paper.sheets.patch import patch_sheets
from lineproof.paper.sheets.performers import performer_sheets
from lineproof.paper.sheets.places import place_sheets
from lineproof.paper.sheets.room import room_sheets
from lineproof.paper.sheets.stores import store_sheets
from lineproof.paper.sheets.switching import switching_sheets
from lineproof.paper.sheets.ways import way_sheets

#: What each reader gets, in order. What concerns the whole show is the crew's.
_SHEETS = {
    For.CREW: (
        change_sheets,
        input_sheets,
        patch_sheets,
        place_sheets,
        changeover_sheets,
        line_check_sheets,
        store_sheets,
        room_sheets,
        way_sheets,
        performer_sheets,
        switching_sheets,
        finding_sheets,
        caution_sheets,
    ),
    For.PERFORMER: (performer_sheets, caution_sheets),
    For.GUEST: (
        input_sheets,
        patch_sheets,
        line_check_sheets,
        way_sheets,
        caution_sheets,
    ),
}


def book(edition: Edition) -> tuple[Sheet, ...]:
    """Give every sheet of an edition, the cover first."""
    sheets = [sheet for make in _SHEETS[edition.reader.kind] for sheet in make(edition)]
    return (cover_sheet(edition, tuple(sheets)), *sheets)
