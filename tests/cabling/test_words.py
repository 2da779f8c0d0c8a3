"""The words that runs need are read, and written as they are read."""

from lineproof.show.model import Stock
from lineproof.show.read import read_files
from lineproof.show.write import write_show
from tests.cabling.small import LINES, show_of

TEXT = """\
title: Words
rate: 48 kHz
weights: {drop: 2 m, slack: 15 %}
places:
  p-0: {at: [0, 0, 0], building: hall}
  p-1: {at: [0, 30, 0], building: annexe}
ducts:
  floor: {between: [p-0, p-1], length: 34 m, installed: yes}
units:
  u-0: {kind: box-16-8, place: p-0}
  sw-1: {kind: switch-8, place: p-1}
runs:
  up: {from: 'u-0:1', to: 'sw-1:3', along: [floor], cable: copper, couplers: 2, length: 40 m}
stock:
  reel: {cable: single-mode, length: 150 m, count: 2}
  short: {length: 5 m, count: 40}
lines: lines.csv
"""


def test_the_words_are_read() -> None:
    show = show_of(TEXT)
    assert (show.weights.drop_m, show.weights.slack_percent) == (2, 15)
    assert [place.building for place in show.places.values()] == ["hall", "annexe"]
    assert show.ducts["floor"].installed
    assert show.runs["up"].couplers == 2
    assert list(show.stock.values()) == [
        Stock(name="reel", cable="single-mode", length_m=150, count=2),
        Stock(name="short", cable="copper", length_m=5, count=40),
    ]


def test_they_are_written_as_they_are_read() -> None:
    show = show_of(TEXT)
    assert read_files(write_show(show)).show == show


def test_a_stock_without_a_length_is_told() -> None:
    text = TEXT.replace("{length: 5 m, count: 40}", "{count: 40}")
    reading = read_files({"show.yaml": text, "lines.csv": LINES})
    assert [f.rule for f in reading.findings if f.grade.value == "stop"] == ["missing-key"]
