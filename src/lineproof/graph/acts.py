"""Acts in time: which of them share nothing, because they overlap or one is built in the other."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.show.model import Act, Show

#: A span of an act: from the moment its sockets are taken to the moment they are free again.
Span = tuple[float, float]

_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})")


def minutes(text: str) -> int | None:
    """Give a time of day in minutes, or None where it is none.

    >>> minutes("19:30"), minutes("later")
    (1170, None)
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hour, minute = int(match.group(1)), int(match.group(2))
    return hour * 60 + minute if hour < 30 and minute < 60 else None


@dataclass(frozen=True, kw_only=True)
class Running:
    """The acts of a show in time. "" stands for a line without an act: it belongs to all.

    `arrangements` are used like acts, in any order: what is plugged for one stays plugged in all.
    """

    acts: tuple[Act, ...]
    arrangements: frozenset[str] = frozenset()

    @cached_property
    def spans(self) -> Mapping[str, Span]:
        """Give every act's span: by the clock where all acts have one, else by running order.

        An act built before takes its sockets while the act before it on its stage still plays.
        """
        spans = self._by_clock() or {a.name: (float(i), i + 0.5) for i, a in enumerate(self.acts)}
        plays = dict(spans)
        on_stage: dict[str, Act] = {}
        for act in self.acts:
            before = on_stage.get(act.stage)
            if before is not None and act.build == "before":
                low = min(plays[act.name][0], plays[before.name][0])
                spans[act.name] = (low, plays[act.name][1])
            on_stage[act.stage] = act
        return spans

    def _by_clock(self) -> dict[str, Span]:
        spans: dict[str, Span] = {}
        last = 0.0
        for act in self.acts:
            begins, ends = minutes(act.starts), minutes(act.ends)
            if begins is None or ends is None:
                return {}
            # A show that goes on after midnight: a start twelve hours back is the next day's.
            low = begins + (1440.0 if begins < last - 720 else 0.0)
            high = ends + (1440.0 if ends < begins else 0.0) + (low - begins)
            spans[act.name] = (low, high)
            last = max(last, low)
        return spans

    def overlap(self, a: str, b: str) -> bool:
        """Say whether lines of the two acts can't share a socket."""
        if a == b or a not in self.spans or b not in self.spans:
            return True
        (low, high), (other_low, other_high) = self.spans[a], self.spans[b]
        return low < other_high and other_low < high

    def clash(self, some: frozenset[str], others: frozenset[str]) -> bool:
        """Say whether any act of one set overlaps any of the other."""
        return any(self.overlap(a, b) for a in some for b in others)

    def may_share(self, some: frozenset[str], others: frozenset[str]) -> bool:
        """Say whether lines of one role in these acts can be one plug.

        In two arrangements it is the same microphone, which stays where it is.
        """
        if not some & others and some | others <= self.arrangements:
            return True
        return not self.clash(some, others)

    @cached_property
    def cliques(self) -> tuple[frozenset[str], ...]:
        """Give the largest sets of acts that all overlap one another, in time order.

        At least one; spans are intervals, so that one set per beginning is enough.
        """
        found: list[frozenset[str]] = []
        for low, _ in sorted(self.spans.values()):
            there = frozenset(n for n, (a, b) in self.spans.items() if a <= low < b)
            if there not in found:
                found.append(there)
        largest = [c | self.arrangements for c in found if not any(c < other for other in found)]
        return tuple(largest) or (self.arrangements,)


def running(show: Show) -> Running:
    """Give the acts of a show in time."""
    return Running(acts=show.acts, arrangements=frozenset(show.arrangements))
