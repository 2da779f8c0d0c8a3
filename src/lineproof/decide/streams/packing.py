"""What packing gives back: streams, what is short with its proof, cost beside its bound."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.decide.streams.caps import CHANNELS, RECEIVED, SENT, Caps
from lineproof.decide.streams.task import Task
from lineproof.plan.network import Network, Stream

#: What changed in a stream in use that its listeners notice.
KIND, TIME = "kind", "packet time"


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """A limit that is exceeded: `used` of `limit`, where no packing can use less than `least`."""

    unit: str
    what: str  # streams sent | streams received | channels received
    used: int
    limit: int
    least: int

    def __str__(self) -> str:
        proof = f"no packing needs fewer than {self.least}"
        if self.least <= self.limit:
            proof = f"counting alone asks for {self.least}"
        return f"{self.unit}: {self.used} {self.what}, it can do {self.limit}; {proof}"


@dataclass(frozen=True, kw_only=True)
class Told:
    """A stream in use that changed its kind or packet time: its listeners will hear that."""

    stream: str
    what: str  # kind | packet time


@dataclass(frozen=True, kw_only=True)
class Packing:
    """Streams in order of sender and number, and how good they are.

    `cost` in bits a second x runs, on the wire, tags, preamble and gap counted; no packing of
    the `family` that keeps the limits as well costs less than `bound`. `over`: by how much all
    limits together are exceeded; no packing at all by less than `least_over`. `no_packet_time`:
    a sender and a receiver that have none in common.
    """

    streams: tuple[Stream, ...]
    shortages: tuple[Shortage, ...] = ()
    told: tuple[Told, ...] = ()
    no_packet_time: tuple[tuple[str, str], ...] = ()
    cost: int = 0
    bound: int = 0
    family: str = ""
    over: int = 0
    least_over: int = 0

    @property
    def gap_percent(self) -> float:
        """Give by how much of its cost the packing may be above the best of its family."""
        return 100 * max(0, self.cost - self.bound) / self.cost if self.cost else 0.0


def shortages(caps: Caps, streams: Iterable[Stream]) -> tuple[Shortage, ...]:
    """Give every limit that the streams exceed, by unit."""
    taken: dict[tuple[str, str], int] = {}
    for stream in streams:
        _add(taken, (SENT, stream.sender), 1)
        for name in stream.receivers:
            _add(taken, (RECEIVED, name), 1)
            _add(taken, (CHANNELS, name), len(stream.channels))
    found = [
        Shortage(unit=unit, what=what, used=used, limit=count.limit, least=count.least)
        for (what, unit), used in taken.items()
        if (count := caps.of(what)[unit]).limit < used
    ]
    return tuple(sorted(found, key=lambda short: (natural(short.unit), short.what)))


def _add(taken: dict[tuple[str, str], int], key: tuple[str, str], count: int) -> None:
    taken[key] = taken.get(key, 0) + count


def without_packet_time(tasks: Sequence[Task]) -> tuple[tuple[str, str], ...]:
    """Give every sender and receiver that have no packet time in common within the show's."""
    return tuple(
        (task.sender.name, name)
        for task in tasks
        for n, name in enumerate(task.names)
        if not task.packet_us(1 << n)
    )


def counted_bound(tasks: Sequence[Task]) -> int:
    """Give what no packing at all can cost less than: each channel once on every run it must pass.

    Beside that each sender's headers to the one receiver for whom they cost most.
    """
    total = 0
    for task in tasks:
        for wanted in task.sender.wants.values():
            if wanted:
                total += task.hops(task.mask(wanted)) * task.channel_bits_s
        headers = [0]
        for n, name in enumerate(task.names):
            most = task.most_together(1 << n)
            headers.append(task.header_bits_s(1 << n) * -(-len(task.wanted_by[name]) // most))
        total += max(headers)
    return total


def cost_of(task: Task, streams: Iterable[Stream]) -> int:
    """Give the bits a second x runs of streams of one sender."""
    total = 0
    for stream in streams:
        mask = task.mask(frozenset(stream.receivers))
        header = task.header_at(stream.packet_us)
        total += task.hops(mask) * (header + task.channel_bits_s * len(stream.channels))
    return total


def last_numbers(network: Network) -> Mapping[str, int]:
    """Give the highest number of a stream that every sender ever had, retired ones counted."""
    names = [stream.name for stream in network.streams]
    names += [gone.value for gone in network.retired if gone.what == "stream"]
    found: dict[str, int] = {}
    for name in names:
        sender, _, number = name.rpartition("/")
        if number.isdecimal():
            found[sender] = max(found.get(sender, 0), int(number))
    return found


def entries_changed(before: Iterable[Stream], after: Iterable[Stream]) -> int:
    """Count what somebody must enter anew: channels and listeners that came or went, new streams.

    A stream that is new or gone counts as one.
    """
    old = {stream.name: stream for stream in before}
    new = {stream.name: stream for stream in after}
    changed = len(old.keys() ^ new.keys())
    for name in sorted(old.keys() & new.keys()):
        changed += len(set(old[name].channels) ^ set(new[name].channels))
        changed += len(set(old[name].receivers) ^ set(new[name].receivers))
    return changed


def in_order(streams: Iterable[Stream]) -> tuple[Stream, ...]:
    """Give the streams by sender and number, as people sort them."""
    return tuple(sorted(streams, key=lambda stream: natural(stream.name)))
