"""Every way out of a fault of a tiny show, tried one by one: what can come back, by how few moves.

Written from the rules as they are told to people, with networkx, and with nothing of the rescue:

- a lead goes into a free socket that fits it, on a box or mixer that works and is theirs to use,
  within 15 m of lead, through no duct that is cut; lines of several acts in one socket go together;
- a network cable that hangs on something dead goes into a rescue port at the place where it ends;
- a spare cable, counted as two, joins the two ends of a cut one, or a loose end to a rescue port,
  or two rescue ports; copper, 75 m at most, through ducts that are whole, and never between
  places that have no supply in common;
- a player's standby by hand starts; a route, a patch, a start count one each.

For shows of boxes, mixers, recorders, players and loudspeakers; the network is copper.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, dist

import networkx as nx  # type: ignore[import-untyped]

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.faults import Fault
from lineproof.kit.kinds import Does, Signal
from lineproof.plan.model import Plan
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.show.model import Need, Show

#: A line and which of its ends.
At = tuple[LineKey, int]
#: What comes back, what people need most first: safety, must, want, spare.
Gain = tuple[int, int, int, int]
NOTHING: Gain = (0, 0, 0, 0)
RANKS = {Need.SAFETY: 0, Need.MUST: 1, Need.WANT: 2, Need.SPARE: 3}
#: Units that some net joins, two by two.
Joined = set[frozenset[str]]


@dataclass(frozen=True, kw_only=True)
class Cable:
    """A cable that is moved or laid: the ports it joins, the run whose place it takes."""

    ends: tuple[PortAt, PortAt]
    net: str
    run: str
    moves: int
    length_m: int = 0


@dataclass(frozen=True, kw_only=True)
class Option:
    """One thing that may be done with a lead: into which unit's sockets, for what, at what cost."""

    into: str = ""
    gain: Gain = NOTHING
    moves: int = 0


