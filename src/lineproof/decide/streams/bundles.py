"""Private bundles: a channel goes out once more, to a receiver that is short of streams."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineproof.decide.streams.caps import Caps
from lineproof.decide.streams.column import Column, tidy, used
from lineproof.decide.streams.greedy import chunks
from lineproof.decide.streams.task import Draft, Task


def bundled(columns: Sequence[Column], caps: Caps) -> list[Column]:
    """Give the columns with bundles wherever a receiver takes too many streams.

    A receiver leaves streams of which it needs a few channels each, and gets those in fewer
    streams of its own. The cheapest such step for each stream saved is taken until nobody is
    short, or none is left that its sender has room for.
    """
    found = list(columns)
    taken = dict(used(found).received)
    for name, count in caps.received.items():
        while taken[name] > count.cap:
            step = _best_step(found, name, taken[name] - count.cap)
            if step is None:
                break
            at, column = step
            for other, before in found[at].received.items():
                taken[other] += column.received.get(other, 0) - before
            found[at] = column
    return found


def _best_step(columns: Sequence[Column], name: str, wish: int) -> tuple[int, Column] | None:
    best: tuple[float, int, Column] | None = None
    for at, column in enumerate(columns):
        for changed in _steps(column, name):
            saved = min(wish, column.received[name] - changed.received[name])
            if saved > 0 and (best is None or (changed.cost - column.cost) / saved < best[0]):
                best = ((changed.cost - column.cost) / saved, at, changed)
    return None if best is None else (best[1], best[2])


def _steps(column: Column, name: str) -> Iterator[Column]:
    """Give the columns in which the receiver left its least useful streams for a bundle."""
    if column.received.get(name, 0) < 2:
        return
    task = column.task
    one = 1 << task.bit[name]
    theirs = [draft for draft in column.drafts if draft.receivers & one]
    theirs.sort(key=lambda d: (len(task.wanted_by[name].intersection(d.channels)), d.channels))
    for count in range(2, len(theirs) + 1):
        changed = without(task, column, theirs[:count], name)
        if len(changed.drafts) <= max(task.limits.streams_send, len(column.drafts)):
            yield changed


def without(task: Task, column: Column, left: Sequence[Draft], name: str) -> Column:
    """Give the column in which a receiver left some streams and gets their channels by itself."""
    one = 1 << task.bit[name]
    wanted = {c for draft in left for c in draft.channels if c in task.wanted_by[name]}
    kept = [
        Draft(receivers=d.receivers & ~one, channels=d.channels) if d in left else d
        for d in column.drafts
    ]
    shrunk = [_needed(task, draft) for draft in kept if draft.receivers]
    own = [Draft(receivers=one, channels=c) for c in chunks(sorted(wanted), task.capacity(one))]
    return tidy(task, [*shrunk, *own])


def _needed(task: Task, draft: Draft) -> Draft:
    """Give a draft without channels that none of its listeners needs."""
    needed = {c for name in task.named(draft.receivers) for c in task.wanted_by[name]}
    return Draft(
        receivers=draft.receivers, channels=tuple(c for c in draft.channels if c in needed)
    )
