"""Multicast groups: which may be used, and which share one hardware address."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network

#: Blocks of RFC 5771 3 that a show must not send to, with the block's name.
_BLOCKS = (
    ("224.0.0.0/24", "the Local Network Control Block, which every switch floods"),
    ("224.0.1.0/24", "the Internetwork Control Block"),
    ("224.0.0.0/16", "an AD-HOC block"),
    ("224.1.0.0/16", "a reserved block"),
    ("224.2.0.0/16", "the SDP/SAP Block"),
    ("224.3.0.0/16", "an AD-HOC block"),
    ("224.4.0.0/16", "an AD-HOC block"),
    ("224.0.0.0/5", "a reserved block"),
    ("232.0.0.0/8", "the Source-Specific Block"),
    ("233.252.0.0/14", "an AD-HOC block"),
    ("233.0.0.0/8", "the GLOP Block"),
    ("234.0.0.0/7", "a reserved block"),
    ("236.0.0.0/7", "a reserved block"),
    ("238.0.0.0/8", "a reserved block"),
)
BLOCKS = tuple((IPv4Network(block), name) for block, name in _BLOCKS)

#: RFC 2365 6: the whole of it is ours to give out; 239.192.0.0/14 is the organisation's own.
SCOPED = IPv4Network("239.0.0.0/8")
SOURCE_SPECIFIC = IPv4Network("232.0.0.0/8")

#: RFC 2365 9: the highest 256 addresses of a scope are for relative assignments, as of SAP.
_RELATIVE = (IPv4Network("239.195.255.0/24"), IPv4Network("239.255.255.0/24"))
#: RFC 2365 6.1, 6.2: held for the scopes to grow into.
_HELD = tuple(
    IPv4Network(held)
    for held in ("239.0.0.0/9", "239.128.0.0/10", "239.253.0.0/16", "239.254.0.0/16")
)

_LOW = 0x7FFFFF
#: RFC 1112 6.4: 224.0.0.x, 224.0.1.x and the SAP group as the low 23 bits that Ethernet keeps.
_SAP_LOW = int(IPv4Address("224.2.127.254")) & _LOW


def is_group(address: str) -> bool:
    """Say whether an IPv4 address is a multicast group."""
    return IPv4Address(address).is_multicast


def mac_of_group(group: str) -> str:
    """Give the hardware address of a group: 01-00-5E and the low 23 bits (RFC 1112 6.4).

    >>> mac_of_group("239.192.1.1"), mac_of_group("239.64.1.1")
    ('01-00-5E-40-01-01', '01-00-5E-40-01-01')
    """
    low = int(IPv4Address(group)) & _LOW
    return f"01-00-5E-{low >> 16:02X}-{low >> 8 & 255:02X}-{low & 255:02X}"


def wrong_with_group(group: str) -> str:
    """Say what keeps a show from sending to the group, "" if nothing does.

    >>> wrong_with_group("239.192.1.1"), wrong_with_group("239.128.0.5")
    ('', 'it shares its hardware address with 224.0.0.5, which every switch floods')
    """
    address = IPv4Address(group)
    if not address.is_multicast:
        return "it is no multicast group"
    for block, name in BLOCKS:
        if address in block and block != SOURCE_SPECIFIC:
            return f"it lies in {block}, {name} (RFC 5771)"
    return _wrong_with_low(int(address) & _LOW) or _wrong_with_scope(address)


def _wrong_with_low(low: int) -> str:
    if low >> 8 == 0:
        return f"it shares its hardware address with 224.0.0.{low}, which every switch floods"
    if low >> 8 == 1:
        # 224.0.1.129 carries the clock (IEEE 1588 Annex D, from memory).
        return f"it shares its hardware address with 224.0.1.{low & 255}, which the clock may use"
    if low == _SAP_LOW:
        return "it shares its hardware address with 224.2.127.254, which announces sessions"
    return ""


def _wrong_with_scope(address: IPv4Address) -> str:
    if any(address in block for block in _RELATIVE):
        return "it is among the highest 256 of its scope, kept for services (RFC 2365 9)"
    return ""


def is_held(network: IPv4Network) -> bool:
    """Say whether a range touches what RFC 2365 6 holds back inside 239.0.0.0/8."""
    return any(network.overlaps(held) for held in _HELD)
