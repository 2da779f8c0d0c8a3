"""Whatever arrives reads as a show, or gives findings with a place; nothing ever raises."""

from __future__ import annotations

import os
import random
import resource
import time
from pathlib import Path

import pytest

from lineproof.decide.decide import decide
from lineproof.show.headings import LINE_COLUMNS
from lineproof.show.read import Reading, read_show
from lineproof.show.table import read_table
from tests.hostile.mangle import mangled_book, mangled_show

#: Rules that may be about the whole of a file, so that no row can be named.
WHOLE = {
    *("too-large", "table-too-large", "table-not-readable", "no-such-file", "outside-folder"),
    *("kept-as-note", "not-readable"),
}


def hold(reading: Reading) -> None:
    """A show, or reasons; every finding says where and what to do."""
    assert reading.show is not None or reading.stops
    for finding in reading.findings:
        assert finding.what
        assert finding.do
        assert finding.where
        assert all(w.file for w in finding.where)
        assert finding.where[0].row or finding.rule in WHOLE, finding


def read_mangled(folder: Path, seed: int, times: int) -> float:
    """Read so many mangled shows and lists; gives the slowest one's seconds."""
    rng = random.Random(seed)
    show, slowest = folder / "show", 0.0
    show.mkdir()
    for n in range(times):
        # Work, not the clock on the wall: what else the machine does is not the reader's doing.
        began = time.process_time()
        if n % 4:
            mangled_show(show, rng)
            hold(read_show(show))
        else:
            path = mangled_book(folder / "list", rng)
            _, findings = read_table(path, file=path.name, columns=LINE_COLUMNS)
            assert all(f.where and f.do for f in findings)
        slowest = max(slowest, time.process_time() - began)
    return slowest


def test_two_thousand_mangled_files(tmp_path: Path, seed: int) -> None:
    read_mangled(tmp_path, seed, 2000)


def test_mangled_shows_that_read_are_planned_or_refused(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(40):
        mangled_show(tmp_path, rng)
        reading = read_show(tmp_path)
        if reading.show is not None:
            decision = decide(reading.show)
            assert decision.plan is not None or decision.findings


@pytest.mark.soak
def test_a_hundred_thousand_mangled_files(tmp_path: Path, seed: int) -> None:
    slowest = read_mangled(tmp_path, seed, 100_000)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"seed {seed}: slowest {slowest:.2f} s, most memory {most:.0f} MB")  # noqa: T201
    assert slowest < 1.0
    assert most < 500


# -- what is made to hurt ------------------------------------------------------------------------


def one_file(folder: Path, text: str) -> Reading:
    (folder / "show.yaml").write_text(text)
    reading = read_show(folder)
    hold(reading)
    return reading


HURTS = {
    "aliases that explode": "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n",
    "nesting without end": "places: " + "{a: " * 5000,
    "lists without end": "places: " + "[" * 5000 + "]" * 5000,
    "a number without end": f"title: A\nrate: {'9' * 100_000} Hz\n",
    "a name without end": (
        f"title: A\nrate: 48 kHz\nplaces: {{{'a' * 50_000}: {{at: [0, 0, 0]}}}}\n"
    ),
    "a range without end": "title: A\nrate: 48 kHz\nlines: [{number: 1, to: 'a-1..a-99999999'}]\n",
    "a tag that calls": "title: !!python/object/apply:os.system ['true']\n",
    "two documents": "title: A\n---\ntitle: B\n",
    "nothing": "",
    "only notes": "# nothing\n",
    "a list": "- a\n- b\n",
    "a word": "show\n",
    "nought bytes": "title: \x00\n",
    "a key that is a list": "? [a, b]\n: c\n",
}


@pytest.mark.parametrize("name", HURTS)
def test_what_is_made_to_hurt_is_refused_with_a_place(tmp_path: Path, name: str) -> None:
    assert one_file(tmp_path, HURTS[name]).stops


SHOW = "title: A\nrate: 48 kHz\nplaces: {stage: {at: [0, 0, 0]}}\nunits: {}\nlines: "


def test_files_outside_the_folder_are_not_read(tmp_path: Path) -> None:
    folder = tmp_path / "show"
    folder.mkdir()
    secret = tmp_path / "secret.csv"
    secret.write_text("number,name,from,to\n1,Secret,stage,stage\n")
    (folder / "link.csv").symlink_to(secret)
    for name in ("../secret.csv", str(secret), "link.csv", "./../show/../secret.csv"):
        reading = one_file(folder, SHOW + name + "\n")
        assert [f.rule for f in reading.findings if f.rule == "outside-folder"]
        assert reading.show is not None
        assert reading.show.lines == ()


def test_what_is_no_file_is_not_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder.csv").mkdir()
    for name in ("pipe.csv", "folder.csv", "nothing.csv", "' '"):
        assert one_file(tmp_path, SHOW + name + "\n").stops
