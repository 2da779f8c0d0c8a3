"""The drill a second time, with a graph library and none of the drill's own code.

What a line's ways are is taken from the one function that walks them; all else - what has power,
which ducts a lead lies in, what a net joins - is worked out here anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import networkx as nx  # type: ignore[import-untyped]

from lineproof.base.spot import Side
from lineproof.graph.faults import Fault
from lineproof.graph.ports import port_mode
from lineproof.graph.signal import By, Way, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.plan.network import PlannedRun
from lineproof.show.model import Line, Show


@dataclass(eq=False)
class Walk:
    """One way of a line, read once: what it passes, where its leads lie, what must come besides.

    `through`: of each of these sets one way must be whole too.
    """

    names: frozenset[str]
    ducts: frozenset[str]
    legs: frozenset[tuple[str, str]]
    through: list[list[Walk]] = field(default_factory=list)


class Second:
    """One show with its plan, as the second method sees it."""

    def __init__(self, show: Show, plan: Plan) -> None:
        self.show, self.plan = show, plan
        self.runs = [run for run in plan.network.runs if run.net]
        self.hung: dict[str, list[PlannedRun]] = {}
        for run in self.runs:
            for end in run.ends:
                self.hung.setdefault(end.unit, []).append(run)
        self.passes = {
            unit.name
            for unit in show.units.values()
            if unit.kind.does is Does.SWITCH or port_mode(show, unit) == "chain"
        }
        self.ducts = nx.MultiGraph()
        for duct in show.ducts.values():
            self.ducts.add_edge(*duct.between, key=duct.name, weight=duct.length_m)
        self.lead = lru_cache(maxsize=None)(self._lead)
        #: By line the ways to each part of an end, and by line the ends with all that leads there.
        self.walks: dict[str, dict[str, list[Walk]]] = {}
        for line in show.lines:
            mine = self.walks.setdefault(str(line.key), {})
            for way in self._ways(line):
                mine.setdefault(way.end, []).append(self._walk(line, way))
        self.ends = [
            (
                str(line.key),
                str(end),
                [walk for m in end.members for walk in self._to(line, str(m))],
            )
            for line in show.lines
            for end in line.ends
        ]
        for line in show.lines:
            self._connect(line)

    def _ways(self, line: Line) -> list[Way]:
        decided = self.plan.line(line.key)
        return [] if decided is None else [w for w in ways(self.show, decided) if w.spots]

    def _to(self, line: Line, end: str) -> list[Walk]:
        return self.walks[str(line.key)].get(end, [])

    def _to_unit(self, line: Line, unit: str) -> list[Walk]:
        mine = self.walks[str(line.key)]
        return [
            walk for end, found in mine.items() if end.partition(":")[0] == unit for walk in found
        ]

    def _walk(self, line: Line, way: Way) -> Walk:
        start = line.starts[0].name if way.start.startswith("also ") else way.start
        names = {start.partition(":")[0], way.end.partition(":")[0], *way.units()}
        hops = way.hops()
        leads = [(h.from_spot.unit, h.to_spot.unit) for h in hops if h.by is By.LEAD]
        if way.spots[0].side is Side.IN:
            leads.append((start.partition(":")[0], way.spots[0].unit))
        if way.spots[-1].side is Side.OUT:
            leads.append((way.spots[-1].unit, way.end.partition(":")[0]))
        lies = [self.lead(self.place(one), self.place(other)) for one, other in leads]
        return Walk(
            names=frozenset(names),
            ducts=frozenset().union(*lies),
            legs=frozenset((h.from_spot.unit, h.to_spot.unit) for h in hops if h.by is By.NETWORK),
        )

    def _connect(self, line: Line) -> None:
        """Note what a line goes through besides: an insert and back, what a mix is made of."""
        lines = self.show.lines
        back = [x for x in lines if x.back_to == line.key.number and x.key.act == line.key.act]
        inside = [x for x in lines if {x.key.number, x.group} & set(line.contains)]
        inputs = [walk for x in inside for walk in self._to_unit(x, line.starts[0].name)]
        for end, walks in self.walks[str(line.key)].items():
            returns = [self._to_unit(x, end.partition(":")[0]) for x in back]
            for walk in walks:
                walk.through = [found for found in (*returns, inputs) if found]

    def lost(self, faults: Iterable[Fault]) -> set[tuple[str, str]]:
        """Give (line, end) that can't be reached any more."""
        world = _World(self, tuple(faults))
        return {
            (line, end)
            for line, end, walks in self.ends
            if walks and not any(map(world.arrives, walks))
        }

    def place(self, name: str) -> str:
        return self.show.units[name].place if name in self.show.units else name

    def _lead(self, one: str, other: str) -> frozenset[str]:
        """Give the ducts of the shortest way between two places."""
        if one == other or one not in self.ducts or other not in self.ducts:
            return frozenset()
        if not nx.has_path(self.ducts, one, other):
            return frozenset()
        nodes = nx.shortest_path(self.ducts, one, other, weight="weight")
        return frozenset(self._shortest(a, b) for a, b in pairwise(nodes))

    def _shortest(self, one: str, other: str) -> str:
        ducts = self.ducts[one][other]
        return str(min((ducts[name]["weight"], name) for name in ducts)[1])


