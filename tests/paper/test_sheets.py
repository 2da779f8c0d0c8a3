"""What stands on the sheets, before anything is drawn."""

from __future__ import annotations

from collections import Counter

import pytest

from lineproof.base.spot import Spot
from lineproof.graph.signal import ways
from lineproof.outcome import Outcome
from lineproof.paper.book import PARTS, book
from lineproof.paper.readers import CREW, For, Reader
from lineproof.paper.sheet import Text, spots_on
from lineproof.paper.sheets.patch import patch_sheets
from tests.paper.press import (
    DECIDED,
    LINES,
    all_text,
    edition_of,
    issued_of,
    outcome_of,
    rows_of,
    sheet_named,
    small,
)

CUES_ENDS = "desk:receive-4, desk:strip-3, visit:receive-4, visit:strip-3"
PRIVATE = "private: for its own receivers only"
GUEST = Reader(kind=For.GUEST)


def performer(name: str) -> Reader:
    return Reader(kind=For.PERFORMER, name=name)


# -- the patch -----------------------------------------------------------------------------------


def test_a_box_has_a_row_for_every_socket_free_ones_too() -> None:
    box = sheet_named(book(edition_of(outcome_of())), "patch-box-1")
    inputs, outputs = box.tables
    assert rows_of(inputs)[:6] == [
        "1 | 1 | Kick | Early set, late | dynamic mic |  | short | Stage middle | 3 m",
        "2 | 2 | Lute | Early set | ribbon mic |  | tall | Stage middle | 3 m",
        "2 | 2 | Choir | late | condenser mic | 48 V | tall | edge | 15 m",
        "3 | 9 | Host | all | active DI | 48 V |  | Stage middle | 3 m",
        "4 | 3 | Cue | late | dynamic mic |  | clip | edge | 15 m",
        "5 |  | free",
    ]
    assert rows_of(inputs)[-1] == "16 |  | free"
    assert rows_of(outputs)[:2] == [
        "1 | 41 | Main | all | desk:send-1 | fill:in-1 | 15 m",
        "2 |  | free",
    ]


def test_a_side_of_a_box_that_nobody_uses_is_one_row() -> None:
    decided = {key: value for key, value in DECIDED.items() if key != "41"}
    lines = "".join(row for row in LINES.splitlines(keepends=True) if not row.startswith("41"))
    box = sheet_named(book(edition_of(outcome_of(lines=lines, decided=decided))), "patch-box-1")
    assert rows_of(box.tables[1]) == ["1–8 |  | free"]


def test_a_side_that_was_in_use_before_still_has_all_its_rows() -> None:
    decided = {key: value for key, value in DECIDED.items() if key != "41"}
    lines = "".join(row for row in LINES.splitlines(keepends=True) if not row.startswith("41"))
    before = issued_of()
    outcome = outcome_of(lines=lines, decided=decided, issued=before)
    box = sheet_named(book(edition_of(outcome, before=before)), "patch-box-1")
    assert [row.change for row in box.tables[1].rows] == ["empty", *[""] * 7]


def test_what_is_left_out_is_left_out_and_nothing_else_but_never_findings_or_cautions() -> None:
    edition = edition_of(outcome_of())
    every = [sheet.name for sheet in book(edition)]
    some = [sheet.name for sheet in book(edition, without=("ways", "performers"))]
    assert some == [n for n in every if n != "ways" and not n.startswith("performer-")]
    bare = [sheet.name for sheet in book(edition, without=PARTS)]
    assert bare == ["cover", "findings", "cautions"]


def test_a_mixers_strip_tells_what_feeds_it_and_where_that_is_plugged() -> None:
    strips = sheet_named(book(edition_of(outcome_of())), "patch-desk").tables[0]
    assert rows_of(strips) == [
        "1 | 1 | Kick | Early set, late |  | receive-1 | box-1:in-1",
        "2 | 2 | Lute | Early set |  | receive-2 | box-1:in-2",
        "2 | 2 | Choir | late | 48 V | receive-2 | box-1:in-2",
        "3 | 3 | Cue | late |  | receive-4 | box-1:in-4",
        "9 | 9 | Host | all | 48 V | receive-3 | box-1:in-3",
    ]


def test_a_recorder_has_a_row_for_every_track() -> None:
    tracks = sheet_named(book(edition_of(outcome_of())), "patch-rec-1").tables[0]
    assert rows_of(tracks) == [
        "1 | 1 | Kick | Early set, late | box-1:in-1",
        "2 | 2 | Lute | Early set | box-1:in-2",
    ]


