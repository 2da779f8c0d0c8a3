"""`lineproof drill` as people run it: what it says, its codes, its JSON."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def small(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a copy of the small show with a draft."""
    folder = Path(shutil.copytree(root / "shows" / "small", tmp_path_factory.mktemp("x") / "show"))
    assert run("plan", folder).returncode == 0
    return folder


def run(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "lineproof", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)


def test_a_cut_tells_lines_that_stand_alike_in_one_row(small: Path) -> None:
    done = run("drill", small, "--cut", "sw-stage", "--cut", "play")
    assert done.returncode == 0
    assert "without sw-stage and play: 22 lost, of 24 lines" in done.stdout
    assert "  lines 19, 20: lost at desk, side?: play is dead; somebody must act" in done.stdout


def test_a_wrong_name_is_a_wrong_command(small: Path) -> None:
    done = run("drill", small, "--cut", "stage")
    assert (done.returncode, done.stdout) == (4, "")
    assert done.stderr == "lineproof: there is no unit 'stage'; did you mean circuit:stage?\n"


def test_mistakes_are_drilled_by_themselves(small: Path) -> None:
    done = run("drill", small, "--cut", "mistake:querier-off:a", "--cut", "play")
    assert done.returncode == 4
    assert "a mistake is drilled by itself" in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("--hours", "soon"),
        ("--hours", "0"),
        ("--assume", "circuit"),
        ("--assume", "circuit=often"),
        ("--assume", "circuit=-1"),
        ("--assume", "mixer-32=0.1,5"),
    ],
)
def test_what_can_not_be_assumed_is_said(small: Path, words: tuple[str, str]) -> None:
    done = run("drill", small, *words)
    assert done.returncode == 4
    assert "Traceback" not in done.stderr


def test_pairs_odds_and_what_was_not_tried(small: Path) -> None:
    done = run("drill", small, "--pairs", "--more", "--json", "--quiet", "--assume", "circuit=3,5")
    assert done.returncode == 1  # stops stand
    told = json.loads(done.stdout)
    assert told["pairs-tried"] == told["tried"] * (told["tried"] - 1) // 2
    assert told["odds"]["assumed-failures-a-year"]["circuit"] == 3.0
    assert told["odds"]["assumed-repair-minutes"]["circuit"] == 5.0
    assert told["not-tried"] == []
    assert {"dip", "mistake"} <= {e["faults"][0].partition(":")[0] for e in told["more"]}
    assert all(finding["grade"] in ("stop", "risk", "note") for finding in told["findings"])


def test_check_names_the_worst_single_fault(small: Path) -> None:
    done = run("check", small)
    assert "the worst single fault is circuit:house: without it 24 of 24 lines" in done.stdout


def test_what_is_not_planned_is_not_drilled_and_that_is_said(small: Path, tmp_path: Path) -> None:
    show = Path(shutil.copytree(small, tmp_path / "show"))
    with (show / "lines.csv").open("a", encoding="utf-8") as table:
        table.write("21,Triangle,stage-right,condenser mic,desk,,,,must,,,\n")
    told = run("drill", show).stdout
    assert "\n1 line of the show is not planned as it stands now, and can't be drilled\n" in told
    shutil.rmtree(show / "plan")
    none = run("drill", show)
    assert none.returncode == 2
    assert none.stderr.startswith("lineproof: nothing is planned yet, so nothing can be drilled")


def test_a_cut_tells_the_way_back_step_by_step(small: Path) -> None:
    """The monitor mixer stands in for the front one by hand: it mixes, all ends hear it instead."""
    done = run("drill", small, "--cut", "desk", "--json", "--quiet")
    rescue = json.loads(done.stdout)["rescue"]
    assert [move["do"] for move in rescue["moves"]] == ["start"] * 2 + ["route"] * 6
    assert rescue["fewest-proven"] is True
    assert "pa-left" in rescue["back"]["41"]
    told = run("drill", small, "--cut", "desk").stdout
    assert "mix line 41 (Main left) from side:send-1 instead of desk" in told
    assert "stays lost at loop?: line 42" in told
    assert "side stands in for desk from now on" in told


def test_without_rescues_nothing_is_graded(small: Path) -> None:
    done = run("drill", small, "--no-rescue", "--json", "--quiet")
    told = json.loads(done.stdout)
    assert "rescues" in told["not-tried"]
    assert "rescues" not in told
    assert any("not yet graded" in finding["what"] for finding in told["findings"])


def test_gains_are_worked_out_when_asked_for(small: Path) -> None:
    done = run("drill", small, "--gains", "2", "--json", "--quiet")
    told = json.loads(done.stdout)["gains"]
    assert len(told) == 2
    apart = next(gain for gain in told if gain["improvement"] == "rec-1 on net b")
    assert apart["after"]["stops"] == apart["before"]["stops"] - 1


@pytest.mark.parametrize("words", [("--gains", "0"), ("--gains", "2", "--no-rescue")])
def test_gains_go_with_rescues(small: Path, words: tuple[str, ...]) -> None:
    assert run("drill", small, *words).returncode == 4
