"""A rename moves nothing: the plan follows, and so does every revision before."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path

import pytest

from lineproof.base.together import JOURNAL, finish_writing, write_together
from lineproof.cli.main import main
from lineproof.decide.decide import decide
from lineproof.plan.diff import differences
from lineproof.plan.model import Issued, Plan
from lineproof.plan.rename import Rename, renamed
from lineproof.plan.store import last_issued, read_draft
from lineproof.plan.text import write_plan
from lineproof.show.read import read_files, read_show
from lineproof.show.write import write_show

RENAMES = [
    ("unit", "box-1", "left-box"),
    ("unit", "rec-1", "tape"),
    ("unit", "play-1", "zzz"),
    ("unit", "radio-1", "air"),
    ("place", "stage-rear", "back"),
    ("act", "comet", "a-last-act"),
    ("line", "comet/30", "99"),
    ("line", "101", "100"),
]


def texts(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def as_if_described_alike(plan: Plan) -> tuple[object, ...]:
    """Give the decisions but for the versions: a stream is described by its sender's name."""
    streams = (replace(s, changed_in=0, described="") for s in plan.network.streams)
    return replace(plan, network=replace(plan.network, streams=tuple(streams))).decisions()


@pytest.mark.parametrize(("what", "old", "new"), RENAMES)
def test_nothing_moves(hall: Path, what: str, old: str, new: str) -> None:
    issued_file = (hall / "plan" / "issued" / "1.json").read_bytes()
    assert main(["rename", str(hall), what, old, new]) == 0
    assert main(["plan", str(hall), "--quiet", "--locked"]) == 0
    issued, draft = last_issued(hall), read_draft(hall)
    assert issued is not None
    assert draft is not None
    assert differences(issued.plan, draft) == ()
    assert as_if_described_alike(issued.plan) == as_if_described_alike(draft)
    assert (hall / "plan" / "issued" / "1.json").read_bytes() == issued_file


def test_the_draft_is_renamed_with_the_show(hall: Path) -> None:
    """What `plan` makes of the renamed show is what the rename made of the draft.

    But for the version of the descriptions, which name the sender.
    """
    assert main(["rename", str(hall), "unit", "box-2", "a-box"]) == 0
    draft = read_draft(hall)
    assert draft is not None
    assert '"a-box:in-1"' in write_plan(draft)
    assert main(["plan", str(hall), "--quiet"]) == 0
    again = read_draft(hall)
    assert again is not None
    assert as_if_described_alike(again) == as_if_described_alike(draft)


def test_a_rename_and_its_undoing_leave_no_trace(hall: Path) -> None:
    before = texts(hall)
    assert main(["rename", str(hall), "unit", "desk", "mix"]) == 0
    assert main(["rename", str(hall), "unit", "mix", "desk"]) == 0
    assert texts(hall) == {**before, "plan/renames.json": b"[]\n"}


