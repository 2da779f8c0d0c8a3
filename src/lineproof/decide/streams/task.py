"""One sender's part of the packing: its classes of channels, and what a stream of it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import natural
from lineproof.decide.streams.asked import Limits, Needs, Sender
from lineproof.reckon.packets import Packet

#: Receivers of one sender as a set of bits: bit n is its n-th receiver.
Mask = int


def bits(mask: Mask) -> Iterator[int]:
    """Give the numbers of the bits that are set.

    >>> list(bits(0b1010))
    [1, 3]
    """
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


@dataclass(frozen=True, kw_only=True)
class Class:
    """Channels that the same receivers need and the same must not hear; `banned` as a mask."""

    receivers: Mask
    banned: Mask
    channels: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A stream to be: who gets it, and which send channels are in it."""

    receivers: Mask
    channels: tuple[int, ...]


class Task:
    """What one sender has to send, with prices of streams looked up once.

    Receivers are bits, in sorted order. `classes` have the channels that may be shared; `copies`
    the channels that a receiver gets in unicast copies whatever happens.
    """

    def __init__(self, needs: Needs, sender: Sender) -> None:
        self.sender = sender
        self.names = sender.receivers
        self.bit = {name: n for n, name in enumerate(self.names)}
        self.limits = needs.limits[sender.name]
        self.most_packet_us = needs.most_packet_us
        self._of = [needs.limits[name] for name in self.names]
        self._needs = needs
        self._hops: dict[Mask, int] = {}
        self._packet: dict[Mask, int] = {}
        self._capacity: dict[Mask, int] = {}
        self._header: dict[int, int] = {}
        self.alone = self.mask(sender.alone & frozenset(self.names))
        self.packet_mask = {us: self._who_can(us) for us in self._times(self.limits)}
        self.channel_bits_s = self._made(1000).channel_bits_s
        self.classes, self.copies = self._classes()

    def mask(self, names: frozenset[str]) -> Mask:
        """Give the receivers of these names as a mask; others are passed over."""
        return sum(1 << self.bit[name] for name in names if name in self.bit)

    def named(self, mask: Mask) -> tuple[str, ...]:
        """Give the names of a mask, sorted."""
        return tuple(self.names[n] for n in bits(mask))

    def _times(self, limits: Limits) -> list[int]:
        return sorted((us for us in limits.packets_us if us <= self.most_packet_us), reverse=True)

    def _who_can(self, packet_us: int) -> Mask:
        return sum(1 << n for n, limits in enumerate(self._of) if packet_us in limits.packets_us)

    def _made(self, packet_us: int) -> Packet:
        return Packet(
            rate_hz=self.sender.rate_hz, packet_us=packet_us, depth_bits=self.sender.depth_bits
        )

    def packet_us(self, mask: Mask) -> int:
        """Give the longest packet time that the sender and all of them have, 0 for none."""
        if mask not in self._packet:
            times = (us for us, can in self.packet_mask.items() if not mask & ~can)
            self._packet[mask] = next(times, 0)
        return self._packet[mask]

    def sent_packet_us(self, mask: Mask) -> int:
        """Give the packet time of a stream to these: where they have none in common, its own."""
        return self.packet_us(mask) or next(iter(self.packet_mask), self.most_packet_us)

    def capacity(self, mask: Mask) -> int:
        """Give how many channels a stream to these can hold."""
        if mask not in self._capacity:
            kinds = [self._of[n].channels_per_stream for n in bits(mask)]
            packet = self._made(self.sent_packet_us(mask)).most_channels
            self._capacity[mask] = max(1, min(packet, self.limits.channels_per_stream, *kinds))
        return self._capacity[mask]

    def most_together(self, mask: Mask) -> int:
        """Give how many channels no stream to one of these can exceed, at any packet time."""
        times = list(self.packet_mask) or [self.most_packet_us]
        packet = self._made(min(times)).most_channels
        kinds = max((self._of[n].channels_per_stream for n in bits(mask)), default=1)
        return max(1, min(packet, self.limits.channels_per_stream, kinds))

    def may_be(self, mask: Mask) -> bool:
        """Say whether one stream may go to all of these."""
        if mask & (mask - 1) == 0:
            return mask != 0
        return not mask & self.alone and self.packet_us(mask) > 0

    def hops(self, mask: Mask) -> int:
        """Give the runs that a packet passes on its way to these, all nets together."""
        if mask not in self._hops:
            self._hops[mask] = self._needs.hops(self.sender.name, frozenset(self.named(mask)))
        return self._hops[mask]

    def header_at(self, packet_us: int) -> int:
        """Give the bits a second on one run that a stream costs before any channel."""
        if packet_us not in self._header:
            self._header[packet_us] = self._made(packet_us).header_bits_s
        return self._header[packet_us]

    def header_bits_s(self, mask: Mask) -> int:
        """Give the bits a second x runs that a stream to these costs before any channel."""
        return self.hops(mask) * self.header_at(self.sent_packet_us(mask))

    def room(self, mask: Mask, packet_us: int) -> int:
        """Give how many channels a stream to these can hold at a packet time; 0 where one can't."""
        if not all(packet_us in self._of[n].packets_us for n in bits(mask)):
            return 0
        kinds = [self._of[n].channels_per_stream for n in bits(mask)]
        packet = self._made(packet_us).most_channels
        return min(packet, self.limits.channels_per_stream, *kinds)

    def cost(self, mask: Mask, channels: int) -> int:
        """Give the bits a second x runs of a stream."""
        return self.header_bits_s(mask) + self.hops(mask) * self.channel_bits_s * channels

    def banned(self, channel: int) -> Mask:
        """Give who must not hear a channel."""
        return sum(
            1 << n for n, name in enumerate(self.names) if not self.sender.may_hear(channel, name)
        )

    def _shared(self, wanted: Mask) -> Mask:
        """Give those of a class who can share its stream: no copies, one packet time for all."""
        free = wanted & ~self.alone
        if free & (free - 1) == 0 or self.packet_us(free):
            return free
        return max((free & can for can in self.packet_mask.values()), key=int.bit_count, default=0)

    def _classes(self) -> tuple[tuple[Class, ...], Mapping[int, tuple[int, ...]]]:
        found: dict[tuple[Mask, Mask], list[int]] = {}
        copies: dict[int, list[int]] = {}
        for channel in sorted(self.sender.wants):
            wanted = self.mask(self.sender.wants[channel])
            shared = self._shared(wanted)
            for n in bits(wanted & ~shared):
                copies.setdefault(n, []).append(channel)
            if shared:
                found.setdefault((shared, self.banned(channel)), []).append(channel)
        classes = tuple(
            Class(receivers=receivers, banned=banned, channels=tuple(channels))
            for (receivers, banned), channels in found.items()
        )
        return classes, {n: tuple(copies[n]) for n in sorted(copies)}

    @cached_property
    def wanted_by(self) -> Mapping[str, frozenset[int]]:
        """Give the channels that every receiver needs."""
        found: dict[str, set[int]] = {name: set() for name in self.names}
        for channel, receivers in self.sender.wants.items():
            for name in receivers:
                found[name].add(channel)
        return {name: frozenset(channels) for name, channels in found.items()}

    @cached_property
    def banned_by_channel(self) -> Mapping[int, Mask]:
        """Give who must not hear a channel, by channel."""
        return {channel: self.banned(channel) for channel in sorted(self.sender.wants)}


def tasks(needs: Needs) -> tuple[Task, ...]:
    """Give the tasks of all senders that have something to send, sorted by name."""
    senders = sorted(needs.senders, key=lambda sender: natural(sender.name))
    return tuple(Task(needs, sender) for sender in senders if sender.receivers)
