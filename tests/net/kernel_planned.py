"""Builds planned nets in the Linux kernel, sends real RTP through them, and tells what it saw.

Run by `unshare -Urn`, with JSON on stdin: {"nets": [{"prefix", "nodes": [{"kind": switch | host |
chain, "elects", "snoops", "asks", "priority", "mac", "ip"}], "runs": [{"ends", "ports", "cost"}],
"streams": [{"sender", "receivers", "to", "port", "bytes"}], "cut": run or -1, "lit": whether
its ports keep their light when it is cut}], "packets", "away_s"}.
Switches are bridges of this namespace, every host has a namespace of its own; all ends with the
process. Prints, for each net, the port states, and packets and bytes by stream and way before a
querier asks, once it asks, and after the cut; who heard what; how long each was silent.
"""

from __future__ import annotations

import ctypes
import errno
import itertools
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

NEW_NET = 0x40000000
LIBC = ctypes.CDLL(None, use_errno=True)
ETH_ALL, OUTGOING = 3, 4
#: The shortest that the kernel takes: hundredths of a second.
TREE = "forward_delay 200 hello_time 100 max_age 600"
#: Queries every 3 s, answered within 1 s. Members are remembered for longer than any tree takes, as
#: with the usual 260 s; else streams whose way stays fall silent as well.
QUERIES = (
    "mcast_query_interval 300 mcast_query_response_interval 100 mcast_membership_interval 2000 "
    "mcast_querier_interval 650 mcast_startup_query_interval 100 mcast_query_use_ifaddr 1"
)
SETTLES_S, LEARNS_S, FORGETS_S = 7.0, 6.5, 8.0


def checked(result: int) -> None:
    if result:
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))


@contextmanager
def within(namespace: int, back: int) -> Iterator[None]:
    checked(LIBC.setns(namespace, NEW_NET))
    try:
        yield
    finally:
        checked(LIBC.setns(back, NEW_NET))


def new_namespace(back: int) -> int:
    checked(LIBC.unshare(NEW_NET))
    found = os.open("/proc/self/ns/net", os.O_RDONLY)
    checked(LIBC.setns(back, NEW_NET))
    return found


def ip(rows: list[str]) -> None:
    subprocess.run(["ip", "-batch", "-"], input="\n".join(rows) + "\n", text=True, check=True)


def mac_of(net: int, node: int) -> str:
    return f"02:00:00:{net:02x}:{node >> 8:02x}:{node & 255:02x}"


