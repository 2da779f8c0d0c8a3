"""Acts in time, from the words of the design alone: what plays, and is built, at one moment."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

from lineproof.show.model import Act, Show

DAY = 24 * 60


@dataclass(kw_only=True)
class Time:
    """When every act holds its sockets; a line without an act ("") holds them all the time."""

    show: Show
    held: dict[str, tuple[float, float]] = field(init=False)
    moments: list[frozenset[str]] = field(init=False)

    def __post_init__(self) -> None:
        acts = self.show.acts
        timed = bool(acts) and all(act.starts and act.ends for act in acts)
        played = {a.name: _clock(acts, a) if timed else _turn(acts, a) for a in acts}
        self.held = {act.name: self._with_building(act, played) for act in acts}
        # Who is there changes only where somebody comes: those moments are enough.
        self.moments = [
            frozenset({"", *(n for n, (low, high) in self.held.items() if low <= at < high)})
            for at in sorted({low for low, _ in self.held.values()})
        ] or [frozenset({""})]

    def _with_building(
        self, act: Act, played: dict[str, tuple[float, float]]
    ) -> tuple[float, float]:
        low, high = played[act.name]
        before = previous(self.show, act)
        if act.build == "before" and before is not None:
            # Plugged and checked while the act before plays.
            low = min(low, played[before.name][0])
        return low, high

    def overlap(self, one: str, other: str) -> bool:
        """Say whether two acts share nothing."""
        if "" in (one, other) or one == other:
            return True
        (low, high), (other_low, other_high) = self.held[one], self.held[other]
        return max(low, other_low) < min(high, other_high)


def previous(show: Show, act: Act) -> Act | None:
    """Give the act that played on the same stage before."""
    earlier = show.acts[: show.acts.index(act)]
    return next((a for a in reversed(earlier) if a.stage == act.stage), None)


def _turn(acts: tuple[Act, ...], act: Act) -> tuple[float, float]:
    """Give a span by the running order where nobody wrote times."""
    at = acts.index(act)
    return at, at + 0.5


def _clock(acts: tuple[Act, ...], act: Act) -> tuple[float, float]:
    """Give the span by the clock; the running order goes on over midnight."""
    day = 0
    for one, other in itertools.pairwise(acts):
        if act in acts[: acts.index(other)]:
            break
        # An evening that seems to go back by more than half a day goes on in the next.
        day += _minutes(other.starts) < _minutes(one.starts) - DAY / 2
    low, high = _minutes(act.starts), _minutes(act.ends)
    return day * DAY + low, day * DAY + high + (DAY if high < low else 0)


def _minutes(text: str) -> int:
    hours, _, minutes = text.partition(":")
    return int(hours) * 60 + int(minutes)
