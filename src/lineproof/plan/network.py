"""The network as decided: runs, streams, addresses, who is root, querier and clock.

Decisions only. Loads, delays and what a fault does follow from them and are worked out afresh.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lineproof.base.names import natural, normal
from lineproof.base.spot import SpotError

_PORT = re.compile(r"([^\s:]+)(?::([1-9][0-9]{0,3}))?")


@dataclass(frozen=True, kw_only=True)
class PortAt:
    """One end of a run: a unit, and which of its network ports; None for a multicore's end.

    >>> str(PortAt.parse("sw-1:8"))
    'sw-1:8'
    """

    unit: str
    number: int | None = None

    def __str__(self) -> str:
        return self.unit if self.number is None else f"{self.unit}:{self.number}"

    @classmethod
    def parse(cls, text: str) -> PortAt:
        """Read `unit:8` or `unit`; SpotError says what is wrong."""
        match = _PORT.fullmatch(normal(text))
        if match is None:
            raise SpotError(f"{text!r} is no port, as in 'sw-1:8'")
        unit, number = match.groups()
        return cls(unit=unit, number=int(number) if number else None)

    def sort_key(self) -> tuple[object, int]:
        """Order ports by unit, then number, as papers do."""
        return (natural(self.unit), self.number or 0)


@dataclass(frozen=True, kw_only=True)
class PlannedRun:
    """One network cable or multicore: what it joins, how it lies, what it is made of.

    `net` is a or b ("" for a multicore). `ducts` in order from the first end to the second; none
    where both ends stand at one place or within 10 m without a duct. `medium`: copper,
    multi-mode, single-mode or multicore. `length_m` with drops and slack, to be pulled; `stock`
    names the cable taken from the show's stock. `given`: written in the show, so kept.
    """

    name: str
    net: str
    ends: tuple[PortAt, PortAt]
    ducts: tuple[str, ...] = ()
    medium: str = "copper"
    length_m: float = 0.0
    stock: str = ""
    given: bool = False

    def other_end(self, unit: str) -> PortAt:
        """Give the end that is not at `unit`."""
        first, second = self.ends
        return second if first.unit == unit else first


@dataclass(frozen=True, kw_only=True)
class RescuePort:
    """A switch port left open for a rescue, on its net, with a name to call it by."""

    name: str
    port: PortAt
    net: str


@dataclass(frozen=True, kw_only=True)
class Stream:
    """RTP packets that carry some send channels of one unit to others, on every net they share.

    `name` is the sender's name and a number (`box-1/2`), never given again before renewal.
    `channels`: send channel numbers in the order in which they stand in the packet. `multicast`
    or to one listener. `to`: destination address by net. `session`: the SDP session id.
    `changed_in`: the revision in which the stream last changed (its SDP version); `described`
    is a digest of its description, by which a change is seen.
    """

    name: str
    sender: str
    channels: tuple[int, ...]
    receivers: tuple[str, ...]
    multicast: bool
    packet_us: int
    depth_bits: int
    to: Mapping[str, str] = field(default_factory=dict)
    udp_port: int = 5004
    session: int = 0
    changed_in: int = 0
    described: str = ""


@dataclass(frozen=True, kw_only=True)
class Address:
    """The IPv4 address of a unit on a net; `given`: written in the show."""

    unit: str
    net: str
    ip: str
    given: bool = False


@dataclass(frozen=True, kw_only=True)
class NetPlan:
    """What is decided for one net: range, roots, queriers, VLANs.

    `range`: the IPv4 network of its audio VLAN, `groups` the range multicast groups come from.
    `roots` and `queriers`: first and second switch. `vlans`: number by use (audio, control,
    guests).
    """

    name: str
    range: str
    groups: str
    roots: tuple[str, ...] = ()
    queriers: tuple[str, ...] = ()
    vlans: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class ClockRank:
    """What a unit announces of itself on a net (IEEE 1588): the first to win is grandmaster.

    `rank` 1 is the planned grandmaster, 2 the one that follows it; 0 for any other.
    """

    unit: str
    net: str
    priority1: int
    priority2: int
    rank: int = 0


@dataclass(frozen=True, kw_only=True)
class Retired:
    """A name, address or group that was given once: nobody gets it before someone renews."""

    what: str  # run | stream | address | group | session
    value: str
    of: str
    net: str = ""
    revision: int = 0


@dataclass(frozen=True, kw_only=True)
class Network:
    """All decisions about the network, each list in the order people sort it.

    `switch_nets`: the net of every switch. `dscp`: the mark by class (clock, audio, rest).
    """

    switch_nets: Mapping[str, str] = field(default_factory=dict)
    runs: tuple[PlannedRun, ...] = ()
    rescue_ports: tuple[RescuePort, ...] = ()
    streams: tuple[Stream, ...] = ()
    addresses: tuple[Address, ...] = ()
    nets: Mapping[str, NetPlan] = field(default_factory=dict)
    clock: tuple[ClockRank, ...] = ()
    clock_domain: int = 0
    dscp: Mapping[str, int] = field(default_factory=dict)
    retired: tuple[Retired, ...] = ()

    def runs_on(self, net: str) -> tuple[PlannedRun, ...]:
        """Give the network runs of one net."""
        return tuple(run for run in self.runs if run.net == net)

    def address(self, unit: str, net: str) -> str:
        """Give the unit's IPv4 address on a net, "" where it has none."""
        return self._by_unit.get((unit, net), "")

    @cached_property
    def _by_unit(self) -> Mapping[tuple[str, str], str]:
        return {(a.unit, a.net): a.ip for a in self.addresses}

    def grandmaster(self, net: str) -> str:
        """Give the unit planned as grandmaster of a net, "" where there is none."""
        return self._grandmasters.get(net, "")

    @cached_property
    def _grandmasters(self) -> Mapping[str, str]:
        return {c.net: c.unit for c in self.clock if c.rank == 1}

    def streams_of(self, sender: str) -> Iterator[Stream]:
        """Give the streams that a unit sends, by number."""
        return (stream for stream in self.streams if stream.sender == sender)
