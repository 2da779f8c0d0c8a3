"""What a new plan of addresses changes for people who have set units up by the last one."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Network

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.plan.network import Network
from lineproof.show.model import Show

_PA = "  pa: {kind: powered-loudspeaker, place: stage, circuit: house}\n"
_MANY = "".join(
    f"  wedge-{n}: {{kind: powered-monitor, place: stage, circuit: house}}\n" for n in range(1, 251)
)


def _with(addresses: str) -> Example:
    show = EXAMPLE_SHOW.replace("lines: lines.csv", f"addresses: {addresses}\nlines: lines.csv")
    return Example(show=show, before=Example())


MOVED = Rule(
    name="address-moved",
    grade=Grade.RISK,
    why="A unit that was set up by the last plan keeps its old address and is not heard.",
    do="set the unit up anew, and change its label",
    source="Lineproof",
    fails=_with("{desk: 10.61.0.99}"),
    passes=Example(before=Example()),
)
WIDER = Rule(
    name="range-wider",
    grade=Grade.RISK,
    why="A unit that still has the old mask can't reach those beyond it.",
    do="set the new mask in every unit of the net; no address changes",
    source="RFC 950 2.2: a host tells by its mask who is near (from memory)",
    fails=Example(show=EXAMPLE_SHOW.replace(_PA, _PA + _MANY), before=Example()),
    passes=Example(before=Example()),
)
GIVEN_ON = Rule(
    name="address-given-on",
    grade=Grade.RISK,
    why="Whoever had the address once may come back with it, and then two units share it.",
    do="clear the old unit before it is plugged again, or widen the range in `addresses`",
    source="Lineproof",
    fails=Example(
        show=EXAMPLE_SHOW.replace(
            _PA, _PA.replace("pa:", "pa-2:") + _PA.replace("pa:", "pa-3:")
        ).replace("lines: lines.csv", "addresses: {a: 10.61.0.0/29}\nlines: lines.csv"),
        lines=Example().lines.replace("main mix,pa", "main mix,pa-2"),
        before=_with("{a: 10.61.0.0/29}"),
    ),
    passes=Example(before=Example()),
)


def address_findings(show: Show, network: Network, earlier: Network | None) -> list[Finding]:
    """Give what changes for units that were set up by the earlier plan."""
    if earlier is None:
        return []
    return [
        *_moved(show, network, earlier),
        *_wider(network, earlier),
        *_given_on(show, network, earlier),
    ]


def _moved(show: Show, network: Network, earlier: Network) -> Iterator[Finding]:
    for old in earlier.addresses:
        now = network.address(old.unit, old.net)
        if now and now != old.ip:
            what = f"{old.unit} had {old.ip} on net {old.net} and now has {now}"
            yield MOVED.finding(what=what, where=show.units[old.unit].where, of=(old.unit,))


def _wider(network: Network, earlier: Network) -> Iterator[Finding]:
    for net, plan in network.nets.items():
        before = earlier.nets.get(net)
        if before is None or before.range == plan.range:
            continue
        old, new = IPv4Network(before.range), IPv4Network(plan.range)
        if old.network_address == new.network_address:
            what = f"the range of net {net} was {old} and is now {new}: mask {new.netmask}"
            yield WIDER.finding(what=what, of=(net,))


def _given_on(show: Show, network: Network, earlier: Network) -> Iterator[Finding]:
    had = {(r.net, r.value): r.of for r in earlier.retired if r.what == "address"}
    had |= {(a.net, a.ip): a.unit for a in earlier.addresses}
    for address in network.addresses:
        owner = had.get((address.net, address.ip), address.unit)
        if owner != address.unit:
            what = f"{address.unit} gets {address.ip} on net {address.net}, which was {owner}'s"
            where = show.units[address.unit].where
            yield GIVEN_ON.finding(what=what, where=where, of=(address.unit, owner))


RULES: tuple[Rule, ...] = (MOVED, WIDER, GIVEN_ON)