class Net:
    """One net in the kernel."""

    def __init__(self, number: int, asked: dict[str, Any], main: int) -> None:
        self.number, self.asked, self.main = number, asked, main
        self.nodes, self.runs, self.streams = asked["nodes"], asked["runs"], asked["streams"]
        self.hosts: dict[int, int] = {}
        self.taps: list[tuple[socket.socket, int]] = []
        self.senders: list[socket.socket] = []
        self.speakers: dict[int, socket.socket] = {}
        self.ears: dict[int, list[socket.socket]] = {}
        #: Where a packet goes names its stream.
        self.named = {(s["to"], s["port"]): i for i, s in enumerate(self.streams)}

    def bridge(self, node: int) -> str:
        return f"b{self.number}-{node}"

    def plug(self, run: int, side: int) -> str:
        return f"n{self.number}r{run}{'ab'[side]}"

    def build(self) -> None:
        """Lay bridges, runs and hosts; ports of a bridge count up as the plan has them."""
        rows = []
        for i, node in enumerate(self.nodes):
            if node["kind"] == "host":
                continue
            tree = f"{TREE} priority {node['priority']} stp_state {int(node['elects'])}"
            snoop = f"mcast_snooping {int(node['snoops'])} {QUERIES}"
            mac = f"address {node['mac']}" if node["mac"] else ""
            rows.append(f"link add name {self.bridge(i)} {mac} type bridge {tree} {snoop}")
            if node["ip"] and node["kind"] == "switch":
                rows.append(f"addr add {node['ip']}/{self.asked['prefix']} dev {self.bridge(i)}")
            rows.append(f"link set {self.bridge(i)} up")
        for r in range(len(self.runs)):
            rows += self.cable(r)
        ends = [
            (self.runs[r]["ports"][side], r, side)
            for r in range(len(self.runs))
            for side in (0, 1)
            if self.nodes[self.runs[r]["ends"][side]]["kind"] != "host"
        ]
        for _, r, side in sorted(ends):
            plug, bridge = self.plug(r, side), self.bridge(self.runs[r]["ends"][side])
            rows.append(f"link set {plug} master {bridge}")
            if self.nodes[self.runs[r]["ends"][side]]["elects"]:
                rows.append(f"link set {plug} type bridge_slave cost {self.runs[r]['cost']}")
            rows.append(f"link set {plug} up")
        ip(rows)
        for i, node in enumerate(self.nodes):
            if node["kind"] != "switch" and node["ip"]:
                self.host(i)

    def cable(self, r: int) -> list[str]:
        """Give a run, or two with a box between that hands all on and can be switched off."""
        if r != self.asked["cut"] or not self.asked["lit"]:
            return [f"link add name {self.plug(r, 0)} type veth peer name {self.plug(r, 1)}"]
        box = f"n{self.number}box"
        rows = [f"link add name {box} type bridge stp_state 0 mcast_snooping 0"]
        for side in (0, 1):
            inner = f"{box}{side}"
            rows.append(f"link add name {self.plug(r, side)} type veth peer name {inner}")
            rows += [f"link set {inner} master {box}", f"link set {inner} up"]
        return [*rows, f"link set {box} up"]

    def lose(self) -> list[str]:
        """Give what cuts the run that is to be cut."""
        if self.asked["cut"] < 0:
            return []
        lit = self.asked["lit"]
        return [f"link set {f'n{self.number}box' if lit else self.plug(self.asked['cut'], 0)} down"]

    def host(self, i: int) -> None:
        """Give a node its own namespace, on its run or beside its own bridge."""
        self.hosts[i] = new_namespace(self.main)
        mine = [(r, s) for r, run in enumerate(self.runs) for s in (0, 1) if run["ends"][s] == i]
        if self.nodes[i]["kind"] == "chain":
            plug = f"n{self.number}h{i}b"
            near = f"n{self.number}h{i}a"
            ip(
                [
                    f"link add name {near} type veth peer name {plug}",
                    f"link set {near} master {self.bridge(i)}",
                    f"link set {near} up",
                ]
            )
        else:
            plug = self.plug(*mine[0])
        ip([f"link set {plug} netns /proc/{os.getpid()}/fd/{self.hosts[i]}"])
        others = [
            f"neigh add {node['ip']} lladdr {mac_of(self.number, j)} dev {plug} nud permanent"
            for j, node in enumerate(self.nodes)
            if node["ip"] and node["kind"] != "switch" and j != i
        ]
        with within(self.hosts[i], self.main):
            ip(
                [
                    f"link set {plug} address {mac_of(self.number, i)}",
                    f"addr add {self.nodes[i]['ip']}/{self.asked['prefix']} broadcast + dev {plug}",
                    f"link set {plug} up",
                    *others,
                ]
            )

    def listen(self) -> None:
        """Open a sender for each stream, and at each receiver what hears it."""
        for i, stream in enumerate(self.streams):
            with within(self.hosts[stream["sender"]], self.main):
                sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
            own = socket.inet_aton(self.nodes[stream["sender"]]["ip"])
            sender.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, own)
            sender.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 15)
            sender.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 0)
            self.senders.append(sender)
            for receiver in stream["receivers"]:
                with within(self.hosts[receiver], self.main):
                    ear = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
                ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                ear.bind((stream["to"], stream["port"]))
                ear.setblocking(False)
                if socket.inet_aton(stream["to"])[0] & 0xF0 == 0xE0:
                    at = socket.inet_aton(self.nodes[receiver]["ip"])
                    group = socket.inet_aton(stream["to"]) + at
                    ear.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, group)
                self.ears.setdefault(i, []).append(ear)

    def speak(self) -> None:
        """Let every host say something that all bridges see, as its clock does once a second.

        Otherwise unicast does not find it, and after a cut is sent the old way for minutes.
        """
        for i, host in self.hosts.items():
            if i not in self.speakers:
                with within(host, self.main):
                    speaker = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
                speaker.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
                speaker.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, self._name(i))
                self.speakers[i] = speaker
            self.speakers[i].sendto(b"here", ("255.255.255.255", 9))

    def _name(self, i: int) -> bytes:
        if self.nodes[i]["kind"] == "chain":
            return f"n{self.number}h{i}b".encode()
        (at,) = ((r, s) for r, run in enumerate(self.runs) for s in (0, 1) if run["ends"][s] == i)
        return self.plug(*at).encode()

    def tap(self) -> None:
        """Listen at one end of every run that is at a bridge."""
        self.untap()
        for r, run in enumerate(self.runs):
            side = next(s for s in (0, 1) if self.nodes[run["ends"][s]]["kind"] != "host")
            tap = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.htons(ETH_ALL))
            tap.bind((self.plug(r, side), ETH_ALL))
            tap.setblocking(False)
            # What comes in here came along the way towards this side.
            self.taps.append((tap, 2 * r + side))

    def untap(self) -> None:
        for tap, _ in self.taps:
            tap.close()
        self.taps = []

    def count(self, seen: dict[str, list[int]]) -> None:
        """Add what the taps hold: by "way stream", packets and bytes without the frame check."""
        for tap, out in self.taps:
            while True:
                try:
                    frame, about = tap.recvfrom(2048)
                except BlockingIOError:
                    break
                except OSError as error:
                    if error.errno != errno.ENETDOWN:
                        raise
                    break  # the run that was cut
                if frame[12:14] != b"\x08\x00" or frame[23] != socket.IPPROTO_UDP:
                    continue
                key = (socket.inet_ntoa(frame[30:34]), int.from_bytes(frame[36:38], "big"))
                if key in self.named:
                    # Out of side 0 leads way 2 r, out of side 1 way 2 r + 1.
                    way = out if about[2] == OUTGOING else out ^ 1
                    entry = seen.setdefault(f"{way} {self.named[key]}", [0, 0])
                    entry[0] += 1
                    entry[1] += len(frame)

    def send(self, tick: int) -> None:
        for i, stream in enumerate(self.streams):
            # RFC 3550 5.1: version 2, a dynamic payload type, number, time, source.
            head = bytes([0x80, 97]) + (tick & 0xFFFF).to_bytes(2, "big")
            head += (48 * tick & 0xFFFFFFFF).to_bytes(4, "big") + i.to_bytes(4, "big")
            self.senders[i].sendto(head + bytes(stream["bytes"]), (stream["to"], stream["port"]))

    def hear(self, heard: dict[str, list[int]]) -> None:
        """Add the numbers of the packets that each receiver got, by "stream receiver"."""
        for i, ears in self.ears.items():
            for receiver, ear in zip(self.streams[i]["receivers"], ears, strict=True):
                while True:
                    try:
                        packet = ear.recv(2048)
                    except BlockingIOError:
                        break
                    if int.from_bytes(packet[8:12], "big") == i:
                        number = int.from_bytes(packet[2:4], "big")
                        heard.setdefault(f"{i} {receiver}", []).append(number)

    def ask(self) -> None:
        ip(
            [
                f"link set {self.bridge(i)} type bridge mcast_querier 1"
                for i, node in enumerate(self.nodes)
                if node["asks"]
            ]
        )

    def states(self) -> dict[str, str]:
        done = subprocess.run(
            ["ip", "-json", "-details", "link", "show"], capture_output=True, text=True, check=True
        )
        facts = {each["ifname"]: each.get("linkinfo", {}) for each in json.loads(done.stdout)}
        return {
            str(2 * r + side): facts[self.plug(r, side)]["info_slave_data"]["state"]
            for r, run in enumerate(self.runs)
            for side in (0, 1)
            if all(self.nodes[end]["kind"] == "switch" for end in run["ends"])
        }


