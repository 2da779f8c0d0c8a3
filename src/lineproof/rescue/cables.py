"""Which cables join again what is parted: the part of the model that knows nothing of lines."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

from lineproof.decide.solver import IntVar
from lineproof.plan.network import PortAt
from lineproof.rescue.joins import Join, Joins, Opening
from lineproof.rescue.model import Model


class Cables:
    """The cables that may be moved or laid, and which parts of which net they join."""

    def __init__(self, model: Model, joins: Joins) -> None:
        self.model = model
        self.joins = joins
        self.used: dict[int, IntVar] = {}
        self._labels: dict[tuple[str, int], IntVar] = {}
        self._most: dict[str, int] = {}
        self._conns: dict[tuple[str, int, int], IntVar] = {}
        self._heard: dict[tuple[str, int, int], IntVar] = {}
        self._together: dict[tuple[str, str, bool], list[IntVar]] = {}

    def offer(self) -> None:
        """Let every cable be moved or laid."""
        for net, found in itertools.groupby(self.joins.all, key=lambda join: join.net):
            self._offer(net, list(found))
        self._ports()
        self._watts()
        self._stock()

    def chosen(self, has: Callable[[IntVar], bool]) -> tuple[Join, ...]:
        """Give the cables that are used, by a test of their variables."""
        return tuple(self.joins.all[n] for n, var in self.used.items() if has(var))

    def together(self, sender: str, receiver: str, *, asks: bool) -> list[IntVar]:
        """Give, net by net, whether cables join two units; nothing where none can.

        `asks`: and join them to a querier, without which multicast stops.
        """
        key = (sender, receiver, asks)
        if key not in self._together:
            found = (
                self._asked(net, one, other, asks=asks and self.joins.needs_querier(net))
                for net, one, other in self.joins.apart(sender, receiver)
                if {(net, one), (net, other)} <= self._labels.keys()
            )
            self._together[key] = [var for var in found if var is not None]
        return self._together[key]

    def _asked(self, net: str, one: int, other: int, *, asks: bool) -> IntVar | None:
        """Give whether two parts are joined, and to a querier where one is needed."""
        asking = self.joins.asking(net)
        if not asks or not asking.isdisjoint((one, other)):
            return self._conn(net, one, other)
        key = (net, one, other)
        if key not in self._heard:
            parts = [part for part in sorted(asking) if (net, part) in self._labels]
            if not parts:
                return None  # nobody would ask for members
            var = self._heard[key] = self.model.yes("asked")
            self.model.add(var <= self._conn(net, one, other))
            self.model.add(var <= sum(self._conn(net, one, part) for part in parts))
        return self._heard[key]

    def _conn(self, net: str, one: int, other: int) -> IntVar:
        first, second = sorted((one, other))
        key = (net, first, second)
        if key not in self._conns:
            var = self.model.yes("joined")
            a, b = self._labels[net, first], self._labels[net, second]
            self.model.same(a, b, most=self._most[net], given=var)
            self._conns[key] = var
        return self._conns[key]

    def _offer(self, net: str, joins: Sequence[Join]) -> None:
        """Let each part hang on at most one other, and bear the number of what it hangs on.

        Depth keeps parts from hanging in a ring. So two bear one number only if cables join them.
        """
        model, parts = self.model, sorted({part for join in joins for part in join.islands})
        most = self._most[net] = len(parts)
        depth = {part: model.whole(most - 1, "depth") for part in parts}
        labels = {part: model.whole(most - 1, "label") for part in parts}
        hangs: dict[int, list[IntVar]] = {part: [] for part in parts}
        for join in joins:
            ways = []
            for child, parent in (join.islands, join.islands[::-1]):
                way = model.yes("hangs")
                model.same(labels[child], labels[parent], most=most, given=way)
                model.add(depth[child] >= depth[parent] + 1 - most * (1 - way))
                hangs[child].append(way)
                ways.append(way)
            self._use(join, ways)
        for number, part in enumerate(parts):
            on = sum(hangs[part])
            model.add(on <= 1)
            model.same(labels[part], number, most=most, given=1 - on)
            self._labels[net, part] = labels[part]

    def _use(self, join: Join, ways: list[IntVar]) -> None:
        used = self.model.yes("cable")
        self.model.add(used == sum(ways))
        self.model.moves.append(used * join.plugs)
        self.model.metres.append(used * 10 * join.length_m)
        self.used[len(self.used)] = used

    def _ports(self) -> None:
        """Let every open port, loose end and cable be taken once."""
        openings: dict[Opening, list[IntVar]] = {}
        once: dict[PortAt | str, list[IntVar]] = {}
        for n, join in enumerate(self.joins.all):
            for opening in join.openings:
                openings.setdefault(opening, []).append(self.used[n])
            named = (join.run.name,) if join.run is not None else ()
            for each in (*join.fixed, *named):
                once.setdefault(each, []).append(self.used[n])
        for opening, some in openings.items():
            self.model.add(sum(some) <= len(opening.ports))
        for some in once.values():
            self.model.add(sum(some) <= 1)

    def _watts(self) -> None:
        """Feed no more over cables than a switch has left."""
        fed: dict[str, list[tuple[float, IntVar]]] = {}
        for n, join in enumerate(self.joins.all):
            for switch, watts in self.joins.feeds(join):
                fed.setdefault(switch, []).append((watts, self.used[n]))
        for switch, some in fed.items():
            # Classes ask for tenths of a watt.
            room = math.floor(10 * self.joins.spare_w(switch) + 1e-6)
            self.model.add(sum(var * round(10 * watts) for watts, var in some) <= max(0, room))

    def _stock(self) -> None:
        """Lay no more cables than the truck has left, of any length or more."""
        laid: dict[str, list[tuple[int, IntVar]]] = {}
        for n, join in enumerate(self.joins.all):
            if join.length_m:
                laid.setdefault(join.medium, []).append((join.length_m, self.used[n]))
        for medium, some in laid.items():
            have = self.joins.spare(medium)
            for least in sorted({length for length, _ in some}) if have is not None else ():
                there = sum(1 for metres in have or () if metres >= least)
                self.model.add(sum(var for length, var in some if length >= least) <= there)
