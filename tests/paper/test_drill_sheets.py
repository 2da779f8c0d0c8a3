"""The drill on paper: the page for who decides, which fault takes which line, who gets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

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
from lineproof.paper.sheet import Text
from lineproof.paper.sheets.drill import drill_sheets, drill_tables
from lineproof.paper.translate import LANGUAGES
from lineproof.show.model import Need
from tests.paper.drilled import (
    ALL,
    HALLWAY,
    HALLWAY_LINES,
    acts,
    drilled,
    facts_in,
    hallway,
    outcome_named,
    shipped,
    unit,
)
from tests.paper.press import edition_of, reading_of, rows_of, sheet_named
from tests.paper.reading_pdf import pages

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
