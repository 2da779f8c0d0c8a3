"""Numbers that stand before anything is decided: pinned by hand, or kept from before."""

from __future__ import annotations

from lineproof.base.spot import LineKey, Side
from lineproof.decide.classes import FixedChannels
from lineproof.decide.problem import Job, Problem


def pinned_number(problem: Problem, job: Job, part: str, unit: str, side: Side) -> int | None:
    """Give the number that a pin, or the end as written (`amp-1:receive-2`), fixes on a unit."""
    for _, member in job.line.end_members():
        if str(member) == part and member.side is side and member.numbers:
            return member.numbers[0]
    for start in job.line.starts:
        if str(start) == part and start.side is side and start.numbers:
            return start.numbers[0]
    spots = problem.pins.get(job.line.key, ())
    return next((s.number for s in spots if s.unit == unit and s.side is side), None)


def kept_number(job: Job, part: str, unit: str, side: Side) -> int | None:
    """Give the number the line had there before."""
    if job.earlier is None:
        return None
    spots = (*job.earlier.ends.get(part, ()), *job.earlier.start.get(part, ()))
    return next((s.number for s in spots if s.unit == unit and s.side is side), None)


def fixed_channels(problem: Problem) -> FixedChannels:
    """Give the receive channels that lines have by pin, else from before; a pin wins."""
    by_channel: dict[tuple[str, int], LineKey] = {}
    by_line: dict[tuple[LineKey, str], int] = {}
    arrivals = [(job, a) for job in problem.jobs for a in job.arrivals]
    receive = Side.RECEIVE
    pinned = [pinned_number(problem, job, a.part, a.unit, receive) for job, a in arrivals]
    kept = [kept_number(job, a.part, a.unit, receive) for job, a in arrivals]
    for numbers in (pinned, kept):
        for (_, a), number in zip(arrivals, numbers, strict=True):
            count = problem.show.count(problem.show.units[a.unit], receive)
            if number is None or number > count or (a.unit, number) in by_channel:
                continue
            if (a.line, a.unit) not in by_line:
                by_channel[a.unit, number] = a.line
                by_line[a.line, a.unit] = number
    return FixedChannels(by_channel=by_channel, by_line=by_line)
