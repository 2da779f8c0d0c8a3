"""A hundred single mistakes: each is found at its place, and is the only thing that stops."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from lineproof.base.finding import Finding, Grade
from lineproof.decide.decide import decide
from lineproof.outcome import work_out
from lineproof.plan.model import Plan
from lineproof.show.read import read_files

HERE = Path(__file__).parent
SMALL = HERE.parents[1] / "shows" / "small"
FILES = {"show": "show.yaml", "lines": "lines.csv"}
TEXTS = {file: (SMALL / file).read_text("utf-8") for file in FILES.values()}
#: The row of the first key of shows/small/show.yaml.
FIRST_KEY = 3
LISTED = tomllib.loads((HERE / "mistakes.toml").read_text("utf-8"))
MISTAKES = [
    (FILES[part], *(cell.replace("\\n", "\n") for cell in (*row, "")[:5]))
    for part, listed in LISTED.items()
    for row in listed["rows"]
]


def found(texts: dict[str, str]) -> list[Finding]:
    """Give all that reading, planning and checking finds."""
    reading = read_files(texts)
    if reading.show is None:
        return list(reading.findings)
    decision = decide(reading.show)
    plan = decision.plan or Plan()
    told = work_out(reading, plan).findings if decision.plan else reading.findings
    return [*told, *decision.findings]


def first_row_changed(before: str, after: str) -> int:
    rows = zip(before.split("\n"), after.split("\n"), strict=False)
    return next(row for row, (was, now) in enumerate(rows, 1) if was != now)


def test_there_are_a_hundred() -> None:
    assert len(MISTAKES) == 100


def test_the_untouched_show_has_none() -> None:
    assert [str(f) for f in found(TEXTS) if f.grade is not Grade.NOTE] == []


@pytest.mark.parametrize(
    ("file", "old", "new", "rule", "site", "at"),
    MISTAKES,
    ids=[f"{m[3]}: {m[2][:40]}" for m in MISTAKES],
)
def test_mistake_is_found_at_its_place_and_alone(
    file: str, old: str, new: str, rule: str, site: str, at: str
) -> None:
    assert site
    assert TEXTS[file].count(old) == 1
    text = TEXTS[file].replace(old, new)
    told = found({**TEXTS, file: text})
    stops = [f for f in told if f.grade is Grade.STOP]
    assert [str(f) for f in stops if f.rule != rule] == []
    assert len(stops) <= 1, [str(f) for f in stops]
    mine = [f for f in told if f.rule == rule]
    assert mine, [str(f) for f in told]
    row = FIRST_KEY if at == "top" else first_row_changed(TEXTS[file], text)
    assert any(w.file == file and (w.row in (row, row + 1)) for f in mine for w in f.where), [
        str(f) for f in mine
    ]
    assert all(f.do for f in mine)
