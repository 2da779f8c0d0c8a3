"""Every key of the show file is read, kept, written back, and noted where nothing uses it yet."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
import yaml

from lineproof.show import words
from lineproof.show.model import Show
from lineproof.show.read import Reading, read_files
from lineproof.show.write import write_show

SHOW = """
title: Every key
rate: 48 kHz
packet: 0.5 ms
nets: two
routes: per-act
other: 10 Mbit/s
air: {temperature: 14 C, humidity: 70 %}
weights: {group: 9 m, move: 6 m, off-number: 4 m, spread-within: 11 m, drop: 2 m, slack: 5 %}
places:
  stage: {at: [0, 0, 0], label: Stage, building: old}
  front: {at: [0, 20, 0], label: Front}
picture:
  file: hall.png
  first: {pixel: [90, 60], at: [-8, 0]}
  second: {pixel: [410, 860], at: [8.5, 40]}
ducts: {floor: {between: [stage, front], length: 25 m, installed: yes, label: Floor}}
circuits:
  house: {supply: 230 V, limit: 16 A, phase: 1, label: House}
  sub: {fed-by: house}
units:
  box-1: {kind: own, place: stage, number: 1, circuit: house}
  desk:
    {kind: mixer-32, place: front, number: 3, circuit: [house, sub], label: Desk, rate: 96 kHz,
     net: a, ports: pair, rack: left, here: [one], theirs: yes, muted-by: alarm,
     mac: '02-00-00-00-00-01', meeting: m, standby: side, covers: [side], by: hand, power: mains,
     sockets-of: 'box-1:1-4', note: n}
  side: {kind: mixer-32, place: front}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house}
runs:
  trunk:
    {from: 'desk:1', to: 'side:1', along: [floor], cable: copper, length: 3 m, couplers: 1,
     label: Trunk}
stock: {reel: {cable: multi-mode, length: 50 m, count: 2, label: Reel}}
ties: {wall: {between: [stage, front], count: 12, label: Wall}}
zones: {all: [pa]}
lists: {both: [side, pa]}
acts:
  one:
    {stage: main, starts: '20:00', ends: '21:00', build: before, content: music, label: First}
arrangements: {open: [x, y]}
addresses: {audio: 239.69.0.0/16}
kinds: {own: {like: box-16-8, label: Own, supplies: 2}}
accept: [{finding: long-lead, of: [pa], reason: short, by: me}]
pins: {'one/2': {start: 'box-1:in-3', ends: {side: 'side:receive-3'}}}
lines: lines.csv
"""
#: A line that says everything, its other half, and one for its sum.
LINE = {
    "number": "1",
    "name": "Keys L",
    "from": "stage",
    "source": "active DI",
    "phantom": "yes",
    "to": "side pa?",
    "pair": "2",
    "stereo": "L",
    "group": "keys",
    "need": "want",
    "act": "one",
    "socket": "box-1:in-1",
    "channel": "side:strip-1",
    "via": "network",
    "minus": "keys",
    "with": "drums",
    "never": "desk",
    "private": "yes",
    "standby": "2",
    "by": "hand",
    "back-to": "2",
    "also": "box-1:in-9",
    "role": "keys-left",
    "spread": "keys",
    "content": "music",
    "stand": "none",
    "colour": "red",
    "note": "on the riser",
    "label": "KEYS",
}
OTHER = {
    "number": "2",
    "name": "Keys R",
    "from": "stage",
    "source": "active DI",
    "to": "side",
    "stereo": "R",
    "act": "one",
}
MAIN = {"number": "41", "name": "Main", "from": "side", "to": "pa", "bus": "side:send-1"}
#: Written back as something else: decisions as pins, a table's own keys in its rows.
REWRITTEN = {
    "show": {"defaults"},
    "units": {"name"},
    "lines": {"socket", "channel", "bus"},
    "tables": set(words.TABLE),
    "pins": set[str](),
}


def table(*rows: dict[str, str]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(words.LINE), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def reading() -> Reading:
    return read_files({"show.yaml": SHOW, "lines.csv": table(LINE, OTHER, MAIN)})


@pytest.fixture(scope="module")
def show() -> Show:
    read = reading()
    assert [str(f) for f in read.findings if f.grade.value == "stop"] == []
    assert read.show is not None
    return read.show


def written_of(section: str, files: dict[str, str]) -> set[str]:
    """Give the keys of a section that are written back, of all its records together."""
    top: dict[str, Any] = yaml.load(files["show.yaml"], Loader=yaml.BaseLoader)
    if section == "show":
        return set(top)
    if section == "lines":
        rows = csv.DictReader(io.StringIO(files["lines.csv"]))
        return {key for row in rows for key, text in row.items() if text}
    if section in ("air", "weights", "picture"):
        return set(top[section])
    if section == "point":
        return set(top["picture"]["first"]) & set(top["picture"]["second"])
    records = top[section].values() if isinstance(top[section], dict) else top[section]
    return {key for record in records for key in record}


@pytest.mark.parametrize("section", words.SECTIONS)
def test_every_key_is_written_back(section: str, show: Show) -> None:
    if section != "tables":
        wanted = set(words.SECTIONS[section]) - REWRITTEN.get(section, set())
        assert wanted - written_of(section, write_show(show)) == set()


def test_what_is_written_reads_as_the_same_show(show: Show) -> None:
    again = read_files(write_show(show)).show
    assert again == show
    assert again is not None
    # Two shows are equal whatever lies behind the room.
    assert show.picture is not None
    assert again.picture == show.picture


def test_what_nothing_uses_yet_is_noted_and_nothing_else_is() -> None:
    noted = {(f.what.split("'")[1]) for f in reading().findings if f.rule == "not-yet-used"}
    unused = {w.key for section in words.SECTIONS.values() for w in section.values()}
    unused = {w for w in unused if any(_is_unused(s, w) for s in words.SECTIONS.values())}
    assert noted == unused


def _is_unused(section: Any, key: str) -> bool:
    return key in section and not section[key].reader


@pytest.mark.parametrize("text", ["per act", "per-act", "Per Act"])
def test_choices_of_two_words_are_taken_with_a_blank_as_well(text: str) -> None:
    read = read_files(
        {"show.yaml": SHOW.replace("per-act", text), "lines.csv": table(LINE, OTHER, MAIN)}
    )
    assert read.show is not None
    assert read.show.routes == "per-act"
    assert not read.stops
