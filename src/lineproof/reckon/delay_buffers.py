"""The receive buffer of every unit: one value for all that are heard together."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.base.spot import LineKey
from lineproof.graph.signal import By, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.reckon.delay import UNBOUNDED
from lineproof.reckon.delay_faults import Swept
from lineproof.reckon.tree_paths import Flow
from lineproof.show.model import Line, Show

_LOUD = (Does.LOUDSPEAKER, Does.AMPLIFIER)


@dataclass(frozen=True, kw_only=True)
class Needed:
    """What a receiver must wait for: packet and delay at their worst, in ns, and where from.

    `ns` is None where there is no bound. `undisturbed_ns`: the same with nothing broken.
    """

    unit: str
    stream: str
    net: str
    ns: int | None
    undisturbed_ns: int | None
    fault: str


@dataclass(frozen=True, kw_only=True)
class Buffer:
    """The link offset of units that are heard together: from a sample's instant to its output.

    `need` is the one that asks most. `offset_ms`: the least that all their kinds offer and that is
    enough, None where none is. `unknown`: units whose kind says no values.
    """

    units: tuple[str, ...]
    need: Needed
    offset_ms: float | None
    offered_ms: tuple[float, ...]
    unknown: tuple[str, ...] = ()

    @property
    def margin_ns(self) -> int | None:
        """Give what is left for senders and receivers that are not quite on time, ns."""
        if self.offset_ms is None or self.need.ns is None:
            return None
        return round(self.offset_ms * 1_000_000) - self.need.ns


def needed(swept: Iterable[Swept]) -> Mapping[str, Needed]:
    """Give, for every receiver, the stream that asks for the largest offset on any net.

    The link offset must exceed packet time and delay (AES67 7.5; facts 1): of all streams that a
    unit receives, on both nets, undisturbed and after every single fault.
    """
    worst: dict[str, Needed] = {}
    for net in swept:
        for (i, receiver), delay in net.delay_ns.items():
            flow, name = net.flows[i], net.fabric.nodes[receiver].name
            each = Needed(
                unit=name,
                stream=flow.name,
                net=net.fabric.net,
                ns=_with_packet(flow, delay.worst),
                undisturbed_ns=_with_packet(flow, delay.undisturbed),
                fault=delay.fault,
            )
            if name not in worst or _order(each) > _order(worst[name]):
                worst[name] = each
    return {name: worst[name] for name in sorted(worst, key=natural)}


def _with_packet(flow: Flow, delay_ns: int | None) -> int | None:
    return None if delay_ns in (None, UNBOUNDED) else flow.packet_ns + (delay_ns or 0)


def _order(each: Needed) -> tuple[bool, int]:
    return (each.ns is None, each.ns or 0)


def buffers(show: Show, plan: Plan, swept: Iterable[Swept]) -> tuple[Buffer, ...]:
    """Give the receive buffer of every unit that receives a stream, those heard together as one."""
    needs = needed(swept)
    sets = heard_together(show, plan, needs)
    return tuple(_buffer(show, names, needs) for names in sets)


def _buffer(show: Show, names: tuple[str, ...], needs: Mapping[str, Needed]) -> Buffer:
    most = max((needs[name] for name in names), key=_order)
    unknown = tuple(name for name in names if not show.units[name].kind.buffers_ms)
    known = [set(show.units[n].kind.buffers_ms) for n in names if n not in unknown]
    offered = tuple(sorted(set.intersection(*known))) if known else ()
    enough = [ms for ms in offered if most.ns is not None and ms * 1_000_000 >= most.ns]
    return Buffer(
        units=names,
        need=most,
        offset_ms=enough[0] if enough else None,
        offered_ms=offered,
        unknown=unknown,
    )


def heard_together(show: Show, plan: Plan, receivers: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Give the receivers in sets that are heard together, each in just one, by name.

    Together are the units through which a zone, both halves of a pair, or all loudspeakers and
    amplifiers of one act are fed. A unit that feeds loudspeakers by its sockets counts for them.
    """
    fed = _fed_through(show, plan)
    joined = {name: name for name in receivers}

    def first(name: str) -> str:
        while joined[name] != name:
            name = joined[name]
        return name

    for together in _together(show, fed):
        known = sorted({name for name in together if name in joined}, key=natural)
        for other in known[1:]:
            a, b = sorted((first(known[0]), first(other)), key=natural)
            joined[b] = a
    sets: dict[str, list[str]] = {}
    for name in sorted(joined, key=natural):
        sets.setdefault(first(name), []).append(name)
    return tuple(tuple(names) for names in sets.values())


_Fed = Mapping[tuple[LineKey, str], tuple[str, ...]]


def _fed_through(show: Show, plan: Plan) -> _Fed:
    """Give, for every line and member of its ends, the units whose receive channel it comes by."""
    found: dict[tuple[LineKey, str], tuple[str, ...]] = {}
    for decided in plan.lines:
        for way in ways(show, decided):
            hops = [hop.to_spot.unit for hop in way.hops() if hop.by is By.NETWORK]
            if hops:
                key = (way.line, way.end)
                found[key] = tuple(dict.fromkeys((*found.get(key, ()), hops[-1])))
    return found


def _together(show: Show, fed: _Fed) -> Iterator[list[str]]:
    """Give, set by set, the units through which something is fed that is heard together."""
    for members in show.zones.values():
        yield _units(show.lines, fed, members)
    for line in show.lines:
        other = show.line(line.pair) if line.pair is not None and line.left else None
        for mine, theirs in zip(line.ends, other.ends, strict=False) if other is not None else ():
            halves = ((line, mine), (other, theirs))
            keys = ((half.key, str(m)) for half, end in halves if half for m in end.members)
            yield [unit for key in keys for unit in fed.get(key, ())]
    loud = [unit.name for unit in show.units.values() if unit.kind.does in _LOUD]
    for act in [act.name for act in show.acts] or [""]:
        yield _units((line for line in show.lines if line.act_name in ("", act)), fed, loud)


def _units(lines: Iterable[Line], fed: _Fed, ends: Container[str]) -> list[str]:
    """Give the units through which the lines come to any of the ends."""
    return [
        unit
        for line in lines
        for _, member in line.end_members()
        if member.name in ends
        for unit in fed.get((line.key, str(member)), ())
    ]
