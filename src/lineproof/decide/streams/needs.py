"""From a show and a plan to what streams must carry: every route, all night."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lineproof.base.names import folded, natural
from lineproof.base.spot import LineKey
from lineproof.decide.streams.asked import Hops, Limits, Needs, Sender
from lineproof.decide.streams.ways import Ways
from lineproof.graph.signal import Route, routes
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.show.model import Line, Need, Show, Unit

#: What a kind that doesn't say so can do: 1 ms and up to 8 channels (AES67 7.2, from memory).
USUAL_PACKET_US, USUAL_CHANNELS = 1000, 8
#: What may record: where one recorder hears a channel, a second often comes (practice).
RECORDS = frozenset({Does.RECORDER, Does.COMPUTER})


def needs_of(show: Show, plan: Plan, hops: Hops) -> Needs:
    """Give what streams must carry, and within which limits.

    Routes of all acts together, as a receive channel hears its channel all night. `hops` as
    `ways.hops_of`, or any other way of counting runs.
    """
    found: dict[str, list[Route]] = {}
    units = show.units
    for route in routes(show, plan):
        if route.send.unit not in units or route.receive.unit not in units:
            continue  # told where the plan is held against the show
        found.setdefault(route.send.unit, []).append(route)
    ways = Ways(show=show, network=plan.network)
    names = {*found, *(r.receive.unit for some in found.values() for r in some)}
    return Needs(
        senders=tuple(
            _sender(show, ways, name, found[name]) for name in sorted(found, key=natural)
        ),
        limits={name: limits_of(show.units[name]) for name in sorted(names, key=natural)},
        hops=hops,
        most_packet_us=round(show.packet_ms * 1000),
    )


def limits_of(unit: Unit) -> Limits:
    """Give what a unit's kind can do with streams.

    No kind says how many channels it can take in beside those it wants: its streams hold no more
    than so many each, and that is the limit.
    """
    kind = unit.kind
    most = kind.channels_per_stream or USUAL_CHANNELS
    times = tuple(sorted({round(ms * 1000) for ms in kind.packet_ms})) or (USUAL_PACKET_US,)
    return Limits(
        streams_send=kind.streams_send,
        streams_receive=kind.streams_receive,
        channels_receive=kind.streams_receive * most,
        channels_per_stream=most,
        packets_us=times,
    )


def _sender(show: Show, ways: Ways, name: str, some: Iterable[Route]) -> Sender:
    wants: dict[int, set[str]] = {}
    lines: dict[int, dict[LineKey, Line]] = {}
    for route in some:
        channel = route.send.number
        wants.setdefault(channel, set()).add(route.receive.unit)
        known = ((key, show.line(key)) for key in route.lines)
        lines.setdefault(channel, {}).update({k: line for k, line in known if line is not None})
    heard = {channel: frozenset(names) for channel, names in sorted(wants.items())}
    everyone = sorted({unit for names in heard.values() for unit in names}, key=natural)
    return Sender(
        name=name,
        wants=heard,
        never=_never(show, lines),
        private=frozenset(c for c, of in lines.items() if any(x.private for x in of.values())),
        likely=frozenset(c for c, names in heard.items() if _likely(show, lines[c], names)),
        alone=frozenset(unit for unit in everyone if ways.alone(name, unit)),
        rate_hz=show.unit_rate_hz(show.units[name]),
    )


def _never(show: Show, lines: Mapping[int, Mapping[LineKey, Line]]) -> Mapping[int, frozenset[str]]:
    groups = {folded(name): members for name, members in (*show.zones.items(), *show.lists.items())}
    found = {}
    for channel, of in lines.items():
        words = sorted({word for line in of.values() for word in line.never})
        if words:
            found[channel] = frozenset(
                unit for word in words for unit in _units(show, groups, word)
            )
    return found


def _units(show: Show, groups: Mapping[str, tuple[str, ...]], word: str) -> Iterable[str]:
    """Give the units that a word of `never` names: a unit, one spot of it, a zone or a list."""
    bare = word.rstrip("?").partition(":")[0]
    for item in groups.get(folded(bare), (bare,)):
        for part in item.rstrip("?").split("|"):
            unit = show.find_unit(part.partition(":")[0])
            if unit is not None:
                yield unit.name


def _likely(show: Show, of: Mapping[LineKey, Line], heard: frozenset[str]) -> bool:
    """Say whether a second unit may well ask: the line has a want, or a recorder hears it."""
    recorded = any(show.units[name].kind.does in RECORDS for name in heard)
    wanted = any(
        line.need is Need.WANT or any(end.want for end in line.ends) for line in of.values()
    )
    return recorded or wanted
