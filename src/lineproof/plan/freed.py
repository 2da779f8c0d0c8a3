"""What became free stays kept for whom it belonged to, until someone renews."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import Freed, LinePlan, Plan


def what_is_freed(
    earlier: Plan, lines: tuple[LinePlan, ...], revision: int, *, drop: Callable[[Freed], bool]
) -> tuple[Freed, ...]:
    """Give the spots that nobody holds now but somebody held: kept for them.

    A spot stays freed until its line returns to it, somebody else has to take it, or it is
    renewed (`drop`).
    """
    in_use = {spot for line in lines for spot in line.spots()}
    now = {line.key: line for line in lines}
    freed = {f.spot: f for f in earlier.freed if not drop(f)}
    for line in earlier.lines:
        for part, spot in _parts(line):
            if line.key not in now or spot not in set(now[line.key].spots()):
                freed[spot] = Freed(
                    spot=spot,
                    line=line.key,
                    name=line.name,
                    starts_at=line.starts_at,
                    part=part,
                    revision=revision,
                )
    kept = [f for spot, f in freed.items() if spot not in in_use and not drop(f)]
    return tuple(sorted(kept, key=lambda f: f.spot.sort_key()))


def _parts(line: LinePlan) -> Iterable[tuple[str, Spot]]:
    for part, spots in line.start.items():
        yield from ((f"from {part}", spot) for spot in spots)
    for part, spots in line.ends.items():
        yield from ((f"to {part}", spot) for spot in spots)


def returned(earlier: Plan, key: LineKey, name: str, starts_at: str) -> LinePlan | None:
    """Give what a line that returns held when it went, from what is freed."""
    mine = [f for f in earlier.freed if f.line.same() == key.same()]
    mine = [f for f in mine if (f.name, f.starts_at) == (name, starts_at)]
    if not mine:
        return None
    start: dict[str, tuple[Spot, ...]] = {}
    ends: dict[str, tuple[Spot, ...]] = {}
    for f in sorted(mine, key=lambda f: f.spot.side.rank):
        kind, _, part = f.part.partition(" ")
        held = start if kind == "from" else ends
        held[part] = (*held.get(part, ()), f.spot)
    return LinePlan(key=key, name=name, starts_at=starts_at, start=start, ends=ends)
