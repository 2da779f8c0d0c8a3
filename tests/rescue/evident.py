"""Shows so small that an engineer sees at once what to do, and how a card is read in tests."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.graph.faults import parse_fault
from lineproof.rescue.rescue import Rescue, rescue
from tests.drill.shows import ready
from tests.rescue.law import broken_promises, named

#: One switch for the stage and one for the front; two boxes side by side.
HEAD = """\
title: Two Boxes
rate: 48 kHz
nets: one
places:
  stage: {at: [0, 0, 0]}
  side: {at: [8, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  apron: {between: [stage, side], length: 10 m}
  floor: {between: [stage, front], length: 26 m}
  wall: {between: [side, front], length: 31 m}
circuits:
  house: {supply: 230 V}
  other: {supply: 230 V}
"""
UNITS = """\
units:
  box-1: {kind: box-8-8, place: stage, number: 1, circuit: house}
  box-2: {kind: box-8-8, place: stage, number: 2, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  sw-1: {kind: switch-8-poe, place: stage, circuit: house}
  sw-2: {kind: switch-8, place: front, circuit: house}
"""
#: Two microphones in the first box.
TWO = """\
lines:
  - {number: 1, name: Oboe, from: stage, source: dynamic mic, to: desk, socket: 'box-1:in-1'}
  - {number: 2, name: Tuba, from: stage, source: dynamic mic, to: desk, socket: 'box-1:in-2'}
"""
TWO_BOXES = HEAD + UNITS + TWO


def card(text: str, *faults: str) -> Rescue:
    """Give the rescue of a show from faults that strike together; held to the law as well."""
    known = ready(text)
    found = rescue(known, [parse_fault(name, known.show, known.plan) for name in faults])
    assert list(broken_promises(known, found)) == []
    return found


def moves(found: Rescue) -> list[str]:
    """Give the moves in words."""
    return [move.words for move in found.moves]


def back(text: str, found: Rescue) -> list[str]:
    """Give what comes back as `line at end`, ends counted from 1."""
    return _told(text, found, found.back)


def stays(text: str, found: Rescue) -> list[str]:
    """Give what stays lost in the same way."""
    return _told(text, found, found.stays)


def _told(text: str, found: Rescue, ends: Iterable[tuple[int, int]]) -> list[str]:
    known = ready(text)
    return [
        f"{key} at {known.show.line(key).ends[n]}"  # type: ignore[union-attr]
        for key, n in named(known, tuple(ends))
    ]
