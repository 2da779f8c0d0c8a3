"""Who leads: queriers, root bridges and grandmasters that are lacking or stand too close."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Address

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.addresses import SECOND, SWITCH, example, in_addresses, on_network
from lineproof.check.check import Check, some
from lineproof.decide.addresses import nets_by_unit
from lineproof.decide.addresses_streams import stream_nets
from lineproof.graph.ports import nets_of, unit_nets
from lineproof.kit.kinds import Does
from lineproof.plan.network import NetPlan, Network
from lineproof.show.build_addresses import asked
from lineproof.show.model import Show

_APART = (
    "  house: {supply: 230 V, limit: 16 A}",
    "  house: {supply: 230 V, limit: 16 A}\n  other: {supply: 230 V, limit: 16 A}",
)
_BOX = "  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}"
_DESK = "  desk: {kind: mixer-32, place: front, circuit: house}"

NO_QUERIER = Rule(
    name="no-querier",
    grade=Grade.RISK,
    why="Without queries switches forget who listens: sound stops minutes after a good line check.",
    do="let a switch of ours ask, or have the switches' owner name the one that does",
    source="RFC 3376 8.4, RFC 4541 2.1.1: 260 s after the last query",
    fails=Example.changed((SWITCH, SWITCH.replace("}", ", theirs: yes}"))),
    passes=Example(),
)
QUERIER_ORDER = Rule(
    name="querier-not-lowest",
    grade=Grade.RISK,
    why="The lowest address asks: another switch than planned, and all streams also run to it.",
    do="give the first querier the lowest address of the switches",
    source="RFC 2236 3, RFC 3376 6.6.2",
    fails=example("sw-1: 10.61.0.9, sw-2: 10.61.0.8, querier-a: sw-1", (SWITCH, SECOND)),
    passes=example("sw-1: 10.61.0.8, sw-2: 10.61.0.9, querier-a: sw-1", (SWITCH, SECOND)),
)
ROOTS_TOGETHER = Rule(
    name="roots-together",
    grade=Grade.RISK,
    why="When one breaker or rack takes both roots, the net must choose a third.",
    do="feed one of the two from another circuit, or name another second root",
    source="common practice; IEEE 802.1Q elects the next by priority and address",
    fails=Example.changed((SWITCH, SECOND)),
    passes=Example.changed(
        (SWITCH, SECOND.replace("place: stage, circuit: house", "place: stage, circuit: other")),
        _APART,
    ),
)
NOT_ABLE = Rule(
    name="cannot-lead",
    grade=Grade.RISK,
    why="The unit named to lead can't, so the plan took another, and two people count on two.",
    do="name a switch of that net that can be set up, or for the clock a unit that has one",
    source="Lineproof",
    fails=example("root-a: desk"),
    passes=example("root-a: sw-1"),
)
NO_GRANDMASTER = Rule(
    name="no-grandmaster",
    grade=Grade.STOP,
    why="Units without one clock click, or fall silent as their buffers run empty.",
    do="bring a unit to the net that can be grandmaster, or ask whose guest's unit is to be it",
    source="AES67 4: one clock for all (from memory)",
    fails=Example(
        show=Example.changed((f"{_BOX}\n", ""), (f"{_DESK}\n", "")).show,
        lines="number,name,from,source,to\n1,Music,rec-1,playback,pa\n",
    ),
    passes=Example(),
)
TWO_SOURCES = Rule(
    name="two-clock-sources",
    grade=Grade.STOP,
    why="The two nets drift apart: a unit on both must drop or repeat samples when one net fails.",
    do="put one clock on both nets, or lock the two to one source and say so by their kind",
    source="IEEE 1588 6.2: clocks of two domains are not in step (from memory)",
    fails=Example.changed(
        ("nets: one", "nets: two"),
        (_BOX, _BOX.replace("}", ", net: b}")),
        (_DESK, _DESK.replace("}", ", net: a}")),
    ),
    passes=Example.changed(("nets: one", "nets: two")),
)

#: Up to this class a clock follows a source outside that is the same everywhere.
_PRIMARY = 6


def _snooping(show: Show, network: Network, net: str) -> tuple[str, ...]:
    return tuple(
        unit.name
        for unit in show.units.values()
        if unit.kind.does is Does.SWITCH and unit.kind.snooping
        if net in unit_nets(show, unit, network)
    )


def no_querier(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets with multicast and snooping switches, where no switch is planned to ask."""
    for net, plan in network.nets.items():
        switches = _snooping(show, network, net)
        sent = any(net in stream.to for stream in network.streams if stream.multicast)
        if sent and switches and not plan.queriers:
            what = f"no switch on net {net} is planned to ask who listens ({some(switches)} snoop)"
            yield NO_QUERIER.finding(
                what=what, where=show.units[switches[0]].where, of=(net, *switches)
            )


