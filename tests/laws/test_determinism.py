"""The same show gives the same bytes: whatever the order of rows, the hash seed or the load."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lineproof.decide.decide import decide
from lineproof.plan.text import write_plan
from lineproof.show.canonical import mark
from lineproof.show.read import read_files
from tests.second.draw import Text, issued, texts


def written(text: Text, earlier: Text | None = None) -> str:
    first = decide(earlier.show()).plan if earlier else None
    decision = decide(text.show(), issued(first) if first else None)
    if decision.plan is None:
        # Reasons name rows by their place in the file, which moves when rows do.
        return "\n".join(sorted(f"{f.rule} {sorted(f.of)}" for f in decision.findings))
    return write_plan(decision.plan)


@settings(max_examples=25)
@given(text=texts(), data=st.data())
def test_rows_in_another_order_change_nothing(text: Text, data: st.DataObject) -> None:
    shuffled = replace(
        text,
        places=tuple(data.draw(st.permutations(text.places))),
        kinds=tuple(data.draw(st.permutations(text.kinds))),
        units=tuple(data.draw(st.permutations(text.units))),
        lines=tuple(data.draw(st.permutations(text.lines))),
        pins=tuple(data.draw(st.permutations(text.pins))),
    )
    assert mark(shuffled.show()) == mark(text.show())
    assert written(shuffled) == written(text)
    # So it is after an issued plan, however that one's rows stood.
    fewer = text.with_lines(text.lines[1:]) if len(text.lines) > 1 else text
    assert written(shuffled, earlier=fewer) == written(text, earlier=fewer)


#: Wants that are equal in all but their names fight for too few tracks and sockets.
CROWDED = """\
title: Crowded
rate: 48 kHz
places:
  stage: {at: [0, 0, 0]}
  wing: {at: [8, 0, 0]}
  front: {at: [0, 20, 0]}
kinds:
  tape: {like: computer-32, receive: {48000: 5}}
units:
  box-1: {kind: box-8-4, place: stage, number: 1}
  box-2: {kind: box-8-4, place: wing, number: 2}
  desk: {kind: mixer-16, place: front}
  tape-1: {kind: tape, place: front}
  tape-2: {kind: tape, place: wing}
lines:
""" + "".join(
    f"  - {{number: {n}, name: Voice {n}, from: {('stage', 'wing')[n % 2]}, group: choir, "
    f"spread: choir, source: {('dynamic', 'condenser')[n % 3 == 0]} mic, "
    f"to: [desk, 'tape-1?', 'tape-2?']}}\n"
    for n in range(1, 13)
)


def _tied(places: int) -> str:
    """Give a show whose best plans tie in every wish and in the order of lines.

    At each place two groups, lines 1 and 4 and lines 2 and 3 of it, each fill one of two like
    boxes: which group gets which is for the last weights to settle.
    """
    rows = ["title: Tied", "rate: 48 kHz", "places:", "  front: {at: [0, 900, 0]}"]
    rows += [f"  at-{k}: {{at: [{100 * k}, 0, 0]}}" for k in range(places)]
    rows += ["units:", "  tape: {kind: computer-64, place: front}"]
    boxes = [(k, half) for k in range(places) for half in "ab"]
    rows += [f"  box-{k}{half}: {{kind: box-2-2, place: at-{k}}}" for k, half in boxes]
    rows += ["lines:"]
    rows += [
        f"  - {{number: {4 * k + n}, from: at-{k}, to: tape, group: {group}-{k}}}"
        for k in range(places)
        for n, group in ((1, "outer"), (2, "inner"), (3, "inner"), (4, "outer"))
    ]
    return "\n".join(rows) + "\n"


_PLAN_IT = """\
import sys
from pathlib import Path
from lineproof.decide.decide import decide
from lineproof.plan.text import write_plan
from lineproof.show.read import read_files
for name in sys.argv[1:]:
    folder = Path(name)
    files = {p.name: p.read_text("utf-8") for p in folder.iterdir() if p.is_file()}
    decision = decide(read_files(files).show)
    print(write_plan(decision.plan))
    print(*decision.terms, *decision.findings, sep="\\n")
"""


@pytest.fixture
def busy() -> Iterator[None]:
    """Keep the machine busy with a process of our own while the test runs."""
    process = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        yield
    finally:
        process.kill()
        process.wait()


@pytest.mark.usefixtures("busy")
def test_hash_seeds_and_load_change_nothing(root: Path, tmp_path: Path) -> None:
    folders = [root / "shows" / "small", tmp_path / "crowded", tmp_path / "tied"]
    for folder, text in zip(folders[1:], (CROWDED, _tied(6)), strict=True):
        folder.mkdir()
        (folder / "show.yaml").write_text(text, "utf-8")
    outputs = []
    for seed in ("0", "1", "4711"):
        done = subprocess.run(
            [sys.executable, "-c", _PLAN_IT, *map(str, folders)],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(root / "src")},
            capture_output=True,
            check=True,
        )
        outputs.append(done.stdout)
    assert outputs[0] == outputs[1] == outputs[2]
    assert b'"left-out"' in outputs[0]


def test_planned_twice_it_is_the_same() -> None:
    show = read_files({"show.yaml": CROWDED}).show
    assert show is not None
    first, second = decide(show), decide(show)
    assert first.plan is not None
    assert second.plan is not None
    assert write_plan(first.plan) == write_plan(second.plan)
    assert first.terms == second.terms