def test_paper_says_that_one_thing_has_changed(
    hall: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["rename", str(hall), "unit", "desk", "mix"])
    capsys.readouterr()
    main(["check", str(hall), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["status"] == "ISSUED 1 + 1 CHANGE"
    assert told["changes"] == ["unit desk renamed: mix"]


def test_there_is_nothing_to_issue_after_a_rename(
    hall: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["rename", str(hall), "unit", "desk", "mix"])
    capsys.readouterr()
    assert main(["issue", str(hall), "--by", "tester"]) == 0
    assert "no decision differs from ISSUED 1: it stays" in capsys.readouterr().out


def test_revisions_are_compared_under_the_names_of_today(
    hall: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Issued, renamed, a line taken out, issued again: only that line differs between the two."""
    assert main(["rename", str(hall), "unit", "box-1", "left-box"]) == 0
    house = hall / "house.csv"
    rows = house.read_text().splitlines(keepends=True)
    house.write_text("".join(row for row in rows if not row.startswith("103,")))
    assert main(["plan", str(hall), "--quiet"]) == 0
    assert main(["issue", str(hall), "--by", "tester"]) == 0
    capsys.readouterr()
    assert main(["diff", str(hall), "1", "2"]) == 0
    told = list(itertools.takewhile(bool, capsys.readouterr().out.splitlines()))
    assert told
    *gone, total = told
    # What it alone was in goes with it.
    lines = [row for row in gone if not row.startswith("gone    stream ")]
    assert lines
    assert all(row.startswith("gone  103 ") for row in lines), told
    assert total.startswith(f"{len(gone)} difference")


def test_a_name_that_the_plan_still_holds_is_not_given_again(
    hall: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Line 103 is out of the list, but its plug may still be in: another 103 would take it."""
    house = hall / "house.csv"
    rows = house.read_text().splitlines(keepends=True)
    house.write_text("".join(row for row in rows if not row.startswith("103,")))
    before = texts(hall)
    capsys.readouterr()
    assert main(["rename", str(hall), "line", "104", "103"]) == 3
    assert capsys.readouterr().err == (
        "lineproof: the plan still holds something for line '103' of old; two would become one. "
        "Take another name: nothing was changed\n"
    )
    assert texts(hall) == before


def test_every_rename_is_kept_in_order(hall: Path) -> None:
    main(["rename", str(hall), "unit", "box-1", "left-box"])
    main(["rename", str(hall), "unit", "left-box", "first"])
    data = json.loads((hall / "plan" / "renames.json").read_text())
    assert [(r["old"], r["new"], r["revision"]) for r in data] == [
        ("box-1", "left-box", 1),
        ("left-box", "first", 1),
    ]
    assert main(["plan", str(hall), "--quiet", "--locked"]) == 0


def test_a_circuit_of_the_same_name_stays(show: Path) -> None:
    assert main(["rename", str(show), "place", "stage", "left"]) == 0
    reading = read_show(show)
    assert reading.show is not None
    assert "stage" in reading.show.circuits
    assert "left" in reading.show.places


def test_a_plan_made_after_the_rename_is_the_renamed_plan(root: Path) -> None:
    """The rename of a plan is what planning the renamed show gives: names are only names."""
    reading = read_show(root / "shows" / "small")
    assert reading.show is not None
    plan = decide(reading.show).plan
    assert plan is not None
    files = write_show(reading.show)
    new = {n: t.replace("pa-left", "left-pa") for n, t in files.items()}
    shown = read_files(new).show
    assert shown is not None
    under = renamed(plan, Rename(what="unit", old="pa-left", new="left-pa"))
    issued = Issued(revision=1, by="", at="", mark="", plan=under, show=new)
    again = decide(shown, issued).plan
    assert again is not None
    assert write_plan(again) == write_plan(under)


# -- several files at once -------------------------------------------------------------------------


def cut_short(folder: Path, files: dict[str, bytes], after: int) -> None:
    """Write the files, and be killed before the file of that number takes its name."""
    real = Path.replace
    count = 0

    def dies(self: Path, target: Path) -> Path:
        nonlocal count
        count += 1
        if count > after:
            raise KeyboardInterrupt
        return real(self, target)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "replace", dies)
        with pytest.raises(KeyboardInterrupt):
            write_together(folder, files)


OLD = {"a.csv": b"1", "b.csv": b"2"}
NEW = {"a.csv": b"one", "b.csv": b"two", "plan/c.json": b"three"}


def begun(folder: Path) -> Path:
    folder.mkdir()
    for name, data in OLD.items():
        (folder / name).write_bytes(data)
    return folder


@pytest.mark.parametrize("after", [0, 1, 2, 3])
def test_a_change_cut_short_is_ended_or_never_begun(tmp_path: Path, after: int) -> None:
    """The journal is the first file: killed before it, all is old; after it, all becomes new."""
    folder = begun(tmp_path / "show")
    cut_short(folder, NEW, after)
    finish_writing(folder)
    assert texts(folder) == (NEW if after else OLD)
    finish_writing(folder)
    assert texts(folder) == (NEW if after else OLD)


def test_the_next_command_ends_what_was_cut_short(show: Path) -> None:
    text = (show / "late.csv").read_bytes()
    cut_short(show, {"late.csv": text.replace(b"Main", b"Mix"), "found.csv": b"line,spot\n"}, 2)
    assert main(["check", str(show)]) == 1
    assert b"Mix" in (show / "late.csv").read_bytes()
    assert (show / "found.csv").read_bytes() == b"line,spot\n"
    assert not (show / JOURNAL).exists()


def test_a_file_edited_after_a_change_was_cut_short_is_not_overwritten(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cut_short(show, {"late.csv": b"x", "found.csv": b"y"}, 2)
    (show / "found.csv").write_bytes(b"edited by hand")
    before = texts(show)
    assert main(["check", str(show)]) == 3
    assert "found.csv was edited after a change of several files was cut short" in (
        capsys.readouterr().err
    )
    assert texts(show) == before


@pytest.mark.parametrize("name", ["../out.txt", "/tmp/lineproof-out.txt", "a/../../out.txt"])
def test_a_folder_somebody_sent_writes_nothing_outside_itself(
    show: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (show / "plan").mkdir()
    (show / JOURNAL).write_text(json.dumps({name: {"was": "", "new": "eA=="}}))
    assert main(["check", str(show)]) == 2
    assert "lies outside the show's folder" in capsys.readouterr().err
    assert not (show / name).exists()
