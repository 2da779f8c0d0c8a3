"""What there is only so much of: sockets, channels, strips, streams."""

from __future__ import annotations

from collections.abc import Hashable, Mapping

from lineproof.base.spot import Side, Spot
from lineproof.decide.solver import IntVar
from lineproof.decide.streams.needs import limits_of
from lineproof.rescue.hurt import Hurt
from lineproof.rescue.model import Model

#: New routes from one unit to another: by what begins them, whether each is made.
Routes = Mapping[tuple[str, str], Mapping[Hashable, IntVar]]


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
    sent: dict[str, IntVar] = {}
    for sender in sorted({one for one, _ in routes}):
        limits = limits_of(units[sender])
        channels: dict[Hashable, IntVar] = {}
        for (one, _), some in routes.items():
            for key, route in some.items() if one == sender else ():
                channel = channels.setdefault(key, model.yes("channel"))
                model.add(route <= channel)
        room = max(0, limits.streams_send - _sent(hurt, sender))
        sent[sender] = model.whole(room, "streams")
        model.add(sum(channels.values()) <= limits.channels_per_stream * sent[sender])
    received: dict[str, list[IntVar]] = {}
    for (sender, receiver), some in routes.items():
        hears = model.yes("hears")
        for route in some.values():
            model.add(route <= hears)
        got = model.whole(_MOST_STREAMS, "received")
        model.add(got >= sent[sender] - _MOST_STREAMS * (1 - hears))
        received.setdefault(receiver, []).append(got)
    for receiver, counts in received.items():
        room = max(0, limits_of(units[receiver]).streams_receive - _received(hurt, receiver))
        model.add(sum(counts) <= room)


#: More streams than any unit sends.
_MOST_STREAMS = 1024


def _sent(hurt: Hurt, sender: str) -> int:
    return sum(1 for _ in hurt.hand.plan.network.streams_of(sender))


def _received(hurt: Hurt, receiver: str) -> int:
    """Give how many streams a unit still receives: those of dead senders are gone."""
    streams = hurt.hand.plan.network.streams
    return sum(1 for s in streams if receiver in s.receivers and hurt.alive(s.sender))
