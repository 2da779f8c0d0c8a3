"""The schema takes what the reader takes and refuses what the reader refuses, as far as it sees."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from lineproof.base.rule import EXAMPLE_SHOW
from lineproof.check import every
from lineproof.decide import rules as decide_rules
from lineproof.show import rules as show_rules
from lineproof.show.read import read_files
from lineproof.show.schema import show_schema

VALIDATOR = jsonschema.Draft202012Validator(show_schema())
RULES = (*show_rules.RULES, *decide_rules.RULES, *every.RULES)
LINES = "number,name,from,source,to\n1,Kick,stage,dynamic mic,desk\n"


class Words(yaml.SafeLoader):
    """YAML as an editor reads it, but for dates and the old words for yes and no."""


for mark in "0123456789yYnNoO":
    Words.yaml_implicit_resolvers[mark] = [
        (tag, pattern)
        for tag, pattern in yaml.SafeLoader.yaml_implicit_resolvers.get(mark, [])
        if tag not in ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")
    ]


def errors(text: str) -> list[str]:
    return [e.message for e in VALIDATOR.iter_errors(yaml.load(text, Loader=Words))]


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(show_schema())


@pytest.mark.parametrize("name", ["small", "lantern", "hall"])
def test_shipped_shows_are_taken(root: Path, name: str) -> None:
    assert errors((root / "shows" / name / "show.yaml").read_text()) == []


def test_the_starter_is_taken(root: Path) -> None:
    text = (root / "src/lineproof/show/starter/show.yaml").read_text()
    assert errors(text) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_shows_that_pass_their_rule_are_taken(rule: Any) -> None:
    assert errors(rule.passes.show) == []


#: Changes to the example show, each a mistake that the reader stops at.
BAD = {
    "unknown key": ("nets: one", "netz: one"),
    "rate without unit": ("rate: 48 kHz", "rate: 48"),
    "rate in metres": ("rate: 48 kHz", "rate: 48 m"),
    "rate as list": ("rate: 48 kHz", "rate: [48 kHz]"),
    "no title": ("title: Example\n", ""),
    "no rate": ("rate: 48 kHz\n", ""),
    "packet in words": ("packet: 1 ms", "packet: short"),
    "packet in kilohertz": ("packet: 1 ms", "packet: 1 kHz"),
    "three nets": ("nets: one", "nets: three"),
    "nets as table": ("nets: one", "nets: {a: 1}"),
    "two coordinates": ("front: {at: [0, 20, 0]}", "front: {at: [0, 20]}"),
    "coordinates in words": ("front: {at: [0, 20, 0]}", "front: {at: [a, b, c]}"),
    "place with a blank": ("  front: {at", "  'the front': {at"),
    "place with unknown key": ("front: {at: [0, 20, 0]}", "front: {at: [0, 20, 0], up: 3}"),
    "duct without length": ("between: [stage, front], length: 25 m", "between: [stage, front]"),
    "duct without ends": ("{between: [stage, front], length: 25 m}", "{length: 25 m}"),
    "duct in seconds": ("length: 25 m", "length: 25 s"),
    "breaker in volts": ("limit: 16 A", "limit: 16 V"),
    "supply without unit": ("supply: 230 V", "supply: 230"),
    "circuit with unknown key": ("limit: 16 A", "limmit: 16 A"),
    "unit without kind": ("{kind: computer-32, place: front, circuit: house}", "{place: front}"),
    "unit without place": ("{kind: computer-32, place: front, circuit: house}", "{kind: box-8-4}"),
    "unit number in words": ("number: 1,", "number: one,"),
    "unit number nought": ("number: 1,", "number: 0,"),
    "net of three": ("number: 1,", "net: c,"),
    "routes by the hour": ("nets: one\n", "routes: hourly\n"),
    "air without humidity": ("nets: one\n", "air: {temperature: 14 C}\n"),
    "weights in kilohertz": ("nets: one\n", "weights: {group: 8 kHz}\n"),
    "unknown weight": ("nets: one\n", "weights: {wind: 8 m}\n"),
    "acceptance without name": ("nets: one\n", "accept: [{finding: long-lead, reason: short}]\n"),
    "kind with unknown key": ("nets: one\n", "kinds: {a: {like: box-8-4, colour: red}}\n"),
    "pins with unknown key": ("nets: one\n", "pins: {1: {begin: 'box-1:in-1'}}\n"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_the_reader_stops_at_is_refused(name: str) -> None:
    old, new = BAD[name]
    assert EXAMPLE_SHOW.count(old) == 1
    text = EXAMPLE_SHOW.replace(old, new)
    assert read_files({"show.yaml": text, "lines.csv": LINES}).stops
    assert errors(text) != []


#: Changes that look odd and are right.
GOOD = {
    "comma": ("length: 25 m", "length: '25,5 m'"),
    "units in small letters": ("rate: 48 kHz", "rate: 48 khz"),
    "choice in capitals": ("nets: one", "nets: ONE"),
    "names with commas": ("between: [stage, front]", "between: 'stage, front'"),
    "two circuits": (
        "place: front, circuit: house}\n  pa",
        "place: front, circuit: [house]}\n  pa",
    ),
    "a column of one's own": ("number: 1,", "number: 1, asset: 17,"),
    "rows in the show file": ("lines: lines.csv", "lines: [{number: 1, from: stage, to: desk}]"),
    "described table": ("lines: lines.csv", "lines: [{table: lines.csv, defaults: {to: desk}}]"),
    "script of another kind": ("title: Example", "title: Пример"),
}


@pytest.mark.parametrize("name", GOOD)
def test_what_the_reader_takes_is_taken(name: str) -> None:
    old, new = GOOD[name]
    assert EXAMPLE_SHOW.count(old) == 1
    text = EXAMPLE_SHOW.replace(old, new)
    assert not read_files({"show.yaml": text, "lines.csv": LINES}).stops
    assert errors(text) == []
