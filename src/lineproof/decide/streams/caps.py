"""How few streams are possible at all: the counting proof beside every limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.decide.streams.asked import Needs
from lineproof.decide.streams.task import Task

SENT, RECEIVED, CHANNELS = "streams sent", "streams received", "channels received"


@dataclass(frozen=True, kw_only=True)
class Count:
    """A limit of a unit, and how little of it no packing can go below."""

    limit: int
    least: int

    @property
    def cap(self) -> int:
        """Give what to keep to: the limit, or the least possible where that is more."""
        return max(self.limit, self.least)


@dataclass(frozen=True, kw_only=True)
class Caps:
    """Every limit with its proof, by unit in sorted order."""

    sent: Mapping[str, Count]
    received: Mapping[str, Count]
    channels: Mapping[str, Count]

    @property
    def least_over(self) -> int:
        """Give by how much all limits together are exceeded by any packing."""
        counts = (*self.sent.values(), *self.received.values(), *self.channels.values())
        return sum(count.cap - count.limit for count in counts)

    def over(self, what: str, unit: str, used: int) -> int:
        """Give by how much a use is above its limit."""
        return max(0, used - self.of(what)[unit].limit)

    def of(self, what: str) -> Mapping[str, Count]:
        """Give the counts of one sort."""
        return {SENT: self.sent, RECEIVED: self.received, CHANNELS: self.channels}[what]


def caps_of(needs: Needs, tasks: Sequence[Task]) -> Caps:
    """Give the limits and what counting proves.

    A receiver takes at least one stream for every so many channels of one sender as fit in one,
    and each needed channel once; a sender sends at least its channels divided likewise, and as
    much again to each receiver that gets copies.
    """
    streams: dict[str, int] = {}
    channels: dict[str, int] = {}
    for task in tasks:
        for name, wanted in task.wanted_by.items():
            most = task.most_together(1 << task.bit[name])
            streams[name] = streams.get(name, 0) + -(-len(wanted) // most)
            channels[name] = channels.get(name, 0) + len(wanted)
    names = sorted(streams, key=natural)
    limits = needs.limits
    return Caps(
        sent={
            task.sender.name: Count(limit=task.limits.streams_send, least=_least_sent(task))
            for task in tasks
        },
        received={n: Count(limit=limits[n].streams_receive, least=streams[n]) for n in names},
        channels={n: Count(limit=limits[n].channels_receive, least=channels[n]) for n in names},
    )


def _least_sent(task: Task) -> int:
    shared = sum(len(each.channels) for each in task.classes)
    everyone = task.mask(frozenset(task.names))
    most = task.most_together(everyone)
    copied = sum(
        -(-len(task.copies.get(n, ())) // task.most_together(1 << n))
        for n in range(len(task.names))
        if task.alone >> n & 1
    )
    return copied + -(-shared // most)
