"""A rename changes the words that name the thing, everywhere, and no other byte."""

from __future__ import annotations

import dataclasses
import re
import tempfile
from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lineproof.base.errors import Refused
from lineproof.cli.main import main
from lineproof.kit.kinds import Kit
from lineproof.show.model import Show
from lineproof.show.naming import Naming, Renamer, Role
from lineproof.show.read import read_show
from lineproof.show.yaml_patch import patch_yaml
from tests.rename import band

#: Every sort of thing that can be renamed, and a name it has.
THINGS = [
    ("unit", "box-1"),
    ("unit", "box-10"),
    ("unit", "desk"),
    ("unit", "rec-1"),
    ("unit", "swap"),
    ("unit", "sw-1"),
    ("place", "stage"),
    ("place", "wings"),
    ("place", "front"),
    ("act", "late"),
    ("line", "act-1/1"),
    ("line", "act-1/2"),
    ("line", "late/1"),
    ("line", "late/42"),
]
#: Names of any script that nothing in the show has.
NEW = st.sampled_from(["x", "Zebra_9", "бочка", "箱-1", "boîte", "0", "yes", "null", "e1"])
NUMBERS = st.sampled_from(["7", "17L", "99", "0.5", "x-1"])


def files(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def read(folder: Path) -> Show:
    reading = read_show(folder)
    assert reading.show is not None
    assert not reading.stops, [str(f) for f in reading.findings]
    return reading.show


def plain(value: Any) -> Any:
    """Give a show as mappings, lists and texts, sets of things in one order."""
    if isinstance(value, Kit | Enum):
        return type(value).__name__
    if dataclasses.is_dataclass(value):
        kept = [f.name for f in dataclasses.fields(value) if f.compare]
        return {name: plain(getattr(value, name)) for name in kept}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, tuple):
        return sorted((plain(v) for v in value), key=repr)
    return value


#: What people call things, and things of other name spaces: not ours to change.
THEIRS = ("title", "label", "note", "extra", "by", "reason", "circuits", "kind", "finding")


def with_words(value: Any, old: str, new: str, way: tuple[str, ...] = ()) -> Any:
    """Give the same with every whole word `old` made `new`: plainly, without knowing the show."""
    if way and (way[-1] in THEIRS and not str(value).startswith("changeover:")):
        return value
    if isinstance(value, dict):
        if way == ("circuits",):
            return value
        return {
            with_words(k, old, new) if way[-1:] in (("units",), ("places",)) else k: with_words(
                v, old, new, (*way, k)
            )
            for k, v in value.items()
        }
    if isinstance(value, list):
        return sorted((with_words(v, old, new, way) for v in value), key=repr)
    if isinstance(value, str) and way != ("lines", "name"):
        return re.sub(rf"(?<![\w-]){re.escape(old)}(?![\w-])", new, value)
    return value


@settings(max_examples=60)
@given(
    thing=st.sampled_from(THINGS),
    name=NEW,
    number=NUMBERS,
    newline=st.sampled_from(["\n", "\r\n"]),
    mark=st.booleans(),
    codec=st.sampled_from(["utf-8", "cp1252", "utf-8-sig", "utf-16"]),
)
def test_there_and_back_gives_the_same_bytes(
    thing: tuple[str, str], name: str, number: str, newline: str, mark: bool, codec: str
) -> None:
    what, old = thing
    new = number if what == "line" else name
    with tempfile.TemporaryDirectory() as there:
        folder = band.write(Path(there) / "show", newline=newline, mark=mark, codec=codec)
        before = files(folder)
        code = main(["rename", str(folder), what, old, new, "--quiet"])
        if code == 3 and codec == "cp1252":
            # The table's letters may lack the new name's; then nothing is changed at all.
            assert not name.isascii()
            assert files(folder) == before
            return
        assert code == 0
        assert files(folder) != before
        act, slash, last = old.rpartition("/")
        assert main(["rename", str(folder), what, f"{act}{slash}{new}", last, "--quiet"]) == 0
        assert files(folder) == before
        # A rename and its undoing are as if nothing had been.
        assert (folder / "plan" / "renames.json").read_text() == "[]\n"


