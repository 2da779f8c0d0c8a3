"""What a show asks of addresses: ranges, single addresses and groups, VLANs, marks, ranks.

addresses:
a: 10.20.0.0/22             # the range of net a; b of net b
groups-a: 239.192.8.0/22    # where multicast groups on net a come from
desk: 10.20.0.7 10.21.0.7   # one unit's own, one for each net it is on
desk:b: 10.21.0.7           # or named by net
box-1/2: 239.192.8.9        # a stream's group, likewise
vlan-audio-a: 110           # also vlan-control-a, vlan-guests-a
dscp-clock: 46              # also dscp-audio, dscp-rest
root-a: sw-1 sw-2           # first and second root bridge
querier-a: sw-1 sw-2        # first and second querier
grandmaster: clock desk     # first and second grandmaster
clock-domain: 0
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Network

from lineproof.base.names import folded, natural, nearest
from lineproof.show.model import Show

NETS = ("a", "b")
USES = ("audio", "control", "guests")
CLASSES = ("clock", "audio", "rest")

_SETTING = re.compile(
    r"(?P<range>[ab])|groups-(?P<groups>[ab])|vlan-(?P<use>audio|control|guests)-(?P<vlan>[ab])"
    r"|dscp-(?P<dscp>clock|audio|rest)|(?P<rank>root|querier)-(?P<net>[ab])"
    r"|(?P<grandmaster>grandmaster)|(?P<domain>clock-domain)"
)
_SETTINGS = (
    *NETS,
    *(f"{word}-{net}" for word in ("groups", "root", "querier") for net in NETS),
    *(f"vlan-{use}-{net}" for use in USES for net in NETS),
    *(f"dscp-{name}" for name in CLASSES),
    "grandmaster",
    "clock-domain",
)
_OF_ONE = re.compile(r"(?P<unit>[^\s:/]+)(?:/(?P<number>[1-9][0-9]{0,3}))?(?::(?P<net>[ab]))?")


@dataclass(frozen=True, kw_only=True)
class WrongAddress:
    """An entry of `addresses` that can't be used: its key, what is wrong, and what to do."""

    key: str
    what: str
    do: str


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the show gives by hand; whatever is not in it is ours to decide.

    `ranges` and `groups` by net; `units` and `streams` by name and net; `vlans` by net and use;
    `roots` and `queriers` by net, best first.
    """

    ranges: Mapping[str, IPv4Network] = field(default_factory=dict)
    groups: Mapping[str, IPv4Network] = field(default_factory=dict)
    units: Mapping[tuple[str, str], IPv4Address] = field(default_factory=dict)
    streams: Mapping[tuple[str, str], IPv4Address] = field(default_factory=dict)
    vlans: Mapping[tuple[str, str], int] = field(default_factory=dict)
    dscp: Mapping[str, int] = field(default_factory=dict)
    roots: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    queriers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    grandmasters: tuple[str, ...] = ()
    clock_domain: int | None = None
    wrong: tuple[WrongAddress, ...] = ()


class _Wrong(ValueError):
    """An entry that can't be used: what is wrong, and what to do."""

    def __init__(self, what: str, do: str) -> None:
        super().__init__(what)
        self.do = do


def asked(show: Show, nets: Mapping[str, tuple[str, ...]]) -> Asked:
    """Give what the show's `addresses` ask; entries that can't be used stand in `wrong`.

    `nets` gives the nets of every unit, so that two addresses of one unit find theirs.
    """
    reading = _Reading(show, nets)
    for key in sorted(show.addresses, key=natural):
        reading.take(key, show.addresses[key])
    return reading.asked()


