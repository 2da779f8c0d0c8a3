"""Streams from nothing: limits first, then few bits x runs, then few streams."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from lineproof.decide.streams.asked import Needs
from lineproof.decide.streams.bundles import bundled
from lineproof.decide.streams.caps import Caps, caps_of
from lineproof.decide.streams.column import Column, score
from lineproof.decide.streams.greedy import greedy
from lineproof.decide.streams.packing import (
    Packing,
    counted_bound,
    in_order,
    shortages,
    without_packet_time,
)
from lineproof.decide.streams.task import Draft, Mask, Task, tasks
from lineproof.plan.network import Stream

ANY_PACKING = "any packing whatever"
ALL_SETS = (
    "packings in which every channel is in one shared stream, to any set of receivers, "
    "and once more in a bundle for each receiver that is not in the set"
)
SOME_SETS = (
    "packings in which every channel is in one shared stream, to a set of receivers made of its "
    "sender's classes or one less, and once more in a bundle for a receiver that is not in the set"
)


def _nobody(_: Packing) -> None:
    """Tell nobody."""


def pack(
    needs: Needs,
    *,
    last: Mapping[str, int] | None = None,
    thorough: bool = True,
    kept: Callable[[Packing], None] = _nobody,
) -> Packing:
    """Give the best packing found, with its bound.

    `last`: the highest number a sender's streams ever had, so that none comes again. Unless
    `thorough` a good packing comes fast, with a looser bound. `kept` is given each better one
    as soon as there is one, so that whoever can't wait has it.
    """
    work = tasks(needs)
    caps = caps_of(needs, work)
    used_numbers = last or {}

    def told(columns: Sequence[Column], bound: int, family: str) -> Packing:
        return _packing(work, caps, columns, used_numbers, bound, family)

    quick = counted_bound(work)
    start, more = _quick(work, caps)
    first = told(start, quick, ANY_PACKING)
    if not thorough or not work or first.cost == quick:
        return first
    kept(first)
    # The solver takes most of a second to load: only what searches pays for it.
    from lineproof.decide.streams.decompose import Decomposition

    search = Decomposition(work, caps, start)
    for columns in more:
        search.offer(columns)
    proof = search.run(lambda columns: kept(told(columns, quick, ANY_PACKING)))
    over = max(0, score(search.best, caps).over - caps.least_over)
    bound = proof.cost - round(proof.price * over)
    if bound <= quick:
        return told(search.best, quick, ANY_PACKING)
    return told(search.best, bound, ALL_SETS if proof.whole else SOME_SETS)


def _quick(work: Sequence[Task], caps: Caps) -> tuple[list[Column], list[list[Column]]]:
    """Give the best of the greedy rounds, bundled, and all of them as starts for a search."""
    if not work:
        return [], []
    best, rounds = greedy(work, caps)
    found = [best, *rounds, *(bundled(columns, caps) for columns in (best, *rounds))]
    return min(found, key=lambda columns: score(columns, caps).key()), found


def _packing(
    work: Sequence[Task],
    caps: Caps,
    columns: Sequence[Column],
    last: Mapping[str, int],
    bound: int,
    family: str,
) -> Packing:
    streams = [
        stream
        for column in columns
        for stream in streams_of(column.task, column.drafts, last.get(column.task.sender.name, 0))
    ]
    reached = score(columns, caps)
    return Packing(
        streams=in_order(streams),
        shortages=shortages(caps, streams),
        no_packet_time=without_packet_time(work),
        cost=reached.cost,
        bound=min(bound, reached.cost),
        family=family,
        over=reached.over,
        least_over=caps.least_over,
    )


def streams_of(task: Task, drafts: Iterable[Draft], last: int) -> list[Stream]:
    """Give drafts as streams with the numbers after `last`."""
    drafts = tuple(drafts)
    once = _sent_once(drafts)
    return [
        Stream(
            name=f"{task.sender.name}/{number}",
            sender=task.sender.name,
            channels=draft.channels,
            receivers=task.named(draft.receivers),
            multicast=is_multicast(task, draft.receivers, draft.channels, once),
            packet_us=task.sent_packet_us(draft.receivers),
            depth_bits=task.sender.depth_bits,
        )
        for number, draft in enumerate(drafts, start=last + 1)
    ]


def _sent_once(drafts: Iterable[Draft]) -> frozenset[int]:
    channels = [channel for draft in drafts for channel in draft.channels]
    return frozenset(channel for channel in channels if channels.count(channel) == 1)


def is_multicast(
    task: Task, receivers: Mask, channels: Sequence[int], once: frozenset[int]
) -> bool:
    """Say whether a new stream is multicast: more than one listener, or a second one likely.

    A second one is likely for a channel that goes nowhere else and may go to others.
    """
    if receivers & (receivers - 1):
        return True
    private = task.sender.private.intersection(channels)
    likely = task.sender.likely.intersection(channels) & once
    return bool(likely) and not private and not receivers & task.alone
