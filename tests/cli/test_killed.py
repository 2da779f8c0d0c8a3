"""`kill -9` at any moment leaves the previous or the new file whole."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lineproof.plan.store import read_draft, read_revision, revisions
from tests.cli.conftest import Run

#: Writes two plans in turn for as long as it lives, so that a kill often falls into a write.
WRITER = """
import sys
from dataclasses import replace
from pathlib import Path
from lineproof.plan.model import Plan
from lineproof.plan.store import read_draft, save_draft
folder = Path(sys.argv[1])
plan = read_draft(folder)
other = replace(plan, lines=plan.lines[:12])
print("ready", flush=True)
while True:
    save_draft(folder, other)
    save_draft(folder, plan)
"""


def kill_after(command: list[str], seconds: float) -> None:
    """Run a process of ours and kill it, by its id, after so long."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    process.wait(timeout=30)


def kill_writer(folder: Path, seconds: float) -> None:
    command = [sys.executable, "-c", WRITER, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(seconds)
        process.send_signal(signal.SIGKILL)


def assert_draft_is_whole(folder: Path, counts: set[int]) -> None:
    draft = read_draft(folder)
    assert draft is not None
    assert len(draft.lines) in counts


def kill_writers(folder: Path, seed: int, times: int) -> None:
    drawn = random.Random(seed)
    for _ in range(times):
        kill_writer(folder, drawn.uniform(0.0, 0.05))
        assert_draft_is_whole(folder, {12, 24})


def kill_commands(folder: Path, seed: int, times: int) -> None:
    drawn = random.Random(seed)
    for n in range(times):
        text = (folder / "lines.csv").read_text()
        spot, other = ("box-1:in-9", "box-1:in-12")
        old, new = (spot, other) if spot in text else (other, spot)
        (folder / "lines.csv").write_text(text.replace(old, new))
        for command in ("plan", "issue"):
            words = [sys.executable, "-m", "lineproof", command, str(folder), "--by", f"round {n}"]
            kill_after(words[: None if command == "issue" else -2], drawn.uniform(0.05, 0.9))
        assert_draft_is_whole(folder, {24})
        for revision in revisions(folder):
            issued = read_revision(folder, revision)
            assert len(issued.plan.lines) == 24
            assert set(issued.show) == {"show.yaml", "lines.csv"}


def test_killed_while_writing_a_draft(small: Path, run: Run, seed: int) -> None:
    run("plan", small)
    kill_writers(small, seed, 25)


def test_killed_while_planning_and_issuing(small: Path, run: Run, seed: int) -> None:
    run("plan", small)
    kill_commands(small, seed, 6)


@pytest.mark.soak
def test_killed_thousands_of_times(small: Path, run: Run, seed: int) -> None:
    run("plan", small)
    kill_writers(small, seed, 3000)
    kill_commands(small, seed, 200)


def test_a_plan_cut_short_by_hand_is_told_not_trusted(small: Path, run: Run) -> None:
    run("plan", small)
    path = small / "plan" / "draft.json"
    data = json.loads(path.read_text())
    del data["lines"][0]["start"]
    path.write_text(json.dumps(data))
    assert run("check", small).returncode == 2


def test_two_who_issue_at_once_never_overwrite_each_other(small: Path, run: Run) -> None:
    run("plan", small)
    command = [sys.executable, "-m", "lineproof", "issue", str(small), "--by"]
    both = [
        subprocess.Popen([*command, who], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for who in ("one", "two")
    ]
    said = [process.communicate(timeout=60)[0] for process in both]
    assert [b"ISSUED 1 by" in text for text in said].count(True) == 1
    assert revisions(small) == (1,)
