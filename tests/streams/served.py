"""Whether streams serve what is needed: said apart from the code that packs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from lineproof.decide.streams.asked import Needs, Sender
from lineproof.plan.network import Stream


def wrong(needs: Needs, streams: Iterable[Stream]) -> list[str]:
    """Give everything wrong with streams: needs not served just once, wrong listeners, sizes."""
    streams = tuple(streams)
    senders = {sender.name: sender for sender in needs.senders}
    found = [f"{name} twice" for name in _twice([stream.name for stream in streams])]
    for stream in streams:
        sender = senders[stream.sender]
        found += _wrong_size(needs, sender, stream)
        for name in stream.receivers:
            found += _wrong_listener(needs, sender, stream, name)
    return found + _wrong_counts(needs, streams)


def _wrong_size(needs: Needs, sender: Sender, stream: Stream) -> list[str]:
    most = min(needs.limits[n].channels_per_stream for n in (sender.name, *stream.receivers))
    samples = round(stream.packet_us * sender.rate_hz / 1_000_000)
    found = []
    if len(stream.channels) > most or len(stream.channels) * samples * 3 > 1440:
        found.append(f"{stream.name}: {len(stream.channels)} channels")
    if len(stream.receivers) > 1 and not stream.multicast:
        found.append(f"{stream.name}: unicast to {len(stream.receivers)}")
    if _twice([str(channel) for channel in stream.channels]) or not stream.channels:
        found.append(f"{stream.name}: channels {stream.channels}")
    return found


def _wrong_listener(needs: Needs, sender: Sender, stream: Stream, name: str) -> list[str]:
    found = []
    foreign = [channel for channel in stream.channels if name not in sender.wants[channel]]
    if len(foreign) == len(stream.channels):
        found.append(f"{stream.name}: {name} needs nothing of it")
    if any(c in sender.private or name in sender.never.get(c, ()) for c in foreign):
        found.append(f"{stream.name}: {name} must not hear it")
    if name in sender.alone and (stream.multicast or len(stream.receivers) > 1):
        found.append(f"{stream.name}: multicast to {name}")
    if stream.packet_us not in needs.limits[name].packets_us:
        found.append(f"{stream.name}: {name} has no packet of {stream.packet_us} us")
    return found


def _wrong_counts(needs: Needs, streams: Iterable[Stream]) -> list[str]:
    served = Counter(
        (stream.sender, channel, name)
        for stream in streams
        for channel in stream.channels
        for name in stream.receivers
    )
    return [
        f"{sender.name} {channel} to {name}: served {served[sender.name, channel, name]} times"
        for sender in needs.senders
        for channel, name in sender.needs()
        if served[sender.name, channel, name] != 1
    ]


def _twice(names: list[str]) -> list[str]:
    return sorted(name for name, count in Counter(names).items() if count > 1)
