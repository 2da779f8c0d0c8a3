"""What there is only so much of: sockets, channels, strips, streams."""

from __future__ import annotations

from collections.abc import Hashable, Mapping

from lineproof.base.spot import Side, Spot
from lineproof.decide.solver import IntVar
from lineproof.decide.streams.needs import limits_of
from lineproof.rescue.hurt import Hurt
from lineproof.rescue.model import Model

#: New routes from one unit to another, those apart that no third may hear: by what begins them,
#: and where to, whether each is made; the first two tell its send channel.
Routes = Mapping[tuple[str, str, bool], Mapping[tuple[Hashable, ...], IntVar]]


def limit_sockets(
    model: Model, hurt: Hurt, wanted: Mapping[tuple[Spot, ...], list[IntVar]]
) -> None:
    """Let no more leads go into sockets that are alike than there are.

    A drop box and the box behind it may offer one socket by two names: it is taken once.
    """
    for spots, some in wanted.items():
        model.add(sum(some) <= len(spots))
    real = hurt.hand.problem.cores.real
    offered: dict[Spot, list[tuple[Spot, ...]]] = {}
    for spots in wanted:
        for spot in spots:
            offered.setdefault(real(spot), []).append(spots)
    for groups in {tuple(each) for each in offered.values() if len(each) > 1}:
        there = {real(spot) for spots in groups for spot in spots}
        model.add(sum(var for spots in groups for var in wanted[spots]) <= len(there))


def limit_channels(
    model: Model, hurt: Hurt, takers: Mapping[tuple[str, Side], Mapping[Hashable, IntVar]]
) -> None:
    """Let no more channels and strips be taken than are free."""
    for (unit, side), some in takers.items():
        model.add(sum(some.values()) <= len(hurt.hand.free(unit, side)))


def limit_streams(model: Model, hurt: Hurt, routes: Routes) -> None:
    """Keep to what units can do, when each sender gives what is new in streams of their own."""
    units = hurt.hand.show.units
    sent: dict[tuple[str, str], tuple[IntVar, int]] = {}
    for sender in sorted({one for one, _, _ in routes}):
        limits = limits_of(units[sender])
        room = max(0, limits.streams_send - _sent(hurt, sender))
        shares = {_share(pair) for pair in routes if pair[0] == sender}
        for share in sorted(shares):
            channels: dict[Hashable, IntVar] = {}
            for pair, some in routes.items():
                for key, route in some.items() if _share(pair) == share else ():
                    channel = channels.setdefault(key[:2], model.yes("channel"))
                    model.add(route <= channel)
            most = min(room, -(-len(channels) // limits.channels_per_stream))
            sent[share] = (model.whole(most, "streams"), most)
            model.add(sum(channels.values()) <= limits.channels_per_stream * sent[share][0])
        if len(shares) > 1:
            model.add(sum(sent[share][0] for share in sorted(shares)) <= room)
    received: dict[str, list[tuple[IntVar, int]]] = {}
    for pair, some in routes.items():
        streams, most = sent[_share(pair)]
        got = model.whole(most, "received")
        for route in some.values():
            # Whoever hears one of them may have to take them all.
            model.add(got >= streams - most * (1 - route))
        received.setdefault(pair[1], []).append((got, most))
    for receiver, counts in received.items():
        room = max(0, limits_of(units[receiver]).streams_receive - _received(hurt, receiver))
        if sum(most for _, most in counts) > room:
            model.add(sum(got for got, _ in counts) <= room)


def _share(pair: tuple[str, str, bool]) -> tuple[str, str]:
    """Give what of a sender's new streams a route is in: with all others, or for one receiver."""
    sender, receiver, alone = pair
    return (sender, receiver if alone else "")


def _sent(hurt: Hurt, sender: str) -> int:
    return sum(1 for _ in hurt.hand.plan.network.streams_of(sender))


def _received(hurt: Hurt, receiver: str) -> int:
    """Give how many streams a unit still receives: those of dead senders are gone."""
    streams = hurt.hand.plan.network.streams
    return sum(1 for s in streams if receiver in s.receivers and hurt.alive(s.sender))
