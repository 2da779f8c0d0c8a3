"""The numbered-box rule, strips and outputs, as the trade expects them (common practice)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lineproof.base.spot import LineKey
from lineproof.decide.decide import decide
from lineproof.plan.model import LinePlan
from lineproof.show.read import read_files

HEAD = """\
title: Numbers
rate: 48 kHz
places:
  stage: {{at: [0, 0, 0]}}
  front: {{at: [0, 20, 0]}}
units:
  box: {{kind: box-16-8, place: stage, number: {number}}}
  desk: {{kind: mixer-64, place: front}}
lines:
"""


def plan(text: str) -> dict[str, LinePlan]:
    reading = read_files({"show.yaml": text})
    assert reading.show is not None
    assert not reading.stops, reading.findings
    decision = decide(reading.show)
    assert decision.plan is not None, decision.findings
    return {line.key.number: line for line in decision.plan.lines}


def spots(found: tuple[object, ...]) -> list[str]:
    return [str(spot) for spot in found]


# Facts of the trade, 12: "unit n takes inputs 16(n-1)+1 to 16n and outputs 8(n-1)+1 to 8n" of a
# stage box of 16 in and 8 out. Common practice; the arithmetic stands here once more by hand.
INPUTS, OUTPUTS = 16, 8


@settings(max_examples=40)
@given(
    number=st.integers(1, 4),
    sockets=st.lists(st.integers(1, 16), min_size=1, max_size=6, unique=True),
    first=st.integers(1, 60),
)
def test_socket_i_of_unit_n_lands_by_itself(number: int, sockets: list[int], first: int) -> None:
    rows = HEAD.format(number=number)
    for at, socket in enumerate(sockets):
        rows += f"  - {{number: {first + at}, from: stage, to: desk, socket: 'box:{socket}'}}\n"
    lines = plan(rows)
    for at, socket in enumerate(sockets):
        line = lines[str(first + at)]
        assert spots(line.start["stage"]) == [f"box:in-{socket}"]
        lands = INPUTS * (number - 1) + socket
        # The strip follows the line's number, whatever the channel.
        assert spots(line.ends["desk"]) == [f"desk:receive-{lands}", f"desk:strip-{first + at}"]


@settings(max_examples=40)
@given(
    number=st.integers(1, 4),
    sockets=st.lists(st.integers(1, 8), min_size=1, max_size=6, unique=True),
)
def test_output_n_is_fed_by_itself(number: int, sockets: list[int]) -> None:
    rows = HEAD.format(number=number)
    for at, socket in enumerate(sockets):
        rows += f"  - {{number: {41 + at}, from: desk, to: 'box:out-{socket}'}}\n"
    lines = plan(rows)
    for at, socket in enumerate(sockets):
        line = lines[str(41 + at)]
        assert spots(line.start["desk"]) == [f"desk:send-{OUTPUTS * (number - 1) + socket}"]
        assert spots(line.ends[f"box:out-{socket}"]) == [f"box:out-{socket}"]


@pytest.mark.parametrize(
    ("number", "lands"),
    # Written out from the sentence: unit 1 takes inputs 1 to 16, unit 2 takes 17 to 32.
    [(1, ["1", "2", "3"]), (2, ["17", "18", "19"]), (3, ["33", "34", "35"])],
)
def test_lines_in_order_land_in_order(number: int, lands: list[str]) -> None:
    rows = HEAD.format(number=number)
    rows += "".join(f"  - {{number: {n}, from: stage, to: desk}}\n" for n in (1, 2, 3))
    lines = plan(rows)
    assert [lines[n].ends["desk"][0].number for n in ("1", "2", "3")] == [int(n) for n in lands]


def test_a_channel_somebody_pinned_is_not_free() -> None:
    rows = HEAD.format(number=1)
    rows += "  - {number: 1, from: stage, to: desk, socket: 'box:1'}\n"
    rows += "  - {number: 2, from: stage, to: 'desk:receive-1', socket: 'box:2'}\n"
    lines = plan(rows)
    assert spots(lines["2"].ends["desk:receive-1"])[0] == "desk:receive-1"
    # It takes none that another socket of the box would land on.
    assert lines["1"].ends["desk"][0].number > INPUTS


def test_a_socket_of_the_mixer_itself_takes_no_channel_of_it() -> None:
    rows = HEAD.format(number=1) + "  - {number: 1, from: front, to: desk}\n"
    line = plan(rows)["1"]
    assert spots(line.start["front"]) == ["desk:in-1"]
    assert spots(line.ends["desk"]) == ["desk:strip-1"]


def test_who_a_line_is_does_not_hang_on_its_row() -> None:
    rows = "  - {number: 1, from: stage, to: desk}\n  - {number: 2, from: stage, to: desk}\n"
    swapped = "  - {number: 2, from: stage, to: desk}\n  - {number: 1, from: stage, to: desk}\n"
    assert plan(HEAD.format(number=1) + rows) == plan(HEAD.format(number=1) + swapped)
    assert LineKey.parse("1") == LineKey(act="", number="1")
