"""The best streams of one sender at given prices, with the bound that proves it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import gcd

from lineproof.decide.streams.column import Column, Prices, tidy
from lineproof.decide.streams.family import Family
from lineproof.decide.streams.greedy import chunks
from lineproof.decide.streams.program import Program
from lineproof.decide.streams.task import Draft, Mask, Task

#: Nodes after which the search for one sender ends with what it has and its bound.
NODES = 400
#: Parts of the least step of the cost: what a stream costs more, which only settles ties, and
#: how near to the best an answer must be proved.
TIE, CLOSE = 1 / 128, 0.9
#: So near to the best, as a part of what the sender costs, an answer may be proved instead.
NEAR = 5e-4


@dataclass(frozen=True, kw_only=True)
class Best:
    """A column, and what no column of the family can cost less than at these prices."""

    column: Column
    bound: float


class SetModel:
    """How many streams go to every set, and how many channels of each class are in them.

    Every channel is in one shared set; whoever needs it and is not in that set gets it once more
    in a bundle of its own. Whole numbers only, and no two answers that differ only by names.
    """

    def __init__(self, task: Task, family: Family, prices: Prices, over: float) -> None:
        self.task = task
        self.family = family
        self.prices = prices
        self.over = over
        self.near = sum(
            task.hops(each.receivers) * task.channel_bits_s * len(each.channels)
            for each in task.classes
        )
        self.program = Program()
        self.unit = float(task.channel_bits_s)
        headers = (task.header_bits_s(mask) for mask in family.sets)
        self.step = gcd(task.channel_bits_s, *headers)
        self.streams: dict[Mask, int] = {}
        self.parts: dict[tuple[int, Mask], int] = {}
        self.load: dict[Mask, list[tuple[int, float]]] = {}
        self.fixed = {1 << n: len(channels) for n, channels in task.copies.items()}
        self._add_streams()
        self._add_parts()
        self._add_rows()

    def _channel_cost(self, mask: Mask) -> float:
        task = self.task
        extra = sum(self.prices.channels.get(name, 0.0) for name in task.named(mask))
        return task.hops(mask) * task.channel_bits_s + extra

    def _add_streams(self) -> None:
        for mask in self.family.sets:
            extra = self.prices.of(self.task.named(mask), 0)
            cost = self.task.header_bits_s(mask) + extra + TIE * self.step
            self.streams[mask] = self.program.variable(cost / self.unit)
            self.load[mask] = []

    def _add_parts(self) -> None:
        for number, each in enumerate(self.task.classes):
            for mask in self.family.sets:
                left = each.receivers & ~mask
                if mask & each.banned or not mask & each.receivers:
                    continue
                if not self.family.may_leave(number, mask, left, each):
                    continue
                singles = [1 << n for n in range(left.bit_length()) if left >> n & 1]
                cost = self._channel_cost(mask) + sum(map(self._channel_cost, singles))
                most = len(each.channels)
                variable = self.program.variable(cost / self.unit, most=most)
                self.parts[number, mask] = variable
                for loaded in (mask, *singles):
                    self.load[loaded].append((variable, 1.0))

    def _add_rows(self) -> None:
        program = self.program
        for number, each in enumerate(self.task.classes):
            mine = [(mask, v) for (n, mask), v in self.parts.items() if n == number]
            count = len(each.channels)
            program.row([(v, 1.0) for _, v in mine], least=count, most=count)
            for mask, variable in mine:
                # A cut: a class of few channels can't fill a stream, yet opens one.
                if count < self.task.capacity(mask):
                    program.row([(variable, 1.0), (self.streams[mask], -count)], most=0)
        for mask, terms in self.load.items():
            fixed = self.fixed.get(mask, 0)
            room = (self.streams[mask], -float(self.task.capacity(mask)))
            program.row([*terms, room], most=-fixed)
        self._add_receivers()
        excess = program.variable(self.over / self.unit)
        total = [(v, 1.0) for v in self.streams.values()]
        program.row([*total, (excess, -1.0)], most=self.task.limits.streams_send)

    def _add_receivers(self) -> None:
        """Add cuts: each receiver takes at least the streams that counting asks for."""
        for n, name in enumerate(self.task.names):
            most = self.task.most_together(1 << n)
            least = -(-len(self.task.wanted_by[name]) // most)
            theirs = [(v, 1.0) for mask, v in self.streams.items() if mask >> n & 1]
            self.program.row(theirs, least=least)

    def solve(self) -> Best | None:
        """Give the best column found, with its bound; None where the work was too little."""
        close = max(CLOSE * self.step, NEAR * self.near) / self.unit
        answer = self.program.whole(nodes=NODES, close=close)
        if answer is None:
            return None
        parts = {key: round(answer.values[v]) for key, v in self.parts.items()}
        fixed = sum(k * self._channel_cost(mask) for mask, k in self.fixed.items())
        column = tidy(self.task, drafts_of(self.task, parts))
        # A column with fewer streams than this one is favoured by the tie by no more than this.
        tie = TIE * self.step * max(len(column.drafts), self.task.limits.streams_send)
        return Best(column=column, bound=answer.bound * self.unit + fixed - tie)


def drafts_of(task: Task, parts: Mapping[tuple[int, Mask], int]) -> list[Draft]:
    """Give drafts for how many channels of each class are in streams to each set.

    Channels of a class are taken in order, sets in the order of their masks.
    """
    carried: dict[Mask, list[int]] = {}
    for n, channels in task.copies.items():
        carried.setdefault(1 << n, []).extend(channels)
    for number, each in enumerate(task.classes):
        ahead = iter(each.channels)
        for mask in sorted(mask for n, mask in parts if n == number):
            for _ in range(parts[number, mask]):
                channel = next(ahead)
                carried.setdefault(mask, []).append(channel)
                left = each.receivers & ~mask
                for n in range(left.bit_length()):
                    if left >> n & 1:
                        carried.setdefault(1 << n, []).append(channel)
    return [
        Draft(receivers=mask, channels=chunk)
        for mask, channels in sorted(carried.items())
        for chunk in chunks(sorted(channels), task.capacity(mask))
    ]