@pytest.mark.parametrize("outcome", [small(), outcome_of()], ids=["small", "acts"])
def test_every_spot_of_the_plan_stands_on_exactly_one_patch_sheet(outcome: Outcome) -> None:
    on_sheets: dict[Spot, set[str]] = {}
    for sheet in patch_sheets(edition_of(outcome)):
        for spot in spots_on([sheet]):
            on_sheets.setdefault(spot, set()).add(sheet.name)
    assert set(on_sheets) == set(outcome.plan.by_spot())
    assert {spot: names for spot, names in on_sheets.items() if len(names) != 1} == {}


@pytest.mark.parametrize("outcome", [small(), outcome_of()], ids=["small", "acts"])
def test_a_spot_stands_on_the_sheet_of_its_own_unit(outcome: Outcome) -> None:
    for sheet in patch_sheets(edition_of(outcome)):
        units = {spot.unit for spot in spots_on([sheet])}
        if sheet.name != "patch-others":
            assert units <= {sheet.name.removeprefix("patch-")}


@pytest.mark.parametrize("outcome", [small(), outcome_of()], ids=["small", "acts"])
def test_every_line_is_on_the_line_check_once_with_all_its_ends(outcome: Outcome) -> None:
    sheet = sheet_named(book(edition_of(outcome)), "line-check")
    ticks = Counter(
        (row.cells[0].text, row.cells[1].text, len(row.cells[5].ticks))
        for table in sheet.tables
        for row in table.rows
    )
    planned = Counter(
        (line.key.number, line.name, len({way.end for way in ways(outcome.show, line)}))
        for line in outcome.plan.lines
    )
    assert ticks == planned


# -- who gets what -------------------------------------------------------------------------------


def test_the_crew_gets_private_lines_and_what_a_guest_brings() -> None:
    text = all_text(book(edition_of(outcome_of(), reader=CREW)))
    assert "Cue" in text
    assert "visit" in text


def test_a_performer_gets_what_is_theirs_and_nothing_of_others() -> None:
    sheets = book(edition_of(outcome_of(), reader=performer("bo")))
    assert [sheet.name for sheet in sheets] == ["cover", "performer-Bo", "cautions"]
    (table,) = sheets[1].tables
    assert rows_of(table) == [
        "2 | Lute | Early set | ribbon mic | tall | Stage middle | box-1:in-2",
    ]


def test_an_acts_performers_get_their_act_without_private_lines_or_guests_equipment() -> None:
    sheets = book(edition_of(outcome_of(), reader=performer("late")))
    assert [sheet.name for sheet in sheets][1:-1] == ["performer-choir", "performer-Cy"]
    text = all_text(sheets)
    assert "Choir" in text
    assert "Cue" not in text
    assert "visit" not in text


def test_a_guest_gets_what_reaches_the_guests_own_equipment_and_nothing_else() -> None:
    sheets = book(edition_of(outcome_of(), reader=GUEST))
    names = [sheet.name for sheet in sheets]
    assert names == ["cover", "inputs", "patch-visit", "line-check", "ways", "cautions"]
    assert rows_of(sheets[1].tables[0]) == [
        "1 | Kick | dynamic mic |  | short | Stage middle | box-1:in-1 | 3 m | visit:1",
        "2 | Choir | condenser mic | 48 V | tall | edge | box-1:in-2 | 15 m | visit:2",
        "3 | Cue | dynamic mic |  | clip | edge | box-1:in-4 | 15 m | visit:3 | " + PRIVATE,
    ]
    text = all_text(sheets)
    for others in ("Lute", "Host", "desk", "Front mixer", "rec-1"):
        assert others not in text, others


def test_a_private_line_that_does_not_reach_the_guest_is_not_on_the_guests_paper() -> None:
    lines = LINES.replace(
        "3,late,Cue,edge,dynamic mic,desk visit", "3,late,Cue,edge,dynamic mic,desk"
    )
    start, ends = DECIDED["late/3"]
    decided = {**DECIDED, "late/3": (start, {"desk": ends["desk"]})}
    outcome = outcome_of(lines=lines, decided=decided)
    assert "Cue" not in all_text(book(edition_of(outcome, reader=GUEST)))


# -- since the last revision ---------------------------------------------------------------------


def changed_since() -> tuple[Outcome, object]:
    then = {k: v for k, v in DECIDED.items() if k != "late/3"}
    then["early/2"] = ({"stage": "box-1:in-5"}, DECIDED["early/2"][1])
    before = issued_of(lines=LINES.replace("9,,Host", "9,,Guest"), decided=then)
    return outcome_of(issued=before), before


