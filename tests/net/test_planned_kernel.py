"""Planned networks against the bridges of the Linux kernel: loads, blocked ports, cuts.

Real RTP runs through bridges and hosts made as the plan has them. What the kernel counts on every
run and direction must be what the figures say, to the packet and the byte. A veth frame counts
without frame check (4), tag (4), preamble and gap (20), which the figures have as well
(IEEE 802.3, 802.1Q). Waits for real timers.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from lineproof.graph.net import Fabric, Node
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.gap import Habits, Loss, Protocol, multicast_gap, unicast_gap
from lineproof.reckon.loads import loads
from lineproof.reckon.packets import Packet
from lineproof.reckon.tree import port_cost, spanning_tree
from lineproof.reckon.tree_paths import Paths, paths
from tests.net.planned_shows import RING, TWO, Planned, planned

pytestmark = [
    pytest.mark.needs("unshare", "util-linux"),
    pytest.mark.needs("ip", "iproute2"),
]
#: As `kernel_planned` sets the bridges.
HABITS = Habits(
    protocol=Protocol.CLASSIC,
    hello_s=1.0,
    maximum_age_s=6.0,
    forward_delay_s=2.0,
    query_interval_s=3.0,
    query_response_s=1.0,
)
PACKETS = 60
BESIDE_BYTES = 28
#: Packets are 20 ms apart, and a busy machine is late with a timer now and then.
LATE_S = 1.0


@dataclass(frozen=True)
class Case:
    """A net as planned, as asked of the kernel, and what the kernel said."""

    this: Planned
    net: str
    question: dict[str, Any]

    @property
    def figures(self) -> NetFigures:
        return self.this.nets[self.net]

    @property
    def fabric(self) -> Fabric:
        return self.figures.fabric

    @property
    def cut(self) -> str:
        """Give the run that is cut, "" for none."""
        cut = self.question["cut"]
        return self.fabric.runs[cut].name if cut >= 0 else ""

    def after(self) -> Paths:
        tree = spanning_tree(self.fabric.without(runs=[self.cut] if self.cut else []))
        return paths(tree, self.figures.swept.flows)


def kind(node: Node) -> str:
    return "chain" if node.chained else "switch" if node.bridge else "host"


def asked(this: Planned, net: str, cut: str, *, lit: bool = False) -> Case:
    figures, network = this.nets[net], this.network
    fabric = figures.fabric
    streams = {stream.name: stream for stream in network.streams}
    plugged = {end for run in fabric.runs for end in run.ends}
    nodes = [
        {
            "kind": kind(node),
            "elects": node.elects,
            "snoops": node.snoops,
            "asks": i in fabric.queriers,
            "priority": node.priority,
            "mac": this.show.units[node.name].mac if kind(node) == "switch" else "",
            "ip": network.address(node.name, net) if i in plugged else "",
        }
        for i, node in enumerate(fabric.nodes)
    ]
    runs = [
        {"ends": r.ends, "ports": r.ports, "cost": port_cost(r.speed_mbit)} for r in fabric.runs
    ]
    sent = []
    for flow in figures.swept.flows:
        stream = streams[flow.name]
        packet = Packet(rate_hz=this.show.rate_hz, packet_us=1000, depth_bits=stream.depth_bits)
        assert stream.packet_us == 1000
        sent.append(
            {
                "sender": flow.sender,
                "receivers": flow.receivers,
                "to": stream.to[net],
                "port": stream.udp_port,
                "bytes": packet.payload_bytes(len(stream.channels)),
            }
        )
    question = {
        "prefix": int(network.nets[net].range.partition("/")[2]),
        "nodes": nodes,
        "runs": runs,
        "streams": sent,
        "cut": fabric.run_index[cut] if cut else -1,
        "lit": lit,
    }
    return Case(this, net, question)


def by_kernel(cases: list[Case]) -> dict[str, Any]:
    if subprocess.run(["unshare", "-Urn", "true"], capture_output=True, check=False).returncode:
        pytest.skip("network namespaces (not allowed here)")
    question = {"nets": [case.question for case in cases], "packets": PACKETS, "away_s": 16.0}
    done = subprocess.run(
        ["unshare", "-Urn", sys.executable, Path(__file__).with_name("kernel_planned.py")],
        input=json.dumps(question),
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def reckoned(ways: Paths) -> dict[str, list[int]]:
    """Give packets and bytes by "way stream" as the loads have them: one packet a millisecond."""
    number = {flow.name: i for i, flow in enumerate(ways.flows)}
    found = {}
    for load in loads(ways):
        for name in load.streams:
            flow = ways.flows[number[name]]
            assert flow.packet_ns == 1_000_000
            taken = PACKETS * (flow.packet_bits // 8 - BESIDE_BYTES)
            found[f"{load.way} {number[name]}"] = [PACKETS, taken]
        # The sum that papers show is the same bits, a second long.
        bits = sum(
            8 * (found[f"{load.way} {number[n]}"][1] + PACKETS * BESIDE_BYTES) for n in load.streams
        )
        assert load.streams_bps * PACKETS == bits * 1000
    return found


def reach(ways: Paths) -> dict[str, int]:
    """Give the packets that each receiver hears, by "stream receiver"."""
    return {
        f"{i} {receiver}": PACKETS
        for i, flow in enumerate(ways.flows)
        for receiver in flow.receivers
        if ways.arrives(i, receiver)
    }


def states(case: Case, cut: bool = False) -> dict[str, str]:
    """Give what the figures say of every port between switches."""
    tree = case.after().tree if cut else case.figures.tree
    found = {}
    for way in range(2 * len(case.fabric.runs)):
        run = case.fabric.runs[way >> 1]
        if all(kind(case.fabric.nodes[end]) == "switch" for end in run.ends):
            role = tree.roles.get(way)
            if cut and run.name == case.cut:
                found[str(way)] = "disabled"
            else:
                found[str(way)] = "blocking" if role and role.discards else "forwarding"
    return found


def way_of(ways: Paths, i: int, receiver: int) -> tuple[int, ...]:
    return ways.tree.path(ways.flows[i].sender, receiver) or ()


@cache
def small() -> tuple[list[Case], dict[str, Any]]:
    ring, two = planned(RING, 12), planned(TWO, 16)
    cases = [asked(ring, "a", "t-3"), asked(two, "a", "t-1"), asked(two, "b", "")]
    return cases, by_kernel(cases)


NETS = pytest.mark.parametrize("number", range(3))


def test_the_shows_have_what_is_to_be_witnessed() -> None:
    ring, two = planned(RING, 12), planned(TWO, 16)
    for this in (ring, two):
        assert {stream.multicast for stream in this.network.streams} == {True, False}
        assert all(each.tree.blocked for each in this.nets.values())
        assert not any(each.by_name for each in this.nets.values())
    assert any(node.chained for node in ring.nets["a"].fabric.nodes)
    assert any(n.bridge and not n.elects and not n.chained for n in ring.nets["a"].fabric.nodes)


@NETS
def test_the_kernel_blocks_the_ports_that_are_said(number: int) -> None:
    cases, said = small()
    assert said["states"][number] == states(cases[number])


@NETS
def test_packets_and_bytes_on_every_run_are_as_reckoned_once_a_switch_asks(number: int) -> None:
    cases, said = small()
    assert said["asked"][number]["ways"] == reckoned(cases[number].figures.swept.calm.paths)


@NETS
def test_while_none_asks_every_multicast_stream_is_everywhere_blocked_runs_too(number: int) -> None:
    cases, said = small()
    calm = cases[number].figures.swept.calm.paths
    flooded = paths(calm.tree, calm.flows, snooping=False)
    assert said["unasked"][number]["ways"] == reckoned(flooded)
    into = {int(key.split()[0]) >> 1 for key in said["unasked"][number]["ways"]}
    assert calm.tree.blocked <= into


@NETS
def test_each_receiver_hears_every_packet_that_was_meant_for_it(number: int) -> None:
    cases, said = small()
    calm = cases[number].figures.swept.calm.paths
    assert said["asked"][number]["heard"] == said["unasked"][number]["heard"] == reach(calm)


@NETS
def test_after_a_cut_the_tree_the_loads_and_who_hears_are_as_reckoned(number: int) -> None:
    cases, said = small()
    after = cases[number].after()
    assert said["states_after"][number] == states(cases[number], cut=True)
    assert said["after"][number]["heard"] == reach(after)
    assert said["after"][number]["ways"] == reckoned(after)


def hold_to_range(case: Case, silent: dict[str, Any], loss: Loss) -> None:
    """Assert that what moves is silent for as long as is said, and that nothing else loses."""
    before, after = case.figures.swept.calm.paths, case.after()
    assert set(silent) == set(reach(after))
    moved = 0
    for key, found in silent.items():
        i, receiver = map(int, key.split())
        if way_of(before, i, receiver) == way_of(after, i, receiver):
            assert found["lost"] == 0, key
            continue
        moved += 1
        seconds = found["silent_s"]
        assert seconds is not None, key
        several = before.flows[i].multicast
        gap = multicast_gap(HABITS, loss) if several else unicast_gap(HABITS, loss)
        assert gap.least_s - LATE_S / 5 <= seconds <= gap.most_s + LATE_S, (key, seconds, gap)
    assert bool(moved) == bool(case.cut)


@NETS
def test_the_silence_after_a_cut_lies_in_its_range(number: int) -> None:
    cases, said = small()
    hold_to_range(cases[number], said["silent"][number], Loss.DARK)


@pytest.mark.soak
def test_a_run_that_falls_silent_behind_lit_ports_is_missed_later() -> None:
    ring, two = planned(RING, 12), planned(TWO, 16)
    cases = [
        asked(ring, "a", "t-3", lit=True),
        asked(two, "a", "t-1", lit=True),
        asked(two, "b", "u-1", lit=True),
    ]
    said = by_kernel(cases)
    for n, case in enumerate(cases):
        assert said["asked"][n]["ways"] == reckoned(case.figures.swept.calm.paths)
        hold_to_range(case, said["silent"][n], Loss.SILENT)


def test_a_unit_on_both_nets_loses_no_packet_when_one_is_cut() -> None:
    cases, said = small()
    (one, other), (cut, whole) = cases[1:], said["silent"][1:]
    by_name = {
        (other.figures.swept.flows[i].name, other.fabric.nodes[receiver].name): f"{i} {receiver}"
        for i, flow in enumerate(other.figures.swept.flows)
        for receiver in flow.receivers
    }
    both = 0
    for i, flow in enumerate(one.figures.swept.flows):
        for receiver in flow.receivers:
            key = by_name.get((flow.name, one.fabric.nodes[receiver].name))
            if key is not None and cut[f"{i} {receiver}"]["lost"]:
                both += 1
                assert whole[key]["lost"] == 0
    assert both >= 3


@pytest.mark.soak
def test_drawn_cuts_and_lists_of_other_lengths_are_as_reckoned_too(seed: int) -> None:
    rng = random.Random(f"planned-{seed}")
    for _ in range(4):
        cases = []
        for text in (RING, TWO):
            this = planned(text, rng.randint(4, 16))
            for net, each in this.nets.items():
                tree = each.tree
                between = [
                    r for r in tree.tree_runs if tree.fabric.runs[r].name[:2] in ("t-", "u-")
                ]
                cut = tree.fabric.runs[rng.choice(sorted(between))].name
                cases.append(asked(this, net, cut))
        said = by_kernel(cases)
        for n, case in enumerate(cases):
            calm = case.figures.swept.calm.paths
            assert said["states"][n] == states(case)
            assert said["asked"][n]["ways"] == reckoned(calm)
            assert said["unasked"][n]["ways"] == reckoned(
                paths(calm.tree, calm.flows, snooping=False)
            )
            assert said["after"][n]["ways"] == reckoned(case.after())
