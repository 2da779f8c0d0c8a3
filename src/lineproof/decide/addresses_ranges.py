"""The ranges of a net: where its units' addresses and its multicast groups come from."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network

from lineproof.plan.network import NetPlan, Network
from lineproof.show.build_addresses import Asked

#: Private addresses (RFC 1918) of our own choice: the second octet tells the net, so that a
#: unit's address ends alike on both. Each can grow up to /16 without a change of address.
DEFAULT_RANGES = {"a": IPv4Network("10.61.0.0/16"), "b": IPv4Network("10.62.0.0/16")}
#: The organisation's own scope (RFC 2365 6.2), likewise told apart by the second octet. All second
#: octets lie in one half of 239/8, so that no two groups share a hardware address (RFC 1112 6.4).
DEFAULT_GROUPS = {"a": IPv4Network("239.192.0.0/16"), "b": IPv4Network("239.193.0.0/16")}

#: Never smaller: people write masks by heart, and 24 is the one they write.
_SMALLEST = 24


def plan_range(
    net: str, count: int, wishes: Asked, held: NetPlan | None, earlier: Network | None
) -> IPv4Network:
    """Give the range of a net for `count` units: the show's, else the earlier, else our own.

    At most half of it is used at first. A range of our own grows when it is full, over the same
    beginning: addresses stay, the mask changes.
    """
    if net in wishes.ranges:
        return wishes.ranges[net]
    wanted = max(_used(net, earlier), count)
    whole = _whole(net, wishes)
    if held is None:
        return _part(whole, 2 * wanted + 3)
    before = IPv4Network(held.range)
    # Network and broadcast address, and the first, which is left to a router.
    if wanted + 3 <= before.num_addresses or not before.subnet_of(whole):
        return before
    return _part(whole, 2 * wanted + 3)


def _whole(net: str, wishes: Asked) -> IPv4Network:
    """Give what our own range of a net may grow to: clear of what is given to the other."""
    others = [given for name, given in wishes.ranges.items() if name != net]
    here = DEFAULT_RANGES[net]
    clear = (
        IPv4Network((int(here.network_address) + step * 2 * here.num_addresses, here.prefixlen))
        for step in range(64)
    )
    return next((r for r in clear if not any(r.overlaps(o) for o in others)), here)


def _used(net: str, earlier: Network | None) -> int:
    if earlier is None:
        return 0
    retired = sum(r.what == "address" and r.net == net for r in earlier.retired)
    return retired + sum(a.net == net for a in earlier.addresses)


def _part(whole: IPv4Network, addresses: int) -> IPv4Network:
    prefix = min(_SMALLEST, 32 - (addresses - 1).bit_length())
    return IPv4Network((whole.network_address, max(prefix, whole.prefixlen)))


def plan_groups(net: str, wishes: Asked, held: NetPlan | None) -> IPv4Network:
    """Give the range of a net's multicast groups: the show's, else the earlier, else our own."""
    if net in wishes.groups:
        return wishes.groups[net]
    return IPv4Network(held.groups) if held else DEFAULT_GROUPS[net]


def host(network: IPv4Network, number: int) -> str:
    """Give the address of that number in a range, 0 being the range's own."""
    return str(IPv4Address(int(network.network_address) + number))


def number_in(network: IPv4Network, address: str) -> int | None:
    """Give an address's number in a range, None where it lies outside."""
    ip = IPv4Address(address)
    return int(ip) - int(network.network_address) if ip in network else None