def test_changed_rows_are_marked_on_every_sheet_of_the_line() -> None:
    outcome, before = changed_since()
    sheets = book(edition_of(outcome, before=before))  # type: ignore[arg-type]
    box = sheet_named(sheets, "patch-box-1").tables[0]
    marks = {f"{row.cells[0].text} {row.cells[2].text}": row.change for row in box.rows[:6]}
    assert marks == {
        "1 Kick": "",
        "2 Lute": "moved",
        "2 Choir": "",
        "3 Host": "words",
        "4 Cue": "new",
        "5 free": "empty",
    }
    # The lute's strip stayed where it was: the mixer's sheet must not send anybody there.
    desk = {
        row.cells[2].text: row.change for row in sheet_named(sheets, "patch-desk").tables[0].rows
    }
    assert desk == {"Kick": "", "Lute": "", "Choir": "", "Host": "words", "Cue": "new"}
    for name in ("inputs", "line-check"):
        marked = {
            row.cells[1].text: row.change
            for table in sheet_named(sheets, name).tables
            for row in table.rows
            if row.change
        }
        assert marked == {"Lute": "moved", "Cue": "new", "Host": "words"}, name


def test_the_sheet_of_changes_tells_from_where_to_where() -> None:
    outcome, before = changed_since()
    sheets = book(edition_of(outcome, before=before))  # type: ignore[arg-type]
    moved, words = sheet_named(sheets, "changes").tables
    assert rows_of(moved) == [
        "early/2 | Lute | box-1:in-5 | box-1:in-2",
        "late/3 | Cue |  | box-1:in-4, " + CUES_ENDS,
    ]
    assert rows_of(words) == ["line 9 changed: name"]


def test_without_an_earlier_revision_nothing_is_marked() -> None:
    sheets = book(edition_of(outcome_of()))
    rows = [row for sheet in sheets for table in sheet.tables for row in table.rows]
    assert {row.change for row in rows} == {""}


def test_the_status_is_the_outcomes_in_the_papers_language() -> None:
    before = issued_of()
    draft = outcome_of(issued=before)
    issued = outcome_of(issued=before, is_draft=False)
    changed = outcome_of(lines=LINES.replace("Host", "Hostess"), issued=before, is_draft=False)
    for outcome in (draft, issued, changed):
        assert edition_of(outcome).status == outcome.status
    german = [edition_of(o, language="de").status for o in (draft, issued, changed)]
    assert german == ["ENTWURF", "AUSGABE 1", "AUSGABE 1 + 1 ÄNDERUNG"]


# -- changeovers ---------------------------------------------------------------------------------


def test_a_changeover_tells_only_what_moves_and_what_to_mute_first() -> None:
    sheet = sheet_named(book(edition_of(outcome_of())), "changeover-late")
    moves, beforehand = sheet.tables
    # The kick stays in, the host is in every act, the strips stay fed as they were.
    assert rows_of(moves) == ["mute first | box-1:in-2 | 2 Lute | 2 Choir | edge | 48 V on"]
    assert rows_of(beforehand) == [" | box-1:in-4 |  | 3 Cue | edge"]
    said = [text for block in sheet.blocks if isinstance(block, Text) for text in block.paragraphs]
    assert said[1] == "Plugs that move: 1. A multipin that moves as a whole is one."


# -- cover, alarm --------------------------------------------------------------------------------


def test_the_cover_tells_the_revision_the_mark_and_what_an_alarm_mutes() -> None:
    before = issued_of()
    outcome = outcome_of(issued=before, is_draft=False)
    cover = book(edition_of(outcome))[0]
    facts, muted, *_ = cover.tables
    assert rows_of(facts) == [
        "Revision | ISSUED 1",
        f"Mark of the show | {outcome.mark}",
        "Last issued | revision 1 by Mo, 2031-05-04T18:00",
    ]
    assert rows_of(muted) == ["pa | Stage middle | house alarm"]


def test_the_cover_lists_every_other_sheet_with_its_page() -> None:
    cover, *others = book(edition_of(outcome_of()))
    contents = cover.tables[-1]
    assert [row.cells[2].page_of for row in contents.rows] == [sheet.name for sheet in others]


def test_stops_that_stand_are_on_the_cover() -> None:
    decided = {key: value for key, value in DECIDED.items() if key != "9"}
    outcome = outcome_of(decided=decided)
    assert outcome.stops
    cover = book(edition_of(outcome))[0]
    said = [text for block in cover.blocks if hasattr(block, "loud") for text in block.paragraphs]
    assert any(f"Stops that stand: {len(outcome.stops)}." in text for text in said)
