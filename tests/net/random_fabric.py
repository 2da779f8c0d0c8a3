"""Fabrics and flows drawn from a seed, small enough to look at."""

from __future__ import annotations

import random

from lineproof.graph.net import Fabric, FabricRun, Node
from lineproof.reckon.tree_paths import Flow


def fabric(
    rng: random.Random,
    bridges: int,
    units: int,
    *,
    extra: int = 0,
    speeds: tuple[int, ...] = (1000,),
    macs: bool = True,
) -> Fabric:
    """Give bridges in a random tree with `extra` further runs, and units that hang on them."""
    nodes = [
        Node(
            name=f"sw-{i}",
            bridge=True,
            elects=True,
            snoops=True,
            priority=rng.choice((4096, 32768, 32768, 32768)),
            mac=rng.randrange(1, 2**40) if macs else None,
            forward_ns=0,
        )
        for i in range(bridges)
    ]
    nodes += [Node(name=f"u-{i}", forward_ns=0) for i in range(units)]
    ends = [(rng.randrange(i), i) for i in range(1, bridges)]
    ends += [tuple(rng.sample(range(bridges), 2)) for _ in range(extra if bridges > 1 else 0)]  # type: ignore[misc]
    ends += [(rng.randrange(bridges), bridges + i) for i in range(units)]
    used = [0] * len(nodes)
    runs = []
    for r, (a, b) in enumerate(ends):
        used[a], used[b] = used[a] + 1, used[b] + 1
        speed = rng.choice(speeds)
        runs.append(
            FabricRun(name=f"run-{r}", ends=(a, b), ports=(used[a], used[b]), speed_mbit=speed)
        )
    return Fabric(net="a", nodes=tuple(nodes), runs=tuple(runs), queriers=(0,))


def flows(
    rng: random.Random,
    fabric: Fabric,
    count: int,
    *,
    channels: tuple[int, ...] = (1, 2, 4, 8),
    packets_us: tuple[int, ...] = (1000,),
) -> tuple[Flow, ...]:
    """Give streams between random units, their packet times drawn from `packets_us`."""
    units = [i for i, node in enumerate(fabric.nodes) if not node.bridge]
    found = []
    for n in range(count):
        sender = rng.choice(units)
        others = [u for u in units if u != sender]
        receivers = tuple(sorted(rng.sample(others, rng.randint(1, min(3, len(others))))))
        packet_us = rng.choice(packets_us)
        # 48 kHz, 24 bit; 82 bytes beside the samples.
        bits = 8 * (rng.choice(channels) * 144 * packet_us // 1000 + 82)
        found.append(
            Flow(
                name=f"s/{n}",
                sender=sender,
                receivers=receivers,
                multicast=len(receivers) > 1,
                packet_bits=bits,
                packet_ns=packet_us * 1000,
                rate_bps=bits * 1_000_000 // packet_us,
            )
        )
    return tuple(found)
