"""Numbers that stand before anything is decided: pinned by hand, or kept from before."""

from __future__ import annotations

from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Side
from lineproof.decide.classes import FixedChannels
from lineproof.decide.problem import Job, Problem


def pinned_number(problem: Problem, job: Job, part: str, unit: str, side: Side) -> int | None:
    """Give the number that a pin, or the end as written (`amp-1:receive-2`), fixes on a unit."""
    if not job.strand and (number := job.written.get((part, side))) is not None:
        return number
    every = problem.pins.get(job.line.key)
    if not every:
        return None
    pins = [p for p in every if p.spot.unit == unit and p.spot.side is side]
    # What stands in is pinned by the name of its part; a pin of no part is the line's own.
    mine = [p for p in pins if p.part and folded(p.part) == folded(part)]
    loose = [p for p in pins if not p.part and (not job.strand or unit == job.inside)]
    return next((p.spot.number for p in (*mine, *loose)), None)


def kept_number(job: Job, part: str, unit: str, side: Side) -> int | None:
    """Give the number the line had there before.

    A unit hears a line on one channel, whichever of its ends asked for it.
    """
    if job.earlier is None:
        return None
    spots = (*job.earlier.ends.get(part, ()), *job.earlier.start.get(part, ()))
    number = next((s.number for s in spots if s.unit == unit and s.side is side), None)
    if number is None and side is Side.RECEIVE:
        return job.heard_before.get(unit)
    return number


def fixed_channels(problem: Problem) -> FixedChannels:
    """Give the receive channels that lines have by pin, else from before; a pin wins."""
    by_channel: dict[tuple[str, int], set[LineKey]] = {}
    by_line: dict[tuple[LineKey, str], int] = {}
    heard = [found for job in problem.jobs for found in _hearing(job)]
    receive = Side.RECEIVE
    pinned = [pinned_number(problem, job, part, unit, receive) for job, part, unit in heard]
    kept = [kept_number(job, part, unit, receive) for job, part, unit in heard]
    for numbers in (pinned, kept):
        for (job, _, unit), number in zip(heard, numbers, strict=True):
            count = problem.show.count(problem.show.units[unit], receive)
            if number is None or number > count or (job.line.key, unit) in by_line or job.strand:
                continue
            lines = by_channel.setdefault((unit, number), set())
            if not any(_clash(problem, job.line.key, other) for other in lines):
                lines.add(job.line.key)
                by_line[job.line.key, unit] = number
    shared = {channel: frozenset(lines) for channel, lines in by_channel.items()}
    return FixedChannels(by_channel=shared, by_line=by_line)


def _clash(problem: Problem, one: LineKey, other: LineKey) -> bool:
    return problem.running.clash(frozenset({one.act}), frozenset({other.act}))


def _hearing(job: Job) -> list[tuple[Job, str, str]]:
    """Give (job, part, unit) where a line may be heard: its arrivals, and where leads hang."""
    arrivals = [(job, a.part, a.unit) for a in job.arrivals]
    return arrivals + [(job, plug.part, plug.fixed.unit) for plug in job.outs if plug.fixed]
