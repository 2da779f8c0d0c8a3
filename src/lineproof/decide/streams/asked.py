"""What streams must carry, and within which limits: all that packing has to know of a show."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.names import natural

#: How many runs, over all nets, a packet of a sender passes on its way to so many receivers.
Hops = Callable[[str, frozenset[str]], int]


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a unit can do with streams.

    `channels_receive`: the most channels in all the streams it receives, wanted or not.
    `packets_us`: the nominal packet times it works with.
    """

    streams_send: int
    streams_receive: int
    channels_receive: int
    channels_per_stream: int = 8
    packets_us: tuple[int, ...] = (1000,)


@dataclass(frozen=True, kw_only=True)
class Sender:
    """What one unit sends: which receivers need each of its send channels.

    `never`: units that a channel must not reach, by channel. `private`: channels whose streams go
    to their own receivers only. `likely`: channels that a second unit may well ask for. `alone`:
    receivers that multicast must be kept away from (a port of 100 Mbit/s, a switch without
    snooping on the way): they get unicast copies.
    """

    name: str
    wants: Mapping[int, frozenset[str]]
    never: Mapping[int, frozenset[str]] = field(default_factory=dict)
    private: frozenset[int] = frozenset()
    likely: frozenset[int] = frozenset()
    alone: frozenset[str] = frozenset()
    rate_hz: int = 48_000
    depth_bits: int = 24

    def may_hear(self, channel: int, unit: str) -> bool:
        """Say whether a stream with this channel may reach the unit."""
        if unit in self.wants.get(channel, frozenset()):
            return True
        return channel not in self.private and unit not in self.never.get(channel, frozenset())

    @cached_property
    def receivers(self) -> tuple[str, ...]:
        """Give everyone who needs any of its channels, sorted."""
        return tuple(sorted({r for each in self.wants.values() for r in each}, key=natural))

    def needs(self) -> Iterator[tuple[int, str]]:
        """Give every need, one by one: a channel and a receiver."""
        for channel in sorted(self.wants):
            for receiver in sorted(self.wants[channel], key=natural):
                yield channel, receiver


@dataclass(frozen=True, kw_only=True)
class Needs:
    """All senders with all limits. `most_packet_us`: the show's packet time, at most."""

    senders: tuple[Sender, ...]
    limits: Mapping[str, Limits]
    hops: Hops
    most_packet_us: int = 1000

    def sender(self, name: str) -> Sender | None:
        """Give what a unit sends, None where it sends nothing."""
        return next((sender for sender in self.senders if sender.name == name), None)
