"""Streams: what a unit can't do, who hears what isn't theirs, what floods."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import natural
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, Facts, some
from lineproof.decide.streams.caps import CHANNELS, RECEIVED, SENT
from lineproof.decide.streams.ways import Ways
from lineproof.plan.network import Stream
from lineproof.show.model import Line

_MANY = "number,name,from,source,to\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,desk rec-1\n" for n in range(1, 17)
)
_FEW_STREAMS = EXAMPLE_SHOW.replace("kind: computer-32,", "kind: small,").replace(
    "lines:", "kinds: {small: {like: computer-32, streams-receive: 1}}\nlines:"
)
_LONG_PACKETS = EXAMPLE_SHOW.replace("kind: computer-32,", "kind: slow,").replace(
    "lines:", "kinds: {slow: {like: computer-32, packet-ms: [4]}}\nlines:"
)
_SLOW = EXAMPLE_SHOW.replace("kind: switch-8,", "kind: switch-8-plain,")

TOO_MANY_STREAMS = Rule(
    name="too-many-streams",
    grade=Grade.STOP,
    why="A unit that is asked for more streams than it can do drops one, and nobody knows which.",
    do="send it fewer lines, or let it hear them as fewer mixes, or bring one that can do more",
    source="the kind's limits; what no packing can go below is counted",
    fails=Example(show=_FEW_STREAMS, lines=_MANY),
    passes=Example(lines=_MANY),
)
NO_PACKET_TIME = Rule(
    name="no-packet-time",
    grade=Grade.STOP,
    why="Two units that share no packet time can't hear each other over the network.",
    do="let the show's `packet` be longer if a unit needs that, or go by cable or over a converter",
    source="AES67-2018 7.2: 1 ms is what all must do (from memory); else the kinds' lists",
    fails=Example(show=_LONG_PACKETS),
    passes=Example(),
)
WRONG_LISTENER = Rule(
    name="wrong-listener",
    grade=Grade.STOP,
    why="Somebody could hear, or record, what was meant for others only.",
    do="plan again and issue, so that the line goes in a stream of its own",
    source="Lineproof: `private` and `never`",
    fails=Example(
        lines=(
            "number,name,from,source,to,private\n1,Talk,stage,dynamic mic,desk,yes\n"
            "2,Voice,stage,dynamic mic,desk rec-1,\n"
        ),
        before=Example(
            lines=(
                "number,name,from,source,to\n1,Talk,stage,dynamic mic,desk rec-1\n"
                "2,Voice,stage,dynamic mic,desk rec-1\n"
            )
        ),
    ),
    passes=Example(
        lines=(
            "number,name,from,source,to,private\n1,Talk,stage,dynamic mic,desk,yes\n"
            "2,Voice,stage,dynamic mic,desk rec-1,\n"
        )
    ),
)
FLOODED = Rule(
    name="multicast-floods",
    grade=Grade.RISK,
    why="A switch that does not snoop gives every multicast stream to every port: ports choke.",
    do="put a managed switch that snoops there, or plan again so that copies are sent instead",
    source="RFC 4541; a port of 100 Mbit/s is full with some ten streams (common practice)",
    fails=Example(show=_SLOW, before=Example()),
    passes=Example(show=_SLOW),
)


def is_planned(facts: Facts) -> bool:
    """Say whether the plan holds a network at all."""
    return bool(facts.plan.network.nets)


def too_many(facts: Facts) -> Iterator[Finding]:
    """Find units that are asked for more streams, or channels in them, than they can do."""
    if not is_planned(facts):
        return
    taken: dict[tuple[str, str], int] = {}
    for stream in facts.plan.network.streams:
        for what, unit, count in _takes(stream):
            taken[unit, what] = taken.get((unit, what), 0) + count
    limits = facts.needs.limits
    for (unit, what), used in sorted(taken.items(), key=lambda x: (natural(x[0][0]), x[0][1])):
        if unit not in limits:
            continue
        most = {
            SENT: limits[unit].streams_send,
            RECEIVED: limits[unit].streams_receive,
            CHANNELS: limits[unit].channels_receive,
        }[what]
        if used > most:
            kind = facts.show.units[unit].kind.label
            text = f"{unit} ({kind}) has {used} {what}, and can do {most}"
            where = facts.show.units[unit].where
            yield TOO_MANY_STREAMS.finding(what=text, where=where, of=(unit,))


def _takes(stream: Stream) -> Iterator[tuple[str, str, int]]:
    yield SENT, stream.sender, 1
    for unit in stream.receivers:
        yield RECEIVED, unit, 1
        yield CHANNELS, unit, len(stream.channels)


def no_packet_time(facts: Facts) -> Iterator[Finding]:
    """Find senders and receivers that have no packet time in common within the show's."""
    if not is_planned(facts):
        return
    needs = facts.needs
    for sender in needs.senders:
        for unit in sender.receivers:
            both = set(needs.limits[sender.name].packets_us) & set(needs.limits[unit].packets_us)
            if not any(time <= needs.most_packet_us for time in both):
                most = f"{needs.most_packet_us / 1000:g} ms"
                what = f"{sender.name} and {unit} share no packet time of {most} or less"
                where = facts.show.units[unit].where
                yield NO_PACKET_TIME.finding(what=what, where=where, of=(sender.name, unit))