@settings(max_examples=30)
@given(thing=st.sampled_from([t for t in THINGS if t[0] != "line"]), name=NEW)
@example(thing=("place", "stage"), name="e1")
def test_the_show_reads_as_before_but_for_the_name(thing: tuple[str, str], name: str) -> None:
    what, old = thing
    with tempfile.TemporaryDirectory() as there:
        folder = band.write(Path(there) / "show")
        before = plain(read(folder))
        assert main(["rename", str(folder), what, old, name, "--quiet"]) == 0
        assert plain(read(folder)) == with_words(before, old, name)


def changed_rows(show: Path, *words: str) -> list[str]:
    """Rename, and give the rows of all files that are not as they were."""
    before = {name: data.decode().splitlines() for name, data in files(show).items()}
    assert main(["rename", str(show), *words, "--quiet"]) == 0
    after = {name: data.decode().splitlines() for name, data in files(show).items()}
    return [
        new.strip()
        for name in sorted(after)
        for old, new in zip(before[name], after[name], strict=True)
        if old != new
    ]


def test_a_line_is_followed_into_pairs_mixes_pins_and_acceptances(show: Path) -> None:
    assert changed_rows(show, "line", "act-1/1", "77") == [
        '77;Kick;stage;dynamic mic;"desk, rec-1|rec-2";;;;;;;;box-1',
        "4;Keys R;stage;line;desk;act-1/3;R;;;;77;;",
        "late: {with: act-1/77}",
        "act-1/77: {start: box-1:in-5, ends: {desk: desk:strip-7, rec-1: [rec-1:receive-9]}}",
        "- {finding: long-lead, of: [act-1/77, stage], reason: box-1 is far, by: desk}",
    ]


def test_an_act_is_followed_into_the_lines_that_are_named_by_it(show: Path) -> None:
    assert changed_rows(show, "act", "act-1", "act-9") == [
        "42,Feed,desk,main mix,rec-2,act-9/3 drums,act-9/4",
        "--- act-9 ---;;;;;;;;;;;;",
        "4;Keys R;stage;line;desk;act-9/3;R;;;;1;;",
        "desk: {kind: mixer-32, place: front, circuit: stage, here: [late, act-9]}",
        "act-9: {stage: main}",
        "late: {with: act-9/1}",
        "act-9/1: {start: box-1:in-5, ends: {desk: desk:strip-7, rec-1: [rec-1:receive-9]}}",
        "- {finding: long-lead, of: [act-9/1, stage], reason: box-1 is far, by: desk}",
        '- {finding: pair-apart, of: ["box-1:in-5", act-9/3, late], reason: so be it, by: us}',
    ]


def test_a_unit_is_followed_into_spots_and_what_was_found(show: Path) -> None:
    assert changed_rows(show, "unit", "BOX-1", "drums") == [
        "late/1,drums:in-12,2026-05-01T19:02:00Z,ab,box-1 it is,Kick",
        "2;Voice of box-1; box-10 ;dynamic mic;more pa-1..pa-2;;;box-10:3;drums:in-9;;;rec-2;",
        "drums: {kind: box-16-8, place: stage, number: 1, circuit: stage, note: box-1 is heavy}",
        "box-10: {kind: box-16-8, place: wings, number: 2, circuit: stage, covers: [drums]}",
        "trunk: {from: 'sw-1:1', to: 'drums:1', along: [floor]}",
        "act-1/1: {start: drums:in-5, ends: {desk: desk:strip-7, rec-1: [rec-1:receive-9]}}",
        '- {finding: pair-apart, of: ["drums:in-5", act-1/3, late], reason: so be it, by: us}',
    ]


