"""Cells that look like something that means something: struck through, merged, yes or no."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from lineproof.show.table_grid import Merge, Unreadable
from lineproof.show.table_parts import Parts

_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})")


@dataclass(frozen=True, kw_only=True)
class Marks:
    """A sheet's struck cells (columns by row), merged cells, and those that mean yes or no."""

    struck: Mapping[int, frozenset[int]] = field(default_factory=dict)
    yes_no: Mapping[int, frozenset[int]] = field(default_factory=dict)
    merges: tuple[Merge, ...] = ()


class SheetMarks:
    """Gathers a sheet's marks and weighs it on the way."""

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.struck: defaultdict[int, set[int]] = defaultdict(set)
        self.yes_no: defaultdict[int, set[int]] = defaultdict(set)
        self.merges: list[Merge] = []
        self.rows = self.columns = 0

    def filled(self, row: int, column: int, *, struck: bool, length: int = 0) -> None:
        """Take down a filled cell. Raises TooLarge beyond the limits."""
        self.parts.check_place(row, column)
        self.parts.count_cell()
        self.rows, self.columns = max(self.rows, row), max(self.columns, column)
        self.parts.hold(length)
        if struck:
            self.struck[row].add(column)

    def marks(self) -> Marks:
        """Give what was gathered. Raises TooLarge for a sheet spread too far."""
        self.parts.lay_out(self.rows, self.columns)
        return Marks(
            struck={row: frozenset(columns) for row, columns in self.struck.items()},
            yes_no={row: frozenset(columns) for row, columns in self.yes_no.items()},
            merges=tuple(self.merges),
        )


def read_reference(text: str) -> tuple[int, int]:
    """Give row and column, from 1, of a cell's reference.

    >>> read_reference("B7"), read_reference("AA10")
    ((7, 2), (10, 27))
    """
    match = _REFERENCE.fullmatch(text)
    if match is None:
        raise Unreadable(f"it names a cell {text[:20]!r}, which can't be")
    column = 0
    for letter in match.group(1):
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match.group(2)), column


def read_count(text: str | None, otherwise: int) -> int:
    """Give a count as a part writes it, `otherwise` where it is left out. Raises Unreadable."""
    if text is None:
        return otherwise
    if not text.isdecimal() or len(text) > 9:
        raise Unreadable(f"it counts {text[:20]!r} rows or cells, which can't be")
    return int(text)
