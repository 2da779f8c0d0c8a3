"""Streams for the routes of a rescue: of their own, so that nothing in use is changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from lineproof.base.names import natural
from lineproof.base.spot import LineKey, Spot
from lineproof.decide.streams.needs import limits_of
from lineproof.plan.network import Network, Stream
from lineproof.rescue.manners import is_shy
from lineproof.show.model import Show


def with_streams(
    show: Show, network: Network, routes: Mapping[tuple[Spot, Spot], Iterable[LineKey]]
) -> Network:
    """Give the network with streams for new routes, by send and receive channel with their lines.

    What no third may hear goes to each of its receivers alone.
    """
    wanted: dict[tuple[str, str], dict[int, dict[str, None]]] = {}
    for (send, receive), keys in routes.items():
        lines = (show.line(key) for key in keys)
        alone = any(line is not None and is_shy(line) for line in lines)
        by_channel = wanted.setdefault((send.unit, receive.unit if alone else ""), {})
        by_channel.setdefault(send.number, {})[receive.unit] = None
    more: list[Stream] = []
    for share in sorted(wanted, key=lambda share: (natural(share[0]), natural(share[1]))):
        sender, channels = share[0], sorted(wanted[share])
        most = limits_of(show.units[sender]).channels_per_stream
        for first in range(0, len(channels), most):
            some = channels[first : first + most]
            heard = {unit for channel in some for unit in wanted[share][channel]}
            taken = [s for s in (*network.streams, *more) if s.sender == sender]
            more.append(
                Stream(
                    name=f"{sender}/rescue-{len(taken) + 1}",
                    sender=sender,
                    channels=tuple(some),
                    receivers=tuple(sorted(heard, key=natural)),
                    multicast=len(heard) > 1,
                    packet_us=round(show.packet_ms * 1000),
                    depth_bits=24,
                )
            )
    return replace(network, streams=(*network.streams, *more))
