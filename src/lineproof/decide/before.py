"""What a line held before: in the plan, or when it went and now returns; each strand its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.part import FROM, split_part
from lineproof.base.spot import Side, Spot
from lineproof.plan.freed import returned
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.model import Line


def before_of(earlier: Plan, line: Line) -> LinePlan | None:
    """Give what the line held: in the plan, or when it or a part of it went and returns."""
    starts_at = "|".join(str(s) for s in line.starts)
    found = earlier.line(line.key)
    back = returned(earlier, line.key, line.name, starts_at)
    if found is None or back is None:
        return found or back
    starts, ends = _whole(found.start, back.start), _whole(found.ends, back.ends)
    return replace(found, start=starts, ends=ends)


def _whole(
    held: Mapping[str, tuple[Spot, ...]], back: Mapping[str, tuple[Spot, ...]]
) -> dict[str, tuple[Spot, ...]]:
    """Give what is held, with what comes back on the sides of a part where nothing is held."""
    whole = dict(held)
    for part, spots in back.items():
        sides = {s.side for s in held.get(part, ())}
        whole[part] = (*held.get(part, ()), *(s for s in spots if s.side not in sides))
    return whole


def earlier_strand(earlier: LinePlan | None, start: str, *, to: str = "") -> LinePlan | None:
    """Give what one strand held: `start` "" for what the ends hear while all is well.

    With `to`, a change-over unit, only the way from that start up to there.
    """
    if earlier is None:
        return None
    if to:
        chain = earlier.start.get(start, ())
        at = next((n for n, spot in enumerate(chain) if spot.unit == to), len(chain))
        heard = tuple(s for s in chain[at:] if s.unit == to and s.side in (Side.RECEIVE, Side.IN))
        # Where a box brings it to the unit's socket, the lead's other end belongs to the end.
        out = next((n for n, s in enumerate(chain[:at]) if n and s.side is Side.OUT), at)
        there = (*chain[out:at], *heard)
        ends = {to: there, f"{to}{FROM}{start}": there}
        return replace(earlier, start={start: chain[:out]}, ends=ends)
    ends = {part: spots for part, spots in earlier.ends.items() if split_part(part)[1] == start}
    starts = {s: spots for s, spots in earlier.start.items() if not start or s == start}
    return replace(earlier, start=starts, ends=ends)


def through_of(earlier: LinePlan | None, unit: str) -> LinePlan | None:
    """Give what a line held from the change-over unit on, as though it started there."""
    if earlier is None:
        return None
    for chain in earlier.start.values():
        sides = (Side.SEND, Side.OUT)
        at = next((n for n, s in enumerate(chain) if s.unit == unit and s.side in sides), None)
        if at is not None:
            ends = {part: spots for part, spots in earlier.ends.items() if FROM not in part}
            return replace(earlier, start={unit: chain[at:]}, ends=ends)
    ends = {part: spots for part, spots in earlier.ends.items() if FROM not in part}
    return replace(earlier, start={}, ends=ends)