def wrong_listener(facts: Facts) -> Iterator[Finding]:
    """Find streams in which a unit gets a channel that is private or must never reach it."""
    if not is_planned(facts):
        return
    never = {sender.name: sender.never for sender in facts.needs.senders}
    lines = _lines_by_send(facts)
    for stream in facts.plan.network.streams:
        for channel in stream.channels:
            shut = never.get(stream.sender, {}).get(channel, frozenset())
            for line in lines.get((stream.sender, channel), ()):
                for unit in _wrong(line, stream, shut):
                    what = (
                        f"{unit} gets line {line.key} ({line.title}) in stream {stream.name}, "
                        "and must not"
                    )
                    of = (str(line.key), stream.name, unit)
                    yield WRONG_LISTENER.finding(what=what, where=line.where, of=of)


def _wrong(line: Line, stream: Stream, shut: frozenset[str]) -> list[str]:
    """Give the receivers of the stream that the line is not meant for, as the row says now."""
    meant = {member.name for _, member in line.end_members()}
    others = [unit for unit in stream.receivers if unit not in meant]
    return [unit for unit in others if line.private or unit in shut]


def _lines_by_send(facts: Facts) -> dict[tuple[str, int], list[Line]]:
    found: dict[tuple[str, int], list[Line]] = {}
    for route in facts.figures.routes:
        there = found.setdefault((route.send.unit, route.send.number), [])
        known = (facts.show.line(key) for key in route.lines)
        there += [line for line in known if line is not None and line not in there]
    return found


def flooded(facts: Facts) -> Iterator[Finding]:
    """Find multicast streams on the way of which a switch floods, or a port is slow."""
    ways = Ways(show=facts.show, network=facts.plan.network)
    for stream in facts.plan.network.streams:
        reached = [unit for unit in stream.receivers if unit in facts.show.units]
        bad = [unit for unit in reached if ways.alone(stream.sender, unit)]
        if stream.multicast and bad:
            names = some(tuple(bad))
            what = f"stream {stream.name} is multicast, and floods on its way to {names}"
            where = facts.show.units[stream.sender].where
            yield FLOODED.finding(what=what, where=where, of=(stream.name, *bad))


CHECKS: tuple[Check, ...] = (
    Check(rule=TOO_MANY_STREAMS, find=too_many),
    Check(rule=NO_PACKET_TIME, find=no_packet_time),
    Check(rule=WRONG_LISTENER, find=wrong_listener),
    Check(rule=FLOODED, find=flooded),
)
