"""Units' addresses: what can't be read, runs short, clashes or lies outside."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from ipaddress import IPv4Address, IPv4Network
from itertools import combinations

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import natural
from lineproof.base.rule import Example, Rule
from lineproof.base.where import Where
from lineproof.check.check import Check, Facts, some
from lineproof.decide.addresses import nets_by_unit
from lineproof.plan.network import Network
from lineproof.show.build_addresses import asked
from lineproof.show.model import Show

_END = "lines: lines.csv"
#: Rows of the little show that examples change: its switch, and a second beside it.
SWITCH = "  sw-1: {kind: switch-8, place: front, circuit: house}"
SECOND = f"{SWITCH}\n  sw-2: {{kind: switch-8, place: stage, circuit: house}}"


def example(addresses: str, *changes: tuple[str, str]) -> Example:
    """Give the little show with these addresses."""
    return Example.changed((_END, f"addresses: {{{addresses}}}\n{_END}"), *changes)


UNREADABLE = Rule(
    name="address-unreadable",
    grade=Grade.STOP,
    why="An address that can't be read is not kept, and the unit is set up with another.",
    do="write it as the manual has it",
    source="Lineproof",
    fails=example("a: 10.20.0.0"),
    passes=example("a: 10.20.0.0/22"),
)
NO_ADDRESS = Rule(
    name="no-address",
    grade=Grade.STOP,
    why="A unit without an address of its net can't be reached by anything on it.",
    do="give the net a wider range in `addresses`, then plan again",
    source="Lineproof",
    fails=example("a: 10.20.0.0/29", (SWITCH, SECOND)),
    passes=example("a: 10.20.0.0/28", (SWITCH, SECOND)),
)
TWICE = Rule(
    name="address-twice",
    grade=Grade.STOP,
    why="Two units of one address drop out in turn, and each looks well while the other is off.",
    do="give one of them another address",
    source="RFC 5227 1: what two hosts with one address do to each other (from memory)",
    fails=example("desk: 10.61.0.90, rec-1: 10.61.0.90"),
    passes=example("desk: 10.61.0.90, rec-1: 10.61.0.91"),
)
OUTSIDE = Rule(
    name="address-outside",
    grade=Grade.STOP,
    why="A unit outside its net's range hears no answer from units inside it.",
    do="give it an address within the range, or the net another range",
    source="RFC 1122 3.3.1.1: a host sends to its own range only, or to a router (from memory)",
    fails=example("desk: 10.99.0.9"),
    passes=example("desk: 10.61.0.9"),
)
OVERLAP = Rule(
    name="ranges-overlap",
    grade=Grade.STOP,
    why="A unit on both nets can't tell which one an address is on, and sends on the wrong one.",
    do="give each net a range of its own",
    source="RFC 1122 3.3.1.1, as for every host with two interfaces (from memory)",
    fails=example("a: 10.20.0.0/22, b: 10.20.2.0/23", ("nets: one", "nets: two")),
    passes=example("a: 10.20.0.0/22, b: 10.21.0.0/22", ("nets: one", "nets: two")),
)
NOT_PRIVATE = Rule(
    name="range-not-private",
    grade=Grade.RISK,
    why="These addresses belong to somebody else: units with an uplink can no longer reach them.",
    do="take a part of 10.0.0.0/8, 172.16.0.0/12 or 192.168.0.0/16",
    source="RFC 1918 3",
    fails=example("a: 203.0.113.0/24"),
    passes=example("a: 10.20.0.0/24"),
)
#: RFC 1918 3.
_PRIVATE = tuple(map(IPv4Network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")))

Find = Callable[[Show, Network], Iterator[Finding]]


def network_in(facts: Facts) -> Network | None:
    """Give the plan's network, None where none is decided."""
    return facts.plan.network if facts.plan.network.nets else None


