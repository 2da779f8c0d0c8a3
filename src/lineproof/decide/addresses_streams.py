"""Where each stream goes: groups, the one listener's address, UDP ports, session ids."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from ipaddress import IPv4Network

from lineproof.base.names import natural
from lineproof.base.sdp_groups import mac_of_group, wrong_with_group
from lineproof.decide.addresses_ranges import host
from lineproof.decide.ranks import nets_here
from lineproof.graph.ports import nets_of
from lineproof.plan.network import NetPlan, Network, Stream
from lineproof.show.build_addresses import Asked
from lineproof.show.model import Show

#: The port of multicast streams: the default of AES67 (from memory) and IS-05.
GROUP_PORT = 5_004
#: Streams to one listener: it tells them apart by port, even ones only (RFC 3550 11).
FIRST_PORT = 5_006
_LAST_PORT = 65_534
#: Session ids stay below 2^31, which every receiver can count to (our choice).
_SESSIONS = 2**31 - 1


def plan_streams(
    show: Show, network: Network, wishes: Asked, earlier: Network | None
) -> tuple[Stream, ...]:
    """Give the streams with destination by net, UDP port and session id, in the given order."""
    before = {stream.name: stream for stream in earlier.streams} if earlier else {}
    groups = Groups(network.nets, wishes, earlier)
    in_order = sorted(network.streams, key=lambda s: natural(s.name))
    nets = {stream.name: stream_nets(show, network, stream) for stream in in_order}
    for stream in in_order:
        if stream.multicast:
            groups.keep(stream.name, nets[stream.name])
    sent = {
        stream.name: groups.of(stream.name, nets[stream.name])
        if stream.multicast
        else {net: network.address(_listener(stream), net) for net in nets[stream.name]}
        for stream in in_order
    }
    ports = _ports(in_order, before)
    sessions = _sessions(show, in_order, before, earlier)
    return tuple(
        replace(
            stream,
            to={net: ip for net, ip in sent[stream.name].items() if ip},
            udp_port=ports[stream.name],
            session=sessions[stream.name],
        )
        for stream in network.streams
    )


def _listener(stream: Stream) -> str:
    """Give the one listener of a stream that goes to one, "" where it has none."""
    return next(iter(stream.receivers), "")


def stream_nets(show: Show, network: Network, stream: Stream) -> tuple[str, ...]:
    """Give the nets that the sender shares with at least one listener."""
    sender = show.units.get(stream.sender)
    if sender is None:
        return ()
    mine = nets_here(show, sender, network)
    listeners = [show.units[name] for name in stream.receivers if name in show.units]
    theirs = {net for unit in listeners for net in nets_here(show, unit, network)}
    return tuple(net for net in nets_of(show) if net in mine and net in theirs)


class Groups:
    """The multicast groups of all nets, no two of which share a hardware address."""

    def __init__(self, nets: Mapping[str, NetPlan], wishes: Asked, earlier: Network | None) -> None:
        self._ranges = {net: IPv4Network(plan.groups) for net, plan in nets.items()}
        self._wishes = wishes
        self._held = _groups_held(earlier)
        self._retired = _groups_retired(earlier)
        self._given = {mac_of_group(str(ip)) for ip in wishes.streams.values() if ip.is_multicast}
        self._others = {mac_of_group(ip) for ip in (*self._held.values(), *self._retired.values())}
        self._taken: dict[tuple[str, str], str] = {}
        self._used: set[str] = set()
        #: From where to look on, by nets and whether what others had may be taken.
        self._next: dict[tuple[tuple[str, ...], bool], int] = {}

    def keep(self, name: str, nets: tuple[str, ...]) -> None:
        """Give a stream the groups given by hand, those it has, or those retired for it."""
        for net in nets:
            given = self._wishes.streams.get((name, net))
            if given is not None:
                self._take(name, net, str(given))
                continue
            for known in (self._held, self._retired):
                ip = known.get((name, net), "")
                if ip and self._good(net, ip):
                    self._take(name, net, ip)
                    break

    def of(self, name: str, nets: tuple[str, ...]) -> Mapping[str, str]:
        """Give a stream's groups by net, new ones of one number on all nets that lack it."""
        lacking = tuple(net for net in nets if (name, net) not in self._taken)
        number = self._lowest(lacking)
        for net in lacking:
            found = number if number is not None else self._lowest((net,))
            if found is not None:
                self._take(name, net, host(self._ranges[net], found))
        return {net: self._taken.get((name, net), "") for net in nets}

    def _take(self, name: str, net: str, ip: str) -> None:
        self._taken[name, net] = ip
        self._used.add(mac_of_group(ip))

    def _good(self, net: str, ip: str) -> bool:
        """Say whether a group of a range may be used and its hardware address is free."""
        mac = mac_of_group(ip)
        free = mac not in self._used and mac not in self._given
        inside = IPv4Network(ip).subnet_of(self._ranges[net])
        return free and inside and not wrong_with_group(ip)

    def _lowest(self, nets: tuple[str, ...]) -> int | None:
        if not nets:
            return None
        size = min(self._ranges[net].num_addresses for net in nets)
        for others in (False, True):
            for number in range(self._next.get((nets, others), 1), size):
                self._next[nets, others] = number + 1
                ips = [host(self._ranges[net], number) for net in nets]
                macs = {mac_of_group(ip) for ip in ips}
                apart = len(macs) == len(ips) and (others or not macs & self._others)
                if apart and all(self._good(net, ip) for net, ip in zip(nets, ips, strict=True)):
                    return number
        return None


