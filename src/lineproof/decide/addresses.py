"""Addresses of units, groups and ports of streams, and who leads each net.

Whatever is decided already stays where it can; what nobody holds any more is retired: it goes
back to its owner, and to nobody else before someone renews.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lineproof.base.names import natural
from lineproof.decide.addresses_ranges import plan_groups, plan_range
from lineproof.decide.addresses_streams import plan_streams
from lineproof.decide.addresses_units import plan_units
from lineproof.decide.ranks import Leaders, nets_here, plan_leaders
from lineproof.decide.ranks_clock import plan_clock
from lineproof.graph.ports import nets_of
from lineproof.kit.kinds import Does
from lineproof.plan.network import NetPlan, Network, Retired, Stream
from lineproof.reckon.sessions import digest
from lineproof.show.build_addresses import CLASSES, USES, Asked, asked
from lineproof.show.model import Show

#: DSCP by class: AES67 6.2 (from memory; facts table 01). Some equipment marks its clock 56.
DSCP: Mapping[str, int] = {"clock": 46, "audio": 34, "rest": 0}
#: VLAN numbers of our own: hundreds by net, tens by use; 1 is left to what is not set up yet.
_VLANS: Mapping[str, int] = {
    f"{use}-{net}": 100 * n + 10 * m
    for n, net in enumerate("ab", start=1)
    for m, use in enumerate(USES, start=1)
}
#: What this module gives out; the names of streams are retired where they are given.
_OURS = frozenset({"address", "group", "session"})


def plan_addresses(
    show: Show,
    network: Network,
    earlier: Network | None,
    *,
    renew: bool = False,
    renew_of: frozenset[str] = frozenset(),
    revision: int = 0,
) -> Network:
    """Give the network with addresses, nets, groups, ports, sessions, clock ranks and marks.

    `network` brings switches, runs and streams. `earlier` is the last issued network, of
    revision `revision`, None before the first. `renew` forgets all that
    was given before, `renew_of` what these units and streams had. What runs short is left
    without an address or group, and a check tells of it.
    """
    wishes = asked(show, nets_by_unit(show, network))
    before = _forgotten(earlier, renew_of) if earlier is not None and not renew else None
    leaders = plan_leaders(show, network, wishes, before)
    nets = _nets(show, network, wishes, before, leaders)
    addresses = plan_units(show, network, nets, wishes, before)
    planned = replace(network, addresses=addresses, nets=nets)
    streams = plan_streams(show, planned, wishes, before)
    planned = replace(
        planned,
        streams=streams,
        clock=plan_clock(show, network, wishes, before),
        clock_domain=_domain(wishes, before),
        dscp=_dscp(wishes, before),
    )
    planned = replace(planned, retired=_retired(planned, before, revision))
    # A forgotten stream still has its history: its description must not fall back a version.
    return with_versions(show, planned, earlier, revision=revision)


def nets_by_unit(show: Show, network: Network) -> Mapping[str, tuple[str, ...]]:
    """Give the nets on which each unit has an address; switches that can't be set up have none."""
    return {
        unit.name: nets_here(show, unit, network)
        for unit in show.units.values()
        if unit.kind.does is not Does.SWITCH or unit.kind.managed
    }


def _nets(
    show: Show,
    network: Network,
    wishes: Asked,
    before: Network | None,
    leaders: Mapping[str, Leaders],
) -> Mapping[str, NetPlan]:
    by_unit = nets_by_unit(show, network)
    counts = {net: sum(net in nets for nets in by_unit.values()) for net in nets_of(show)}
    planned = {}
    for net, count in counts.items():
        held = before.nets.get(net) if before else None
        planned[net] = NetPlan(
            name=net,
            range=str(plan_range(net, count, wishes, held, before)),
            groups=str(plan_groups(net, wishes, held)),
            roots=leaders[net].roots,
            queriers=leaders[net].queriers,
            vlans=_vlans(net, wishes, held),
        )
    return planned


def _vlans(net: str, wishes: Asked, held: NetPlan | None) -> Mapping[str, int]:
    kept = held.vlans if held else {}
    own = {use: kept.get(use, _VLANS[f"{use}-{net}"]) for use in USES}
    return {use: wishes.vlans.get((net, use), number) for use, number in own.items()}


def _domain(wishes: Asked, before: Network | None) -> int:
    if wishes.clock_domain is not None:
        return wishes.clock_domain
    # AES67 Annex A: domain 0 (from memory; facts table 04).
    return before.clock_domain if before else 0


def _dscp(wishes: Asked, before: Network | None) -> Mapping[str, int]:
    kept = before.dscp if before else {}
    return {name: wishes.dscp.get(name, kept.get(name, DSCP[name])) for name in CLASSES}


def _forgotten(earlier: Network, names: frozenset[str]) -> Network:
    """Give the earlier network without what these units and streams had, and was kept for them."""
    if not names:
        return earlier
    return replace(
        earlier,
        addresses=tuple(a for a in earlier.addresses if a.unit not in names),
        streams=tuple(s for s in earlier.streams if s.name not in names),
        retired=tuple(r for r in earlier.retired if r.of not in names or r.what not in _OURS),
    )


@dataclass(frozen=True, kw_only=True, order=True)
class _Held:
    what: str
    value: str
    of: str
    net: str = ""


def _retired(planned: Network, before: Network | None, revision: int) -> tuple[Retired, ...]:
    """Give what was given once and nobody holds now; streams' names as `planned` has them."""
    names = [r for r in planned.retired if r.what not in _OURS]
    if before is None:
        return tuple(names)
    held = _all_held(planned)
    taken = {(h.what, h.value, h.net) for h in held}
    kept = {(r.what, r.value, r.net): r for r in before.retired if r.what in _OURS}
    for h in _all_held(before):
        now = Retired(what=h.what, value=h.value, of=h.of, net=h.net, revision=revision)
        kept.setdefault((h.what, h.value, h.net), now)
    free = [r for key, r in kept.items() if key not in taken]
    return tuple(
        sorted((*names, *free), key=lambda r: (r.what, r.net, natural(r.of), natural(r.value)))
    )


def _all_held(network: Network) -> list[_Held]:
    held = [_Held(what="address", value=a.ip, of=a.unit, net=a.net) for a in network.addresses]
    for stream in network.streams:
        if stream.multicast:
            groups = stream.to.items()
            held += [_Held(what="group", value=ip, of=stream.name, net=net) for net, ip in groups]
        if stream.session:
            held.append(_Held(what="session", value=str(stream.session), of=stream.name))
    return held


def with_versions(
    show: Show, network: Network, earlier: Network | None, *, revision: int
) -> Network:
    """Give the network with the revision in which each stream's description last changed.

    `earlier` is the last issued network, of revision `revision`: a description that differs from
    the one it gave is new in the next. Whoever issues old decisions again must call this too, or
    the version would fall back and receivers would keep what they have (RFC 8866 5.2).
    """
    old = {stream.name: stream for stream in earlier.streams} if earlier else {}

    def turned(stream: Stream) -> Stream:
        described = digest(show, network, stream)
        before = old.get(stream.name)
        same = before is not None and before.described == described
        changed_in = before.changed_in if before is not None and same else revision + 1
        return replace(stream, changed_in=changed_in, described=described)

    return replace(network, streams=tuple(map(turned, network.streams)))