def querier_order(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets where another querier than the first has the lowest address."""
    for net, plan in network.nets.items():
        ips = {name: network.address(name, net) for name in plan.queriers}
        known = {name: IPv4Address(ip) for name, ip in ips.items() if ip}
        lowest = min(known, key=lambda name: known[name], default=None)
        if lowest is not None and lowest != plan.queriers[0]:
            first = plan.queriers[0]
            what = (
                f"{first} is to ask on net {net}, but {lowest} has the lower address"
                f" ({known[lowest]})"
            )
            yield QUERIER_ORDER.finding(
                what=what, where=show.units[first].where, of=(first, lowest)
            )


def roots_together(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets whose first and second root can go at once."""
    for net, plan in network.nets.items():
        if len(plan.roots) < 2 or not set(plan.roots) <= show.units.keys():
            continue
        for shared in _shared(show, plan):
            what = f"the roots of net {net}, {plan.roots[0]} and {plan.roots[1]}, share {shared}"
            where = tuple(show.units[name].where for name in plan.roots)
            yield ROOTS_TOGETHER.finding(what=what, where=where, of=plan.roots)


def _shared(show: Show, plan: NetPlan) -> Iterator[str]:
    one, other = (show.units[name] for name in plan.roots)
    if one.rack and one.rack == other.rack:
        yield f"rack {one.rack}"
    # Either supply carries a unit: only one that both hang on alone takes both.
    if len(one.circuits) == 1 and set(one.circuits) == set(other.circuits):
        yield f"circuit {one.circuits[0]}"


def not_able(show: Show, network: Network) -> Iterator[Finding]:
    """Find units named to lead in `addresses` that lead nothing."""
    wishes = asked(show, nets_by_unit(show, network))
    for net, plan in network.nets.items():
        for word, named, leads in (
            ("root", wishes.roots.get(net, ()), plan.roots),
            ("querier", wishes.queriers.get(net, ()), plan.queriers),
        ):
            for name in named[:2]:
                if name not in leads:
                    yield _not_able(show, f"{word}-{net}", name)
    leading = {rank.unit for rank in network.clock if rank.rank}
    for name in wishes.grandmasters[:2]:
        if name not in leading:
            yield _not_able(show, "grandmaster", name)


def _not_able(show: Show, key: str, name: str) -> Finding:
    what = f"{key} names {name} ({show.units[name].kind.label}), which can't lead there"
    return NOT_ABLE.finding(what=what, where=in_addresses(key), of=(name,))


def no_grandmaster(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets with streams and no unit planned as grandmaster."""
    for net in nets_of(show):
        sent = [s.name for s in network.streams if net in stream_nets(show, network, s)]
        if sent and not network.grandmaster(net):
            what = f"net {net} has {len(sent)} streams and no unit of ours to be grandmaster"
            yield NO_GRANDMASTER.finding(what=what, of=(net,))


def two_sources(show: Show, network: Network) -> Iterator[Finding]:
    """Find two nets whose grandmasters are two units with nothing in common."""
    firsts = [network.grandmaster(net) for net in nets_of(show)]
    units = [show.units[name] for name in firsts if name in show.units]
    if len(units) < 2 or len({unit.name for unit in units}) == 1:
        return
    if all(u.kind.clock is not None and u.kind.clock.clock_class <= _PRIMARY for u in units):
        return
    told = " and ".join(f"{u.name} on net {net}" for u, net in zip(units, "ab", strict=True))
    what = f"the grandmasters are {told}, and nothing locks the two"
    where = tuple(unit.where for unit in units)
    yield TWO_SOURCES.finding(what=what, where=where, of=tuple(u.name for u in units))


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_QUERIER, find=on_network(no_querier)),
    Check(rule=QUERIER_ORDER, find=on_network(querier_order)),
    Check(rule=ROOTS_TOGETHER, find=on_network(roots_together)),
    Check(rule=NOT_ABLE, find=on_network(not_able)),
    Check(rule=NO_GRANDMASTER, find=on_network(no_grandmaster)),
    Check(rule=TWO_SOURCES, find=on_network(two_sources)),
)
