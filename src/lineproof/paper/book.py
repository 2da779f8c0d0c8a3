"""The patch book: which sheets a reader gets, in which order."""

from __future__ import annotations

from collections.abc import Collection

from lineproof.paper.edition import Edition
from lineproof.paper.readers import For
from lineproof.paper.sheet import Sheet
from lineproof.paper.sheets.addressing import address_sheets, stream_sheets
from lineproof.paper.sheets.cabling import cabling_sheets
from lineproof.paper.sheets.changes import change_sheets, changeover_sheets
from lineproof.paper.sheets.cover import cover_sheet
from lineproof.paper.sheets.drill import drill_sheets
from lineproof.paper.sheets.findings import caution_sheets, finding_sheets
from lineproof.paper.sheets.inputs import input_sheets
from lineproof.paper.sheets.linecheck import line_check_sheets
from lineproof.paper.sheets.netmaps import net_sheets
from lineproof.paper.sheets.patch import patch_sheets
from lineproof.paper.sheets.performers import performer_sheets
from lineproof.paper.sheets.places import place_sheets
from lineproof.paper.sheets.room import room_sheets
from lineproof.paper.sheets.stores import store_sheets
from lineproof.paper.sheets.switches import switch_sheets
from lineproof.paper.sheets.switching import switching_sheets
from lineproof.paper.sheets.timing import timing_sheets
from lineproof.paper.sheets.ways import way_sheets

#: The parts of a book that may be left out, by the words of `--without`, in order.
PARTS = {
    "inputs": input_sheets,
    "patch": patch_sheets,
    "places": place_sheets,
    "changeovers": changeover_sheets,
    "line-check": line_check_sheets,
    "stores": store_sheets,
    "cabling": cabling_sheets,
    "nets": net_sheets,
    "switches": switch_sheets,
    "addresses": address_sheets,
    "streams": stream_sheets,
    "timing": timing_sheets,
    "room": room_sheets,
    "ways": way_sheets,
    "performers": performer_sheets,
    "switching": switching_sheets,
    "drill": drill_sheets,
}
#: What each reader gets of them. What concerns the whole show is the crew's.
_OF = {
    For.CREW: tuple(PARTS),
    For.PERFORMER: ("performers",),
    For.GUEST: ("inputs", "patch", "line-check", "ways"),
}


def book(edition: Edition, without: Collection[str] = ()) -> tuple[Sheet, ...]:
    """Give every sheet of an edition, the cover first, but for the parts named in `without`.

    What has changed, what was found and the cautions can't be left out.
    """
    crew = edition.reader.kind is For.CREW
    parts = [PARTS[name] for name in _OF[edition.reader.kind] if name not in without]
    makes = [*([change_sheets] if crew else []), *parts]
    makes += [*([finding_sheets] if crew else []), caution_sheets]
    sheets = tuple(sheet for make in makes for sheet in make(edition))
    return (cover_sheet(edition, sheets), *sheets)
