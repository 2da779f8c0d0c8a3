"""The same fault has the same card, in whatever order the rows stand, whatever the hash seed."""

from __future__ import annotations

import os
import subprocess
import sys

from lineproof.drill.sweep import swept
from lineproof.graph.faults import Fault
from lineproof.rescue.whole import rescue_all
from tests.drill.shows import ROOM, ready
from tests.rescue.drawn import drawn

WHAT = """\
from tests.drill.shows import ROOM
from tests.rescue.test_same import cards
for fault, words in cards(ROOM).items():
    print(fault, *words, sep="; ")
"""


def cards(text: str) -> dict[Fault, list[str]]:
    found = rescue_all(swept(ready(text))).by_fault
    return {
        fault: [*(move.words for move in rescue.moves), f"{rescue.walk_m} m", str(rescue.back)]
        for fault, rescue in found.items()
    }


def turned(text: str) -> str:
    """Give a show with the rows of its units and of its lines turned round."""
    head, units = text.split("units:\n")
    units, lines = units.split("lines:\n")
    rows = ("".join(reversed(part.splitlines(keepends=True))) for part in (units, lines))
    return f"{head}units:\n{next(rows)}lines:\n{next(rows)}"


def test_the_order_of_rows_changes_nothing() -> None:
    for text in (ROOM, drawn(20)):
        assert turned(text) != text
        assert cards(turned(text)) == cards(text)


def test_the_hash_seed_changes_nothing() -> None:
    told = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", WHAT],
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            check=True,
        )
        told.add(done.stdout)
    (cards_told,) = told
    assert b"lead of line 1" in cards_told
