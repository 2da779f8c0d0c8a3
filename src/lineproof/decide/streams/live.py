"""Streams in use while they are mended: who listens, what is in them, what each step would cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.decide.streams.caps import CHANNELS, RECEIVED, SENT, Caps
from lineproof.decide.streams.task import Mask, Task
from lineproof.plan.network import Stream


@dataclass(frozen=True, kw_only=True)
class Live:
    """A stream as it stands: `was` is the stream in use it came from, None for a new one."""

    receivers: Mask
    channels: tuple[int, ...]
    packet_us: int
    was: Stream | None = None

    @property
    def one(self) -> bool:
        """Say whether there is just one listener."""
        return self.receivers & (self.receivers - 1) == 0

    def changes_kind(self) -> bool:
        """Say whether a unicast stream in use would have to become multicast."""
        return self.was is not None and not self.was.multicast and not self.one


@dataclass(frozen=True, kw_only=True)
class Step:
    """One way to serve a need: the stream at `at` (None: a further one) becomes `to`."""

    at: int | None
    to: Live
    entries: int


class Use:
    """What all streams take of the limits, kept up to date while one sender is mended."""

    def __init__(self, caps: Caps, streams: Iterable[Stream]) -> None:
        self.caps = caps
        self.taken: dict[tuple[str, str], int] = {}
        for stream in streams:
            self._count(stream.sender, stream.receivers, len(stream.channels), 1)

    def _count(self, sender: str, receivers: Iterable[str], channels: int, sign: int) -> None:
        for key, count in _takes(sender, receivers, channels).items():
            self.taken[key] = self.taken.get(key, 0) + sign * count

    def change(self, task: Task, before: Live | None, after: Live | None) -> None:
        """Take one stream out and another in."""
        for live, sign in ((before, -1), (after, 1)):
            if live is not None:
                names = task.named(live.receivers)
                self._count(task.sender.name, names, len(live.channels), sign)

    def more_over(self, task: Task, before: Live | None, after: Live) -> int:
        """Give by how much more limits would be exceeded after a step."""
        sender = task.sender.name
        gone = _takes(sender, task.named(before.receivers), len(before.channels)) if before else {}
        come = _takes(sender, task.named(after.receivers), len(after.channels))
        change = 0
        for key in gone.keys() | come.keys():
            now = self.taken.get(key, 0)
            then = now - gone.get(key, 0) + come.get(key, 0)
            change += self._over(key, then) - self._over(key, now)
        return change

    def _over(self, key: tuple[str, str], used: int) -> int:
        what, unit = key
        count = self.caps.of(what).get(unit)
        return 0 if count is None else max(0, used - count.limit)

    def over(self) -> int:
        """Give by how much all limits together are exceeded."""
        return sum(self._over(key, used) for key, used in self.taken.items())

    def full(self, name: str) -> bool:
        """Say whether one more stream would be too many for a receiver."""
        count = self.caps.received[name]
        return self.taken.get((RECEIVED, name), 0) >= count.limit


def _takes(sender: str, receivers: Iterable[str], channels: int) -> Mapping[tuple[str, str], int]:
    found = {(SENT, sender): 1}
    for name in receivers:
        found[RECEIVED, name] = 1
        found[CHANNELS, name] = channels
    return found


def still_wanted(task: Task, stream: Stream, most_packet_us: int) -> Live | None:
    """Give a stream in use without listeners and channels that nothing asks for any more.

    Channels keep their order. Who must not hear what is in it leaves it. None where nothing is
    left, or where its packet time or its size no longer suits them all.
    """
    receivers, channels = task.mask(frozenset(stream.receivers)), stream.channels
    while True:
        names = task.named(receivers)
        needed = {channel for name in names for channel in task.wanted_by[name]}
        kept = tuple(channel for channel in channels if channel in needed)
        barred = 0
        for channel in kept:
            barred |= task.banned_by_channel[channel]
        listeners = sum(
            1 << task.bit[name]
            for name in task.named(receivers & ~barred)
            if not task.wanted_by[name].isdisjoint(kept)
        )
        if (listeners, kept) == (receivers, channels):
            break
        receivers, channels = listeners, kept
    live = Live(receivers=receivers, channels=channels, packet_us=stream.packet_us, was=stream)
    fits = receivers and stream.packet_us <= most_packet_us and suits(task, live)
    return live if fits else None


def suits(task: Task, live: Live) -> bool:
    """Say whether a stream may be as it stands: its size, its packet time, who may hear it."""
    if not live.one and live.receivers & task.alone:
        return False
    if live.one and live.was is not None and live.was.multicast and live.receivers & task.alone:
        return False
    if any(task.banned_by_channel[channel] & live.receivers for channel in live.channels):
        return False
    own_time = live.one and live.packet_us == task.sent_packet_us(live.receivers)
    room = task.room(live.receivers, live.packet_us)
    return len(live.channels) <= (task.capacity(live.receivers) if own_time else room)
