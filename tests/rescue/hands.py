"""Somebody with a card in the hand: carries out moves as they are told, and knows nothing else.

Nothing here comes from the rescue but the moves themselves. A card that can't be carried out - a
socket that is in use, a route that hears something else than the card says, a patch that leads
nowhere - raises CardError.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import dist

import networkx as nx  # type: ignore[import-untyped]

from lineproof.base.part import ALSO, split_part
from lineproof.base.spot import Side, Spot
from lineproof.drill.dead import Dead
from lineproof.graph.signal import By, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan, Plan
from lineproof.plan.network import PlannedRun, PortAt, Stream
from lineproof.rescue.moves import Do, Move
from lineproof.show.model import End, Line, Show, Target
from lineproof.show.sockets_of import multicores

#: A row that names one of these only says where one plugs in.
DOORS = (Does.BOX, Does.DROP_BOX, Does.TIE_PANEL)


class CardError(Exception):
    """A card that nobody could carry out as it is told."""


@dataclass(kw_only=True)
class Row:
    """One line while it is being changed."""

    line: Line
    start: dict[str, list[Spot]]
    ends: dict[str, list[Spot]]
    ties: dict[str, Spot]
    #: By end as it was, the end as it is now: another box, or a unit that stands in.
    moved: dict[str, str] = field(default_factory=dict)

    @property
    def main(self) -> str:
        return next(name for name in self.start if not name.startswith(ALSO))


class Hands:
    """A show with its plan; `dead`: what no longer works, `broken`: ports that don't either."""

    def __init__(
        self, show: Show, plan: Plan, dead: Dead, broken: frozenset[str] = frozenset()
    ) -> None:
        self.show, self.plan, self.dead, self.broken = show, plan, dead, broken
        self.cores = multicores(show)
        self.runs = {run.name: run for run in plan.network.runs}
        self.streams: dict[tuple[str, str], dict[int, set[str]]] = {}
        self.rows = {
            decided.key: Row(
                line=line,
                start={name: list(chain) for name, chain in decided.start.items()},
                ends={name: list(chain) for name, chain in decided.ends.items()},
                ties=dict(decided.ties),
            )
            for decided in plan.lines
            if (line := show.line(decided.key)) is not None
        }
        #: By dead amplifier the one on whose outputs its loudspeakers hang now.
        self.emptied: dict[str, str] = {}
        self.before = _hops(show, plan)

    def carry_out(self, moves: Sequence[Move]) -> tuple[Show, Plan]:
        """Give the show and plan as they are once every move of a card is done."""
        for do, act in (
            (Do.CABLE, self._cable),
            (Do.LAY, self._lay),
            (Do.PLUG, self._plug),
            (Do.START, self._start),
            (Do.PATCH, self._patch),
            (Do.ROUTE, self._route),
        ):
            for move in moves:
                if move.do is do:
                    act(move)
        self._unfed(moves)
        for row in self.rows.values():
            self._heard_already(row)
        show, plan = self._done()
        self._nothing_untold(show, plan, moves)
        return show, plan

    # -- network cables --------------------------------------------------------------------------

    def _cable(self, move: Move) -> None:
        old, new = PortAt.parse(move.old), PortAt.parse(move.new)
        run = self._run_at(old)
        if run is None or run.name not in move.what.split():
            raise CardError(f"{move.words}: that cable is not in {old}")
        if self._run_at(new) is not None:
            raise CardError(f"{move.words}: {new} is in use")
        if self._place(old.unit) != self._place(new.unit):
            raise CardError(f"{move.words}: the cable ends elsewhere")
        one, other = (new if end == old else end for end in run.ends)
        self._takes(move, new, run.medium)
        self.runs[run.name] = replace(run, ends=(one, other))

    def _lay(self, move: Move) -> None:
        one, other = PortAt.parse(move.old), PortAt.parse(move.new)
        nets = {net for end in (one, other) if (net := self._net(end))}
        if len(nets) != 1:
            raise CardError(f"{move.words}: between nets {sorted(nets)}")
        ducts, metres = self._way(self._place(one.unit), self._place(other.unit))
        if move.length_m < metres:
            raise CardError(f"{move.words}: {metres} m are needed")
        for end in (one, other):
            old = self._run_at(end)
            if old is not None:  # its plug comes out first
                if old.name not in self.dead.runs and self._is_whole(old):
                    raise CardError(f"{move.words}: {end} is in use by {old.name}")
                del self.runs[old.name]
        medium = move.what.split()[0]
        for end in (one, other):
            self._takes(move, end, medium)
        if medium == "copper" and move.length_m > 100:  # ISO/IEC 11801-1: 100 m of copper at most
            raise CardError(f"{move.words}: copper does not reach so far")
        name = f"laid-{len(self.runs)}-{one}-{other}".replace(":", "-")
        self.runs[name] = PlannedRun(
            name=name, net=nets.pop(), ends=(one, other), ducts=ducts, medium=medium
        )

    def _run_at(self, port: PortAt) -> PlannedRun | None:
        return next((run for run in self.runs.values() if port in run.ends and run.net), None)

    def _is_whole(self, run: PlannedRun) -> bool:
        return all(end.unit not in self.dead.units for end in run.ends)

    def _takes(self, move: Move, port: PortAt, medium: str) -> None:
        """Hold a port against what is plugged into it."""
        ports = {each.number: each for each in self.show.units[port.unit].kind.ports}
        wanted = "copper" if medium == "copper" else "fibre"
        number = port.number or 1
        if str(port) in self.broken or number not in ports:
            raise CardError(f"{move.words}: there is no {port} that works")
        if ports[number].medium != wanted:
            raise CardError(f"{move.words}: {port} takes no {medium}")

    def _net(self, port: PortAt) -> str:
        """Give the net of a port: a switch has one, another port that of the cable planned in it.

        "" for a port that was never used.
        """
        network = self.plan.network
        if port.unit in network.switch_nets:
            return network.switch_nets[port.unit]
        return next((run.net for run in network.runs if port in run.ends), "")

    def _way(self, one: str, other: str) -> tuple[tuple[str, ...], float]:
        """Give the ducts of the shortest way that is whole, and its metres."""
        graph = nx.Graph()
        for duct in self.show.ducts.values():
            a, b = duct.between
            known = graph.get_edge_data(a, b)
            shorter = known is None or duct.length_m < known["weight"]
            if duct.name not in self.dead.ducts and shorter:
                graph.add_edge(a, b, weight=duct.length_m, name=duct.name)
        if one == other:
            return (), 0.0
        if one not in graph or other not in graph or not nx.has_path(graph, one, other):
            return (), 0.0  # laid loose
        metres, nodes = nx.single_source_dijkstra(graph, one, other)
        return tuple(graph[a][b]["name"] for a, b in itertools.pairwise(nodes)), metres

    # -- leads -----------------------------------------------------------------------------------

    def _plug(self, move: Move) -> None:
        if not move.lines:
            self._outputs(move)
            return
        old, new = Spot.parse(move.old), Spot.parse(move.new)
        if old.side is not new.side:
            raise CardError(f"{move.words}: an input is no output")
        busy = {spot for row in self.rows.values() for spot in _spots(row)}
        if new in busy or self._real(new) in busy:
            raise CardError(f"{move.words}: {new} is in use")
        for row in self._of(move):
            self._may_go_there(move, row, old, new)
            ways = (self._start_into, self._end_from, self._end_into)
            if not any(way(row, old, new) for way in ways):
                raise CardError(f"{move.words}: line {row.line.key} is not in {old}")
        left = [str(key) for key, row in self.rows.items() if old in _spots(row)]
        if left:
            raise CardError(f"{move.words}: line {', '.join(left)} is on that lead too")

    def _may_go_there(self, move: Move, row: Row, old: Spot, new: Spot) -> None:
        """Hold a socket against what a lead needs, and its place against how long a lead is."""
        unit, real = self.show.units[new.unit], self._real(new)
        # What only lacks power may have it again, over a cable that was moved before.
        gone = self.dead.units - self.dead.unpowered
        if {new.unit, real.unit} & gone or unit.theirs:
            raise CardError(f"{move.words}: {new.unit} is not to be used")
        sockets = {each.number: each for each in unit.kind.sockets_on(new.side)}
        behind = {
            each.number: each for each in self.show.units[real.unit].kind.sockets_on(new.side)
        }
        if new.number not in sockets or real.number not in behind:
            raise CardError(f"{move.words}: there is no {new}")
        starts = _socket(row.start[row.main]) == old
        if starts and row.line.needs_phantom and not behind[real.number].phantom:
            raise CardError(f"{move.words}: line {row.line.key} needs phantom")
        far = row.line.starts[0].name if starts else self._far_end(row, old)
        place = self.show.units[far].place if far in self.show.units else far
        length = self._lead_m(place, self._place(new.unit))
        if length > max(15.0, self._lead_m(place, self._place(old.unit))):
            raise CardError(f"{move.words}: that is {length} m of lead")

    def _far_end(self, row: Row, old: Spot) -> str:
        """Give where an end's lead comes from, or goes to, at its other side."""
        for name, chain in row.ends.items():
            if chain and chain[-1] == old and old.side is Side.IN:
                return chain[-2].unit
            if _out(chain) == old:
                return name.partition(":")[0]
        return old.unit

    def _lead_m(self, one: str, other: str) -> float:
        """Give the metres of a lead: along the ducts, else straight and a fifth more, and 3 m."""
        graph = nx.Graph()
        graph.add_nodes_from(self.show.places)
        for duct in sorted(self.show.ducts.values(), key=lambda duct: -duct.length_m):
            graph.add_edge(*duct.between, weight=duct.length_m)
        if nx.has_path(graph, one, other):
            return float(nx.dijkstra_path_length(graph, one, other)) + 3
        a, b = self.show.places[one].at_m, self.show.places[other].at_m
        return 3.0 if a is None or b is None else 1.2 * dist(a, b) + 3

    def _start_into(self, row: Row, old: Spot, new: Spot) -> bool:
        name = row.main
        chain = row.start[name]
        if _socket(chain) != old:
            return False
        before = chain[:1] if chain[0].side is Side.OUT else []
        real = self._real(new)
        row.ties.pop(name, None)
        row.start[name] = [*before, new, *([real] if real != new else [])]
        if self._is_door(name):
            row.start = {(new.unit if n == name else n): c for n, c in row.start.items()}
            rest = tuple(start for start in row.line.starts[1:] if start.name != new.unit)
            row.line = replace(row.line, starts=(Target(name=new.unit), *rest))
        return True

    def _end_from(self, row: Row, old: Spot, new: Spot) -> bool:
        name = next((n for n, chain in row.ends.items() if _out(chain) == old), None)
        if name is None:
            return False
        chain = row.ends[name]
        beyond = chain[chain.index(old) + 1 :]
        real = self._real(new)
        row.ties.pop(name, None)
        row.ends[name] = [*([real] if real != new else []), new, *beyond]
        if self._is_door(name):
            self._now_ends_at(row, name, new.unit)
        return True

    def _end_into(self, row: Row, old: Spot, new: Spot) -> bool:
        """Plug an end's lead into what stands in for the dead unit at its far end."""
        name = next((n for n, chain in row.ends.items() if chain and chain[-1] == old), None)
        if name is None or old.side is not Side.IN or not self._may_stand_in(new.unit, old.unit):
            return False
        row.ends[name] = [*row.ends[name][:-1], new]
        self._now_ends_at(row, name, new.unit)
        return True

    def _outputs(self, move: Move) -> None:
        """Move all that hangs on a dead amplifier to the same outputs of another."""
        dead = move.old.removeprefix("outputs of ")
        other = move.new.removeprefix("the same outputs of ")
        amplifiers = all(self.show.units[u].kind.does is Does.AMPLIFIER for u in (dead, other))
        if not amplifiers or move.what != f"loudspeaker leads of {dead}" or other != move.unit:
            raise CardError(f"{move.words}: which leads?")
        if other in self.emptied.values():
            raise CardError(f"{move.words}: something hangs there already")
        self.emptied[dead] = other

    def _now_ends_at(self, row: Row, name: str, unit: str) -> str:
        """Let an end be at another unit, named as it was (`amp:receive-2`); give its name."""
        self._hangs_on(name.partition(":")[0], unit)
        other = "".join((unit, *name.partition(":")[1:]))
        row.ends[other] = row.ends.pop(name, [])
        row.line = replace(row.line, ends=_instead(row.line.ends, name, _target(other)))
        row.moved[name] = other
        return other

    def _hangs_on(self, dead: str, unit: str) -> None:
        there = self.show.units.get(dead)
        amplifier = there is not None and there.kind.does is Does.AMPLIFIER
        if amplifier and dead in self.dead.units and self.emptied.get(dead) != unit:
            raise CardError(f"nobody moves the loudspeakers of {dead} to {unit}")

    # -- at a screen -----------------------------------------------------------------------------

    def _start(self, move: Move) -> None:
        new = Spot.parse(move.new)
        (row,) = self._of(move)
        dead = row.start[row.main][0].unit
        if dead != move.old or new.side is not Side.SEND or new.unit != move.unit:
            raise CardError(f"{move.words}: line {row.line.key} starts at {dead}")
        row.start.pop(row.main)
        row.start = {new.unit: [new], **{n: c for n, c in row.start.items() if n != new.unit}}
        rest = tuple(start for start in row.line.starts[1:] if start.name != new.unit)
        row.line = replace(row.line, starts=(Target(name=new.unit), *rest))

    def _patch(self, move: Move) -> None:
        word, unit = move.what.split(" of ")
        old, new = Spot.parse(f"{unit}:{word}"), Spot.parse(move.new)
        if not old.unit == new.unit == move.unit:
            raise CardError(f"{move.words}: a patch stays inside one unit")
        if not self.show.units[unit].kind.inside_patch:
            raise CardError(f"{move.words}: {unit} has no patch of its own")
        for row in self._of(move):
            if new.side is Side.SEND:
                chain = row.start[row.main]
                if chain[-1] != old:
                    raise CardError(f"{move.words}: line {row.line.key} is not on {old}")
                chain.append(new)
                continue
            name = self._end_with(row, new, move)
            chain = row.ends[name]
            after = chain[chain.index(new) :] if new in chain else [new]
            row.ends[name] = [old, *after] if old.side is Side.RECEIVE else after
            if old.side is Side.IN and old not in row.start[row.main]:
                raise CardError(f"{move.words}: line {row.line.key} is not on {old}")

    def _route(self, move: Move) -> None:
        send, new = Spot.parse(move.what), Spot.parse(move.new)
        if (send.side, new.side) != (Side.SEND, Side.RECEIVE):
            raise CardError(f"{move.words}: that is no route")
        hears = {s for s, r in self.before[By.NETWORK] if r == new}
        if move.old and Spot.parse(move.old) not in hears:
            raise CardError(f"{move.words}: it hears {', '.join(map(str, hears)) or 'nothing'}")
        for row in self._of(move):
            if send != self._sends(row):
                raise CardError(f"{move.words}: line {row.line.key} is not on {send}")
            heard = (self._heard(split_part(n)[1] or "", c) for n, c in row.ends.items())
            if new not in heard:
                name = self._end_with(row, new, move)
                row.ends[name] = [new, *(s for s in row.ends[name] if s.side is not Side.RECEIVE)]
        shy = any(row.line.private or row.line.never for row in self._of(move))
        by_channel = self.streams.setdefault((send.unit, new.unit if shy else ""), {})
        by_channel.setdefault(send.number, set()).add(new.unit)

    def _sends(self, row: Row) -> Spot:
        last = row.start[row.main][-1]
        if last.side is Side.SEND:
            return last
        return Spot(unit=last.unit, side=Side.SEND, number=last.number)

    def _heard(self, only: str, chain: list[Spot]) -> Spot | None:
        """Give the receive channel at which an end is heard, its own or that of its socket."""
        if only or not chain:
            return None
        first = chain[0]
        if first.side is Side.OUT and not self.show.units[first.unit].kind.inside_patch:
            return Spot(unit=first.unit, side=Side.RECEIVE, number=first.number)
        return first if first.side is Side.RECEIVE else None

    def _end_with(self, row: Row, spot: Spot, move: Move) -> str:
        """Give the end of a line on whose way a spot is; what is new stands in for another."""
        plain = [name for name in row.ends if not split_part(name)[1]]
        for name in plain:
            new = name.partition(":")[0] == spot.unit and not row.ends[name]
            if spot in row.ends[name] or new:
                return name
        # Of several ends at a dead unit the one of the same number.
        plain.sort(key=lambda name: not name.endswith(f"-{spot.number}"))
        for name in plain:
            dead = name.partition(":")[0]
            if self._may_stand_in(spot.unit, dead):
                if dead in self.emptied and spot.number != row.ends[name][0].number:
                    raise CardError(f"{move.words}: its loudspeakers hang on another output")
                other = self._now_ends_at(row, name, spot.unit)
                row.ends[other] = []
                return other
        raise CardError(f"{move.words}: line {row.line.key} has no end there")

    def _heard_already(self, row: Row) -> None:
        """Let what stands in for a dead unit stand at its end, where it hears the line anyway."""
        heard = {name.partition(":")[0]: name for name in row.ends if not split_part(name)[1]}
        living = (heard.keys() & self.show.units.keys()) - self.dead.units
        for _, member in row.line.end_members():
            if member.name not in self.dead.units or str(member) in row.moved:
                continue
            unit = next((u for u in sorted(living) if self._may_stand_in(u, member.name)), None)
            if unit is not None:
                self._hangs_on(member.name, unit)
                ends = _instead(row.line.ends, str(member), _target(heard[unit]))
                row.line = replace(row.line, ends=ends)

    def _may_stand_in(self, unit: str, dead: str) -> bool:
        there = self.show.units.get(dead)
        return there is not None and (there.standby == unit or dead in self.show.units[unit].covers)

    # -- words -----------------------------------------------------------------------------------

    def _of(self, move: Move) -> list[Row]:
        if not move.lines:
            raise CardError(f"{move.words}: for no line")
        return [self.rows[key] for key in move.lines]

    def _real(self, spot: Spot) -> Spot:
        return self.cores.real(spot)

    def _place(self, name: str) -> str:
        return self.show.units[name].place

    def _is_door(self, name: str) -> bool:
        unit = self.show.units.get(name.partition(":")[0])
        return unit is not None and unit.kind.does in DOORS

    # -- what follows ----------------------------------------------------------------------------

    def _done(self) -> tuple[Show, Plan]:
        lines = tuple(self._decided(decided) for decided in self.plan.lines)
        network = self.plan.network
        network = replace(
            network,
            runs=tuple(sorted(self.runs.values(), key=lambda run: run.name)),
            streams=(*network.streams, *self._new_streams()),
        )
        rows = tuple(
            self.rows[line.key].line if line.key in self.rows else line for line in self.show.lines
        )
        return replace(self.show, lines=rows), replace(self.plan, lines=lines, network=network)

    def _decided(self, decided: LinePlan) -> LinePlan:
        row = self.rows.get(decided.key)
        if row is None:
            return decided
        return replace(
            decided,
            start={name: tuple(chain) for name, chain in row.start.items()},
            ends={name: tuple(chain) for name, chain in row.ends.items()},
            ties=row.ties,
        )

    def _new_streams(self) -> list[Stream]:
        """Give what each sender has to send besides, in streams of their own.

        What no third may hear goes to each of its receivers alone.
        """
        found: list[Stream] = []
        for (sender, _), channels in sorted(self.streams.items()):
            most = self.show.units[sender].kind.channels_per_stream or 8
            numbers = sorted(channels)
            for first in range(0, len(numbers), most):
                some = tuple(numbers[first : first + most])
                heard = set().union(*(channels[n] for n in some))
                found.append(
                    Stream(
                        name=f"{sender}/card-{len(found)}",
                        sender=sender,
                        channels=some,
                        receivers=tuple(sorted(heard)),
                        multicast=len(heard) > 1,
                        packet_us=round(self.show.packet_ms * 1000),
                        depth_bits=24,
                    )
                )
        self._no_more_streams_than_units_take(found)
        return found

    def _no_more_streams_than_units_take(self, new: list[Stream]) -> None:
        for name, unit in self.show.units.items() if new else ():
            old = [s for s in self.plan.network.streams if s.sender not in self.dead.units]
            sent = [s for s in (*old, *new) if s.sender == name]
            heard = [s for s in (*old, *new) if name in s.receivers]
            more = {s.sender for s in new} | {r for s in new for r in s.receivers}
            kind = unit.kind
            if name in more and len(sent) > kind.streams_send and sent[-1] in new:
                raise CardError(f"{name} can't send {len(sent)} streams")
            if name in more and len(heard) > kind.streams_receive and heard[-1] in new:
                raise CardError(f"{name} can't take {len(heard)} streams")

    def _unfed(self, moves: Sequence[Move]) -> None:
        """Let an end go where nobody has made the route to it that its line now needs."""
        told = {(Spot.parse(m.what), Spot.parse(m.new)) for m in moves if m.do is Do.ROUTE}
        there = self.before[By.NETWORK] | told
        _, plan = self._done()
        for decided in plan.lines:
            for way in ways(self.show, decided):
                steps = [(h.from_spot, h.to_spot) for h in way.hops() if h.by is By.NETWORK]
                if not there.issuperset(steps):
                    self.rows[decided.key].ends.pop(way.end, None)

    def _nothing_untold(self, show: Show, plan: Plan, moves: Sequence[Move]) -> None:
        """Hold the steps that lines now take against those they took and those on the card."""
        now = _hops(show, plan)
        told = {(m.what, m.new) for m in moves if m.do is Do.ROUTE}
        new = {(str(s), str(r)) for s, r in now[By.NETWORK] - self.before[By.NETWORK]}
        if told != new:
            raise CardError(f"routes on the card only {told - new}, on none {new - told}")
        told = {(m.what, m.new) for m in moves if m.do is Do.PATCH}
        new = {
            (f"{str(a).partition(':')[2]} of {a.unit}", str(b))
            for a, b in now[By.INSIDE] - self.before[By.INSIDE]
            if show.units[a.unit].kind.inside_patch
        }
        if told != new:
            raise CardError(f"patches on the card only {told - new}, on none {new - told}")


