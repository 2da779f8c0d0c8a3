"""Where only leads count, the planner is an assignment, and finds what scipy finds."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from lineproof.decide.decide import decide
from lineproof.show.read import read_files

NEVER = 10**9


@st.composite
def rooms(draw: st.DrawFn) -> tuple[list[tuple[int, int]], list[tuple[int, int, int]], list[int]]:
    """Give the places of lines (x, y), boxes (x, y, how many sockets), and which need phantom."""
    spot = st.integers(-20, 20)
    boxes = draw(st.lists(st.tuples(spot, spot, st.integers(2, 5)), min_size=2, max_size=5))
    sockets = sum(n for _, _, n in boxes)
    lines = draw(st.lists(st.tuples(spot, spot), min_size=2, max_size=sockets))
    most = 2 * len(boxes)
    phantom = draw(st.lists(st.integers(0, len(lines) - 1), max_size=most, unique=True))
    return lines, boxes, phantom


@settings(max_examples=60)
@given(rooms())
def test_leads_alone_are_an_assignment(
    room: tuple[list[tuple[int, int]], list[tuple[int, int, int]], list[int]],
) -> None:
    lines, boxes, phantom = room
    rows = ["title: Leads", "rate: 48 kHz", "places:"]
    rows += [f"  at-{i}: {{at: [{x}, {y}, 0]}}" for i, (x, y) in enumerate(lines)]
    rows += [f"  with-{k}: {{at: [{x}, {y}, 0]}}" for k, (x, y, _) in enumerate(boxes)]
    rows += ["  front: {at: [0, 30, 0]}", "kinds:"]
    # The first two sockets of every box give phantom, the others don't.
    rows += [
        f"  kind-{k}: {{does: box, send: {{48000: {n}}}, ports: [{{medium: copper, speed-mbit: "
        f"1000}}], sockets: [{{side: in, count: 2, signal: mic, connector: XLR 3, phantom: yes}}"
        + (f", {{side: in, count: {n - 2}, signal: mic, connector: XLR 3}}" if n > 2 else "")
        + "]}"
        for k, (_, _, n) in enumerate(boxes)
    ]
    rows += ["units:", "  rec: {kind: computer-32, place: front}"]
    rows += [f"  box-{k}: {{kind: kind-{k}, place: with-{k}}}" for k in range(len(boxes))]
    rows += ["lines:"]
    rows += [
        f"  - {{number: {i + 1}, from: at-{i}, to: rec, "
        f"source: {'condenser' if i in phantom else 'dynamic'} mic}}"
        for i in range(len(lines))
    ]
    reading = read_files({"show.yaml": "\n".join(rows)})
    assert reading.show is not None
    assert not reading.stops

    sockets = [(k, s) for k, (_, _, n) in enumerate(boxes) for s in range(n)]
    cost = np.array(
        [
            [
                NEVER
                if i in phantom and s >= 2
                # Straight x 1.2 and 3 m for the ends (design, common practice).
                else round((math.dist(lines[i], boxes[k][:2]) * 1.2 + 3) * 1000)
                for k, s in sockets
            ]
            for i in range(len(lines))
        ]
    )
    least = int(cost[linear_sum_assignment(cost)].sum())
    terms = {t.name: t for t in decide(reading.show).terms}
    assert round(terms["leads"].value * 1000) == least
    assert terms["sum"].value == terms["leads"].value
    assert terms["sum"].proven
