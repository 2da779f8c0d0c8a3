"""The description of every stream, as its sender would hand it out."""

from __future__ import annotations

import hashlib
from dataclasses import replace

from lineproof.base.sdp import Media, Reference, Session, clock_identity, write_session
from lineproof.plan.network import Network, Stream
from lineproof.show.model import Show, Unit

#: Dynamic payload type (RFC 3551 6); 97 by common practice.
PAYLOAD_TYPE = 97
#: Enough for any venue, little enough to stay in it (common practice; AES67 names none).
TTL = 32
#: What the legs of the two nets are called in the group of duplicates.
LEGS = {"a": "net-a", "b": "net-b"}


def sessions(show: Show, network: Network) -> tuple[Session, ...]:
    """Give the descriptions of all streams that have somewhere to go, in the plan's order."""
    found = (session_of(show, network, stream) for stream in network.streams)
    return tuple(session for session in found if session is not None)


def session_of(show: Show, network: Network, stream: Stream) -> Session | None:
    """Give a stream's description, None where sender or destination have no address.

    On two nets it has one leg for each, grouped as duplicates (RFC 7104). The version is the
    revision in which the stream last changed.
    """
    unit = show.units.get(stream.sender)
    nets = [net for net in stream.to if network.address(stream.sender, net)]
    if unit is None or not nets:
        return None
    legs = tuple(_leg(show, network, stream, unit, net, named=len(nets) > 1) for net in nets)
    return Session(
        name=stream.name,
        origin=network.address(stream.sender, nets[0]),
        session_id=stream.session,
        version=stream.changed_in,
        media=legs,
        duplicates=(tuple(leg.mid for leg in legs),) if len(legs) > 1 else (),
    )


def _leg(
    show: Show, network: Network, stream: Stream, unit: Unit, net: str, *, named: bool
) -> Media:
    rate_hz = show.unit_rate_hz(unit)
    return Media(
        address=stream.to[net],
        ttl=TTL if stream.multicast else None,
        port=stream.udp_port,
        payload_type=PAYLOAD_TYPE,
        encoding=f"L{stream.depth_bits}",
        rate_hz=rate_hz,
        channels=len(stream.channels),
        samples=samples_in(stream.packet_us, rate_hz),
        # What a listener does with it: RFC 8866 6.7.1.
        direction="recvonly",
        source=network.address(stream.sender, net) if stream.multicast else "",
        references=_references(show, network, net),
        clock_offset=0,
        mid=LEGS[net] if named else "",
        info=channels_told(stream.channels),
    )


def samples_in(packet_us: int, rate_hz: int) -> int:
    """Give the samples of one channel in a packet.

    Counts are fixed by the family of the rate and stay the same at 44.1 kHz, where such a packet
    lasts 48/44.1 as long (AES67 7.2, from memory).

    >>> samples_in(1_000, 48_000), samples_in(125, 96_000), samples_in(333, 48_000)
    (48, 12, 16)
    >>> samples_in(1_000, 44_100)
    48
    """
    family = rate_hz * 480 // 441 if rate_hz % 44_100 == 0 else rate_hz
    return max(1, (packet_us * family + 500_000) // 1_000_000)


def channels_told(channels: tuple[int, ...]) -> str:
    """Say which send channels stand in the packet, in their order.

    Lines' names have no place here: a new name would be a new description.

    >>> channels_told((1, 2, 3, 7)), channels_told((5,))
    ('4 channels: send 1-3, 7', '1 channel: send 5')
    """
    parts: list[list[int]] = []
    for number in channels:
        if parts and parts[-1][-1] + 1 == number:
            parts[-1].append(number)
        else:
            parts.append([number])
    told = ", ".join(f"{p[0]}-{p[-1]}" if len(p) > 1 else str(p[0]) for p in parts)
    count = "1 channel" if len(channels) == 1 else f"{len(channels)} channels"
    return f"{count}: send {told}"


def _references(show: Show, network: Network, net: str) -> tuple[Reference, ...]:
    unit = show.units.get(network.grandmaster(net))
    identity = clock_identity(mac_on(unit, net)) if unit is not None else ""
    return (Reference(identity=identity, domain=network.clock_domain),) if identity else ()


def mac_on(unit: Unit, net: str) -> str:
    """Give the hardware address of a unit on a net: `mac` holds one for all or one for each.

    A clock that is one on both nets shows one identity, so one address will do for it.
    """
    words = unit.mac.replace(",", " ").split()
    if not words:
        return ""
    return words[1] if net == "b" and len(words) > 1 else words[0]


def digest(show: Show, network: Network, stream: Stream) -> str:
    """Give what tells a stream's description from another, whatever its version: 16 hex digits."""
    session = session_of(show, network, replace(stream, changed_in=0))
    text = write_session(session) if session is not None else ""
    return hashlib.sha256(text.encode()).hexdigest()[:16]
