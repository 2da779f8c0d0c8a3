"""One net as a tree of switches: what hangs on each, what joins them, what is blocked.

Data only: which block stands under which, in which order, and what is written in it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.names import natural
from lineproof.graph.net import Fabric
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition
from lineproof.paper.sheets.net_parts import most_bps, network_of
from lineproof.plan.network import PlannedRun
from lineproof.reckon.delay import UNBOUNDED
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.loads import Load


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What a run carries as seen from one of its ends, bits a second: into that end and out of it.

    `most_in`, `most_out`: after the worst single fault.
    """

    into: int
    out: int
    most_in: int
    most_out: int

    @property
    def heavier(self) -> int:
        """Give the more of the two directions, which the line's weight shows."""
        return max(self.into, self.out)


@dataclass(frozen=True, kw_only=True)
class Chip:
    """A unit that hangs on a switch by `port`; `through` names the chained unit between.

    `delay_ns`: the worst bound of all it hears undisturbed and after any single fault; None where
    it hears nothing.
    """

    unit: str
    port: int
    run: str
    carried: Carried
    through: str = ""
    delay_ns: tuple[int | None, int | None] | None = None


@dataclass(frozen=True, kw_only=True)
class Joint:
    """A run from a block to another switch: its own port, the far unit and port.

    `blocked`: the tree lets nothing through; `loop`: it closes a loop that nothing breaks.
    """

    run: PlannedRun
    port: int
    far: str
    far_port: int
    speed_mbit: int
    carried: Carried
    blocked: bool = False
    loop: bool = False


@dataclass(frozen=True, kw_only=True)
class Block:
    """A switch (or whatever else stands on top of a part of a net) and what hangs on it.

    `depth`: blocks above it; `parent`: the block above, "" at the top. `up`: the run towards it.
    `across`: runs outside the tree, each told at both its ends. `roles`: keys of words.
    """

    unit: str
    place: str
    depth: int
    parent: str
    up: Joint | None
    across: tuple[Joint, ...]
    chips: tuple[Chip, ...]
    roles: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class NetMap:
    """All blocks of a net, each below its parent; `alone`: units on the net that no run joins."""

    net: str
    blocks: tuple[Block, ...]
    alone: tuple[str, ...]

    def at(self, place: str) -> tuple[Block, ...]:
        """Give the blocks of one place."""
        return tuple(block for block in self.blocks if block.place == place)


def net_map(edition: Edition, figures: NetFigures) -> NetMap:
    """Give a net as blocks: small branches first, so that a long one ends its list."""
    return _Walk(edition=edition, figures=figures).whole()


