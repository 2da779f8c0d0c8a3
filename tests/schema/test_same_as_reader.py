"""Every value of a show replaced by what doesn't belong: schema and reader see the same.

The schema refuses nothing that the reader takes. What the reader stops at and the schema can't
see (names of things, files, numbers that go together) is named below.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import jsonschema
import pytest
import yaml

from lineproof.base.finding import Grade
from lineproof.show.read import read_files
from lineproof.show.schema import show_schema

VALIDATOR = jsonschema.Draft202012Validator(show_schema())
LINES = "number,name,from,source,to\n2,Kick,stage,dynamic mic,desk\n"
#: Every key of the show file once; all is text, as the reader sees it.
SHOW = """
title: Every key
rate: 48 kHz
packet: 1 ms
nets: one
routes: per-act
other: 10 Mbit/s
air: {temperature: 14 C, humidity: 70 %}
weights: {group: 8 m, move: 5 m, off-number: 3 m, spread-within: 10 m, drop: 2 m, slack: 5 %}
places: {stage: {at: [0, 0, 0], label: Stage, building: old}, front: {at: [0, 20, 0]}}
picture:
  {file: hall.png, first: {pixel: [90, 60], at: [-8, 0]}, second: {pixel: [410, 860], at: [8, 40]}}
ducts: {floor: {between: [stage, front], length: 25 m, installed: yes, label: Floor}}
circuits: {house: {supply: 230 V, limit: 16 A, phase: 1, label: House}, sub: {fed-by: house}}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk:
    {kind: mixer-32, place: front, circuit: [house, sub], rate: 48 kHz, net: a, ports: pair,
     rack: left, here: [one], theirs: yes, muted-by: alarm, mac: aa, meeting: m, standby: side,
     covers: [side], by: hand, power: mains, sockets-of: x, note: n, label: Desk}
  side: {kind: mixer-32, place: front}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house}
runs:
  trunk: {from: 'desk:1', to: 'side:1', along: [floor], cable: copper, length: 3 m, couplers: 1}
stock: {reel: {cable: copper, length: 50 m, count: 2, label: Reel}}
ties: {wall: {between: [stage, front], count: 12}}
zones: {all: [pa]}
lists: {both: [desk, side]}
acts: {one: {stage: main, starts: '20:00', ends: '21:00', build: before, content: music, label: l}}
arrangements: {open: [x, y]}
addresses: {audio: 239.69.0.0/16}
defaults: {one: {to: desk}}
kinds: {own: {like: box-16-8, label: Own, supplies: 2}}
accept: [{finding: long-lead, of: [pa], reason: short, by: me}]
pins: {1: {start: 'box-1:in-3', ends: {desk: 'desk:receive-3'}}}
lines:
- {number: 1, name: Kick, from: stage, source: dynamic mic, phantom: no, to: [desk, 'side?'],
   group: drums, need: must, via: network, minus: a, with: b, never: [pa], private: yes, role: r,
   content: music, label: Kick}
- {table: lines.csv, act: one, content: speech, defaults: {to: desk}}
"""
Way = tuple[str | int, ...]
VALUES: tuple[Any, ...] = (
    *(None, "word", "12", "0", "-3", "1.5", "yes", "3 m", "48 kHz", "a b c", "!!", [], {}),
    *(["word"], [["word"]], [{}], {"word": "1"}, {"at": ["1", "2", "3"]}, "9" * 30),
    *({"word": {"at": ["1"]}}, [{"word": "y"}], {"word": ["a"]}),
)
#: Rules about what a schema can see; the others need the rest of the show.
SEEN = {"wrong-value", "missing-key", "unknown-key", "bad-name"}
#: Wrong values that a schema doesn't see: how many, how much, and how things are called.
UNSEEN = (
    "names stand here, not",
    "two points of picture are one",
    "at of place",
    "at of first point",
    "at of second point",
    "kind 'own'",
    "a line's number is",
)


def whole() -> dict[str, Any]:
    show: dict[str, Any] = yaml.load(SHOW, Loader=yaml.BaseLoader)
    return show


def ways(node: Any, way: Way = ()) -> Iterator[Way]:
    """Give the way down to everything in the show."""
    inside: Iterable[tuple[str | int, Any]] = node.items() if isinstance(node, dict) else ()
    for step, value in enumerate(node) if isinstance(node, list) else inside:
        yield (*way, step)
        yield from ways(value, (*way, step))


def changed(way: Way, value: Any) -> dict[str, Any]:
    show = copy.deepcopy(whole())
    node: Any = show
    for step in way[:-1]:
        node = node[step]
    node[way[-1]] = value
    return show


def without(way: Way) -> dict[str, Any]:
    show = changed(way, "")
    node: Any = show
    for step in way[:-1]:
        node = node[step]
    del node[way[-1]]
    return show


def written(show: dict[str, Any]) -> str:
    """Give the show's text; a key with nothing behind it is written so."""
    text = yaml.safe_dump(show, sort_keys=False, allow_unicode=True, width=10_000)
    return text.replace(": null", ":").replace("- null", "-")