class _World:
    """What is left of a show with some faults."""

    def __init__(self, known: Second, faults: tuple[Fault, ...]) -> None:
        self.known, self.show = known, known.show
        names: dict[str, set[str]] = {}
        for fault in faults:
            names.setdefault(fault.what, set()).add(fault.name)
        self.names = names
        self.cut_ducts = names.get("duct", set())
        self.cut = {
            run.name
            for run in known.runs
            if run.name in names.get("run", set())
            or not self.cut_ducts.isdisjoint(run.ducts)
            or any(str(end) in names.get("port", ()) for end in run.ends)
        }
        self.dead = self._dead()
        self.gone = self.dead | names.get("place", set())
        nets = {run.net for run in known.runs} - names.get("net", set())
        self.reaches = [self._reaches(self._graph(net)) for net in sorted(nets)]
        self.known_joins: dict[tuple[str, str], bool] = {}
        self.known_whole: dict[int, bool] = {}

    def _dead(self) -> set[str]:
        names, units = self.names, self.show.units
        dead = set(names.get("unit", set()))
        dead |= {u.name for u in units.values() if u.rack in names.get("rack", set()) and u.rack}
        dead |= {u.name for u in units.values() if u.place in names.get("place", set())}
        while True:
            more = {u for u in units if u not in dead and not self._powered(u, dead)}
            if not more:
                return dead
            dead |= more

    def _powered(self, name: str, dead: set[str]) -> bool:
        unit = self.show.units[name]
        fed = unit.power == "network" and unit.kind.poe_class is not None
        hung = self.known.hung.get(name, []) if fed else []
        feeding = [r for r in hung if self._feeds(r.other_end(name).unit)]
        if not (unit.circuits or feeding) or (fed and not feeding):
            return True
        supplies = (
            self._live(circuit) and f"{name}/{n}" not in self.names.get("supply", set())
            for n, circuit in enumerate(unit.circuits, start=1)
        )
        over_cable = (
            r.name not in self.cut and r.other_end(name).unit not in dead for r in feeding
        )
        return any(supplies) or any(over_cable)

    def _feeds(self, name: str) -> bool:
        return any(port.feeds_w for port in self.show.units[name].kind.ports)

    def _live(self, circuit: str) -> bool:
        while circuit:
            if circuit in self.names.get("circuit", set()):
                return False
            each = self.show.circuits.get(circuit)
            circuit = each.fed_by if each is not None else ""
        return True

    def _graph(self, net: str) -> nx.MultiGraph:
        graph = nx.MultiGraph()
        for run in self.known.runs:
            ends = [end.unit for end in run.ends]
            if run.net == net and run.name not in self.cut and self.dead.isdisjoint(ends):
                graph.add_edge(*ends, key=run.name)
        return graph

    def _reaches(self, graph: nx.MultiGraph) -> dict[str, set[object]]:
        """Give by unit what it hangs on: parts of the net that pass on, and runs of its own.

        Two units are joined where they hang on one thing both.
        """
        core = graph.subgraph(self.known.passes)
        part = {name: n for n, found in enumerate(nx.connected_components(core)) for name in found}
        return {
            name: {part[near] for near in (name, *graph[name]) if near in part}
            | {frozenset((name, near)) for near in graph[name]}
            for name in graph
        }

    def _joined(self, one: str, other: str) -> bool:
        pair = (one, other)
        if pair not in self.known_joins:
            self.known_joins[pair] = any(
                not net.get(one, set()).isdisjoint(net.get(other, set())) for net in self.reaches
            )
        return self.known_joins[pair]

    def arrives(self, walk: Walk) -> bool:
        """Say whether a way is whole, and all that it goes through besides."""
        return self._whole(walk) and all(any(map(self._whole, needed)) for needed in walk.through)

    def _whole(self, walk: Walk) -> bool:
        if id(walk) not in self.known_whole:
            self.known_whole[id(walk)] = (
                walk.names.isdisjoint(self.gone)
                and walk.ducts.isdisjoint(self.cut_ducts)
                and all(self._joined(*leg) for leg in walk.legs)
            )
        return self.known_whole[id(walk)]