def _groups_held(earlier: Network | None) -> Mapping[tuple[str, str], str]:
    streams = [s for s in earlier.streams if s.multicast] if earlier else []
    return {(s.name, net): ip for s in streams for net, ip in s.to.items()}


def _groups_retired(earlier: Network | None) -> Mapping[tuple[str, str], str]:
    retired = earlier.retired if earlier else ()
    return {(r.of, r.net): r.value for r in retired if r.what == "group"}


def _ports(streams: list[Stream], before: Mapping[str, Stream]) -> Mapping[str, int]:
    """Give the UDP ports: one for all groups, one of its own for each stream to one listener."""
    ports = {stream.name: GROUP_PORT for stream in streams if stream.multicast}
    used: dict[str, set[int]] = {}
    single = [stream for stream in streams if not stream.multicast]
    for stream in single:
        old = before.get(stream.name)
        taken = used.setdefault(_listener(stream), set())
        same = old is not None and not old.multicast and old.receivers[:1] == stream.receivers[:1]
        if old is not None and same and old.udp_port not in taken:
            ports[stream.name] = old.udp_port
            taken.add(old.udp_port)
    for stream in single:
        if stream.name not in ports:
            taken = used[_listener(stream)]
            free = (port for port in range(FIRST_PORT, _LAST_PORT + 1, 2) if port not in taken)
            ports[stream.name] = next(free)
            taken.add(ports[stream.name])
    return ports


def _sessions(
    show: Show, streams: list[Stream], before: Mapping[str, Stream], earlier: Network | None
) -> Mapping[str, int]:
    """Give the session ids, kept once given.

    Drawn from title and name rather than counted: receivers remember a sender's sessions from
    one show to the next, and must not take ours for those of the last (RFC 8866 5.2).
    """
    retired = [r for r in earlier.retired if r.what == "session"] if earlier else []
    given = {r.of: int(r.value) for r in retired}
    given |= {stream.name: stream.session for stream in before.values() if stream.session}
    used = set(given.values())
    found = {}
    for stream in streams:
        number = given.get(stream.name, 0)
        if not number:
            number = _drawn(f"{show.title}\n{stream.name}")
            while number in used:
                number = number % _SESSIONS + 1
            used.add(number)
        found[stream.name] = number
    return found


def _drawn(text: str) -> int:
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8]) % _SESSIONS + 1
