"""Fifty things that happen to a show: rows come, go and change, boxes are moved and swapped."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

#: A show's files by name.
Files = dict[str, str]
#: Rows of a table of lines.
Rows = list[dict[str, str]]

ACTS = ("lanterns.csv", "choir.csv", "comet.csv")


@dataclass(frozen=True, kw_only=True)
class Edit:
    """One edit: in words, the show after it, and the keys of the rows that it touched."""

    words: str
    files: Files
    touched: frozenset[str]


def read_all(folder: Path) -> Files:
    """Give the files of a show's folder that are text; a picture decides nothing."""
    texts = (p for p in sorted(folder.iterdir()) if p.suffix in (".yaml", ".csv"))
    return {p.name: p.read_text("utf-8") for p in texts}


def rows_of(text: str) -> Rows:
    """Give the rows of a table."""
    return list(csv.DictReader(io.StringIO(text)))


def text_of(rows: Sequence[dict[str, str]]) -> str:
    """Give a table's text."""
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def key(table: str, number: str) -> str:
    """Give the line's key as a plan writes it."""
    act = table.removesuffix(".csv")
    return number if act == "house" else f"{act}/{number}"


def edits(files: Files, count: int, seed: int) -> list[Edit]:
    """Give so many edits, each of the show as it stands, all kinds of them in turn."""
    chance = random.Random(seed)
    return [KINDS[n % len(KINDS)](files, chance) for n in range(count)]


def _edited(files: Files, table: str, rows: Rows, words: str, *numbers: str) -> Edit:
    touched = frozenset(key(table, n) for n in numbers)
    return Edit(words=words, files={**files, table: text_of(rows)}, touched=touched)


def _single(files: Files, chance: random.Random) -> tuple[str, Rows, dict[str, str]]:
    """Give a table, its rows, and one of them that is no half of a pair."""
    table = chance.choice(ACTS)
    rows = rows_of(files[table])
    return table, rows, chance.choice([r for r in rows if not r["pair"]])


def _remove(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    left = [r for r in rows if r is not row]
    return _edited(files, table, left, f"{row['name']} of {table} goes", row["number"])


def _add(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    new = {**row, "number": "90", "name": f"{row['name']} more", "role": "", "spread": ""}
    return _edited(files, table, [*rows, new], f"{new['name']} comes to {table}", "90")


def _add_pair(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    new = {**row, "role": "", "spread": "", "source": "passive DI", "group": "keys"}
    pair = [
        {**new, "number": n, "name": f"Guest keys {side}", "pair": other}
        for n, side, other in (("90", "L", "91"), ("91", "R", "90"))
    ]
    return _edited(files, table, [*rows, *pair], f"guest keys come to {table}", "90", "91")


def _elsewhere(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    while not row["from"].startswith("stage-"):
        row = chance.choice([r for r in rows if not r["pair"]])
    places = [p for p in ("stage-left", "stage-right", "stage-rear") if p != row["from"]]
    place = chance.choice(places)
    row["from"] = place
    return _edited(files, table, rows, f"{row['name']} of {table} moves to {place}", row["number"])


def _other_ends(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    row["to"] = chance.choice(["desk side", "desk cast rec-1|rec-2", "side", "desk side cast"])
    words = f"{row['name']} of {table} goes to {row['to']} only"
    return _edited(files, table, rows, words, row["number"])


def _need(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    row["need"] = "want" if row["need"] == "must" else "must"
    words = f"{row['name']} of {table} is a {row['need']}"
    return _edited(files, table, rows, words, row["number"])


def _group(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    row["group"] = chance.choice(["drums", "guitars", "solo", ""])
    words = f"{row['name']} of {table} is of group {row['group'] or '-'}"
    return _edited(files, table, rows, words, row["number"])


def _source(files: Files, chance: random.Random) -> Edit:
    table, rows, row = _single(files, chance)
    row["source"] = "condenser mic" if row["source"] == "dynamic mic" else "dynamic mic"
    words = f"{row['name']} of {table} has a {row['source']}"
    return _edited(files, table, rows, words, row["number"])


def _yaml(files: Files, old: str, new: str, words: str) -> Edit:
    assert files["show.yaml"].count(old) == 1
    text = files["show.yaml"].replace(old, new)
    return Edit(words=words, files={**files, "show.yaml": text}, touched=frozenset())


def _move_unit(files: Files, chance: random.Random) -> Edit:
    moves = (
        ("box-3:   {kind: box-16-8, place: stage-rear", "stage-rear", "stage-right", "box-3"),
        (
            "wedge-3: {kind: powered-monitor, place: stage-right",
            "stage-right",
            "stage-left",
            "wedge-3",
        ),
        ("ears-2:  {kind: in-ear-rack-2, place: monitors", "monitors", "stage-left", "ears-2"),
        ("loop:    {kind: listening-driver, place: balcony", "balcony", "booth", "loop"),
    )
    old, at, to, name = chance.choice(moves)
    return _yaml(files, old, old.replace(at, to), f"{name} moves from {at} to {to}")


def _other_kind(files: Files, chance: random.Random) -> Edit:
    swaps = (
        ("box-3:   {kind: box-16-8", "box-16-8", "box-32-16"),
        ("box-2:   {kind: box-32-16", "box-32-16", "box-48-16"),
        ("wedge-5: {kind: analogue-monitor", "analogue-monitor", "powered-monitor"),
        ("rec-2:   {kind: computer-128", "computer-128", "recorder-64"),
    )
    old, was, now = chance.choice(swaps)
    return _yaml(files, old, old.replace(was, now), f"{old[:7].strip(' :')} becomes {now}")


KINDS: tuple[Callable[[Files, random.Random], Edit], ...] = (
    _add,
    _remove,
    _elsewhere,
    _other_ends,
    _need,
    _group,
    _source,
    _add_pair,
    _move_unit,
    _other_kind,
)