class World:
    """A tiny show with its plan and faults that stand."""

    def __init__(self, show: Show, plan: Plan, faults: Sequence[Fault]) -> None:
        self.show, self.plan, self.units = show, plan, show.units
        self.names = {(fault.what, fault.name) for fault in faults}
        self.ducts = self._graph_of_ducts(whole=False)
        self.whole = self._graph_of_ducts(whole=True)
        self.rows = {line.key: line for line in show.lines}

    # -- what works ------------------------------------------------------------------------------

    def off(self, name: str) -> bool:
        unit = self.units[name]
        if ("unit", name) in self.names or ("place", unit.place) in self.names:
            return True
        return bool(unit.circuits) and all(map(self._without, unit.circuits))

    def _without(self, circuit: str) -> bool:
        while circuit:
            if ("circuit", circuit) in self.names:
                return True
            circuit = self.show.circuits[circuit].fed_by
        return False

    def is_cut(self, run: PlannedRun) -> bool:
        ports = any(("port", str(end)) in self.names for end in run.ends)
        return ports or self.torn(run)

    def torn(self, run: PlannedRun) -> bool:
        ducts = any(("duct", duct) in self.names for duct in run.ducts)
        return ("run", run.name) in self.names or ducts

    def joins(self, cables: Iterable[Cable] = ()) -> Joined:
        """Give the pairs of units that some net joins, each unit with itself."""
        cables = list(cables)
        taken = {cable.run for cable in cables} | {""}
        ports = {end for cable in cables for end in cable.ends}
        found = {frozenset((name,)) for name in self.units if not self.off(name)}
        for net in sorted({run.net for run in self.plan.network.runs if run.net}):
            if ("net", net) in self.names:
                continue
            graph = nx.Graph()
            for run in self.plan.network.runs_on(net):
                free = run.name not in taken and ports.isdisjoint(run.ends)
                if free and not self.is_cut(run):
                    graph.add_edge(*(end.unit for end in run.ends))
            graph.add_edges_from(
                tuple(end.unit for end in cable.ends) for cable in cables if cable.net == net
            )
            graph.remove_nodes_from([name for name in list(graph) if self.off(name)])
            found |= self._pairs(graph)
        return found

    def _pairs(self, graph: nx.Graph) -> Joined:
        core = {name for name in graph if self.units[name].kind.does is Does.SWITCH}
        part = {}
        for n, some in enumerate(nx.connected_components(graph.subgraph(core))):
            part.update(dict.fromkeys(some, n))
        hung = {u: {part[v] for v in (u, *graph[u]) if v in part} for u in graph}
        pairs = itertools.combinations(graph, 2)
        return {frozenset((a, b)) for a, b in pairs if hung[a] & hung[b] or graph.has_edge(a, b)}

    # -- cables ----------------------------------------------------------------------------------

    def cables(self) -> list[Cable]:
        """Give every cable that may be moved or laid."""
        network = self.plan.network
        found: list[Cable] = []
        open_ports = [
            (each.port, each.net) for each in network.rescue_ports if self._works(each.port)
        ]
        for run in network.runs:
            on_net = [port for port, net in open_ports if net == run.net]
            found += self._instead_of(run, on_net) if run.net else ()
        for (one, net), (other, second) in itertools.combinations(open_ports, 2):
            found += self._laid("", net, one, other) if net == second else ()
        return found

    def _instead_of(self, run: PlannedRun, open_ports: list[PortAt]) -> Iterator[Cable]:
        fine = [end for end in run.ends if self._works(end)]
        for kept, loose in (run.ends, run.ends[::-1]):
            if kept in fine and loose not in fine and not self.torn(run):
                yield from self._moved(run, kept, loose, open_ports)
        if self.torn(run) and len(fine) == 2:
            yield from self._laid(run.name, run.net, *fine)
        if self.torn(run) or len(fine) < 2:
            for end, port in itertools.product(fine, open_ports):
                yield from self._laid(run.name, run.net, end, port)

    def _works(self, end: PortAt) -> bool:
        return not self.off(end.unit) and ("port", str(end)) not in self.names

    def _moved(
        self, run: PlannedRun, kept: PortAt, loose: PortAt, open_ports: list[PortAt]
    ) -> Iterator[Cable]:
        place = self.units[loose.unit].place
        for port in open_ports if ("place", place) not in self.names else ():
            if self.units[port.unit].place == place and port.unit != kept.unit:
                yield Cable(ends=(kept, port), net=run.net, run=run.name, moves=1)

    def _laid(self, run: str, net: str, one: PortAt, other: PortAt) -> Iterator[Cable]:
        a, b = (self.units[end.unit].place for end in (one, other))
        metres = self.metres(self.ducts, a, b)
        if metres is None or one.unit == other.unit or self._apart(a, b):
            return
        length = ceil((metres + 6) * 1.1 - 1e-9)  # 3 m at each end, and a tenth more
        if length <= 75 and self._in_stock(length):
            yield Cable(ends=(one, other), net=net, run=run, moves=2, length_m=length)

    def _apart(self, one: str, other: str) -> bool:
        """Say whether two places have no supply in common: no copper joins them then."""
        mine, theirs = self._supplies(one), self._supplies(other)
        return bool(mine) and bool(theirs) and not mine & theirs

    def _supplies(self, place: str) -> set[str]:
        fed = (u.circuits for u in self.units.values() if u.place == place)
        return {circuit for circuits in fed for circuit in circuits}

    def _in_stock(self, length: int) -> bool:
        return not self.show.stock or self._left(length) > 0

    def _left(self, length: int) -> int:
        used = [run.stock for run in self.plan.network.runs]
        some = (stock for stock in self.show.stock.values() if stock.length_m >= length)
        return sum(stock.count - used.count(stock.name) for stock in some)

    def sets_of_cables(self, most: int) -> Iterator[tuple[Cable, ...]]:
        cables = self.cables()
        for count in range(most + 1):
            for some in itertools.combinations(cables, count):
                ports = [end for cable in some for end in cable.ends]
                runs = [cable.run for cable in some if cable.run]
                once = len(set(ports)) == len(ports) and len(set(runs)) == len(runs)
                laid = [cable.length_m for cable in some if cable.length_m]
                enough = not self.show.stock or all(
                    self._left(length) >= sum(1 for each in laid if each >= length)
                    for length in laid
                )
                if once and enough:
                    yield some

    # -- ways through the room -------------------------------------------------------------------

    def _graph_of_ducts(self, *, whole: bool) -> nx.Graph:
        graph = nx.Graph()
        graph.add_nodes_from(self.show.places)
        for duct in self.show.ducts.values():
            if whole or ("duct", duct.name) not in self.names:
                graph.add_edge(*duct.between, weight=duct.length_m, name=duct.name)
        return graph

    def metres(self, graph: nx.Graph, one: str, other: str) -> float | None:
        """Give the metres of the shortest way; loose where no ducts lead at all, 10 m at most."""
        if nx.has_path(graph, one, other):
            return float(nx.dijkstra_path_length(graph, one, other))
        a, b = self.show.places[one].at_m, self.show.places[other].at_m
        if nx.has_path(self.whole, one, other) or a is None or b is None:
            return None
        return dist(a, b) * 1.2 if dist(a, b) <= 10 else None

    def lead_m(self, one: str, other: str) -> float | None:
        """Give the metres of a lead, None where its duct is cut: a lead goes the shortest way."""
        metres = self.metres(self.whole, one, other)
        if metres is None or not nx.has_path(self.whole, one, other):
            return metres
        nodes = nx.dijkstra_path(self.whole, one, other)
        names = [self.whole[a][b]["name"] for a, b in itertools.pairwise(nodes)]
        return None if any(("duct", name) in self.names for name in names) else metres + 3

    # -- leads -----------------------------------------------------------------------------------

    def leads(self) -> dict[Spot | LineKey, list[LineKey]]:
        """Give by the socket a lead is in, or by a line that starts in a unit, the lines there."""
        found: dict[Spot | LineKey, list[LineKey]] = {}
        for key in self.rows:
            chain = self._start(key)
            first = chain[0] if chain[0].side is Side.IN else key
            found.setdefault(self._out(key) or first, []).append(key)
        return found

    def _start(self, key: LineKey) -> tuple[Spot, ...]:
        decided = self.plan.line(key)
        assert decided is not None
        return next(iter(decided.start.values()))

    def _out(self, key: LineKey) -> Spot | None:
        """Give the socket out of which a line that ends on a lead comes; it has that end alone."""
        decided = self.plan.line(key)
        assert decided is not None
        return next((s for c in decided.ends.values() for s in c if s.side is Side.OUT), None)

    def ends(self, keys: Iterable[LineKey]) -> Iterator[At]:
        return ((key, n) for key in keys for n in range(len(self.rows[key].ends)))

    def arrives(self, at: At, joined: Joined) -> bool:
        """Say whether an end arrives as it is plugged."""
        key, out = at[0], self._out(at[0])
        sender = self._start(key)[-1].unit
        if not self._lead_lies(key):
            return False
        if out is None:
            return self._reaches(at, sender, joined)
        unit = self._member(at)
        lies = self.lead_m(self.place(out.unit), self.place(unit)) is not None
        return lies and not self.off(unit) and frozenset((sender, out.unit)) in joined

    def _reaches(self, at: At, sender: str, joined: Joined) -> bool:
        members = self.rows[at[0]].ends[at[1]].members
        return any(frozenset((sender, m.name)) in joined for m in members)

    def _member(self, at: At) -> str:
        return self.rows[at[0]].ends[at[1]].members[0].name

    def place(self, name: str) -> str:
        return self.units[name].place if name in self.units else name

    def _lead_lies(self, key: LineKey) -> bool:
        start = self.rows[key].starts[0].name
        if start in self.units:
            return True
        there = self.place(self._start(key)[0].unit)
        return ("place", start) not in self.names and self.lead_m(start, there) is not None

    def options(
        self, at: Spot | LineKey, keys: list[LineKey], joined: Joined, lost: set[At]
    ) -> Iterator[Option]:
        """Give what may be done with one lead in a world of so many cables."""
        mine = set(self.ends(keys))
        stays = {end for end in mine & lost if self.arrives(end, joined)}
        yield Option(gain=self.gain(stays))
        if not mine & lost:
            return
        if not isinstance(at, Spot):
            yield from self._started(at, joined, mine & lost)
            return
        for name in self.units:
            if self._fits(at, keys, name):
                found = {end for end in mine if self._lands(at, end, name, joined)}
                if mine - lost <= found:
                    moves = 1 + self._screens(at, found, name)
                    yield Option(into=name, gain=self.gain(found & lost), moves=moves)

    def _lands(self, at: Spot, end: At, name: str, joined: Joined) -> bool:
        if at.side is Side.IN:
            return self._reaches(end, name, joined)
        sender = self._start(end[0])[-1].unit
        return not self.off(self._member(end)) and frozenset((sender, name)) in joined

    def _screens(self, at: Spot, found: set[At], name: str) -> int:
        """Count routes and patches for what comes back: lines of one socket share theirs."""
        own = self.units[name].kind.inside_patch
        if at.side is Side.OUT:
            sender = self._start(next(iter(found))[0])[-1].unit if found else name
            return int(sender != name) + int(own)
        heard = {end: self._heard(end, name) for end in found}
        routes = {spot for spot in heard.values() if spot is not None}
        inside = {end for end, spot in heard.items() if spot is None}
        return len(routes) + (int(bool(routes)) if own else 0) + len(inside)

    def _heard(self, at: At, name: str) -> Spot | None:
        """Give the receive channel of an end that hears the network, None for the unit itself."""
        decided = self.plan.line(at[0])
        assert decided is not None
        members = self.rows[at[0]].ends[at[1]].members
        chains = [decided.ends[str(m)] for m in members if str(m) in decided.ends]
        living = [c for c in chains if not self.off(c[0].unit)] or chains
        return None if living[0][0].unit == name else living[0][0]

    def _started(self, key: LineKey, joined: Joined, lost: set[At]) -> Iterator[Option]:
        unit = self.units[self.rows[key].starts[0].name]
        if self.off(unit.name) and unit.standby and not self.off(unit.standby):
            ends = [end for end in lost if self._reaches(end, unit.standby, joined)]
            yield Option(gain=self.gain(ends), moves=1 + len(ends))

    def _fits(self, at: Spot, keys: list[LineKey], name: str) -> bool:
        unit = self.units[name]
        takes = unit.kind.does in (Does.BOX, Does.MIXER) and not unit.theirs
        if self.off(name) or not takes or name == at.unit:
            return False
        phantom = any(self.rows[key].needs_phantom for key in keys)
        return bool(self.free(name, at.side, phantom=phantom)) and all(
            self._near(self._far(at, key), at.unit, name) for key in keys
        )

    def _far(self, at: Spot, key: LineKey) -> str:
        """Give the place at the other end of a lead."""
        if at.side is Side.OUT:
            return self.place(self._member((key, 0)))
        return self.place(self.rows[key].starts[0].name)

    def _near(self, place: str, old: str, new: str) -> bool:
        if ("place", place) in self.names:
            return False
        metres = self.lead_m(place, self.place(new))
        now = self.metres(self.whole, place, self.place(old))
        return metres is not None and metres <= max(15.0, 3.0 + (now or 0.0))

    def gain(self, ends: Iterable[At]) -> Gain:
        """Count ends by what their lines are to the act; a wanted end of a must line is a want."""
        found = [0, 0, 0, 0]
        for key, n in ends:
            need = self.rows[key].need
            want = need is Need.MUST and self.rows[key].ends[n].want
            found[RANKS[Need.WANT if want else need]] += 1
        return (found[0], found[1], found[2], found[3])

    def free(self, name: str, side: Side, *, phantom: bool) -> int:
        busy = {s for d in self.plan.lines for s in d.spots()}
        sockets = [
            socket
            for socket in self.units[name].kind.sockets_on(side)
            if Spot(unit=name, side=side, number=socket.number) not in busy
            and (socket.phantom or not phantom)
            and (side is Side.OUT or socket.signal is Signal.MIC)
        ]
        return len(sockets)