class _Reading:
    def __init__(self, show: Show, nets: Mapping[str, tuple[str, ...]]) -> None:
        self.show = show
        self.nets = nets
        self.ranges: dict[str, IPv4Network] = {}
        self.groups: dict[str, IPv4Network] = {}
        self.units: dict[tuple[str, str], IPv4Address] = {}
        self.streams: dict[tuple[str, str], IPv4Address] = {}
        self.vlans: dict[tuple[str, str], int] = {}
        self.dscp: dict[str, int] = {}
        self.ranks: dict[tuple[str, str], tuple[str, ...]] = {}
        self.clock_domain: int | None = None
        self.wrong: list[WrongAddress] = []

    def take(self, key: str, text: str) -> None:
        """Read one entry."""
        try:
            setting = _SETTING.fullmatch(folded(key))
            if setting is not None:
                self._setting(setting, text)
            else:
                self._of_one(key, text)
        except _Wrong as wrong:
            self.wrong.append(WrongAddress(key=key, what=str(wrong), do=wrong.do))

    def asked(self) -> Asked:
        """Give all that was read."""
        by_rank = {
            word: {net: names for (which, net), names in self.ranks.items() if which == word}
            for word in ("root", "querier")
        }
        return Asked(
            ranges=self.ranges,
            groups=self.groups,
            units=self.units,
            streams=self.streams,
            vlans=self.vlans,
            dscp=self.dscp,
            roots=by_rank["root"],
            queriers=by_rank["querier"],
            grandmasters=self.ranks.get(("grandmaster", ""), ()),
            clock_domain=self.clock_domain,
            wrong=tuple(self.wrong),
        )

    def _setting(self, setting: re.Match[str], text: str) -> None:
        if net := setting["range"]:
            self.ranges[net] = _unit_range(text)
        elif net := setting["groups"]:
            self.groups[net] = _group_range(text)
        elif net := setting["vlan"]:
            # IEEE 802.1Q 9.6: 0 and 4095 are kept; 1 is what a switch has before it is set up.
            self.vlans[net, setting["use"]] = _number(text, 1, 4_094, "VLAN")
        elif name := setting["dscp"]:
            self.dscp[name] = _number(text, 0, 63, "DSCP")
        elif setting["domain"]:
            self.clock_domain = _number(text, 0, 127, "clock domain")
        else:
            word = setting["rank"] or "grandmaster"
            self.ranks[word, setting["net"] or ""] = tuple(self._known(text))

    def _known(self, text: str) -> Iterator[str]:
        for word in text.split():
            yield self._unit(word)

    def _unit(self, word: str) -> str:
        unit = self.show.find_unit(word)
        if unit is None:
            near = nearest(word, self.show.units)
            do = f"did you mean {near!r}?" if near else "write the name of a unit of the show"
            raise _Wrong(f"no unit is named {word!r}", do)
        return unit.name

    def _of_one(self, key: str, text: str) -> None:
        match = _OF_ONE.fullmatch(key)
        if match is None:
            raise _Wrong(f"{key!r} is no setting, unit or stream", "write it as the manual has it")
        name = self._named(key, match["unit"])
        on = self.nets.get(name, ())
        if match["net"] and match["net"] not in on:
            raise _Wrong(f"{name} is not on net {match['net']}", "name a net that it is on")
        nets = (match["net"],) if match["net"] else on
        words = text.split()
        if not words or len(words) > len(nets):
            what = f"{counted(len(words), 'address', 'addresses')} for {key}"
            what += f", which has {counted(len(nets), 'net', 'nets')}"
            raise _Wrong(what, "give one address for each net it is on")
        for net, word in zip(nets, words, strict=False):
            if match["number"]:
                self.streams[f"{name}/{match['number']}", net] = _group(word)
            else:
                self.units[name, net] = _unit_address(word)

    def _named(self, key: str, word: str) -> str:
        if self.show.find_unit(word) is None and (near := nearest(key, _SETTINGS, closeness=0.75)):
            raise _Wrong(f"no setting or unit is named {key!r}", f"did you mean {near!r}?")
        return self._unit(word)


def _number(text: str, least: int, most: int, what: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", text, re.ASCII) or not least <= int(text) <= most:
        raise _Wrong(f"{what} reads {text!r}", f"write a whole number from {least} to {most}")
    return int(text)


def _address(text: str) -> IPv4Address:
    try:
        return IPv4Address(text)
    except ValueError:
        raise _Wrong(f"{text!r} is no IPv4 address", "write it as in 10.20.0.7") from None


def _unit_address(text: str) -> IPv4Address:
    address = _address(text)
    if address.is_multicast or address.is_loopback or address.is_reserved or not int(address):
        raise _Wrong(f"{text!r} is no address for a unit", "take one such as 10.20.0.7")
    return address


def _group(text: str) -> IPv4Address:
    address = _address(text)
    if not address.is_multicast:
        raise _Wrong(f"{text!r} is no multicast group", "take one within 239.192.0.0/14")
    return address


def counted(count: int, one: str, many: str) -> str:
    """Give a count in words.

    >>> counted(1, "net", "nets"), counted(2, "net", "nets")
    ('1 net', '2 nets')
    """
    return f"{count} {one if count == 1 else many}"


def _range(text: str, example: str) -> IPv4Network:
    try:
        network = IPv4Network(text)
    except ValueError:
        do = f"write it as in {example}, with nothing after the prefix's bits"
        raise _Wrong(f"{text!r} is no IPv4 range", do) from None
    if "/" not in text:
        raise _Wrong(f"{text!r} is one address, not a range", f"write it as in {example}")
    return network


def _unit_range(text: str) -> IPv4Network:
    network = _range(text, "10.20.0.0/22")
    if network.prefixlen > 29 or network.prefixlen < 8:
        what = f"{text!r} holds {network.num_addresses:,} addresses"
        raise _Wrong(what, "give a range between /8 and /29")
    if network.is_multicast or network.is_loopback or network.is_reserved:
        raise _Wrong(f"{text!r} is no range for units", "take one such as 10.20.0.0/22")
    return network


def _group_range(text: str) -> IPv4Network:
    network = _range(text, "239.192.8.0/22")
    if not network.is_multicast:
        raise _Wrong(f"{text!r} holds no multicast groups", "take one within 239.192.0.0/14")
    if network.prefixlen < 9:
        # The halves of 239.0.0.0/8 share their hardware addresses (RFC 1112 6.4).
        do = "give one half, or better a part of 239.192.0.0/14"
        raise _Wrong(f"{text!r} holds every hardware address twice", do)
    return network
