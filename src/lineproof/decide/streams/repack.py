"""Streams after a change: what is in use stays as it is, and one route more is one entry more."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from lineproof.base.names import natural
from lineproof.decide.streams.asked import Needs
from lineproof.decide.streams.caps import Caps, caps_of
from lineproof.decide.streams.live import Live, Step, Use, still_wanted, suits
from lineproof.decide.streams.pack import ANY_PACKING, is_multicast
from lineproof.decide.streams.packing import (
    KIND,
    Packing,
    Told,
    cost_of,
    counted_bound,
    in_order,
    shortages,
    without_packet_time,
)
from lineproof.decide.streams.task import Task, bits, tasks
from lineproof.plan.network import Stream

#: What a stream becomes: the one at a place in the list, or a further one.
Change = tuple[int | None, Live | None]


def repack(
    needs: Needs, earlier: Sequence[Stream], *, last: Mapping[str, int] | None = None
) -> Packing:
    """Give the streams for the needs of now that differ least from the earlier ones.

    First the limits; then no stream in use changes its kind; then the fewest entries: a channel
    or listener more or less in a stream in use, or a stream more; then the cost. `last`: the
    highest number a sender's streams ever had, retired ones counted.
    """
    work = tasks(needs)
    caps = caps_of(needs, work)
    by_sender: dict[str, list[Stream]] = {}
    for stream in in_order(earlier):
        by_sender.setdefault(stream.sender, []).append(stream)
    lives = {task.sender.name: _kept(task, by_sender.get(task.sender.name, ())) for task in work}
    use = Use(caps, ())
    for task in work:
        for live in lives[task.sender.name]:
            use.change(task, None, live)
    streams: list[Stream] = []
    for task in work:
        name = task.sender.name
        mended = _mended(task, lives[name], use)
        numbers = _highest(by_sender.get(name, ()), (last or {}).get(name, 0))
        streams += _named(task, mended, numbers)
    return _packing(work, caps, streams, earlier)


def _kept(task: Task, streams: Iterable[Stream]) -> list[Live]:
    """Give what stays of the streams in use; a need that two would serve stays in the first."""
    found = (still_wanted(task, stream, task.most_packet_us) for stream in streams)
    return [live for live in found if live is not None]


def _mended(task: Task, lives: Sequence[Live], use: Use) -> list[Live]:
    """Give the streams after every unserved need took the step that changes least."""
    found: list[Live | None] = list(lives)
    served = _served(task, found)
    for channel, name in task.sender.needs():
        n = task.bit[name]
        if (channel, n) in served:
            continue
        step = min(
            _steps(task, found, channel, n),
            key=lambda each: _weight(task, found, each, use),
        )
        before = None if step.at is None else found[step.at]
        changes: list[Change] = [(step.at, step.to)]
        if (more := use.more_over(task, before, step.to)) > 0:
            changes = _bundle(task, found, channel, n, use, more) or changes
        _apply(task, found, changes, use)
        served = _served(task, found)
    return [live for live in found if live is not None]


def _apply(task: Task, lives: list[Live | None], changes: Iterable[Change], use: Use) -> None:
    for at, to in changes:
        use.change(task, None if at is None else lives[at], to)
        if at is None:
            lives.append(to)
        else:
            lives[at] = to


def _bundle(
    task: Task, lives: Sequence[Live | None], channel: int, n: int, use: Use, more: int
) -> list[Change] | None:
    """Give changes by which a receiver leaves streams for one of its own, with this channel in it.

    The fewest that exceed limits less than by `more`; None where there are none.
    """
    one, name = 1 << n, task.names[n]
    theirs = [at for at, live in enumerate(lives) if live is not None and live.receivers & one]
    wanted = {at: _wanted(lives[at], task.wanted_by[name]) for at in theirs}
    theirs.sort(key=lambda at: (len(wanted[at]), at))
    packet_us = task.sent_packet_us(one)
    for count in range(1, len(theirs) + 1):
        left = theirs[:count]
        channels = tuple(sorted({channel, *(c for at in left for c in wanted[at])}))
        own = Live(receivers=one, channels=channels, packet_us=packet_us)
        if len(channels) > task.capacity(one):
            return None
        changes: list[Change] = [(at, _without(task, lives[at], one)) for at in left]
        changes.append((None, own))
        tried = list(lives)
        before = use.over()
        _apply(task, tried, changes, use)
        after = use.over()
        for at in left:
            use.change(task, tried[at], lives[at])
        use.change(task, own, None)
        if after - before < more:
            return changes
    return None


def _wanted(live: Live | None, wanted: frozenset[int]) -> tuple[int, ...]:
    return tuple(channel for channel in live.channels if channel in wanted) if live else ()


def _without(task: Task, live: Live | None, one: int) -> Live | None:
    """Give a stream without a listener, and without what nobody else in it needs."""
    if live is None or live.receivers == one:
        return None
    names = task.named(live.receivers & ~one)
    needed = {channel for name in names for channel in task.wanted_by[name]}
    channels = tuple(channel for channel in live.channels if channel in needed)
    return replace(live, receivers=live.receivers & ~one, channels=channels)


def _served(task: Task, lives: Iterable[Live | None]) -> set[tuple[int, int]]:
    return {
        (channel, n)
        for live in lives
        if live is not None
        for n in bits(live.receivers)
        for channel in live.channels
        if channel in task.wanted_by[task.names[n]]
    }


def _weight(
    task: Task, lives: Sequence[Live | None], step: Step, use: Use
) -> tuple[int, bool, int, int, int]:
    before = None if step.at is None else lives[step.at]
    cost = _cost(task, step.to) - (0 if before is None else _cost(task, before))
    kind = step.to.changes_kind() and not (before is not None and before.changes_kind())
    order = len(lives) if step.at is None else step.at
    return (use.more_over(task, before, step.to), kind, step.entries, cost, order)


def _cost(task: Task, live: Live) -> int:
    each = task.header_at(live.packet_us) + task.channel_bits_s * len(live.channels)
    return task.hops(live.receivers) * each


def _steps(task: Task, lives: Sequence[Live | None], channel: int, n: int) -> Iterator[Step]:
    """Give the ways to bring a channel to a receiver: join, add, join and add, or a new stream."""
    one = 1 << n
    for at, live in enumerate(lives):
        if live is None:
            continue
        entries = 0 if live.was is None else 1
        inside, heard = channel in live.channels, bool(live.receivers & one)
        channels = live.channels if inside else (*live.channels, channel)
        to = replace(live, receivers=live.receivers | one, channels=channels)
        if live.was is None:
            to = replace(to, packet_us=task.sent_packet_us(to.receivers))
        changes = (not inside) + (not heard)
        if suits(task, to) and not _twice(task, lives, at, to):
            yield Step(at=at, to=to, entries=entries * changes)
    own = Live(receivers=one, channels=(channel,), packet_us=task.sent_packet_us(one))
    yield Step(at=None, to=own, entries=1)


def _twice(task: Task, lives: Sequence[Live | None], at: int, to: Live) -> bool:
    """Say whether somebody would get a channel that it needs a second time."""
    now = _served(task, [to]) - _served(task, [lives[at]])
    return any(
        not now.isdisjoint(_served(task, [live]))
        for number, live in enumerate(lives)
        if live is not None and number != at and to.receivers & live.receivers
    )


def _highest(streams: Iterable[Stream], last: int) -> int:
    numbers = [int(s.name.rpartition("/")[2]) for s in streams if s.name[-1:].isdecimal()]
    return max([last, *numbers])


def _named(task: Task, lives: Sequence[Live], last: int) -> list[Stream]:
    """Give the streams: those in use under their names, new ones under numbers never used."""
    channels = [channel for live in lives for channel in live.channels]
    once = frozenset(channel for channel in channels if channels.count(channel) == 1)
    found = []
    for live in lives:
        receivers = task.named(live.receivers)
        if live.was is not None:
            multicast = live.was.multicast or not live.one
            found.append(
                replace(live.was, channels=live.channels, receivers=receivers, multicast=multicast)
            )
            continue
        last += 1
        found.append(
            Stream(
                name=f"{task.sender.name}/{last}",
                sender=task.sender.name,
                channels=live.channels,
                receivers=receivers,
                multicast=is_multicast(task, live.receivers, live.channels, once),
                packet_us=live.packet_us,
                depth_bits=task.sender.depth_bits,
            )
        )
    return found


def _packing(
    work: Sequence[Task], caps: Caps, streams: Sequence[Stream], earlier: Sequence[Stream]
) -> Packing:
    by_name = {stream.name: stream for stream in earlier}
    told = [
        Told(stream=stream.name, what=KIND)
        for stream in streams
        if stream.name in by_name and by_name[stream.name].multicast != stream.multicast
    ]
    cost = sum(cost_of(task, [s for s in streams if s.sender == task.sender.name]) for task in work)
    short = shortages(caps, streams)
    return Packing(
        streams=in_order(streams),
        shortages=short,
        told=tuple(sorted(told, key=lambda each: natural(each.stream))),
        no_packet_time=without_packet_time(work),
        cost=cost,
        bound=min(cost, counted_bound(work)),
        family=ANY_PACKING,
        over=sum(each.used - each.limit for each in short),
        least_over=caps.least_over,
    )