def _hops(show: Show, plan: Plan) -> dict[By, set[tuple[Spot, Spot]]]:
    """Give every step that any line takes, by what carries it."""
    found: dict[By, set[tuple[Spot, Spot]]] = {by: set() for by in By}
    for decided in plan.lines:
        for way in ways(show, decided):
            for hop in way.hops():
                found[hop.by].add((hop.from_spot, hop.to_spot))
            # A mix made where it is wanted is known by its send channel.
            mixed, *_ = decided.start[way.start] or (None,)
            made_here = mixed is not None and mixed.side is Side.SEND and way.spots
            if mixed is not None and made_here and mixed not in way.spots:
                found[By.INSIDE].add((mixed, way.spots[0]))
    return found


def _spots(row: Row) -> list[Spot]:
    return [spot for chain in (*row.start.values(), *row.ends.values()) for spot in chain]


def _socket(chain: Sequence[Spot]) -> Spot | None:
    """Give the socket into which a line's lead goes at its start."""
    return next((spot for spot in chain if spot.side is Side.IN), None)


def _out(chain: Sequence[Spot]) -> Spot | None:
    """Give the socket out of which a lead goes to an end."""
    return next((spot for spot in reversed(chain) if spot.side is Side.OUT), None)


def _target(text: str) -> Target:
    """Give an end's member by its name in the plan: `desk`, `amp:receive-2`, `amp:2`."""
    name, _, rest = text.partition(":")
    side, dash, number = rest.rpartition("-")
    if not rest:
        return Target(name=name)
    return Target(name=name, side=Side(side) if dash else None, numbers=(int(number),))


def _instead(ends: tuple[End, ...], name: str, target: Target) -> tuple[End, ...]:
    """Give the ends with one of their members replaced; if another is that already, it stays."""
    return tuple(
        replace(
            end,
            members=tuple(
                target if str(member) == name else member
                for member in end.members
                if str(member) == name or member.name != target.name
            ),
        )
        if any(str(member) == name for member in end.members)
        else end
        for end in ends
    )