def best(show: Show, plan: Plan, faults: Sequence[Fault], *, most_cables: int) -> tuple[Gain, int]:
    """Give the most that can come back with so many cables, and the fewest moves by which it does.

    A cable that is laid counts as two.
    """
    world = World(show, plan, faults)
    start, leads = world.joins(), world.leads()
    lost = {end for end in world.ends(world.rows) if not world.arrives(end, start)}
    sides = [at.side if isinstance(at, Spot) else Side.SEND for at in leads]
    phantom = [any(world.rows[key].needs_phantom for key in keys) for keys in leads.values()]
    most, fewest = NOTHING, 0
    for cables in world.sets_of_cables(most_cables):
        joined = world.joins(cables)
        if not start <= joined:
            continue
        each = [list(world.options(at, keys, joined, lost)) for at, keys in leads.items()]
        for chosen in itertools.product(*map(_worth, each)):
            total = _sum(option.gain for option in chosen)
            moves = sum(o.moves for o in chosen) + sum(c.moves for c in cables)
            better = total > most or (total == most and moves < fewest)
            if better and _room(world, chosen, sides, phantom):
                most, fewest = total, moves
    return most, fewest


def _sum(gains: Iterable[Gain]) -> Gain:
    a, b, c, d = (sum(some) for some in zip(*gains, strict=True))
    return a, b, c, d


def _worth(options: list[Option]) -> list[Option]:
    """Leave out what is no better than doing nothing."""
    first, *others = options
    return [first, *(option for option in others if option.gain > first.gain)]


def _room(
    world: World, chosen: Sequence[Option], sides: Sequence[Side], phantom: Sequence[bool]
) -> bool:
    for side in (Side.IN, Side.OUT):
        into: dict[str, list[bool]] = {}
        for option, mine, need in zip(chosen, sides, phantom, strict=True):
            if option.into and mine is side:
                into.setdefault(option.into, []).append(need)
        for name, needs in into.items():
            if len(needs) > world.free(name, side, phantom=False):
                return False
            if sum(needs) > world.free(name, side, phantom=True):
                return False
    return True
