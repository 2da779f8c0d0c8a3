"""An adversary that sends packet by packet, and looks for the worst that can meet one stream.

It knows nothing of the bounds: its own ways (by a general-purpose library), its own queues. What it
finds can happen, so it is never above a true bound; how far below says how good the bound is.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx

from lineproof.graph.net import Fabric
from lineproof.reckon.tree_paths import Flow

#: The longest tagged frame with preamble and gap: IEEE 802.3, facts ETH-055.
LOW_BITS = 1542 * 8

Port = tuple[int, int]
#: By port, by (stream, packet): when it came, when its last bit had left.
Times = dict[Port, dict[tuple[int, int], tuple[float, float]]]


@dataclass(frozen=True, kw_only=True)
class Scene:
    """A net without loops: speeds by port (bit/ns), ways of each stream, ports in order."""

    flows: tuple[Flow, ...]
    speed: dict[Port, float]
    came: tuple[dict[Port, Port | None], ...]
    order: tuple[Port, ...]
    #: Clock frames that every port may send before any stream: bits each.
    clock: tuple[int, ...] = ()


def scene(fabric: Fabric, flows: Sequence[Flow], clock: tuple[int, ...] = ()) -> Scene:
    graph = nx.Graph()
    speed: dict[Port, float] = {}
    for run in fabric.runs:
        a, b = run.ends
        graph.add_edge(a, b)
        speed[a, b] = speed[b, a] = run.speed_mbit / 1000
    assert nx.is_forest(graph)
    came: list[dict[Port, Port | None]] = []
    follows = nx.DiGraph()
    for flow in flows:
        targets = [*flow.receivers, *(fabric.queriers if flow.multicast else ())]
        mine: dict[Port, Port | None] = {}
        for target in targets:
            nodes = nx.shortest_path(graph, flow.sender, target)
            before: Port | None = None
            for port in itertools.pairwise(nodes):
                mine[port] = before
                follows.add_node(port)
                if before is not None:
                    follows.add_edge(before, port)
                before = port
        came.append(mine)
    order = tuple(nx.lexicographical_topological_sort(follows))
    return Scene(flows=tuple(flows), speed=speed, came=tuple(came), order=order, clock=clock)


def run(scene: Scene, phases: Sequence[float], target: int, periods: int) -> Times:
    """Give (arrival, end) of every packet at every port, ns; the target is last among equals."""
    done: Times = {}
    for port in scene.order:
        queue = []
        for f, came in enumerate(scene.came):
            if port not in came:
                continue
            before = came[port]
            for k in range(periods):
                if before is None:
                    at = phases[f] + k * scene.flows[f].packet_ns
                else:
                    at = done[before][f, k][1]
                queue.append((at, f == target, f, k))
        queue.sort()
        speed, free = scene.speed[port], -1e18
        ends = {}
        for at, _, f, k in queue:
            if at >= free:
                # Idle: a long frame of a lower class has just begun, then the clock's go first.
                free = at + (LOW_BITS + sum(scene.clock)) / speed
            end = free + scene.flows[f].packet_bits / speed
            ends[f, k] = (at, end)
            free = end
        done[port] = ends
    return done


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The longest way of one packet of the target that was found, ns, and how all else fared."""

    worst_ns: float
    others_ns: dict[tuple[int, int], float]


class Attack:
    """A search for phases that hurt one stream's way to one receiver most."""

    def __init__(self, scene: Scene, target: int, receiver: int, periods: int) -> None:
        self.scene, self.target, self.periods = scene, target, periods
        self.last = _last(scene, target, receiver)
        path: list[Port] = []
        at: Port | None = self.last
        while at is not None:
            path.insert(0, at)
            at = scene.came[target][at]
        #: Where each other stream stands in the same queue as the target, from the sender on.
        self.shared = [
            [port for port in path if port in came] if f != target else []
            for f, came in enumerate(scene.came)
        ]
        self.phases = [0.0] * len(scene.flows)
        self.best, self.worst, self.done = self.measured(self.phases)

    def measured(self, phases: Sequence[float]) -> tuple[float, int, Times]:
        """Give the longest delay of a packet of the target, which packet, and all times."""
        done = run(self.scene, phases, self.target, self.periods)
        period = self.scene.flows[self.target].packet_ns
        delays = [
            done[self.last][self.target, k][1] - phases[self.target] - k * period
            for k in range(self.periods)
        ]
        worst = max(range(self.periods), key=lambda k: (delays[k], -k))
        return delays[worst], worst, done

    def met(self, phases: Sequence[float], f: int, port: Port) -> float:
        """Give the phase at which a packet of f would come to a port together with the target."""
        wanted = self.done[port][self.target, self.worst][0]
        times = (self.done[port][f, j][0] for j in range(self.periods))
        own = min(times, key=lambda time: abs(time - wanted))
        return (phases[f] + wanted - own) % self.scene.flows[f].packet_ns

    def keep(self, phases: list[float]) -> None:
        value, worst, done = self.measured(phases)
        if value >= self.best:
            self.phases, self.best, self.worst, self.done = phases, value, worst, done

    def gather(self) -> None:
        """Let all others meet the target where they join it."""
        for _ in range(4):
            phases = list(self.phases)
            for f, ports in enumerate(self.shared):
                if ports:
                    phases[f] = self.met(phases, f, ports[0])
            self.keep(phases)

    def climb(self, rng: random.Random) -> None:
        """Move one to three others, to meet the target elsewhere, a little before it, or anyhow."""
        phases = list(self.phases)
        for f in rng.sample(range(len(phases)), min(len(phases), rng.choice((1, 1, 2, 3)))):
            if self.shared[f] and rng.random() < 0.7:
                phases[f] = self.met(phases, f, rng.choice(self.shared[f]))
                phases[f] -= rng.choice((0.0, 0.0, 100.0, 1000.0, 10000.0))
            elif f != self.target:
                phases[f] = rng.random() * self.scene.flows[f].packet_ns
        self.keep(phases)

    def others(self) -> dict[tuple[int, int], float]:
        """Give the longest delay that each stream had to each receiver, meanwhile."""
        found = {}
        for f, flow in enumerate(self.scene.flows):
            for receiver in flow.receivers:
                ends = self.done[_last(self.scene, f, receiver)]
                found[f, receiver] = max(
                    ends[f, k][1] - self.phases[f] - k * flow.packet_ns for k in range(self.periods)
                )
        return found


def _last(scene: Scene, flow: int, receiver: int) -> Port:
    return next(port for port in scene.came[flow] if port[1] == receiver)


def attack(
    scene: Scene, rng: random.Random, target: int, receiver: int, *, tries: int, periods: int
) -> Seen:
    """Look for phases that hurt the target most: all meet it where they join, then climb."""
    search = Attack(scene, target, receiver, periods)
    search.gather()
    for _ in range(tries):
        search.climb(rng)
    return Seen(worst_ns=search.best, others_ns=search.others())