def counted(nets: list[Net], packets: int) -> list[dict[str, Any]]:
    """Send so many packets of every stream, and tell what every run and receiver saw of them."""
    for net in nets:
        net.speak()
    time.sleep(0.3)
    found: list[dict[str, Any]] = [{"ways": {}, "heard": {}} for _ in nets]
    for net in nets:
        net.tap()
        net.hear({})
    for tick in range(packets + 1):
        if tick == packets:
            time.sleep(0.3)
        for net, each in zip(nets, found, strict=True):
            if tick < packets:
                net.send(tick)
            net.count(each["ways"])
            net.hear(each["heard"])
        time.sleep(0.005)
    for net in nets:
        net.untap()
    return [
        {"ways": each["ways"], "heard": {key: len(got) for key, got in each["heard"].items()}}
        for each in found
    ]


def silences(nets: list[Net], away_s: float) -> list[dict[str, Any]]:
    """Cut a run of each net while all streams run; give each receiver's longest silence and loss.

    The silence in seconds from the last packet sent that arrived to the next, None where none came
    again; the loss in packets.
    """
    times: list[float] = []
    heard: list[dict[str, list[int]]] = [{} for _ in nets]
    start, cut, spoke = time.monotonic(), False, 0
    for net in nets:
        net.hear({})
    while (now := time.monotonic()) - start < away_s:
        if not cut and now - start > 1.0:
            ip([row for net in nets for row in net.lose()])
            cut = True
        if now - start > spoke:
            spoke += 1
            for net in nets:
                net.speak()
        times.append(time.monotonic())
        for net, each in zip(nets, heard, strict=True):
            net.send(len(times) - 1)
            net.hear(each)
        time.sleep(0.02)
    time.sleep(0.3)
    for net, each in zip(nets, heard, strict=True):
        net.hear(each)
    return [
        {
            key: {
                "silent_s": _longest(times, sorted(numbers)),
                "lost": len(times) - len(set(numbers)),
            }
            for key, numbers in each.items()
        }
        for each in heard
    ]


def _longest(times: list[float], numbers: list[int]) -> float | None:
    if numbers[-1] < len(times) - 1:
        return None
    return max(times[b] - times[a] for a, b in itertools.pairwise(numbers))


def main() -> None:
    """Build; count unasked, asked, and after the cut."""
    asked = json.load(sys.stdin)
    own = os.open("/proc/self/ns/net", os.O_RDONLY)
    nets = [Net(i, each, own) for i, each in enumerate(asked["nets"])]
    for net in nets:
        net.build()
        net.listen()
    time.sleep(SETTLES_S)
    answer: dict[str, Any] = {"states": [net.states() for net in nets]}
    answer["unasked"] = counted(nets, asked["packets"])
    for net in nets:
        net.ask()
    time.sleep(LEARNS_S)
    answer["asked"] = counted(nets, asked["packets"])
    answer["silent"] = silences(nets, asked["away_s"])
    time.sleep(FORGETS_S)
    answer["states_after"] = [net.states() for net in nets]
    answer["after"] = counted(nets, asked["packets"])
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
