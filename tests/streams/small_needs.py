"""Small needs drawn from a seed, and every packing of them, one by one."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lineproof.decide.streams.asked import Limits, Needs, Sender

MOST = 2  # channels in a stream
CHANNEL_BITS_S, HEADER_BITS_S = 24 * 48_000, 82 * 8 * 1_000  # 48 kHz, 24 bit, 1 ms


def tree(chance: random.Random, names: list[str]) -> dict[str, frozenset[int]]:
    """Give every unit's links to the root of a small tree of switches."""
    above = [0, *(chance.randrange(n) for n in range(1, 5))]
    ways: dict[str, frozenset[int]] = {}
    for name in names:
        here, links = chance.randrange(5), set()
        while here:
            links.add(here)
            here = above[here]
        ways[name] = frozenset({-1 - len(ways), *links})
    return ways


def draw(seed: int) -> Needs:
    """Give needs of 1 or 2 senders, 2 to 3 receivers, up to 4 channels each."""
    chance = random.Random(f"small streams {seed}")
    receivers = [f"r-{n}" for n in range(chance.randint(2, 3))]
    names = [f"s-{n}" for n in range(chance.randint(1, 2))]
    ways = tree(chance, [*names, *receivers])
    senders = []
    for name in names:
        wants = {
            channel: frozenset(chance.sample(receivers, chance.randint(1, len(receivers))))
            for channel in range(1, chance.randint(2, 4) + 1)
        }
        never = {
            channel: frozenset(r for r in receivers if r not in wanted and chance.random() < 0.2)
            for channel, wanted in wants.items()
        }
        senders.append(
            Sender(
                name=name,
                wants=wants,
                never=never,
                private=frozenset(c for c in wants if chance.random() < 0.15),
                alone=frozenset(r for r in receivers if chance.random() < 0.15),
            )
        )
    limits = {
        name: Limits(
            streams_send=chance.randint(1, 5),
            streams_receive=chance.randint(1, 4),
            channels_receive=chance.choice([4, 6, 16]),
            channels_per_stream=MOST,
        )
        for name in ways
    }

    def hops(sender: str, to: frozenset[str]) -> int:
        return len(frozenset().union(*(ways[sender] ^ ways[r] for r in to))) if to else 0

    return Needs(senders=tuple(senders), limits=limits, hops=hops)


@dataclass(frozen=True, kw_only=True)
class Whole:
    """What one sender's packing takes: streams sent, streams and channels by receiver."""

    sent: int
    received: tuple[int, ...]
    channels: tuple[int, ...]


def packings(needs: Needs, sender: Sender, names: list[str]) -> Mapping[Whole, int]:
    """Give the least cost for everything that a packing of a sender can take.

    A packing: one shared set for each channel, and a copy for everyone who is not in it.
    """
    shared_sets = [
        frozenset(some)
        for size in range(1, len(names) + 1)
        for some in itertools.combinations(names, size)
    ]
    found: dict[Whole, int] = {}
    ways = [list(_ways(sender, channel, shared_sets)) for channel in sorted(sender.wants)]
    for choice in itertools.product(*ways):
        loads: dict[frozenset[str], int] = {}
        for sets in choice:
            for some in sets:
                loads[some] = loads.get(some, 0) + 1
        whole, cost = _whole(needs, sender, loads, names)
        found[whole] = min(cost, found.get(whole, cost))
    return found


def _ways(
    sender: Sender, channel: int, shared_sets: list[frozenset[str]]
) -> Iterator[tuple[frozenset[str], ...]]:
    wanted = sender.wants[channel]
    copies = wanted & sender.alone
    if not wanted - copies:
        yield tuple(frozenset({name}) for name in copies)
    for some in shared_sets:
        barred = any(not sender.may_hear(channel, name) for name in some)
        if barred or some & sender.alone or not some & wanted:
            continue
        yield (some, *(frozenset({name}) for name in wanted - some))


def _whole(
    needs: Needs, sender: Sender, loads: Mapping[frozenset[str], int], names: list[str]
) -> tuple[Whole, int]:
    streams = {some: -(-load // MOST) for some, load in loads.items()}
    cost = sum(
        needs.hops(sender.name, some) * (streams[some] * HEADER_BITS_S + load * CHANNEL_BITS_S)
        for some, load in loads.items()
    )
    whole = Whole(
        sent=sum(streams.values()),
        received=tuple(sum(n for some, n in streams.items() if name in some) for name in names),
        channels=tuple(sum(n for some, n in loads.items() if name in some) for name in names),
    )
    return whole, cost


def best(needs: Needs) -> tuple[int, int]:
    """Give by how much limits must be exceeded, and the least cost at that, over all packings."""
    names = sorted({name for sender in needs.senders for name in sender.receivers})
    each = [
        {
            (whole.received, whole.channels, max(0, whole.sent - limit)): cost
            for whole, cost in sorted(
                packings(needs, sender, names).items(), key=lambda pair: -pair[1]
            )
            for limit in [needs.limits[sender.name].streams_send]
        }
        for sender in needs.senders
    ]
    found = []
    for choice in itertools.product(*(options.items() for options in each)):
        over = sum(key[2] for key, _ in choice)
        for n, name in enumerate(names):
            limits = needs.limits[name]
            over += max(0, sum(key[0][n] for key, _ in choice) - limits.streams_receive)
            over += max(0, sum(key[1][n] for key, _ in choice) - limits.channels_receive)
        found.append((over, sum(cost for _, cost in choice)))
    return min(found)
