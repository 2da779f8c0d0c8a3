"""Networks for tests: those of the shipped shows as planned, and small ones made by hand."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

from lineproof.base.names import natural
from lineproof.decide.decide import decide
from lineproof.decide.network import plan_network
from lineproof.graph.ports import nets_of, unit_nets
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network, PlannedRun, PortAt, Stream
from lineproof.show.model import Show
from lineproof.show.read import read_files, read_show

ROOT = Path(__file__).resolve().parent.parent.parent

#: A show of three boxes' worth, in text: what a test changes stands in the test.
SHOW = """\
title: Pier Ballads
rate: 48 kHz
nets: two
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
circuits:
  house: {supply: 230 V, limit: 63 A}
  stage-feed: {supply: 230 V, limit: 32 A}
units:
  box-1: {kind: box-32-16, place: stage, number: 1, circuit: stage-feed}
  box-2: {kind: box-32-16, place: stage, number: 2, circuit: stage-feed}
  desk: {kind: mixer-32, place: front, circuit: [house, stage-feed]}
  side: {kind: mixer-32, place: stage, circuit: stage-feed}
  rec-1: {kind: computer-32, place: front, circuit: house, net: a}
  sw-a1: {kind: switch-8, place: stage, circuit: stage-feed, net: a}
  sw-a2: {kind: switch-8, place: front, circuit: house, net: a}
  sw-b1: {kind: switch-8, place: stage, circuit: stage-feed, net: b}
  sw-b2: {kind: switch-8, place: front, circuit: house, net: b}
lines: lines.csv
"""
LINES = "number,name,from,source,to\n1,Voice,stage,dynamic mic,desk\n"


def show_of(*changes: tuple[str, str], text: str = SHOW) -> Show:
    """Give the show above with each (old, new) text changed; each old text must be there once."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    reading = read_files({"show.yaml": text, "lines.csv": LINES})
    assert reading.show is not None, reading.findings
    return reading.show


def stream(
    name: str,
    receivers: str,
    *,
    channels: Iterable[int] = range(1, 9),
    multicast: bool = True,
    packet_us: int = 1_000,
) -> Stream:
    return Stream(
        name=name,
        sender=name.partition("/")[0],
        channels=tuple(channels),
        receivers=tuple(receivers.split()),
        multicast=multicast,
        packet_us=packet_us,
        depth_bits=24,
    )


def run(net: str, one: str, other: str) -> PlannedRun:
    return PlannedRun(name=f"{one}-{other}", net=net, ends=(PortAt.parse(one), PortAt.parse(other)))


def network_of(show: Show, *streams: Stream, runs: Iterable[PlannedRun] = ()) -> Network:
    """Give a network with these streams, every switch of a net beside its first."""
    switches = [u for u in show.units.values() if u.kind.does is Does.SWITCH]
    nets = {u.name: u.net or nets_of(show)[0] for u in switches}
    return Network(
        switch_nets=nets,
        runs=tuple(runs) or tuple(_trunks(nets)),
        streams=tuple(sorted(streams, key=lambda s: natural(s.name))),
    )


def _trunks(nets: dict[str, str]) -> Iterable[PlannedRun]:
    for net in sorted(set(nets.values())):
        first, *others = sorted((name for name, on in nets.items() if on == net), key=natural)
        yield from (run(net, f"{first}:{n}", f"{name}:8") for n, name in enumerate(others, 1))


@cache
def shipped(name: str) -> tuple[Show, Network]:
    """Give a shipped show with the network that is planned for it."""
    reading = read_show(ROOT / "shows" / name)
    assert reading.show is not None
    plan = decide(reading.show).plan
    assert plan is not None
    network = plan.network if plan.network.streams else plan_network(reading.show, plan).network
    return reading.show, network


def on_nets(show: Show, network: Network) -> list[tuple[str, str]]:
    """Give every (unit, net) that needs an address."""
    return [
        (unit.name, net)
        for unit in show.units.values()
        if unit.kind.does is not Does.SWITCH or unit.kind.managed
        for net in unit_nets(show, unit, network)
    ]
