"""The shows that ship are planned as they lie: small, the documents' example, the starter."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from lineproof.base.finding import Grade
from lineproof.base.spot import LineKey, Spot
from lineproof.decide.decide import decide
from lineproof.graph.signal import By, ways
from lineproof.outcome import work_out
from lineproof.plan.model import Plan
from lineproof.show.model import Show
from lineproof.show.read import read_show

STARTER = Path(str(resources.files("lineproof.show") / "starter"))
SHOWS = ("small", "lantern", "starter", "hall")


def folder(root: Path, name: str) -> Path:
    return STARTER if name == "starter" else root / "shows" / name


def planned(path: Path) -> tuple[Show, Plan]:
    reading = read_show(path)
    assert reading.show is not None
    decision = decide(reading.show)
    assert decision.plan is not None
    return reading.show, decision.plan


@pytest.mark.parametrize("name", SHOWS)
def test_plans_with_nothing_worse_than_a_note(root: Path, name: str) -> None:
    reading = read_show(folder(root, name))
    show, plan = planned(folder(root, name))
    outcome = work_out(reading, plan)
    assert [str(f) for f in outcome.findings if f.grade is not Grade.NOTE] == []
    assert {line.key for line in plan.lines} == {line.key for line in show.lines}


@pytest.mark.parametrize("name", SHOWS)
def test_every_line_ends_in_exactly_its_ends(root: Path, name: str) -> None:
    show, plan = planned(folder(root, name))
    for line in show.lines:
        decided = plan.line(line.key)
        assert decided is not None
        asked = {str(member) for _, member in line.end_members()}
        assert {way.end for way in ways(show, decided)} == asked - set(decided.left_out)
        for way in ways(show, decided):
            there = [m.name for _, m in line.end_members() if str(m) == way.end]
            last = way.spots[-1].unit
            assert last == there[0] or show.units[last].place == there[0]


def test_small_show_is_what_its_issue_says(root: Path) -> None:
    show, _ = planned(root / "shows" / "small")
    kinds = [unit.kind.name for unit in show.units.values()]
    assert len(show.lines) == 24
    assert kinds.count("mixer-32") == 2
    assert kinds.count("box-16-8") == 1
    assert kinds.count("powered-loudspeaker") == 2
    assert kinds.count("analogue-loudspeaker") == 2
    assert sum(kind.startswith("computer-32") for kind in kinds) == 2


def test_small_show_keeps_its_pin_and_its_pairs(root: Path) -> None:
    _, plan = planned(root / "shows" / "small")
    cello = plan.line(LineKey.parse("10"))
    assert cello is not None
    assert Spot.parse("box-1:in-9") in set(cello.spots())
    for left, right in (("4", "5"), ("11", "12"), ("17", "18")):
        a, b = plan.line(LineKey.parse(left)), plan.line(LineKey.parse(right))
        assert a is not None
        assert b is not None
        one, other = next(a.spots()), next(b.spots())
        assert one.unit == other.unit
        assert one.number % 2 == 1
        assert other.number == one.number + 1


def test_voices_are_not_all_in_one_unit(root: Path) -> None:
    _, plan = planned(root / "shows" / "small")
    voices = [plan.line(LineKey.parse(n)) for n in ("13", "14", "15")]
    assert len({next(v.spots()).unit for v in voices if v is not None}) > 1


def test_a_line_on_the_mixers_own_socket_takes_no_channel_of_it(root: Path) -> None:
    show, plan = planned(root / "shows" / "small")
    host = plan.line(LineKey.parse("16"))
    assert host is not None
    way = next(w for w in ways(show, host) if w.end == "side")
    assert [hop.by for hop in way.hops()] == [By.INSIDE]