def hold_together(show: dict[str, Any]) -> None:
    reading = read_files({"show.yaml": written(show), "lines.csv": LINES})
    stops = [f for f in reading.findings if f.grade is Grade.STOP]
    refused = next(VALIDATOR.iter_errors(show), None)
    if refused is not None:
        assert stops, f"the schema alone refuses it: {refused.message}"
    else:
        seen = [f.what for f in stops if f.rule in SEEN]
        assert [what for what in seen if not any(mark in what for mark in UNSEEN)] == []


def test_the_whole_show_is_taken_by_both() -> None:
    assert not read_files({"show.yaml": written(whole()), "lines.csv": LINES}).stops
    assert list(VALIDATOR.iter_errors(whole())) == []


@pytest.mark.parametrize("key", whole())
def test_what_does_not_belong_there_is_seen_by_both(key: str) -> None:
    for n, way in enumerate(ways(whole())):
        if way[0] == key:
            hold_together(without(way))
            # Each place has its turn with some of the values; `make soak` tries all.
            for value in (VALUES * 2)[n * 2 % len(VALUES) :][:2]:
                hold_together(changed(way, value))


@pytest.mark.soak
def test_everything_that_does_not_belong_is_seen_by_both() -> None:
    for way in ways(whole()):
        for value in VALUES:
            hold_together(changed(way, value))


CLOSED: tuple[Way, ...] = (
    *((), ("air",), ("weights",), ("places", "stage"), ("ducts", "floor"), ("circuits", "house")),
    *(("runs", "trunk"), ("ties", "wall"), ("acts", "one"), ("kinds", "own"), ("accept", 0)),
    *(("pins", "1"), ("lines", 1), ("picture",), ("picture", "first")),
)


@pytest.mark.parametrize("way", CLOSED)
def test_a_key_nobody_knows_is_refused_by_both(way: Way) -> None:
    show = changed((*way, "zzz"), "1")
    assert list(VALIDATOR.iter_errors(show)) != []
    hold_together(show)


#: Keys with one record of our own keys behind them, not one for each name.
SINGLE = ("air", "weights", "picture")


def capitals(node: Any, spell: Callable[[str], str], way: Way = ()) -> Any:
    """Give the show with its own keys spelled so; names, and the keys of a kind, are left."""
    if isinstance(node, list):
        return [capitals(item, spell, (*way, n)) for n, item in enumerate(node)]
    if not isinstance(node, dict):
        return node
    names = (len(way) == 1 and way[0] not in SINGLE) or way[-1:] == ("ends",)
    exact = names or way[:1] == ("kinds",)
    return {
        (key if exact else spell(key)): capitals(value, spell, (*way, key))
        for key, value in node.items()
    }


@pytest.mark.parametrize("spell", [str.upper, str.capitalize, str.swapcase])
def test_keys_in_capitals_are_taken_by_both(spell: Callable[[str], str]) -> None:
    show = capitals(whole(), spell)
    assert show.keys() != whole().keys()
    files = {"show.yaml": written(show), "lines.csv": LINES}
    as_usual = read_files({"show.yaml": written(whole()), "lines.csv": LINES})
    assert [e.message for e in VALIDATOR.iter_errors(show)] == []
    assert read_files(files).show == as_usual.show


@pytest.mark.parametrize("key", whole())
def test_what_is_needed_is_missed_by_both_in_capitals_too(key: str) -> None:
    for way in ways(whole()):
        if way[0] == key:
            hold_together(capitals(without(way), str.upper))


@pytest.mark.parametrize("way", [("units", "desk"), ("lines", 0)])
def test_a_column_of_ones_own_is_taken_in_rows_by_both(way: Way) -> None:
    show = changed((*way, "zzz"), "1")
    assert list(VALIDATOR.iter_errors(show)) == []
    assert not read_files({"show.yaml": written(show), "lines.csv": LINES}).stops
