"""Work in another process that nobody wants any more, or that somebody disturbs."""

from __future__ import annotations

import pickle

import pytest

from lineproof.web import apart
from lineproof.web.apart import CutShort, rescued_apart
from lineproof.web.worked import Worked


def room() -> None:
    """Make no room: nothing else takes up memory here."""


def test_what_nobody_wants_any_more_ends_without_a_complaint(hall: Worked) -> None:
    # The other process is ended before it has read all that it is asked: a pipe breaks.
    assert hall.outcome is not None
    assert hall.outcome.drill is not None
    for looks in range(4):
        still = iter([*[True] * looks, False])
        with pytest.raises(CutShort):
            rescued_apart(hall.outcome.drill.swept, lambda: next(still), lambda _: None, room)  # noqa: B023


def test_who_breaks_things_meanwhile_does_not_keep_it_from_being_asked(
    small: Worked, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert small.outcome is not None
    assert small.outcome.drill is not None
    whole, tries = pickle.dumps, iter(range(3))

    def dumps(asked: object) -> bytes:
        if next(tries) < 2:
            raise RuntimeError("dictionary changed size during iteration")
        return whole(asked)

    monkeypatch.setattr(apart, "LOOK_S", 0.01)
    monkeypatch.setattr("pickle.dumps", dumps)
    found = rescued_apart(small.outcome.drill.swept, lambda: True, lambda _: None, room)
    assert found.by_fault


def test_what_can_not_be_asked_at_all_is_told(
    small: Worked, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dumps(asked: object) -> bytes:
        raise RuntimeError("dictionary changed size during iteration")

    assert small.outcome is not None
    assert small.outcome.drill is not None
    monkeypatch.setattr(apart, "LOOK_S", 0.01)
    monkeypatch.setattr("pickle.dumps", dumps)
    with pytest.raises(apart.Failed, match="changed size"):
        rescued_apart(small.outcome.drill.swept, lambda: True, lambda _: None, room)
