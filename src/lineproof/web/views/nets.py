"""Nets: switches and ports, streams, addresses, loads, delay bounds against buffers, the clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.outcome import Outcome
from lineproof.plan.network import PlannedRun
from lineproof.reckon.delay_figures import NetFigures
from lineproof.web.views.line import ms
from lineproof.web.views.parts import Head, Link, count, head, room_href, unit_words
from lineproof.web.worked import Worked


@dataclass(frozen=True, kw_only=True)
class PortRow:
    """One port of a switch in use: its run, what is at the other end, its load both ways."""

    port: str
    run: str
    other: str
    length: str
    out_share: float
    in_share: float
    load: str
    spanning: str


@dataclass(frozen=True, kw_only=True)
class SwitchView:
    """One switch: what it is to its net, and its ports in use."""

    name: str
    href: str
    part: str
    groups: str
    ports: tuple[PortRow, ...]


@dataclass(frozen=True, kw_only=True)
class StreamRow:
    """One stream on one net, with its longest delay undisturbed and after any single fault."""

    name: str
    sender: str
    channels: str
    to: str
    how: str
    packet: str
    receivers: str
    calm: str
    worst: str
    fault: Link | None


@dataclass(frozen=True, kw_only=True)
class AddressRow:
    """The address of a unit."""

    unit: str
    ip: str
    given: str


@dataclass(frozen=True, kw_only=True)
class NetView:
    """One net."""

    name: str
    facts: tuple[tuple[str, str], ...]
    clock: tuple[str, ...]
    switches: tuple[SwitchView, ...]
    streams: tuple[StreamRow, ...]
    addresses: tuple[AddressRow, ...]


@dataclass(frozen=True, kw_only=True)
class BufferRow:
    """Units that are heard together, and the link offset that all of them are set to."""

    units: str
    needs: str
    stream: str
    offset: str
    margin: str
    fault: Link | None


@dataclass(frozen=True, kw_only=True)
class NetsPage:
    """All nets, and what they share."""

    head: Head
    clock: str
    nets: tuple[NetView, ...]
    buffers: tuple[BufferRow, ...]
    feeds: tuple[tuple[str, str], ...]


def nets(worked: Worked) -> NetsPage:
    """Give the page of the nets; without a planned network it is empty."""
    return worked.made("nets", lambda: _nets(worked))


def _nets(worked: Worked) -> NetsPage:
    outcome = worked.outcome
    network = outcome.network if outcome else None
    if outcome is None or network is None:
        return NetsPage(head=head(worked), clock="", nets=(), buffers=(), feeds=())
    return NetsPage(
        head=head(worked),
        clock=network.clock.why,
        nets=tuple(_net(outcome, figures) for figures in network.nets.values()),
        buffers=tuple(_buffers(outcome)),
        feeds=tuple(
            (feed.switch, f"{feed.asks_w:g} W of {feed.budget_w:g} W") for feed in network.feeds
        ),
    )


def _net(outcome: Outcome, figures: NetFigures) -> NetView:
    name = figures.fabric.net
    network = outcome.plan.network
    return NetView(
        name=name,
        facts=tuple(_facts(outcome, figures)),
        clock=tuple(_clock(figures)),
        switches=tuple(_switches(outcome, figures)),
        streams=tuple(_streams(outcome, figures)),
        addresses=tuple(
            AddressRow(unit=a.unit, ip=a.ip, given="written in the show" if a.given else "")
            for a in network.addresses
            if a.net == name
        ),
    )


def _facts(outcome: Outcome, figures: NetFigures) -> Iterator[tuple[str, str]]:
    plan = outcome.plan.network.nets.get(figures.fabric.net)
    if plan is None:
        return
    vlans = ", ".join(f"{use} {number}" for use, number in plan.vlans.items())
    dscp = ", ".join(f"{what} {mark}" for what, mark in outcome.plan.network.dscp.items())
    facts = (
        ("range", plan.range),
        ("groups", plan.groups),
        ("root bridge", ", then ".join(plan.roots)),
        ("querier", ", then ".join(plan.queriers)),
        ("VLANs", vlans),
        ("DSCP", dscp),
        ("order by name", ", ".join(figures.by_name)),
        ("delays worked out after", count(figures.swept.tried, "single fault")),
    )
    yield from ((name, value) for name, value in facts if value)


def _clock(figures: NetFigures) -> Iterator[str]:
    for reign in figures.reigns:
        if reign.order:
            after = ", ".join(reign.order[1:]) or "nobody"
            yield f"Grandmaster {reign.order[0]}; after it {after}."
    over = figures.hand_over
    if over is not None and over.next:
        yield (
            f"If {over.gone} dies, {over.next} takes over: noticed within {over.noticed_s:g} s, "
            f"all locked within {over.locked_s:g} s."
        )


def _switches(outcome: Outcome, figures: NetFigures) -> Iterator[SwitchView]:
    fabric = figures.fabric
    runs = {run.name: run for run in outcome.plan.network.runs_on(fabric.net)}
    plan = outcome.plan.network.nets.get(fabric.net)
    by_run: dict[tuple[str, str], tuple[float, int]] = {}
    for load in figures.loads:
        by_run[load.run, load.from_unit] = (load.share, load.total_bps)
    for node in sorted(fabric.nodes, key=lambda n: natural(n.name)):
        if not node.bridge or node.chained:
            continue
        parts = [f"{word} {n}" for word, names in _ranks(plan) for n, x in names if x == node.name]
        ports = [
            _port(figures, run, node.name, by_run)
            for run in runs.values()
            if any(end.unit == node.name for end in run.ends)
        ]
        held = figures.groups.get(node.name)
        yield SwitchView(
            name=unit_words(outcome.show, node.name),
            href=room_href(find=node.name),
            part=", ".join(parts),
            groups="" if held is None else str(held),
            ports=tuple(sorted(ports, key=lambda row: natural(row.port))),
        )


def _ranks(plan: object) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    order = ("first", "second", "third", "fourth")
    for word, names in (
        ("root bridge", getattr(plan, "roots", ())),
        ("querier", getattr(plan, "queriers", ())),
    ):
        yield word, [(f"({o})", name) for o, name in zip(order, names, strict=False)]


def _port(
    figures: NetFigures,
    run: PlannedRun,
    switch: str,
    by_run: dict[tuple[str, str], tuple[float, int]],
) -> PortRow:
    mine = next(end for end in run.ends if end.unit == switch)
    other = run.other_end(switch)
    out_share, out_bps = by_run.get((run.name, switch), (0.0, 0))
    in_share, in_bps = by_run.get((run.name, other.unit), (0.0, 0))
    index = figures.fabric.run_index.get(run.name)
    carries = index is not None and index in figures.tree.tree_runs
    return PortRow(
        port=str(mine.number or ""),
        run=run.name,
        other=str(other),
        length=f"{run.length_m:.0f} m {run.medium}",
        out_share=round(out_share, 4),
        in_share=round(in_share, 4),
        load=f"{mbit(out_bps)} out, {mbit(in_bps)} in",
        spanning="carries" if carries else "held back",
    )


def mbit(bps: float) -> str:
    """Give a rate in Mbit/s.

    >>> mbit(9_904_240)
    '9.9 Mbit/s'
    """
    return f"{bps / 1e6:.1f} Mbit/s"


def _streams(outcome: Outcome, figures: NetFigures) -> Iterator[StreamRow]:
    net, fabric, swept = figures.fabric.net, figures.fabric, figures.swept
    at = {flow.name: n for n, flow in enumerate(swept.flows)}
    for stream in outcome.plan.network.streams:
        if net not in stream.to and stream.name not in at:
            continue
        n = at.get(stream.name)
        delays = [
            worst
            for name in stream.receivers
            if n is not None
            and (i := fabric.index.get(name)) is not None
            and (worst := swept.delay_ns.get((n, i))) is not None
        ]
        most = max(delays, key=lambda w: w.worst, default=None)
        calm = max((w.undisturbed for w in delays if w.undisturbed is not None), default=None)
        yield StreamRow(
            name=stream.name,
            sender=stream.sender,
            channels=", ".join(map(str, stream.channels)),
            to=f"{stream.to.get(net, '')}:{stream.udp_port}" if net in stream.to else "",
            how="multicast" if stream.multicast else "unicast",
            packet=f"{stream.packet_us / 1000:g} ms, {stream.depth_bits} bit",
            receivers=", ".join(stream.receivers),
            calm=ms(calm),
            worst=ms(most.worst) if most else "not reached",
            fault=fault_link(most.fault) if most else None,
        )


def fault_link(fault: str) -> Link | None:
    """Give the room with that fault, None for none."""
    return Link(text=fault, href=room_href(find=fault)) if fault else None


def _buffers(outcome: Outcome) -> Iterator[BufferRow]:
    for buffer in outcome.network.buffers if outcome.network else ():
        margin = buffer.margin_ns
        yield BufferRow(
            units=", ".join(buffer.units),
            needs=ms(buffer.need.ns),
            stream=f"{buffer.need.stream} on net {buffer.need.net}",
            offset="none is enough" if buffer.offset_ms is None else f"{buffer.offset_ms:g} ms",
            margin="" if margin is None else ms(margin),
            fault=fault_link(buffer.need.fault),
        )
