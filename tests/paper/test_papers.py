"""`lineproof papers` from end to end, and how a bundle comes into a folder."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest

from lineproof.cli.main import main
from lineproof.paper.bundle import LIST, bundle, write_bundle
from lineproof.paper.pdf import PAPERS
from lineproof.plan.store import save_draft, save_issued
from tests.paper.press import (
    DECIDED,
    LINES,
    ROOT,
    SHOW,
    edition_of,
    issued_of,
    outcome_of,
    plan_of,
    reading_of,
    small,
)


def folder_with_show(tmp_path: Path, *, lines: str = LINES) -> Path:
    folder = tmp_path / "show"
    folder.mkdir()
    (folder / "show.yaml").write_text(SHOW, "utf-8")
    (folder / "lines.csv").write_text(lines, "utf-8")
    return folder


def drafted(tmp_path: Path) -> Path:
    folder = folder_with_show(tmp_path)
    save_draft(folder, plan_of(DECIDED, reading_of()))
    return folder


def papers(folder: Path, out: Path, *more: str) -> int:
    return main(["papers", str(folder), "--out", str(out), *more])


def names(out: Path) -> set[str]:
    return {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}


def test_it_writes_the_whole_bundle_and_says_what(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert papers(drafted(tmp_path), out, "--quiet") == 0
    said = capsys.readouterr().out.splitlines()
    files = names(out)
    assert {"patch-book.pdf", "labels.pdf", "tables.xlsx", "csv/inputs.csv", LIST} <= files
    assert {"pictures/stage.svg", "pictures/way-early-1.svg"} <= files
    assert {f"{out}/{name}" for name in files - {LIST}} <= set(said)
    assert said[-1].startswith("DRAFT: ")


def test_the_answer_in_json_names_the_same_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert papers(drafted(tmp_path), out, "--json", "--quiet") == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["command"], answer["status"], answer["removed"]) == ("papers", "DRAFT", [])
    assert {*answer["files"], LIST} == names(out)


def test_printing_twice_changes_no_byte(tmp_path: Path) -> None:
    folder, out = drafted(tmp_path), tmp_path / "out"
    papers(folder, out)
    before = {name: (out / name).read_bytes() for name in names(out)}
    papers(folder, out)
    assert {name: (out / name).read_bytes() for name in names(out)} == before


def test_the_issued_plan_is_printed_and_marked_against_the_revision_before(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = drafted(tmp_path)
    first = {key: value for key, value in DECIDED.items() if key != "late/3"}
    save_issued(folder, issued_of(decided=first))
    save_issued(folder, issued_of(revision=2))
    out = tmp_path / "out"
    papers(folder, out)
    assert capsys.readouterr().out.splitlines()[-1].startswith("ISSUED 2: ")
    rows = (out / "csv/inputs.csv").read_text("utf-8-sig").splitlines()
    assert [row.split(",")[2] for row in rows if row.endswith(",new")] == ["Cue"]


def test_another_readers_papers_take_away_what_was_the_crews(tmp_path: Path) -> None:
    folder, out = drafted(tmp_path), tmp_path / "out"
    papers(folder, out)
    own = out / "notes.txt"
    own.write_text("mine", "utf-8")
    changed = out / "csv/findings.csv"
    changed.write_text("changed by hand", "utf-8")
    assert papers(folder, out, "--for", "performer", "Bo") == 0
    left = names(out)
    assert left == {
        "patch-book.pdf",
        "tables.xlsx",
        "csv/performers.csv",
        LIST,
        # Not ours, or no longer as we wrote it: left alone.
        "notes.txt",
        "csv/findings.csv",
    }


def test_a_list_that_names_files_elsewhere_removes_nothing(tmp_path: Path) -> None:
    out, outside = tmp_path / "out", tmp_path / "precious.txt"
    outside.write_text("keep", "utf-8")
    out.mkdir()
    listed = {"../precious.txt": "0" * 64, str(outside): "0" * 64}
    (out / LIST).write_text(json.dumps({"format": 1, "files": listed}), "utf-8")
    assert write_bundle(out, {"a.txt": b"a"}).removed == ()
    assert outside.read_text("utf-8") == "keep"


@pytest.mark.parametrize("text", ["", "[]", '{"files": 3}', '{"files": {"a": 1}}', "\x00"])
def test_a_broken_list_is_no_list(tmp_path: Path, text: str) -> None:
    (tmp_path / LIST).write_text(text, "utf-8")
    (tmp_path / "a").write_text("kept", "utf-8")
    assert write_bundle(tmp_path, {"b.txt": b"b"}).removed == ()
    assert (tmp_path / "a").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--for", "performer", "Boo"], "nobody in the show is called 'Boo'; did you mean 'Bo'?"),
        (["--for", "performer"], "--for performer: say crew, performer NAME or guest"),
        (["--for", "everybody"], "--for everybody: say crew, performer NAME or guest"),
    ],
)
def test_a_reader_nobody_knows_is_a_wrong_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert papers(drafted(tmp_path), tmp_path / "out", *words) == 4
    assert f"lineproof: {said}\n" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_without_a_plan_nothing_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert papers(folder_with_show(tmp_path), tmp_path / "out") == 2
    assert "run `lineproof plan` first" in capsys.readouterr().err


def test_it_does_not_write_into_the_show(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = drafted(tmp_path)
    assert papers(folder, folder) == 4
    assert "is the show's own folder" in capsys.readouterr().err


def test_a_stop_that_stands_is_told_by_the_exit_code(tmp_path: Path) -> None:
    folder = folder_with_show(tmp_path)
    decided = {key: value for key, value in DECIDED.items() if key != "9"}
    save_draft(folder, plan_of(decided, reading_of()))
    assert papers(folder, tmp_path / "out") == 1
    assert (tmp_path / "out/patch-book.pdf").exists()


def test_where_the_program_runs_makes_no_difference(tmp_path: Path) -> None:
    edition = edition_of(small())
    here = bundle(edition, PAPERS["a4"])
    before = Path.cwd()
    try:
        os.chdir(tmp_path)
        assert bundle(edition_of(small()), PAPERS["a4"]) == here
    finally:
        os.chdir(before)


def test_the_small_show_prints_in_german_on_letter(tmp_path: Path) -> None:
    folder = shutil.copytree(ROOT / "shows" / "small", tmp_path / "small")
    save_draft(folder, small().plan)
    out = tmp_path / "out"
    assert papers(folder, out, "--language", "de", "--paper", "letter") == 0
    assert (out / "csv/inputs.csv").read_text("utf-8-sig").startswith("Nr.,Name,Quelle,48 V,")


def test_a_written_bundle_holds_every_file_whole() -> None:
    files = bundle(edition_of(outcome_of()), PAPERS["a4"])
    assert all(data for data in files.values())
    assert files["patch-book.pdf"].startswith(b"%PDF-")
    assert files["patch-book.pdf"].rstrip().endswith(b"%%EOF")
