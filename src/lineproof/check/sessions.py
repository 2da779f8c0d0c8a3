"""The descriptions of streams: what a receiver would miss in them."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.sdp import clock_identity
from lineproof.check.addresses import on_network
from lineproof.check.check import Check
from lineproof.plan.network import Network
from lineproof.reckon.sessions import mac_on
from lineproof.show.model import Show

_BOX = "box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}"
_NAMED = "number: 1, circuit: house, mac: '02:00:5E:00:53:01'}"

NO_IDENTITY = Rule(
    name="no-clock-identity",
    grade=Grade.NOTE,
    why="A strict receiver refuses a stream that does not say which clock it runs on.",
    do="fill in the `mac` of the grandmaster, as it stands on its label or its own page",
    source="RFC 7273 4.8; AES67 8.2 asks for it (from memory)",
    fails=Example(),
    passes=Example.changed((_BOX, _BOX.replace("number: 1, circuit: house}", _NAMED))),
)
UNREADABLE_MAC = Rule(
    name="mac-unreadable",
    grade=Grade.RISK,
    why="The clock's name in every stream is made from it: a slip makes receivers refuse them.",
    do="write six pairs of hex digits, as in 02:00:5E:00:53:01, one address or one for each net",
    source="IEEE 802: hardware addresses; IEEE 1588-2008 7.5.2.2.2 (from memory)",
    fails=Example.changed((_BOX, _BOX.replace("circuit: house}", "circuit: house, mac: '02:00'}"))),
    passes=Example.changed((_BOX, _BOX.replace("number: 1, circuit: house}", _NAMED))),
)


def no_identity(show: Show, network: Network) -> Iterator[Finding]:
    """Find grandmasters whose hardware address is not known; once each."""
    masters = {network.grandmaster(net): net for net in sorted(network.nets, reverse=True)}
    for name in sorted(masters):
        unit = show.units.get(name)
        if unit is None or mac_on(unit, masters[name]):
            continue
        count = sum(masters[name] in stream.to for stream in network.streams)
        if count:
            s = "" if count == 1 else "s"
            what = (
                f"{unit.name} is to be grandmaster and its `mac` is not known:"
                f" the description of {count} stream{s} names no clock"
            )
            yield NO_IDENTITY.finding(what=what, where=unit.where, of=(unit.name,))


def unreadable_mac(show: Show, _: Network) -> Iterator[Finding]:
    """Find hardware addresses that can't be read."""
    for unit in show.units.values():
        words = unit.mac.replace(",", " ").split()
        wrong = [word for word in words if not clock_identity(word)]
        if wrong or len(words) > 2:
            what = f"the `mac` of {unit.name} reads {unit.mac!r}, which is no hardware address"
            yield UNREADABLE_MAC.finding(what=what, where=unit.where, of=(unit.name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_IDENTITY, find=on_network(no_identity)),
    Check(rule=UNREADABLE_MAC, find=on_network(unreadable_mac)),
)
