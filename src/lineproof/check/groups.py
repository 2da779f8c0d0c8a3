"""Multicast groups: none left, unusable ones, and such as share a hardware address."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Network

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.base.sdp_groups import SOURCE_SPECIFIC, is_held, mac_of_group, wrong_with_group
from lineproof.check.addresses import example, in_addresses, on_network
from lineproof.check.check import Check, some
from lineproof.decide.addresses import nets_by_unit
from lineproof.decide.addresses_streams import stream_nets
from lineproof.plan.network import Network
from lineproof.show.build_addresses import asked
from lineproof.show.model import Show

UNUSABLE_GROUP = Rule(
    name="group-unusable",
    grade=Grade.STOP,
    why="Switches flood such a group to every port, or another service already uses it.",
    do="give the stream another group, or leave that to the plan",
    source="RFC 5771 3, RFC 4541 2.1.2, RFC 2365 9",
    fails=example("box-1/1: 224.0.0.50"),
    passes=example("box-1/1: 239.192.0.50"),
)
IDLE_GROUP = Rule(
    name="group-not-used",
    grade=Grade.RISK,
    why="Whoever counts on the group given by hand waits for sound that goes elsewhere.",
    do="name a stream of the plan that goes to several listeners, or take the entry out",
    source="Lineproof",
    fails=example("box-1/9: 239.192.0.50"),
    passes=example("box-1/1: 239.192.0.50"),
)
SOURCE_SPECIFIC_GROUPS = Rule(
    name="groups-source-specific",
    grade=Grade.RISK,
    why="A switch or listener that knows only IGMPv2 can't ask for such a group: it stays silent.",
    do="take a part of 239.192.0.0/14, unless all on the net know IGMPv3",
    source="RFC 4607 4, RFC 4604 2 (from memory)",
    fails=example("groups-a: 232.1.0.0/16"),
    passes=example("groups-a: 239.194.0.0/16"),
)
NO_GROUP = Rule(
    name="no-group",
    grade=Grade.STOP,
    why="A stream to several listeners that has no group can't be sent.",
    do="give the net a wider range of groups in `addresses`, then plan again",
    source="Lineproof",
    fails=example("groups-a: 224.0.2.0/24"),
    passes=example("groups-a: 239.192.8.0/24"),
)
SHARED_MAC = Rule(
    name="groups-alike",
    grade=Grade.RISK,
    why="Switches that keep hardware addresses send both streams to whoever asks for one of them.",
    do="give one of the streams another group; keep all second octets in one half of 239/8",
    source="RFC 1112 6.4, RFC 4541 2.1.2",
    fails=Example(
        show=example("box-1/1: 239.192.0.50, desk/1: 239.64.0.50").show,
        lines=Example().lines.replace("main mix,pa", "main mix,pa rec-1"),
    ),
    passes=Example(
        show=example("box-1/1: 239.192.0.50, desk/1: 239.192.0.51").show,
        lines=Example().lines.replace("main mix,pa", "main mix,pa rec-1"),
    ),
)
HELD = Rule(
    name="groups-held",
    grade=Grade.NOTE,
    why="This part of 239/8 is held back for scopes to grow into; other equipment may use it.",
    do="prefer a part of 239.192.0.0/14",
    source="RFC 2365 6",
    fails=example("groups-a: 239.70.0.0/16"),
    passes=example("groups-a: 239.194.0.0/16"),
)


def _groups(network: Network) -> Iterator[tuple[str, str, str]]:
    """Give stream, net and group of all multicast streams."""
    for stream in network.streams:
        if stream.multicast:
            yield from ((stream.name, net, ip) for net, ip in stream.to.items())


def unusable_group(_: Show, network: Network) -> Iterator[Finding]:
    """Find streams sent to a group that a show must not use."""
    for name, net, ip in _groups(network):
        if wrong := wrong_with_group(ip):
            what = f"stream {name} goes to {ip} on net {net}: {wrong}"
            yield UNUSABLE_GROUP.finding(what=what, where=in_addresses(name), of=(name,))


def no_group(show: Show, network: Network) -> Iterator[Finding]:
    """Find nets with fewer groups than streams; once a net."""
    for net, plan in network.nets.items():
        lacking = tuple(
            stream.name
            for stream in network.streams
            if stream.multicast and net in stream_nets(show, network, stream)
            if net not in stream.to
        )
        if lacking:
            what = f"net {net} ({plan.groups}) has no group for streams {some(lacking)}"
            yield NO_GROUP.finding(what=what, where=in_addresses(f"groups-{net}"), of=lacking)


def shared_mac(_: Show, network: Network) -> Iterator[Finding]:
    """Find streams whose groups share a hardware address."""
    holders: dict[str, list[tuple[str, str]]] = {}
    for name, _net, ip in _groups(network):
        holders.setdefault(mac_of_group(ip), []).append((name, ip))
    for mac, held in holders.items():
        if len(held) > 1:
            told = some(tuple(f"{name} ({ip})" for name, ip in held))
            what = f"streams {told} share the hardware address {mac}"
            names = tuple(dict.fromkeys(name for name, _ in held))
            yield SHARED_MAC.finding(what=what, where=in_addresses(names[0]), of=names)


def idle_group(show: Show, network: Network) -> Iterator[Finding]:
    """Find groups given by hand to streams that are not there or go to one listener."""
    known = {stream.name: stream for stream in network.streams}
    for name, _net in sorted(asked(show, nets_by_unit(show, network)).streams):
        if name not in known:
            what = f"addresses give a group to stream {name}, which the plan does not have"
        elif not known[name].multicast:
            what = f"addresses give a group to stream {name}, which goes to one listener"
        else:
            continue
        yield IDLE_GROUP.finding(what=what, where=in_addresses(name), of=(name,))


def source_specific(_: Show, network: Network) -> Iterator[Finding]:
    """Find ranges of groups that need IGMPv3 all the way."""
    for plan in network.nets.values():
        if IPv4Network(plan.groups).subnet_of(SOURCE_SPECIFIC):
            what = f"the groups of net {plan.name} come from {plan.groups}, which needs IGMPv3"
            where = in_addresses(f"groups-{plan.name}")
            yield SOURCE_SPECIFIC_GROUPS.finding(what=what, where=where, of=(plan.name,))


def held(_: Show, network: Network) -> Iterator[Finding]:
    """Find ranges of groups that are held back."""
    for plan in network.nets.values():
        if is_held(IPv4Network(plan.groups)):
            what = f"the groups of net {plan.name} come from {plan.groups}, which is held back"
            yield HELD.finding(
                what=what, where=in_addresses(f"groups-{plan.name}"), of=(plan.name,)
            )


CHECKS: tuple[Check, ...] = (
    Check(rule=UNUSABLE_GROUP, find=on_network(unusable_group)),
    Check(rule=NO_GROUP, find=on_network(no_group)),
    Check(rule=SHARED_MAC, find=on_network(shared_mac)),
    Check(rule=HELD, find=on_network(held)),
    Check(rule=IDLE_GROUP, find=on_network(idle_group)),
    Check(rule=SOURCE_SPECIFIC_GROUPS, find=on_network(source_specific)),
)