@dataclass(frozen=True, kw_only=True)
class _Walk:
    """Goes down a net's tree and gathers its blocks."""

    edition: Edition
    figures: NetFigures

    @property
    def fabric(self) -> Fabric:
        return self.figures.fabric

    @cached_property
    def loads(self) -> dict[int, Load]:
        return {load.way: load for load in self.figures.loads}

    @cached_property
    def runs(self) -> dict[str, PlannedRun]:
        return {run.name: run for run in network_of(self.edition).runs}

    @cached_property
    def below(self) -> list[list[int]]:
        """Give the nodes below each node of the tree, by port."""
        found: list[list[int]] = [[] for _ in self.fabric.nodes]
        for i, way in enumerate(self.figures.tree.up):
            if way >= 0:
                found[self.fabric.head[way]].append(i)
        for nodes in found:
            nodes.sort(key=lambda i: (self._port_above(i), natural(self.fabric.nodes[i].name)))
        return found

    @cached_property
    def size(self) -> list[int]:
        """Give how many blocks stand below each node, itself included."""
        tree = self.figures.tree
        found = [int(self._is_block(i)) for i in range(len(self.fabric.nodes))]
        for i in sorted(range(len(found)), key=lambda i: -tree.depth[i]):
            if tree.up[i] >= 0:
                found[self.fabric.head[tree.up[i]]] += found[i]
        return found

    def whole(self) -> NetMap:
        tree = self.figures.tree
        tops = [i for i, way in enumerate(tree.up) if way < 0]
        joined = [i for i in tops if self.fabric.ways_from[i]]
        alone = [self.fabric.nodes[i].name for i in tops if not self.fabric.ways_from[i]]
        order = sorted(joined, key=lambda i: (-self.size[i], natural(self.fabric.nodes[i].name)))
        blocks = tuple(block for i in order for block in self._blocks(i, 0, ""))
        return NetMap(net=self.fabric.net, blocks=blocks, alone=tuple(sorted(alone, key=natural)))

    def _is_block(self, i: int) -> bool:
        node = self.fabric.nodes[i]
        switch = self.edition.show.units[node.name].kind.does is Does.SWITCH
        return switch or self.figures.tree.up[i] < 0

    def _port_above(self, i: int) -> int:
        return self.fabric.port(self.figures.tree.up[i] ^ 1)

    def _blocks(self, top: int, depth: int, parent: str) -> Iterator[Block]:
        # Nets can be chains of any length: no recursion.
        ahead = [(top, depth, parent)]
        while ahead:
            i, depth, parent = ahead.pop()
            chips, blocks = self._hanging(i)
            name = self.fabric.nodes[i].name
            yield self._block(i, depth, parent, tuple(chips))
            order = sorted(blocks, key=lambda b: (self.size[b], natural(self._place(b)), b))
            ahead += [(b, depth + 1, name) for b in reversed(order)]

    def _place(self, i: int) -> str:
        return self.edition.show.units[self.fabric.nodes[i].name].place

    def _hanging(self, top: int) -> tuple[list[Chip], list[int]]:
        """Give the units that hang on a block, those behind a chained unit after it, and blocks."""
        chips: list[Chip] = []
        blocks: list[int] = []
        ahead = [(i, self._port_above(i), "") for i in reversed(self.below[top])]
        while ahead:
            i, port, through = ahead.pop()
            if self._is_block(i):
                blocks.append(i)
                continue
            chips.append(self._chip(i, port, through))
            name = self.fabric.nodes[i].name
            ahead += [(b, port, name) for b in reversed(self.below[i])]
        return chips, blocks

    def _chip(self, i: int, port: int, through: str) -> Chip:
        up = self.figures.tree.up[i]
        return Chip(
            unit=self.fabric.nodes[i].name,
            port=port,
            run=self.fabric.runs[up >> 1].name,
            carried=self._carried(up),
            through=through,
            delay_ns=self._delay(i),
        )

    def _carried(self, out: int) -> Carried:
        """Give what a run carries as seen from where the way `out` leaves."""
        into, going = self.loads[out ^ 1], self.loads[out]
        return Carried(
            into=into.total_bps,
            out=going.total_bps,
            most_in=most_bps(self.figures, into),
            most_out=most_bps(self.figures, going),
        )

    @cached_property
    def _delays(self) -> dict[int, tuple[int | None, int | None]]:
        """Give the worst bounds of each receiver, None where there is none."""
        found: dict[int, list[tuple[int, int]]] = {}
        for (_, receiver), delay in self.figures.swept.delay_ns.items():
            calm = 0 if delay.undisturbed is None else delay.undisturbed
            found.setdefault(receiver, []).append((calm, delay.worst))
        return {
            receiver: (_most(calm for calm, _ in each), _most(worst for _, worst in each))
            for receiver, each in found.items()
        }

    def _delay(self, i: int) -> tuple[int | None, int | None] | None:
        return self._delays.get(i)

    def _block(self, i: int, depth: int, parent: str, chips: tuple[Chip, ...]) -> Block:
        tree = self.figures.tree
        outside = [
            way
            for way in self.fabric.ways_from[i]
            if way >> 1 in tree.blocked or way >> 1 in tree.loops
        ]
        return Block(
            unit=self.fabric.nodes[i].name,
            place=self._place(i),
            depth=depth,
            parent=parent,
            up=self._joint(tree.up[i]) if tree.up[i] >= 0 else None,
            across=tuple(self._joint(way) for way in outside),
            chips=chips,
            roles=tuple(self._roles(i)),
        )

    def _joint(self, way: int) -> Joint:
        run, tree = self.fabric.runs[way >> 1], self.figures.tree
        return Joint(
            run=self.runs[run.name],
            port=self.fabric.port(way),
            far=self.fabric.nodes[self.fabric.head[way]].name,
            far_port=self.fabric.port(way ^ 1),
            speed_mbit=run.speed_mbit,
            carried=self._carried(way),
            blocked=way >> 1 in tree.blocked,
            loop=way >> 1 in tree.loops,
        )

    def _roles(self, i: int) -> Iterator[str]:
        """Give the words for what a switch is to its net: root and querier as it is elected."""
        name = self.fabric.nodes[i].name
        if name in self.figures.tree.roots:
            yield "root"
        if self.figures.swept.calm.paths.querier[i] == i:
            yield "querier"
        plan = network_of(self.edition).nets.get(self.fabric.net)
        for key, names in (
            (("second-root", plan.roots), ("second-querier", plan.queriers)) if (plan) else ()
        ):
            if name in names[1:2]:
                yield key


def _most(times: Iterator[int]) -> int | None:
    """Give the longest, None where one has no bound."""
    every = list(times)
    return None if UNBOUNDED in every else max(every)


def places_of(maps: Collection[NetMap]) -> tuple[str, ...]:
    """Give every place where a block of one of the nets stands, in natural order."""
    return tuple(sorted({block.place for it in maps for block in it.blocks}, key=natural))
