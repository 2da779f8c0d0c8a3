"""A hundred single mistakes: each is found at its place, and is the only thing that stops."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from lineproof.base.finding import Finding, Grade
from lineproof.decide.decide import decide
from lineproof.outcome import work_out
from lineproof.show.read import read_files

HERE = Path(__file__).parent
SMALL = HERE.parent / "one-net"
TEXTS = {file: (SMALL / file).read_text("utf-8") for file in ("show.yaml", "lines.csv")}
GROUPS = tomllib.loads((HERE / "mistakes.toml").read_text("utf-8"))
MISTAKES = [
    pytest.param(mistake, id=f"{group}: {mistake['rule']}: {mistake['new'].strip()[:50]}")
    for group, mistakes in GROUPS.items()
    for mistake in mistakes
]


def found(texts: dict[str, str]) -> list[Finding]:
    """Give all that reading, planning and checking finds."""
    reading = read_files(texts)
    if reading.show is None:
        return list(reading.findings)
    decision = decide(reading.show)
    told = work_out(reading, decision.plan).findings if decision.plan is not None else ()
    return list({*reading.findings, *decision.findings, *told})


def made(mistake: dict[str, str]) -> dict[str, str]:
    """Give the show's files with the mistake in them."""
    assert sum(text.count(mistake["old"]) for text in TEXTS.values()) == 1
    return {file: text.replace(mistake["old"], mistake["new"]) for file, text in TEXTS.items()}


def test_there_are_a_hundred_and_no_two_alike() -> None:
    changes = {(m["old"], m["new"]) for mistakes in GROUPS.values() for m in mistakes}
    assert len(changes) == len(MISTAKES) >= 100


def test_the_untouched_show_has_none() -> None:
    assert [str(f) for f in found(TEXTS) if f.grade is not Grade.NOTE] == []


def test_the_untouched_show_raises_none_of_their_rules() -> None:
    rules = {m["rule"] for mistakes in GROUPS.values() for m in mistakes}
    assert rules & {f.rule for f in found(TEXTS)} == set()


@pytest.mark.parametrize("mistake", MISTAKES)
def test_mistake_is_found_at_its_place_and_alone(mistake: dict[str, str]) -> None:
    told = found(made(mistake))
    mine = [f for f in told if f.rule == mistake["rule"]]
    assert mistake["at"] in [str(f.where[0]) for f in mine], [str(f) for f in told]
    assert all(f.what and f.do for f in mine)
    stops = [str(f) for f in told if f.grade is Grade.STOP]
    assert stops == [str(f) for f in mine if f.grade is Grade.STOP][:1]
    assert mistake["site"]