REFUSED = [
    (["unit", "box-9", "drums"], 4, "there is no unit 'box-9'; did you mean 'box-1'?"),
    (["unit", "box-1", "box 9"], 4, "'box 9' can't be a unit's name: a name can't hold ' '"),
    (["unit", "box-1", "HOUSE"], 3, "'HOUSE' is already a zone's name: nothing was changed"),
    (["place", "front", "desk"], 3, "'desk' is already a unit's name: nothing was changed"),
    (["unit", "desk", "desk"], 3, "unit 'desk' has that name already: nothing was changed"),
    (["line", "1", "8"], 4, "there is no line '1'; did you mean act-1/1 or late/1?"),
    (["line", "late/1", "42"], 3, "'late/42' is already a line's name: nothing was changed"),
    (
        ["line", "late/1", "act-1/9"],
        4,
        "a rename keeps a line's act: give 'late/1' a number of its own",
    ),
    (
        ["unit", "pa-1", "horn"],
        3,
        (
            "lines.csv:4:5 (to): 'pa-1' is part of the range 'pa-1..pa-2': "
            "write its names out there, then rename; nothing was changed"
        ),
    ),
    (
        ["act", "act-1", "opener"],
        3,
        (
            "nothing was changed, as the show could not be read then: lines.csv:6:6 (pair): "
            "line 4 is paired with line opener/3, which isn't in the list, and 1 more"
        ),
    ),
]