def on_network(find: Find) -> Callable[[Facts], Iterable[Finding]]:
    """Give a check's function from one over show and network."""

    def found(facts: Facts) -> Iterable[Finding]:
        network = network_in(facts)
        return () if network is None else find(facts.show, network)

    return found


def in_addresses(key: str) -> Where:
    """Give where an entry of `addresses` stands."""
    return Where(file="show.yaml", heading=f"addresses: {key}")


def unreadable(show: Show, network: Network) -> Iterator[Finding]:
    """Find entries of `addresses` that can't be used."""
    for wrong in asked(show, nets_by_unit(show, network)).wrong:
        what = f"in addresses: {wrong.what}"
        yield UNREADABLE.finding(
            what=what, do=wrong.do, where=in_addresses(wrong.key), of=(wrong.key,)
        )


def no_address(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets whose range is too small; once a net."""
    by_unit = nets_by_unit(show, network)
    for net, plan in network.nets.items():
        lacking = tuple(
            sorted(
                (u for u, nets in by_unit.items() if net in nets and not network.address(u, net)),
                key=natural,
            )
        )
        if lacking:
            what = f"net {net} ({plan.range}) has no address for {some(lacking)}"
            where = show.units[lacking[0]].where
            yield NO_ADDRESS.finding(what=what, where=where, of=lacking)


def twice(show: Show, network: Network) -> Iterator[Finding]:
    """Find addresses that two units have on one net."""
    holders: dict[tuple[str, str], list[str]] = {}
    for address in network.addresses:
        holders.setdefault((address.net, address.ip), []).append(address.unit)
    for (net, ip), names in holders.items():
        if len(names) > 1:
            what = f"{some(tuple(names))} have one address on net {net}: {ip}"
            where = tuple(show.units[name].where for name in names if name in show.units)
            yield TWICE.finding(what=what, where=where, of=tuple(names))


def outside(show: Show, network: Network) -> Iterator[Finding]:
    """Find addresses outside the range, and those that no unit may have in it."""
    for address in network.addresses:
        plan = network.nets.get(address.net)
        if plan is None or address.unit not in show.units:
            continue
        span, ip = IPv4Network(plan.range), IPv4Address(address.ip)
        where = show.units[address.unit].where
        if ip not in span:
            what = f"{address.unit} has {ip} on net {address.net}, which is outside {span}"
            yield OUTSIDE.finding(what=what, where=where, of=(address.unit,))
        elif ip in {span.network_address, span.broadcast_address}:
            what = f"{address.unit} has {ip} on net {address.net}, the first or last of {span}"
            yield OUTSIDE.finding(what=what, where=where, of=(address.unit,))


def overlap(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets whose ranges overlap."""
    for one, other in combinations(network.nets.values(), 2):
        if IPv4Network(one.range).overlaps(IPv4Network(other.range)):
            what = f"the ranges of net {one.name} ({one.range}) and {other.name} ({other.range})"
            where = tuple(
                in_addresses(plan.name) for plan in (one, other) if plan.name in show.addresses
            )
            yield OVERLAP.finding(what=f"{what} overlap", where=where, of=(one.name, other.name))


def not_private(show: Show, network: Network) -> Iterator[Finding]:
    """Find ranges that are somebody else's."""
    for plan in network.nets.values():
        span = IPv4Network(plan.range)
        if not any(span.subnet_of(private) for private in _PRIVATE):
            what = f"the range of net {plan.name} is {span}, which is no private range"
            where = (in_addresses(plan.name),) if plan.name in show.addresses else ()
            yield NOT_PRIVATE.finding(what=what, where=where, of=(plan.name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=UNREADABLE, find=on_network(unreadable)),
    Check(rule=NO_ADDRESS, find=on_network(no_address)),
    Check(rule=TWICE, find=on_network(twice)),
    Check(rule=OUTSIDE, find=on_network(outside)),
    Check(rule=OVERLAP, find=on_network(overlap)),
    Check(rule=NOT_PRIVATE, find=on_network(not_private)),
)
