"""A good packing fast: merge what saves most, raise prices where receivers run short."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence

from lineproof.decide.streams.caps import Caps, Count
from lineproof.decide.streams.column import Column, Prices, score, tidy, used
from lineproof.decide.streams.task import Class, Draft, Mask, Task

#: How often prices are raised before the best so far is taken.
ROUNDS = 8
#: Raised prices: times this, and as many headers more (tried out on generated shows).
TIMES, HEADERS = 1.5, 24

Parcel = tuple[Mask, Mask, tuple[int, ...]]


def chunks(channels: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Give the channels in rows of at most so many.

    >>> chunks((1, 2, 3, 4, 5), 2)
    [(1, 2), (3, 4), (5,)]
    """
    return [tuple(channels[at : at + most]) for at in range(0, len(channels), most)]


def merged(task: Task, prices: Prices) -> Column:
    """Give a sender's streams: classes in chunks, then pairs merged while any saves.

    Above the sender's limit the pair that costs least goes on being merged.
    """
    copies = [
        Draft(receivers=1 << n, channels=chunk)
        for n, channels in task.copies.items()
        for chunk in chunks(channels, task.capacity(1 << n))
    ]
    work = _Merge(task, prices, len(copies))
    work.run()
    drafts = [Draft(receivers=y, channels=c) for y, _, c in work.parcels.values()]
    return tidy(task, [*drafts, *copies])


class _Merge:
    """The parcels of one sender, and the pairs of them by what merging saves."""

    def __init__(self, task: Task, prices: Prices, copies: int) -> None:
        self.task = task
        self.prices = prices
        self.room = task.limits.streams_send - copies
        self.parcels: dict[int, Parcel] = {}
        self.heap: list[tuple[float, int, int]] = []
        self.next = 0
        self.extra: dict[Mask, tuple[float, float]] = {}
        for each in task.classes:
            self._add_class(each)

    def _add_class(self, each: Class) -> None:
        for chunk in chunks(each.channels, self.task.capacity(each.receivers)):
            self._add((each.receivers, each.banned, chunk))

    def _cost(self, mask: Mask, channels: int) -> float:
        if mask not in self.extra:
            names = self.task.named(mask)
            streams = sum(self.prices.streams.get(name, 0.0) for name in names)
            each = sum(self.prices.channels.get(name, 0.0) for name in names)
            self.extra[mask] = (streams, each)
        stream, channel = self.extra[mask]
        return self.task.cost(mask, channels) + stream + channel * channels

    def _add(self, parcel: Parcel) -> None:
        number, self.next = self.next, self.next + 1
        for other, there in self.parcels.items():
            loss = self._loss(there, parcel)
            if loss is not None:
                heapq.heappush(self.heap, (loss, other, number))
        self.parcels[number] = parcel

    def _loss(self, a: Parcel, b: Parcel) -> float | None:
        """Give what merging two costs (below 0 what it saves); None where it can't be."""
        both, banned, channels = a[0] | b[0], a[1] | b[1], len(a[2]) + len(b[2])
        if both & banned or not self.task.may_be(both) or channels > self.task.capacity(both):
            return None
        apart = self._cost(a[0], len(a[2])) + self._cost(b[0], len(b[2]))
        return self._cost(both, channels) - apart

    def run(self) -> None:
        while self.heap:
            loss, a, b = heapq.heappop(self.heap)
            if a not in self.parcels or b not in self.parcels:
                continue
            if loss >= 0 and len(self.parcels) <= self.room:
                return
            (y, ban, some), (z, other, more) = self.parcels.pop(a), self.parcels.pop(b)
            self._add((y | z, ban | other, (*some, *more)))


def greedy(tasks: Sequence[Task], caps: Caps) -> tuple[list[Column], list[list[Column]]]:
    """Give the best of some rounds with rising prices, and every round's columns."""
    prices = Prices()
    best: list[Column] = []
    rounds: list[list[Column]] = []
    answers: dict[tuple[int, object], Column] = {}
    for _ in range(ROUNDS):
        columns = [_answer(n, task, prices, answers) for n, task in enumerate(tasks)]
        rounds.append(columns)
        if not best or score(columns, caps).key() < score(best, caps).key():
            best = columns
        taken = used(columns)
        if not _short(taken.received, caps.received) and not _short(taken.channels, caps.channels):
            break
        prices = _raised(tasks, prices, columns, caps)
    return best, rounds


def _answer(
    n: int, task: Task, prices: Prices, answers: dict[tuple[int, object], Column]
) -> Column:
    asked = (n, prices.touch(task.names))
    if asked not in answers:
        answers[asked] = merged(task, prices)
    return answers[asked]


def _short(taken: Mapping[str, int], counts: Mapping[str, Count]) -> list[str]:
    """Give who takes more than the limit, or than the least possible where that is more."""
    return [name for name, count in taken.items() if count > counts[name].cap]


def _raised(tasks: Sequence[Task], prices: Prices, columns: Sequence[Column], caps: Caps) -> Prices:
    taken = used(columns)
    step = HEADERS * max(task.header_bits_s(1) // max(1, task.hops(1)) for task in tasks)
    channel_step = max(task.channel_bits_s for task in tasks)
    streams, channels = dict(prices.streams), dict(prices.channels)
    for name in _short(taken.received, caps.received):
        streams[name] = streams.get(name, 0.0) * TIMES + step
    for name in _short(taken.channels, caps.channels):
        channels[name] = channels.get(name, 0.0) * TIMES + channel_step
    return Prices(streams=streams, channels=channels)
