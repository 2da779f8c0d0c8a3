"""The drill a second time, with a graph library and none of the drill's own code.

What a line's ways are is taken from the one function that walks them; all else - what has power,
which ducts a lead lies in, what a net joins - is worked out here anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

import networkx as nx  # type: ignore[import-untyped]

from lineproof.base.spot import Side
from lineproof.graph.faults import Fault
from lineproof.graph.signal import By, Way, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.show.model import Line, Show


class Second:
    """One show with its plan, as the second method sees it."""

    def __init__(self, show: Show, plan: Plan) -> None:
        self.show, self.plan = show, plan
        self.runs = [run for run in plan.network.runs if run.net]
        self.ducts = nx.MultiGraph()
        for duct in show.ducts.values():
            self.ducts.add_edge(*duct.between, key=duct.name, weight=duct.length_m)
        self.lead = lru_cache(maxsize=None)(self._lead)
        self.ways = {line.key: self._ways(line) for line in show.lines}

    def _ways(self, line: Line) -> list[Way]:
        decided = self.plan.line(line.key)
        return [] if decided is None else [w for w in ways(self.show, decided) if w.spots]

    def lost(self, faults: Iterable[Fault]) -> set[tuple[str, str]]:
        """Give (line, end) that can't be reached any more."""
        world = _World(self, tuple(faults))
        found = set()
        for line in self.show.lines:
            there = self.ways[line.key]
            for end in line.ends:
                mine = [w for w in there if w.end in {str(m) for m in end.members}]
                if mine and not any(world.arrives(line, way) for way in mine):
                    found.add((str(line.key), str(end)))
        return found

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
        self.known_joins: dict[tuple[str, str], bool] = {}
        names: dict[str, set[str]] = {}
        for fault in faults:
            names.setdefault(fault.what, set()).add(fault.name)
        self.names = names
        cut = names.get("duct", set())
        self.cut = {
            run.name
            for run in known.runs
            if run.name in names.get("run", set())
            or cut & set(run.ducts)
            or any(str(end) in names.get("port", set()) for end in run.ends)
        }
        self.dead = self._dead()
        self.nets = {
            net: self._graph(net)
            for net in {run.net for run in known.runs} - names.get("net", set())
        }

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
        hung = [r for r in self.known.runs if name in {e.unit for e in r.ends}] if fed else []
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

    def _joined(self, one: str, other: str) -> bool:
        if (one, other) not in self.known_joins:
            self.known_joins[one, other] = self._search(one, other)
        return self.known_joins[one, other]

    def _search(self, one: str, other: str) -> bool:
        for graph in self.nets.values():
            if one in graph and other in graph:
                switches = {n for n in graph if self.show.units[n].kind.does is Does.SWITCH}
                if nx.has_path(graph.subgraph(switches | {one, other}), one, other):
                    return True
        return False

    def arrives(self, line: Line, way: Way) -> bool:
        """Say whether a way is whole, and all that it goes through besides."""
        if not self._whole(line, way):
            return False
        unit = way.end.partition(":")[0]
        for other in self.show.lines:
            if line.key.number == other.back_to and other.key.act == line.key.act:
                back = [w for w in self.known.ways[other.key] if w.end.partition(":")[0] == unit]
                if back and not any(self._whole(other, each) for each in back):
                    return False
        mixer = line.starts[0].name
        inside = [x for x in self.show.lines if {x.key.number, x.group} & set(line.contains)]
        inputs = [
            (x, each)
            for x in inside
            for each in self.known.ways[x.key]
            if each.end.partition(":")[0] == mixer
        ]
        return not inputs or any(self._whole(x, each) for x, each in inputs)

    def _whole(self, line: Line, way: Way) -> bool:
        start = line.starts[0].name if way.start.startswith("also ") else way.start
        names = {start.partition(":")[0], way.end.partition(":")[0], *way.units()}
        if names & self.dead or names & self.names.get("place", set()):
            return False
        leads = [(h.from_spot.unit, h.to_spot.unit) for h in way.hops() if h.by is By.LEAD]
        if way.spots[0].side is Side.IN:
            leads.append((start.partition(":")[0], way.spots[0].unit))
        if way.spots[-1].side is Side.OUT:
            leads.append((way.spots[-1].unit, way.end.partition(":")[0]))
        for one, other in leads:
            lies = self.known.lead(self.known.place(one), self.known.place(other))
            if lies & self.names.get("duct", set()):
                return False
        return all(
            self._joined(h.from_spot.unit, h.to_spot.unit) for h in way.hops() if h.by is By.NETWORK
        )
