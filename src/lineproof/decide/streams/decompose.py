"""The best packing of all senders together, one sender's whole set of streams at a time.

Decomposition after Dantzig and Wolfe: a master chooses one column per sender within the limits of
the receivers and puts prices on those that are short; every sender answers with the best column
at these prices. The answers prove a bound as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil

from lineproof.decide.streams.best import Best, SetModel
from lineproof.decide.streams.bundles import bundled
from lineproof.decide.streams.caps import Caps
from lineproof.decide.streams.column import Column, Prices, Score, score
from lineproof.decide.streams.family import Family, Part, family, parts_of
from lineproof.decide.streams.program import Answer, Program
from lineproof.decide.streams.task import Mask, Task

#: Rounds of prices, and nodes of the master's whole-number search, before the best so far stands.
ROUNDS, NODES = 30, 2_000
#: The softer price of exceeding a limit, as a part of the dearest sender's cost; raised so much.
SOFT, HARDER = 0.15, 8.0
#: With more senders than so many, a packing proved so near to the best, as a part of its cost, is
#: not worth another round.
MANY, WORTH = 24, 2.5e-3

Kept = Callable[[Sequence[Column]], None]


@dataclass(frozen=True, kw_only=True)
class Proof:
    """Below `cost` no packing of the family comes that exceeds no limit more than it must.

    `price` is what one stream or channel above the limits could save at most. `whole`: every set of
    receivers was in the family.
    """

    cost: int
    price: float
    whole: bool


@dataclass(kw_only=True)
class _Pool:
    """Columns known by task, each once."""

    columns: list[list[Column]]
    known: list[set[object]] = field(default_factory=list)

    def add(self, at: int, column: Column) -> bool:
        while len(self.known) <= at:
            self.known.append(set())
        if column.drafts in self.known[at]:
            return False
        self.known[at].add(column.drafts)
        self.columns[at].append(column)
        return True


class Decomposition:
    """The master's view: columns so far, prices, and the best bound they proved."""

    def __init__(self, tasks: Sequence[Task], caps: Caps, start: Sequence[Column]) -> None:
        self.tasks = tasks
        self.caps = caps
        self.pool = _Pool(columns=[[] for _ in tasks])
        self.best = list(start)
        self.unit = float(max(task.channel_bits_s for task in tasks))
        # Above a limit costs more than any column could save by it; a softer price for it finds
        # good prices for all sooner, and is enough unless limits stay exceeded.
        self.over = float(sum(column.cost for column in start)) + self.unit
        self.soft = SOFT * max(column.cost for column in start) + self.unit
        self.answers: dict[tuple[int, Mask, frozenset[Part], object], Best | None] = {}
        self.bound = 0.0
        self.top = 0.0
        self.families: dict[int, Family] = {}
        for at, column in enumerate(start):
            self.pool.add(at, column)

    def offer(self, columns: Sequence[Column]) -> None:
        """Take in columns from elsewhere, and the packing they make if it is the best."""
        for at, column in enumerate(columns):
            self.pool.add(at, column)
        if self._score(columns).key() < self._score(self.best).key():
            self.best = list(columns)

    def _score(self, columns: Sequence[Column]) -> Score:
        return score(columns, self.caps)

    def run(self, kept: Kept) -> Proof:
        """Give the proof; `best` is the packing, told to `kept` whenever it got better."""
        self._alone(kept)
        short = frozenset(self._short())
        prices = Prices()
        for _ in range(ROUNDS):
            if (master := self._master(whole=False)) is None:
                break
            prices = self._prices(master)
            self._widen(short)
            news = self._round(prices)
            self._choose(kept)
            if self._done() or (not news and not self._harder()):
                break
        return Proof(
            cost=max(0, ceil(self.bound - 1e-3)),
            price=self.top,
            whole=all(each.whole for each in self.families.values()),
        )

    def _harder(self) -> bool:
        """Make it dearer to exceed a limit, if that could help; say whether it was done."""
        if self._score(self.best).over <= self.caps.least_over or self.soft >= self.over:
            return False
        self.soft = min(self.over, self.soft * HARDER)
        return True

    def _widen(self, short: frozenset[str]) -> None:
        """Take the parts of all packings known into the families; a wider one needs new proof."""
        for at, (task, columns) in enumerate(zip(self.tasks, self.pool.columns, strict=True)):
            theirs = task.mask(short)
            here = self.families.get(at) or family(task, theirs)
            parts = frozenset[Part]().union(*(parts_of(task, c.drafts) for c in columns))
            outside = frozenset(part for part in parts if not here.holds(task, part))
            if outside:
                here = family(task, theirs, here.seen | outside)
                self.bound = 0.0
            self.families[at] = here

    def _alone(self, kept: Kept) -> None:
        """Let every sender choose as if no receiver were short: good columns, found soon."""
        for at in range(len(self.tasks)):
            best = self._answer(at, Prices())
            if best is not None:
                self.pool.add(at, best.column)
        columns = [self._last(at) for at in range(len(self.tasks))]
        self.offer(bundled(columns, self.caps))
        self._choose(kept)

    def _last(self, at: int) -> Column:
        best = self._answer(at, Prices())
        return self.best[at] if best is None else best.column

    def _done(self) -> bool:
        now = self._score(self.best)
        worth = WORTH * now.cost if len(self.tasks) > MANY else 1.0
        return now.over <= self.caps.least_over and now.cost - self.bound < worth

    def _round(self, prices: Prices) -> bool:
        """Ask every sender for its best column; say whether any was new."""
        bound, news = 0.0, False
        for at in range(len(self.tasks)):
            best = self._answer(at, prices)
            if best is None:
                return False
            bound += best.bound
            news |= self.pool.add(at, best.column)
        bound -= sum(p * self.caps.received[n].cap for n, p in prices.streams.items())
        bound -= sum(p * self.caps.channels[n].cap for n, p in prices.channels.items())
        if bound > self.bound:
            self.bound = bound
            self.top = max((*prices.streams.values(), *prices.channels.values()), default=0.0)
        return news

    def _answer(self, at: int, prices: Prices) -> Best | None:
        task = self.tasks[at]
        sets = self.families.get(at) or family(task, 0)
        asked = (at, sets.short, sets.seen, prices.touch(task.names))
        if asked not in self.answers:
            self.answers[asked] = SetModel(task, sets, prices, self.over).solve()
        return self.answers[asked]

    def _short(self) -> list[str]:
        """Give the receivers who may run short: known packings can leave them too many streams."""
        found: dict[str, int] = {}
        for columns in self.pool.columns:
            worst: dict[str, int] = {}
            for column in columns:
                for name, count in column.received.items():
                    worst[name] = max(worst.get(name, 0), count)
            for name, count in worst.items():
                found[name] = found.get(name, 0) + count
        return [name for name, count in self.caps.received.items() if found[name] > count.cap]

    def _prices(self, master: Answer) -> Prices:
        duals = iter(master.duals[len(self.tasks) :])
        streams = {name: max(0.0, -next(duals)) * self.unit for name in self.caps.received}
        channels = {name: max(0.0, -next(duals)) * self.unit for name in self.caps.channels}
        return Prices(streams=_without_none(streams), channels=_without_none(channels))

    def _master(self, *, whole: bool) -> Answer | None:
        """Solve for one column per task (parts of columns, unless whole)."""
        program = Program()
        received: dict[str, list[tuple[int, float]]] = {n: [] for n in self.caps.received}
        channels: dict[str, list[tuple[int, float]]] = {n: [] for n in self.caps.channels}
        for columns in self.pool.columns:
            choice = []
            for column in columns:
                variable = program.variable(self._cost(column) / self.unit, most=1.0)
                choice.append((variable, 1.0))
                for name, count in column.received.items():
                    received[name].append((variable, count))
                for name, count in column.channels.items():
                    channels[name].append((variable, count))
            program.row(choice, least=1.0, most=1.0)
        for rows, counts in ((received, self.caps.received), (channels, self.caps.channels)):
            for name, terms in rows.items():
                price = self.over if whole else self.soft
                excess = program.variable(price / self.unit, whole=False)
                program.row([*terms, (excess, -1.0)], most=counts[name].cap)
        return program.whole(nodes=NODES, close=1e-4) if whole else program.linear()

    def _cost(self, column: Column) -> float:
        above = max(0, len(column.drafts) - column.task.limits.streams_send)
        return column.cost + above * self.over

    def _choose(self, kept: Kept) -> None:
        """Choose one whole column per sender; keep the packing if it is the best so far."""
        answer = self._master(whole=True)
        if answer is None:
            return
        values = iter(answer.values)
        chosen = []
        for columns in self.pool.columns:
            shares = [next(values) for _ in columns]
            chosen.append(columns[shares.index(max(shares))])
        if self._score(chosen).key() < self._score(self.best).key():
            self.best = chosen
            kept(chosen)


def _without_none(prices: Mapping[str, float]) -> dict[str, float]:
    return {name: price for name, price in prices.items() if price > 1e-3}
