"""A rename changes one name everywhere and moves nothing."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.base.together import JOURNAL, finish_writing, write_together
from lineproof.cli.main import main
from lineproof.decide.decide import decide
from lineproof.plan.diff import differences
from lineproof.plan.model import Issued
from lineproof.plan.rename import Rename, renamed
from lineproof.plan.store import last_issued, read_draft
from lineproof.plan.text import write_plan
from lineproof.show.read import read_files, read_show
from lineproof.show.rename import Naming
from lineproof.show.write import write_show


@pytest.fixture
def show(root: Path, tmp_path: Path) -> Path:
    """Give the hall show, planned and issued: three acts, lists, zones, pairs, roles."""
    folder = Path(shutil.copytree(root / "shows" / "hall", tmp_path / "show"))
    assert main(["plan", str(folder), "--quiet"]) == 0
    assert main(["issue", str(folder), "--by", "tester"]) == 0
    return folder


def texts(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


RENAMES = [
    ("unit", "box-1", "left-box"),
    ("unit", "rec-1", "tape"),
    ("unit", "play-1", "player"),
    ("unit", "radio-1", "air"),
    ("place", "stage-rear", "back"),
    ("place", "booth", "mix"),
    ("act", "comet", "last-act"),
    ("line", "comet/30", "99"),
    ("line", "101", "150"),
]


@pytest.mark.parametrize(("what", "old", "new"), RENAMES)
def test_nothing_moves(show: Path, what: str, old: str, new: str) -> None:
    assert main(["rename", str(show), what, old, new]) == 0
    assert main(["plan", str(show), "--quiet", "--locked"]) == 0
    issued = last_issued(show)
    draft = read_draft(show)
    assert issued is not None
    assert draft is not None
    assert differences(issued.plan, draft) == ()


@pytest.mark.parametrize(("what", "old", "new"), RENAMES)
def test_there_and_back_gives_the_same_bytes(show: Path, what: str, old: str, new: str) -> None:
    before = texts(show)
    assert main(["rename", str(show), what, old, new]) == 0
    assert texts(show) != before
    back = f"{old.rpartition('/')[0]}/{new}" if "/" in old else new
    assert main(["rename", str(show), what, back, old.rpartition("/")[2]]) == 0
    assert texts(show) == before


def test_the_old_name_stands_nowhere_afterwards(show: Path) -> None:
    main(["rename", str(show), "unit", "box-1", "left-box"])
    # The kind box-16-8 begins alike and is no name of ours.
    assert not any(re.search(rb"box-1(?![\d-])", data) for data in texts(show).values())
    reading = read_show(show)
    assert reading.show is not None
    assert not reading.stops
    assert "left-box" in reading.show.units


def test_notes_labels_and_titles_are_peoples_own(show: Path) -> None:
    path = show / "show.yaml"
    path.write_text(path.read_text().replace("label: Box left", "label: box-1"))
    main(["rename", str(show), "unit", "box-1", "left-box"])
    assert "label: box-1" in path.read_text()


def test_a_circuit_of_the_same_name_stays(tmp_path: Path, root: Path) -> None:
    text = (root / "shows" / "small" / "show.yaml").read_text()
    text = text.replace("stage-left", "stage")
    shutil.copytree(root / "shows" / "small", tmp_path / "show")
    (tmp_path / "show" / "show.yaml").write_text(text)
    lines = tmp_path / "show" / "lines.csv"
    lines.write_text(lines.read_text().replace("stage-left", "stage"))
    assert main(["rename", str(tmp_path / "show"), "place", "stage", "left"]) == 0
    shown = read_show(tmp_path / "show").show
    assert shown is not None
    assert "stage" in shown.circuits
    assert "left" in shown.places


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["unit", "box-9", "drums"], 4),
        (["unit", "box-1", "box 9"], 4),
        (["unit", "box-1", "booth"], 3),
        (["place", "booth", "desk"], 3),
        (["line", "101", "102"], 3),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(
    show: Path, words: list[str], code: int
) -> None:
    before = texts(show)
    assert main(["rename", str(show), *words]) == code
    assert texts(show) == before


def test_a_name_inside_a_range_is_refused(show: Path) -> None:
    path = show / "house.csv"
    path.write_text(path.read_text().replace("221,Wedge 1,side,monitor mix,wedge-1,", "221,Wedge 1,side,monitor mix,wedge-1..wedge-2,"))  # fmt: skip  # noqa: E501
    assert main(["rename", str(show), "unit", "wedge-2", "bass-wedge"]) == 3


def test_a_change_cut_short_is_ended_by_the_next_command(show: Path) -> None:
    """Killed after the journal is on disk and before the last file: the rest follows."""
    before = texts(show)
    main(["rename", str(show), "unit", "box-1", "left-box"])
    after = texts(show)
    for name, data in before.items():
        (show / name).write_bytes(data)
    changed = {name: data for name, data in after.items() if before.get(name) != data}
    real = Path.replace
    count = 0

    def dies(self: Path, target: Path) -> Path:
        nonlocal count
        count += 1
        if count == 2:
            raise KeyboardInterrupt
        return real(self, target)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "replace", dies)
        with pytest.raises(KeyboardInterrupt):
            write_together(show, changed)
    assert (show / JOURNAL).exists()
    finish_writing(show)
    assert texts(show) == after
    assert not (show / JOURNAL).exists()


def test_every_rename_is_kept_in_order(show: Path) -> None:
    main(["rename", str(show), "unit", "box-1", "left-box"])
    main(["rename", str(show), "unit", "left-box", "first"])
    data = json.loads((show / "plan" / "renames.json").read_text())
    assert [(r["old"], r["new"], r["revision"]) for r in data] == [
        ("box-1", "left-box", 1),
        ("left-box", "first", 1),
    ]
    assert main(["plan", str(show), "--quiet", "--locked"]) == 0


@given(
    text=st.lists(
        st.sampled_from(["rec-1", "rec-10", "x", "rec-1:in-3", "REC-1", "a|rec-1?", ","])
    ),
)
def test_only_whole_names_are_replaced(text: list[str]) -> None:
    naming = Naming(what="unit", old="rec-1", new="tape")
    words = " ".join(text)
    new = naming.replaced(words)
    assert new.count("rec-10") == words.count("rec-10")
    assert new.casefold().replace("rec-10", "").count("rec-1") == 0
    assert len(new.split(" ")) == len(words.split(" "))


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
