"""Commands as an engineer runs them: what they say, what they leave, their exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run


def change(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))


def test_plan_then_issue_then_check(small: Path, run: Run) -> None:
    assert run("plan", small).returncode == 0
    issued = run("issue", small, "--by", "A. Planner")
    assert issued.returncode == 0
    assert issued.stdout.startswith("ISSUED 1 by A. Planner")
    checked = run("check", small)
    assert checked.returncode == 0
    assert checked.stdout.startswith("Harbour Revue: ISSUED 1, mark ")


def test_starter_show_plans_with_notes_alone(tmp_path: Path, run: Run) -> None:
    assert run("new", tmp_path / "mine").returncode == 0
    assert run("plan", tmp_path / "mine").returncode == 0
    checked = json.loads(run("check", tmp_path / "mine", "--json").stdout)
    assert {f["grade"] for f in checked["findings"]} <= {"note"}


def test_new_never_writes_over_anything(small: Path, run: Run) -> None:
    before = (small / "show.yaml").read_bytes()
    refused = run("new", small)
    assert refused.returncode == 3
    assert (small / "show.yaml").read_bytes() == before


def test_a_row_added_after_issue_is_a_stop_until_planned(small: Path, run: Run) -> None:
    run("plan", small)
    run("issue", small)
    with (small / "lines.csv").open("a") as lines:
        lines.write("21,Triangle,stage-right,condenser mic,desk,,,,must,,,\n")
    checked = run("check", small)
    assert checked.returncode == 1
    assert "ISSUED 1 + 1 CHANGE," in checked.stdout
    assert "line 21 (Triangle) is not in the plan [not-planned]" in checked.stdout
    assert run("issue", small).returncode == 3
    assert run("plan", small).returncode == 0
    moved = run("diff", small).stdout
    rows = [row.split()[:2] for row in moved.splitlines()[:-1]]
    assert [row for row in rows if row[1] != "stream"] == [["new", "21"], ["new", "21"]]
    assert run("issue", small).stdout.startswith("ISSUED 2 ")


def test_words_alone_make_no_new_revision(small: Path, run: Run) -> None:
    run("plan", small)
    run("issue", small)
    change(small, "lines.csv", "1,Kick,", "1,Bass drum,")
    run("plan", small)
    again = run("issue", small)
    assert again.returncode == 0
    assert "no decision differs from ISSUED 1" in again.stdout
    assert not (small / "plan" / "issued" / "2.json").exists()


def test_going_back_is_a_new_revision_with_the_old_decisions(small: Path, run: Run) -> None:
    run("plan", small)
    run("issue", small)
    change(small, "lines.csv", "box-1:in-9", "box-1:in-12")
    run("plan", small)
    run("issue", small)
    change(small, "lines.csv", "box-1:in-12", "box-1:in-9")
    assert run("issue", small, "--again", 1).stdout.startswith("ISSUED 3 ")
    assert run("diff", small, 1, 3).stdout == "no differences between ISSUED 1 and ISSUED 3\n"


def test_locked_refuses_a_plan_that_would_change_anything(small: Path, run: Run) -> None:
    run("plan", small)
    run("issue", small)
    assert run("plan", small, "--locked").returncode == 0
    change(small, "lines.csv", "box-1:in-9", "box-1:in-12")
    before = (small / "plan" / "draft.json").read_bytes()
    refused = run("plan", small, "--locked")
    assert refused.returncode == 3
    assert (small / "plan" / "draft.json").read_bytes() == before


def test_every_mistake_is_told_at_once_with_its_place(small: Path, run: Run) -> None:
    change(small, "show.yaml", "rate: 48 kHz", "rate: 48")
    change(small, "show.yaml", "place: booth, circuit: front, label: Playback", "place: boot")
    change(small, "lines.csv", "3,Hat,stage-right", "3,Hat,stage-rihgt")
    checked = run("check", small)
    assert checked.returncode == 1
    assert "Traceback" not in checked.stderr + checked.stdout
    for told in (
        "show.yaml:4:7: rate of show: '48' has no unit",
        "which is no place; did you mean 'booth'?",
        "lines.csv:4:3 (from): line 3 names 'stage-rihgt', which is no place or unit",
        "did you mean 'stage-right'?",
    ):
        assert told in checked.stdout


def test_a_row_that_cannot_be_read_keeps_its_socket_and_stops_the_issue(
    small: Path, run: Run
) -> None:
    run("plan", small)
    run("issue", small)
    change(small, "lines.csv", "3,Hat,stage-right", "3,Hat,stage-rihgt")
    assert run("plan", small).returncode == 1
    assert run("diff", small).stdout == "no differences between ISSUED 1 and the draft\n"
    assert run("issue", small).returncode == 3


def test_too_many_lines_are_refused_with_the_count(tmp_path: Path, run: Run) -> None:
    run("new", tmp_path / "mine")
    rows = [f"{n},Voice {n},box-1,condenser mic,desk" for n in range(1, 18)]
    (tmp_path / "mine" / "lines.csv").write_text("\n".join(["number,name,from,source,to", *rows]))
    refused = run("plan", tmp_path / "mine")
    assert refused.returncode == 2
    assert "17 lines ask for an input socket with phantom on box-1, there are 16" in refused.stdout
    assert not (tmp_path / "mine" / "plan").exists()


@pytest.mark.parametrize(
    ("words", "code"),
    [(["frobnicate"], 4), (["plan", "--frobnicate"], 4), (["check", "no-such-folder"], 4)],
)
def test_wrong_commands_exit_with_4(run: Run, words: list[str], code: int) -> None:
    wrong = run(*words)
    assert wrong.returncode == code
    assert wrong.stderr.startswith("lineproof: ")
    assert "Traceback" not in wrong.stderr


def test_unreadable_show_exits_with_2_and_says_where(small: Path, run: Run) -> None:
    change(small, "show.yaml", "nets: two", "nets: [one")
    broken = run("check", small)
    assert broken.returncode == 2
    assert "stop: show.yaml:" in broken.stdout


def test_damaged_plan_exits_with_2_and_touches_nothing(small: Path, run: Run) -> None:
    run("plan", small)
    draft = small / "plan" / "draft.json"
    draft.write_text(draft.read_text()[:-40])
    broken = run("check", small)
    assert broken.returncode == 2
    assert "plan/draft.json is damaged" in broken.stderr


@pytest.mark.parametrize("command", ["plan", "issue", "diff", "check", "kit", "new"])
def test_json_is_one_value_that_names_its_command(small: Path, run: Run, command: str) -> None:
    run("plan", small)
    words = {"kit": [], "new": [small.parent / "fresh"]}.get(command, [small])
    answered = run(command, *words, "--json")
    data = json.loads(answered.stdout)
    assert data["command"] == command
    assert data["format"] == 1


def test_errors_are_json_too(small: Path, run: Run) -> None:
    change(small, "show.yaml", "nets: two", "nets: [one")
    data = json.loads(run("check", small, "--json").stdout)
    assert data["command"] == "error"
    assert data["findings"][0]["where"][0]["file"] == "show.yaml"