@pytest.mark.parametrize(("words", "code", "message"), REFUSED)
def test_what_cannot_be_is_refused_in_words_and_nothing_changes(
    show: Path, words: list[str], code: int, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = files(show)
    assert main(["rename", str(show), *words]) == code
    assert capsys.readouterr().err.strip() == f"lineproof: {message}"
    assert files(show) == before
    assert not (show / "plan").exists()


def refused(show: Path, capsys: pytest.CaptureFixture[str], *words: str) -> str:
    before = files(show)
    assert main(["rename", str(show), *words]) == 3
    assert files(show) == before
    return capsys.readouterr().err.strip().removeprefix("lineproof: ")


def test_a_bare_number_of_several_acts_is_asked_about(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    late = show / "late.csv"
    late.write_text(late.read_text().replace("act-1/3 drums", "1 drums"))
    assert refused(show, capsys, "line", "act-1/1", "77") == (
        "late.csv:4:6 (minus): '1' alone names lines of several acts: write act/number there; "
        "nothing was changed"
    )


def test_a_new_number_that_would_swap_left_and_right_is_refused(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without L and R in the list the lower number is the left half."""
    table = show / "lines.csv"
    table.write_text(table.read_text().replace(";4;L;", ";4;;").replace("/3;R;", "/3;;"))
    assert refused(show, capsys, "line", "act-1/3", "30") == (
        "more than the name would change (line act-1/4 changed: left, and 1 more): nothing was "
        "changed. Which half of a pair is left goes by their numbers: write L and R under `stereo`"
    )


def test_half_of_a_row_that_is_a_pair_cannot_be_renamed_alone(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    late = show / "late.csv"
    late.write_text(late.read_text().replace("41,Main", "41/43,Main"))
    assert main(["rename", str(show), "line", "late/43", "44"]) == 0
    assert "41/44,Main" in late.read_text()


def test_a_show_that_cannot_be_read_whole_is_mended_first(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = show / "show.yaml"
    path.write_text(path.read_text().replace("kind: mixer-32", "kind: mixer-33"))
    message = refused(show, capsys, "unit", "box-1", "drums")
    assert message.startswith("nothing is renamed while the show can't be read whole: show.yaml:21")


def test_a_workbook_is_told_cell_by_cell_and_then_the_plan_follows(
    show: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (show / "late.csv").unlink()
    book = show / "late.xlsx"
    rows = band.LATE.replace('"', "").splitlines()
    write_book(book, rows)
    path = show / "show.yaml"
    path.write_text(path.read_text().replace("late.csv", "late.xlsx"))
    assert main(["plan", str(show), "--quiet"]) in (0, 1)
    capsys.readouterr()
    message = refused(show, capsys, "unit", "desk", "mix")
    assert message.splitlines() == [
        "a workbook names it, and workbooks can't be changed in place: nothing was changed.",
        "Change these by hand, all of them:",
        "  show.yaml:21:3: mix",
        "  show.yaml:38:7: mix",
        "  show.yaml:48:39: mix",
        "  show.yaml:48:45: mix:strip-7",
        "  lines.csv:3:5 (to): mix, rec-1|rec-2",
        "  lines.csv:5:5 (to): mix rec-1?",
        "  lines.csv:6:5 (to): mix",
        "  late.xlsx[Sheet1]:2:5 (to): mix both-recorders",
        "  late.xlsx[Sheet1]:3:3 (from): mix",
        "  late.xlsx[Sheet1]:4:3 (from): mix",
        (
            "Then `lineproof rename SHOW unit desk mix --by-hand`, so that the plan follows and "
            "nothing moves."
        ),
    ]
    assert "the show still has a unit 'desk'" in refused(
        show, capsys, "unit", "desk", "mix", "--by-hand"
    )
    for name in ("show.yaml", "lines.csv"):
        text = (show / name).read_text()
        (show / name).write_text(re.sub(r"\bdesk\b(?!})", "mix", text))
    write_book(book, [re.sub(r"\bdesk\b", "mix", row) for row in rows])
    assert main(["rename", str(show), "unit", "desk", "mix", "--by-hand"]) == 0
    assert '"mix": "mix:' in (show / "plan" / "draft.json").read_text()


def write_book(path: Path, rows: list[str]) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for row, text in enumerate(rows):
            for column, cell in enumerate(text.split(",")):
                sheet.write_string(row, column, cell)


# -- words of a YAML file --------------------------------------------------------------------------

WRITTEN = [
    ("a: old # old", "a: new # old"),
    ("a: 'old'", "a: 'new'"),
    ('a: "old x"', 'a: "new x"'),
    ("a: >-\n  x\n  old\n", "a: >-\n  x\n  new\n"),
    ("a: x\n  old  # é\n", "a: x\n  new  # é\n"),
    ("\ufeffa:   old\r\n", "\ufeffa:   new\r\n"),
    ("# é😀\u2028b: x\na: old", "# é😀\u2028b: x\na: new"),
    ("{b: 'é', a: old}", "{b: 'é', a: new}"),
]


@pytest.mark.parametrize(("text", "wanted"), WRITTEN)
def test_words_are_changed_in_what_they_are_written_in(text: str, wanted: str) -> None:
    places = {(row, column) for row in range(1, 5) for column in range(4, 20)}
    changes = dict.fromkeys(places, lambda word: word.replace("old", "new"))
    assert patch_yaml(text.encode(), changes, file="show.yaml").decode() == wanted


def test_a_word_written_in_escapes_is_refused() -> None:
    changes = {(1, 4): lambda word: word.replace("old", "new")}
    with pytest.raises(Refused, match=r"show\.yaml:1:4: write 'old' without escapes first"):
        patch_yaml(b'a: "\\x6fld"', changes, file="show.yaml")


@given(
    st.lists(st.sampled_from(["rec-1", "rec-10", "x", "rec-1:in-3", "REC-1", "a|rec-1?", ","])),
)
def test_only_whole_names_are_replaced(words: list[str]) -> None:
    tape = Renamer(naming=Naming(what="unit", old="rec-1", new="tape"))
    text = " ".join(words)
    new = tape.replaced(text, Role.NAMES)
    assert new.count("rec-10") == text.count("rec-10")
    assert new.casefold().replace("rec-10", "").count("rec-1") == 0
    assert len(new.split(" ")) == len(text.split(" "))
