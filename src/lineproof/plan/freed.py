"""What became free stays kept for whom it belonged to, until someone renews."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from lineproof.base.part import ALSO, FROM
from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import Freed, LinePlan, Plan
from lineproof.show.model import Line, Show


def kept_for_others(earlier: Plan, show: Show, *, in_act: bool = False) -> tuple[Freed, ...]:
    """Give what a new decision should leave alone: what is freed, and what `show` frees now.

    A row that can't be read frees nothing. With `in_act` what is freed in one act only, while a
    line of another act is there still.
    """
    unread = {key.same() for key in show.unread}
    now: dict[Spot, Freed] = {f.spot: f for f in earlier.freed}
    held: set[Spot] = set()
    for decided in earlier.lines:
        if decided.key.same() in unread:
            continue
        line = show.line(decided.key)
        parts = parts_of(line) if line is not None else frozenset[str]()
        for part, spot in _parts(decided):
            if part in parts:
                held.add(spot)
            else:
                now[spot] = _freed(decided, part, spot, 0)
    # What a line of another act holds still is not free, whoever shared it went.
    return tuple(f for spot, f in now.items() if (spot in held) is in_act)


def parts_of(line: Line) -> frozenset[str]:
    """Give the names under which a plan keeps the parts of a line."""
    starts = [str(start) for start in line.starts] + [f"{ALSO}{word}" for word in line.also]
    ends = [str(member) for _, member in line.end_members()]
    ends += [f"{end}{FROM}{start}" for end in ends for start in starts[1:]]
    return frozenset({*(f"from {start}" for start in starts), *(f"to {end}" for end in ends)})


def what_is_freed(
    earlier: Plan, lines: tuple[LinePlan, ...], revision: int, *, drop: Callable[[Freed], bool]
) -> tuple[Freed, ...]:
    """Give the spots that nobody holds now but somebody held: kept for them.

    A spot stays freed until its line returns to it, somebody else has to take it, or it is
    renewed (`drop`).
    """
    in_use: dict[Spot, set[str]] = {}
    for line in lines:
        for spot in line.spots():
            in_use.setdefault(spot, set()).add(line.key.act)
    now = {line.key: frozenset(line.spots()) for line in lines}
    freed = {f.spot: f for f in earlier.freed if not drop(f)}
    for line in earlier.lines:
        for part, spot in _parts(line):
            if spot not in now.get(line.key, ()):
                freed[spot] = _freed(line, part, spot, revision)
    kept = [f for f in freed.values() if not _in_use(f, in_use) and not drop(f)]
    return tuple(sorted(kept, key=lambda f: f.spot.sort_key()))


def _in_use(freed: Freed, in_use: Mapping[Spot, set[str]]) -> bool:
    """Say whether somebody is there whenever the line was: in its act, or in every act."""
    acts = in_use.get(freed.spot, set())
    return bool(acts) and (not freed.line.act or bool(acts & {"", freed.line.act}))


def all_freed(line: LinePlan, *, revision: int) -> list[Freed]:
    """Give everything the line held, as freed for it."""
    return [_freed(line, part, spot, revision) for part, spot in _parts(line)]


def _freed(line: LinePlan, part: str, spot: Spot, revision: int) -> Freed:
    return Freed(
        spot=spot,
        line=line.key,
        name=line.name,
        starts_at=line.starts_at,
        part=part,
        revision=revision,
    )


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
