"""Generated shows: the same bytes for the same seed anywhere, of the size they claim, plannable."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from lineproof.base.finding import Grade
from lineproof.cli.main import main
from lineproof.kit.kinds import Does
from lineproof.kit.load import load_kit
from lineproof.show.generate import SIZES, generate
from lineproof.show.model import Show
from lineproof.show.read import Reading, read_show

#: Lines, units without switches, switches: section 8 of the design.
ARENA = (500, 400, 120)

PRINT_ALL = """
from lineproof.show.generate import generate
import hashlib
print(hashlib.sha256(repr(generate("arena", 7)).encode()).hexdigest())
"""


def written(files: dict[str, str], folder: Path) -> Path:
    for name, text in files.items():
        (folder / name).write_bytes(text.encode())
    return folder


@pytest.fixture(scope="module")
def arena(tmp_path_factory: pytest.TempPathFactory) -> Reading:
    return read_show(written(generate("arena", 1), tmp_path_factory.mktemp("arena")))


def shown(reading: Reading) -> Show:
    assert reading.show is not None
    return reading.show


def counts(show: Show) -> tuple[int, int, int]:
    switches = sum(unit.kind.does is Does.SWITCH for unit in show.units.values())
    return len(show.lines), len(show.units) - switches, switches


@pytest.mark.parametrize(("size", "times"), [("arena", 1), ("campus", 4)])
def test_size_is_what_the_design_says(size: str, times: int, tmp_path: Path) -> None:
    reading = read_show(written(generate(size, 1), tmp_path))
    assert not reading.stops
    assert counts(shown(reading)) == tuple(times * n for n in ARENA)


@pytest.mark.parametrize("seed", range(2, 8))
def test_any_seed_gives_a_show_that_is_read_without_a_stop(seed: int, tmp_path: Path) -> None:
    reading = read_show(written(generate("arena", seed), tmp_path))
    assert [str(f) for f in reading.findings if f.grade is not Grade.NOTE] == []
    assert counts(shown(reading)) == ARENA


def test_make_up_of_an_arena(arena: Reading) -> None:
    does = Counter(unit.kind.does for unit in shown(arena).units.values())
    assert does[Does.BOX] == 40
    assert does[Does.MIXER] == 18
    assert does[Does.AMPLIFIER] > 200
    assert does[Does.LOUDSPEAKER] == 100
    recorders = [name for name in shown(arena).units if name.startswith("rec-")]
    assert len(recorders) == 12
    assert {unit.net for unit in shown(arena).units.values()} == {"", "a", "b"}
    assert len({act.stage for act in shown(arena).acts}) == 8
    ends = sum(len(line.end_members()) for line in shown(arena).lines)
    assert 5_500 <= ends <= 7_500


def test_only_kinds_of_the_catalogue(arena: Reading) -> None:
    known = load_kit().kinds
    assert {unit.kind.name for unit in shown(arena).units.values()} <= set(known)


def test_acts_of_one_stage_never_overlap(arena: Reading) -> None:
    by_stage: dict[str, list[tuple[str, str]]] = {}
    for act in shown(arena).acts:
        by_stage.setdefault(act.stage, []).append((act.starts, act.ends))
    for spans in by_stage.values():
        for (_, ends), (starts, _) in itertools.pairwise(spans):
            assert ends < starts


@pytest.mark.parametrize("hash_seed", ["0", "1", "4242"])
def test_the_hash_seed_changes_nothing(hash_seed: str, root: Path) -> None:
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": str(root / "src")}
    done = subprocess.run(
        [sys.executable, "-c", PRINT_ALL], env=environment, capture_output=True, check=True
    )
    # What this process makes, whatever its own hash seed is.
    space: dict[str, object] = {}
    here: list[str] = []
    exec(PRINT_ALL.replace("print(", "here.append("), {"here": here}, space)
    assert done.stdout.decode().strip() == here[0]


def test_another_seed_gives_another_show() -> None:
    assert generate("arena", 1) != generate("arena", 2)


def test_sizes_are_those_the_command_offers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for size in SIZES:
        assert main(["new", "--size", size, "--seed", "3", str(tmp_path / size)]) == 0
        files = {p.name: p.read_text("utf-8") for p in (tmp_path / size).iterdir()}
        assert files == generate(size, 3)
    assert main(["new", "--size", "village", str(tmp_path / "v")]) == 4
    assert "arena" in capsys.readouterr().err


def test_a_seed_alone_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--seed", "3", str(tmp_path / "x")]) == 4
    assert "--size" in capsys.readouterr().err
    assert not (tmp_path / "x").exists()


def test_never_over_a_folder_that_holds_something(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    assert main(["new", "--size", "arena", str(tmp_path)]) == 3
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
