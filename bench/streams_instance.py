"""Generated needs for streams: boxes, mixers, recorders, amplifiers, loudspeakers on two nets.

Deterministic: integers alone, one source of chance. Everything in it is invented.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lineproof.decide.streams.asked import Limits, Needs, Sender

#: Units of each sort at 400 units, in the order in which they are named.
SHARES: Mapping[str, int] = MappingProxyType(
    {"box": 40, "mixer": 16, "cast": 2, "rec": 12, "amp": 230, "pa": 100}
)
STREAMS: Mapping[str, tuple[int, int, int]] = MappingProxyType(
    {  # streams sent, streams received, channels received
        "box": (16, 16, 64),
        "mixer": (32, 32, 256),
        "cast": (32, 48, 384),
        "rec": (16, 24, 256),
        "amp": (16, 16, 64),
        "pa": (2, 4, 32),
    }
)


#: Channels of a box that are plugged.
USED = 26


@dataclass(frozen=True, kw_only=True)
class Tree:
    """One net as a tree: the trunks from every switch to the root, and where units hang.

    Links are bits: of a way up, and (shifted) of a way down, as a cable carries both.
    """

    up: tuple[int, ...]
    at: Mapping[str, int]

    def hops(self, sender: str, receivers: frozenset[str]) -> int:
        """Give the links of the ways from a sender to all of them, its own cables counted."""
        if sender not in self.at:
            return 0
        there = [r for r in receivers if r in self.at]
        start = self.up[self.at[sender]]
        way = 0
        for receiver in there:
            way |= start ^ self.up[self.at[receiver]]
        return way.bit_count() + len(there) + (1 if there else 0)


def tree(chance: random.Random, switches: int, at: Mapping[str, int]) -> Tree:
    """Give a tree of 6 core switches, and chains of 3 to 5 edge switches cut in the middle."""
    cores = [chance.randrange(n) if n else 0 for n in range(6)]
    above: list[int] = list(cores)
    while len(above) < switches:
        length = min(chance.randint(3, 5), switches - len(above))
        left, right = chance.sample(range(6), 2)
        first = len(above)
        half = (length + 1) // 2
        above += [left if n == 0 else first + n - 1 for n in range(half)]
        above += [first + n + 1 if n < length - 1 else right for n in range(half, length)]
    up = []
    for switch in range(switches):
        mask, here = 0, switch
        while here:
            mask, here = mask | 1 << here, above[here]
        up.append(mask)
    return Tree(up=tuple(up), at=at)


def make(units: int = 400, seed: int = 1, *, receive: float = 1.0) -> Needs:
    """Give the needs of so many units; `receive` scales the limits of received streams."""
    # The seed as text: random draws the same from it in every version and on every machine.
    chance = random.Random(f"streams {units} {seed}")  # noqa: S311 - shows, not secrets
    names = {
        sort: [f"{sort}-{n + 1}" for n in range(max(2, share * units // 400))]
        for sort, share in SHARES.items()
    }
    zones = max(2, 8 * units // 400)
    wants: dict[str, dict[int, set[str]]] = {}
    _mics(chance, names, zones, wants)
    _mixes(chance, names, zones, wants)
    nets = _nets(chance, names, zones, units)
    senders = tuple(
        Sender(name=name, wants={c: frozenset(r) for c, r in sorted(channels.items())})
        for name, channels in wants.items()
    )
    limits = {
        name: Limits(
            streams_send=STREAMS[sort][0],
            streams_receive=max(1, int(STREAMS[sort][1] * receive)),
            channels_receive=STREAMS[sort][2],
        )
        for sort, some in names.items()
        for name in some
    }

    def hops(sender: str, receivers: frozenset[str]) -> int:
        return sum(net.hops(sender, receivers) for net in nets)

    return Needs(senders=senders, limits=limits, hops=hops)


def zone_of(number: int, count: int, zones: int) -> int:
    """Give the zone of the n-th of so many."""
    return number * zones // count


def _mics(
    chance: random.Random,
    names: Mapping[str, list[str]],
    zones: int,
    wants: dict[str, dict[int, set[str]]],
) -> None:
    boxes, mixers, recorders = names["box"], names["mixer"], names["rec"]
    for number, box in enumerate(boxes):
        zone = zone_of(number, len(boxes), zones)
        front, side = mixers[2 * zone % len(mixers)], mixers[(2 * zone + 1) % len(mixers)]
        pair = number % (len(recorders) // 2)
        usual = {front, side, recorders[2 * pair], recorders[2 * pair + 1]}
        channels = wants.setdefault(box, {})
        channel = 1
        while channel <= USED:
            group = set(usual)
            if chance.random() < 0.4:
                group.add(chance.choice(names["cast"]))
            for each in range(channel, min(USED + 1, channel + chance.randint(4, 12))):
                channels[each] = _strayed(chance, group, mixers)
                channel = each + 1


def _strayed(chance: random.Random, group: set[str], mixers: list[str]) -> set[str]:
    found = {name for name in sorted(group) if chance.random() >= 0.05} or {min(group)}
    if chance.random() < 0.05:
        found.add(chance.choice(mixers))
    return found


def _mixes(
    chance: random.Random,
    names: Mapping[str, list[str]],
    zones: int,
    wants: dict[str, dict[int, set[str]]],
) -> None:
    mixers = names["mixer"]

    def feed(mixer: str, channel: int, to: str) -> None:
        wants.setdefault(mixer, {}).setdefault(channel, set()).add(to)

    for sort, mixes in (("amp", 4), ("pa", 2)):
        for number, unit in enumerate(names[sort]):
            zone = zone_of(number, len(names[sort]), zones)
            mixer = mixers[2 * (0 if chance.random() < 0.25 else zone) % len(mixers)]
            first = 1 + 4 * chance.randrange(3)  # main, fill or delay
            for mix in range(mixes if sort == "amp" else chance.randint(1, mixes)):
                feed(mixer, first + mix, unit)
    for number, box in enumerate(names["box"]):
        zone = zone_of(number, len(names["box"]), zones)
        front, side = mixers[2 * zone % len(mixers)], mixers[(2 * zone + 1) % len(mixers)]
        for back in range(16):
            mixer = front if chance.random() < 0.25 else side
            feed(mixer, 13 + chance.randrange(16) if mixer == front else 1 + back, box)


def _nets(
    chance: random.Random, names: Mapping[str, list[str]], zones: int, units: int
) -> list[Tree]:
    switches = max(12, 60 * units // 400)
    at: dict[str, int] = {}
    for some in names.values():
        for number, name in enumerate(some):
            zone = zone_of(number, len(some), zones)
            edges = range(
                6 + zone * (switches - 6) // zones, 6 + (zone + 1) * (switches - 6) // zones
            )
            at[name] = chance.choice(edges)
    second = {name: switch for name, switch in at.items() if name not in names["pa"][::2]}
    return [tree(chance, switches, at), tree(chance, switches, second)]
