"""What stands in, splits, multicores and ties on the sheets: the crew plugs what it must, once."""

from __future__ import annotations

import re

from lineproof.outcome import Outcome
from lineproof.paper.book import book
from lineproof.paper.sheet import Sheet
from lineproof.paper.sheets.labels import label_strips
from lineproof.show.read import read_files
from lineproof.show.write import write_show
from tests.paper.press import edition_of, planned_whole, rows_of, sheet_named
from tests.second.rig import BOTH, show_of
from tests.standing.test_passive import DROP, MIC, TIE
from tests.standing.test_standing_in import ANALOGUE


def outcome(*lines: str, units: str = "", more: str = "") -> Outcome:
    return planned_whole(read_files(write_show(show_of(*lines, units=units, more=more))))


def rows(sheets: tuple[Sheet, ...], sheet: str, table: int = 0) -> list[str]:
    return rows_of(sheet_named(sheets, sheet).tables[table])


def way(sheets: tuple[Sheet, ...], line: str) -> list[str]:
    """Give the texts of a line's picture, in the order in which they are drawn."""
    (picture,) = [p for p in sheet_named(sheets, "ways").pictures if p.name == f"way-{line}"]
    return re.findall(r"<text[^>]*>([^<]*)", picture.svg)


def test_what_a_standby_brings_is_told_by_its_own_channel() -> None:
    sheets = book(edition_of(outcome(f"number: 1, name: Tape, {BOTH}, to: desk")))
    (check,) = sheet_named(sheets, "line-check").tables[0].rows
    first, second = check.cells[5].ticks
    assert first == "desk:1"
    assert second.startswith("desk:receive-")
    assert second.endswith(" from play-2")
    # Each player's own sheet tells only what is heard of it.
    assert rows(sheets, "patch-play-1")[0].endswith("Tape | desk:1")
    assert rows(sheets, "patch-play-2")[0].endswith(f"Tape | {second}")


def test_starts_that_meet_in_a_change_over_unit_are_plugged_once() -> None:
    line = "number: 1, name: CD, from: 'cd-1|cd-2', source: playback, by: 'changeover:co', to: desk"
    sheets = book(edition_of(outcome(line, units=ANALOGUE)))
    (check,) = sheet_named(sheets, "line-check").tables[0].rows
    plugs = check.cells[4].text.split(", ")
    assert len(plugs) == len(set(plugs)) == 3
    assert sum(plug.startswith("co:in-") for plug in plugs) == 2


def test_a_further_socket_of_a_split_comes_from_where_the_microphone_stands() -> None:
    line = f"number: 1, name: Kick, from: stage, {MIC}, to: 'desk side', also: 'side:in-3'"
    sheets = book(edition_of(outcome(line)))
    assert way(sheets, "1") == [
        *("1 Kick", "stage", "box-1", "in-1, send-1", "desk", "receive-1, strip-1"),
        *("side", "in-3, strip-1"),
    ]
    (row,) = sheet_named(sheets, "inputs").tables[0].rows
    assert row.cells[6].text == "box-1:in-1, side:in-3"
    assert row.cells[7].text.replace("\u00a0", " ") == "3 m, 15 m"


def test_behind_a_drop_box_nobody_plugs_by_hand() -> None:
    line = f"number: 1, name: Kick, from: wing, {MIC}, to: desk"
    sheets = book(edition_of(outcome(line, units=DROP)))
    (row,) = sheet_named(sheets, "line-check").tables[0].rows
    assert row.cells[4].text == "drop:in-1"
    box = rows(sheets, "patch-box-1")
    assert "9 | 1 | Kick | drop:in-1 |  |  | wing" in box


def test_a_lead_over_a_tie_is_plugged_at_both_places_and_is_two_leads() -> None:
    line = f"number: 1, name: Kick, from: wing, {MIC}, to: desk, via: cable"
    edition = edition_of(outcome(line, more=TIE))
    sheets = book(edition)
    at = {table.of: rows_of(table) for table in sheet_named(sheets, "places").tables}
    assert at["wing"][0].startswith("wall:1 | 1 | Kick | dynamic mic")
    assert at["front"][0].startswith("desk:in-1 | 1 | Kick | wall:1")
    (row,) = sheet_named(sheets, "inputs").tables[0].rows
    assert row.cells[6].text == "desk:in-1 over wall:1"
    assert row.cells[7].text == "2 leads, 6 m in all"
    assert way(sheets, "1") == ["1 Kick", "wing", "wall:1", "desk", "in-1, strip-1"]
    (flags,) = [strip for strip in label_strips(edition) if strip.of == "flags"]
    assert len(flags.labels) == 4
    assert len(set(flags.labels)) == 1
