"""Pairs told in few rows: those that take the same, and whose halves may be swapped, as one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.base.spot import LineKey
from lineproof.drill.pairs import Pair, Pairs
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import Fault


@dataclass(frozen=True, kw_only=True)
class PairGroup:
    """Any of the one with any of the other takes these needed lines, and neither does alone.

    Of faults that strike the same the first stands for all.
    """

    one: tuple[Fault, ...]
    other: tuple[Fault, ...]
    lines: tuple[LineKey, ...]

    @property
    def count(self) -> int:
        """Give how many pairs of causes it holds."""
        return len(self.one) * len(self.other)


def pair_groups(swept: Swept, pairs: Pairs) -> tuple[PairGroup, ...]:
    """Give all minimal pairs that take a needed line, those with most lines first."""
    by_lines: dict[tuple[int, ...], list[Pair]] = {}
    known: dict[frozenset[int], tuple[int, ...]] = {}
    for pair, shapes in pairs.together.items():
        if shapes not in known:
            known[shapes] = _needed_lines(swept, shapes)
        if known[shapes]:
            by_lines.setdefault(known[shapes], []).append(pair)
    found = [
        _group(swept, one, other, lines)
        for lines, mine in by_lines.items()
        for one, other in _swapped(mine)
    ]
    return tuple(sorted(found, key=lambda g: (-len(g.lines), -g.count, [str(f) for f in g.one])))


def _needed_lines(swept: Swept, lost: frozenset[int]) -> tuple[int, ...]:
    lines = {line for shape in lost for line in swept.lines_of[shape]}
    return tuple(sorted(line for line in lines if lost.intersection(swept.must_shapes[line])))


def _swapped(pairs: Iterable[Pair]) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Give the pairs as products: those of the one side that go with the same of the other."""
    partners: dict[int, list[int]] = {}
    for one, other in pairs:
        partners.setdefault(one, []).append(other)
    same: dict[tuple[int, ...], list[int]] = {}
    for one, others in partners.items():
        same.setdefault(tuple(others), []).append(one)
    return [(tuple(ones), others) for others, ones in same.items()]


def _group(
    swept: Swept, one: tuple[int, ...], other: tuple[int, ...], lines: tuple[int, ...]
) -> PairGroup:
    members = swept.classes.members
    return PairGroup(
        one=tuple(members[at][0] for at in one),
        other=tuple(members[at][0] for at in other),
        lines=tuple(swept.keys[line] for line in lines),
    )
