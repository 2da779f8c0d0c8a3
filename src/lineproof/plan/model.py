"""Decisions as frozen values: which line is on which spots, what is freed, the network."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.spot import LineKey, Spot
from lineproof.plan.network import Network
from lineproof.show.naming import Naming

#: Written into every plan file; older formats are read for ever.
FORMAT = 2


@dataclass(frozen=True, kw_only=True)
class LinePlan:
    """The decisions for one line.

    `start`: the spots at its start in the order of the signal, by start as written in the show:
    `box-1:in-3`; `desk:in-5`, `desk:send-7`; `radio:out-1`, `box-1:in-5`; `desk:send-3`.
    `ends`: the same by end: `desk:receive-14`, `desk:strip-2`; `box-2:out-3`, `sub:in-1`.
    The first start is what is heard while all is well. What a standby alone brings stands under
    `desk from play-2`; over a change-over unit both starts end on its output. A further socket of
    a split stands as start `also side:in-3`, and first in the end that hears it. `ties`: over
    which line of a tie a lead goes, by part. What a kind implies (socket n of a box is its channel
    n) is not written down. `name` and `starts_at` are kept to know the line again when numbers
    shift. `left_out` holds wanted ends for which there was no room.
    """

    key: LineKey
    name: str
    starts_at: str
    start: Mapping[str, tuple[Spot, ...]] = field(default_factory=dict)
    ends: Mapping[str, tuple[Spot, ...]] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()
    ties: Mapping[str, Spot] = field(default_factory=dict)

    def spots(self) -> Iterator[Spot]:
        """Give every spot the line is on, start first."""
        for spots in self.start.values():
            yield from spots
        for spots in self.ends.values():
            yield from spots


@dataclass(frozen=True, kw_only=True)
class Freed:
    """A spot that a removed or changed line held: kept for it until someone renews."""

    spot: Spot
    line: LineKey
    name: str
    starts_at: str
    part: str
    revision: int


@dataclass(frozen=True, kw_only=True)
class Plan:
    """All decisions, lines in the order people sort them."""

    lines: tuple[LinePlan, ...] = ()
    freed: tuple[Freed, ...] = ()
    network: Network = field(default_factory=Network)

    def line(self, key: LineKey) -> LinePlan | None:
        """Give the decisions for the line of that key, or None."""
        return self._by_key.get(key.same())

    @cached_property
    def _by_key(self) -> Mapping[tuple[str, str], LinePlan]:
        # The first of two with one key, should a plan ever hold them.
        return {line.key.same(): line for line in reversed(self.lines)}

    def decisions(self) -> tuple[object, ...]:
        """Give what is decided, without the words that stand beside it."""
        lines = [(x.key, dict(x.start), dict(x.ends), x.left_out, dict(x.ties)) for x in self.lines]
        return (lines, [(f.spot, f.line) for f in self.freed], self.network)

    def by_spot(self) -> dict[Spot, tuple[LineKey, ...]]:
        """Give, for every spot in use, the lines that are on it."""
        found: dict[Spot, list[LineKey]] = {}
        for line in self.lines:
            for spot in dict.fromkeys(line.spots()):
                found.setdefault(spot, []).append(line.key)
        return {spot: tuple(keys) for spot, keys in found.items()}


@dataclass(frozen=True, kw_only=True)
class Issued:
    """A numbered revision, kept whole: who and when, the show's mark, decisions, and the show.

    `show` holds the canonical show's files by name, so that the revision can be replayed.
    `renamed` tells what was renamed since: `plan` has the names of today, `show` those of then.
    """

    revision: int
    by: str
    at: str
    mark: str
    plan: Plan
    show: Mapping[str, str]
    note: str = ""
    renamed: tuple[Naming, ...] = ()
