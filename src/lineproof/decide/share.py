"""Sockets that plugs of different acts share: who follows whom, with the fewest moves."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from lineproof.decide import solver as cp_model
from lineproof.decide.classes import SlotClass
from lineproof.decide.model import in_clique
from lineproof.graph.acts import Running

#: Counted work for one class; small problems end long before.
MOST_WORK = 10.0


@dataclass(frozen=True, kw_only=True)
class Item:
    """A single or a pair to be put, the acts it is needed in, and which half a single takes.

    `half` is None for either. `right_acts`: the acts of a pair's right half, on the even socket.
    """

    acts: frozenset[str]
    pair: bool = False
    half: int | None = None
    right_acts: frozenset[str] = frozenset()

    def acts_on(self, socket: int) -> frozenset[str]:
        """Give the acts in which the item needs the socket, once it is put on it."""
        return self.right_acts if self.pair and socket % 2 == 0 else self.acts


@dataclass(frozen=True, kw_only=True)
class Limit:
    """Of these items (by index; a pair's half 1 is its right) at most so many sockets are used."""

    items: frozenset[tuple[int, int]]
    sockets: int


class Crowded(Exception):
    """The items don't fit although no act alone is crowded: roles hold on to too many sockets."""


def share(
    cls: SlotClass, items: list[Item], running: Running, limits: Sequence[Limit] = ()
) -> list[int]:
    """Give the socket of every item (the odd one of a pair), in the order of the items.

    Whatever is needed in acts that overlap gets sockets apart. The fewest plugs are moved from act
    to act: as many sockets as possible are used, and none is lent out while its own plug is away,
    as that costs two moves. Then the first item takes the lowest socket it can, then the second,
    and so on: one answer, whoever works it out. Raises Crowded.
    """
    cp = cp_model.CpModel()
    put: list[dict[int, cp_model.IntVar]] = []
    for at, item in enumerate(items):
        sockets = [s + h for s in cls.slots for h in _halves(cls, item)]
        put.append({n: cp.new_bool_var(f"{at} in {n}") for n in sockets})
        cp.add_exactly_one(put[at].values())
    used = _limit(cp, cls, items, put, running)
    _keep_limits(cp, cls, items, put, limits)
    lent = _lent(cp, items, put, running)
    cp.maximize(sum(used) - sum(lent))
    found, most = _solved(cp, put)
    cp.clear_objective()
    cp.add(sum(used) - sum(lent) >= most)
    for at, item in enumerate(items):
        lowest = next(n for n in put[at] if not _taken(item, n, items[:at], found[:at], running))
        if found[at] != lowest or limits:
            cp.minimize(sum(n * var for n, var in put[at].items()))
            found, _ = _solved(cp, put)
        cp.add(put[at][found[at]] == 1)
    return found


def _solved(cp: cp_model.CpModel, put: list[dict[int, cp_model.IntVar]]) -> tuple[list[int], int]:
    """Give the socket of every item, and what the objective came to."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = MOST_WORK
    if solver.solve(cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise Crowded
    found = [next(n for n, var in one.items() if solver.value(var)) for one in put]
    return found, round(solver.objective_value)


def _lent(
    cp: cp_model.CpModel,
    items: list[Item],
    put: list[dict[int, cp_model.IntVar]],
    running: Running,
) -> list[cp_model.IntVar]:
    """Give, for every socket, when it is lent out between two acts of one item and comes back.

    A gap counts once however many have the socket in it: each of them is a move anyway.
    """
    order = {act.name: at for at, act in enumerate(running.acts)}
    lent = []
    for at, item in enumerate(items):
        acts = sorted(order[name] for name in item.acts if name in order)
        for first, then in itertools.pairwise(acts):
            between = [
                other
                for other, o in enumerate(items)
                if other != at and any(first < order.get(name, -1) < then for name in o.acts)
            ]
            for n in put[at] if between else ():
                for socket in _lies_on(item, n):
                    on = [v for o in between if (v := _on(put[o], items[o], socket)) is not None]
                    if on:
                        out = cp.new_bool_var(f"{at} lends {socket} after {first}")
                        for var in on:
                            cp.add(out >= put[at][n] + var - 1)
                        lent.append(out)
    return lent


def _lies_on(item: Item, socket: int) -> tuple[int, ...]:
    return (socket, socket + 1) if item.pair else (socket,)


def _taken(item: Item, n: int, others: list[Item], found: list[int], running: Running) -> bool:
    """Say whether an item put before keeps this one off the socket."""
    return any(
        running.clash(item.acts_on(n), other.acts_on(n))
        for n in _lies_on(item, n)
        for other, socket in zip(others, found, strict=True)
        if n in _lies_on(other, socket)
    )


def _keep_limits(
    cp: cp_model.CpModel,
    cls: SlotClass,
    items: list[Item],
    put: list[dict[int, cp_model.IntVar]],
    limits: Sequence[Limit],
) -> None:
    """Let a unit that has fewer channels than it hears plugs hear no more sockets than channels."""
    for limit in limits:
        used = []
        for socket in (s + h for s in cls.slots for h in (0, 1)):
            on = [
                var
                for at, h in sorted(limit.items)
                if not (items[at].pair and h != 1 - socket % 2)
                and (var := _on(put[at], items[at], socket)) is not None
            ]
            if on:
                some = cp.new_bool_var(f"{socket} heard")
                for var in on:
                    cp.add(some >= var)
                used.append(some)
        cp.add(sum(used) <= limit.sockets)


def _halves(cls: SlotClass, item: Item) -> tuple[int, ...]:
    if item.pair:
        return (0,)
    if item.half is not None:
        return (item.half,)
    return (0,) if cls.even is None else (0, 1)


def _limit(
    cp: cp_model.CpModel,
    cls: SlotClass,
    items: list[Item],
    put: list[dict[int, cp_model.IntVar]],
    running: Running,
) -> list[cp_model.IntVar]:
    used = []
    for slot in cls.slots:
        for n in (slot, slot + 1):
            there = [(i, _on(put[at], i, n)) for at, i in enumerate(items)]
            on = [(i, var) for i, var in there if var is not None]
            for clique in running.cliques:
                at_once = [var for i, var in on if in_clique(i.acts_on(n), clique)]
                if len(at_once) > 1:
                    cp.add(sum(at_once) <= 1)
            some = cp.new_bool_var(f"{n} used")
            cp.add(sum(var for _, var in on) >= some)
            used.append(some)
    return used


def _on(put: dict[int, cp_model.IntVar], item: Item, socket: int) -> cp_model.IntVar | None:
    """Give the choice that puts the item on the socket: a pair lies on its even one too."""
    if item.pair and socket % 2 == 0:
        return put.get(socket - 1)
    return put.get(socket)
