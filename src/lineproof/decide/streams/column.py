"""One sender's whole set of streams, with what it costs and what it takes of each limit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.decide.streams.caps import CHANNELS, RECEIVED, Caps
from lineproof.decide.streams.task import Draft, Task, bits


@dataclass(frozen=True, kw_only=True)
class Prices:
    """What a received stream, and a received channel, costs extra at a unit, in bits a second."""

    streams: Mapping[str, float] = field(default_factory=dict)
    channels: Mapping[str, float] = field(default_factory=dict)

    def of(self, names: Iterable[str], channels: int) -> float:
        """Give the extra of one stream with so many channels to these units."""
        return sum(
            self.streams.get(name, 0.0) + channels * self.channels.get(name, 0.0) for name in names
        )

    def touch(self, names: Iterable[str]) -> tuple[tuple[float, float], ...]:
        """Give the prices at these units: two equal ones ask the same question of a sender."""
        return tuple((self.streams.get(n, 0.0), self.channels.get(n, 0.0)) for n in names)


@dataclass(frozen=True, kw_only=True, eq=False)
class Column:
    """The streams of one sender: drafts in order."""

    task: Task
    drafts: tuple[Draft, ...]

    @cached_property
    def cost(self) -> int:
        """Give the bits a second x runs of all of them."""
        return sum(self.task.cost(d.receivers, len(d.channels)) for d in self.drafts)

    @cached_property
    def received(self) -> Mapping[str, int]:
        """Give how many of the streams each receiver takes."""
        return self._count(lambda _: 1)

    @cached_property
    def channels(self) -> Mapping[str, int]:
        """Give how many channels each receiver takes in."""
        return self._count(lambda draft: len(draft.channels))

    def _count(self, weight: Callable[[Draft], int]) -> Mapping[str, int]:
        found: dict[str, int] = {}
        for draft in self.drafts:
            for name in self.task.named(draft.receivers):
                found[name] = found.get(name, 0) + weight(draft)
        return found

    def priced(self, prices: Prices) -> float:
        """Give the cost with the extras."""
        extra = (prices.streams.get(n, 0.0) * k for n, k in self.received.items())
        channels = (prices.channels.get(n, 0.0) * k for n, k in self.channels.items())
        return self.cost + sum(extra) + sum(channels)


@dataclass(frozen=True, kw_only=True)
class Score:
    """How good a packing is: first the limits, then bits x runs, then streams. Least is best."""

    over: int
    cost: int
    streams: int

    def key(self) -> tuple[int, int, int]:
        """Give the order in which two packings are weighed."""
        return (self.over, self.cost, self.streams)


@dataclass(frozen=True, kw_only=True)
class Used:
    """What columns together take of the limits of receivers."""

    received: Mapping[str, int]
    channels: Mapping[str, int]


def used(columns: Iterable[Column]) -> Used:
    """Give what the columns take at every receiver."""
    received: dict[str, int] = {}
    channels: dict[str, int] = {}
    for column in columns:
        for name, count in column.received.items():
            received[name] = received.get(name, 0) + count
        for name, count in column.channels.items():
            channels[name] = channels.get(name, 0) + count
    return Used(received=received, channels=channels)


def score(columns: Iterable[Column], caps: Caps) -> Score:
    """Give how good the columns are together."""
    columns = tuple(columns)
    taken = used(columns)
    over = sum(caps.over(RECEIVED, name, count) for name, count in taken.received.items())
    over += sum(caps.over(CHANNELS, name, count) for name, count in taken.channels.items())
    over += sum(max(0, len(c.drafts) - c.task.limits.streams_send) for c in columns)
    return Score(
        over=over,
        cost=sum(column.cost for column in columns),
        streams=sum(len(column.drafts) for column in columns),
    )


def tidy(task: Task, drafts: Iterable[Draft]) -> Column:
    """Give the drafts as a column: sorted, without listeners who need nothing of a stream."""
    kept = []
    for draft in drafts:
        listeners = sum(
            1 << n
            for n in bits(draft.receivers)
            if not task.wanted_by[task.names[n]].isdisjoint(draft.channels)
        )
        if listeners and draft.channels:
            kept.append(Draft(receivers=listeners, channels=tuple(sorted(draft.channels))))
    kept.sort(key=lambda d: (d.channels, tuple(bits(d.receivers))))
    return Column(task=task, drafts=tuple(kept))
