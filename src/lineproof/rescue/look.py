"""What arrives once moves are made, the faults still standing: looked at before it is promised."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from lineproof.base.spot import LineKey
from lineproof.drill.bearing import Resting
from lineproof.drill.calm import Calm
from lineproof.drill.lose import After, after_faults, end_standing
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.rescue.again import again
from lineproof.rescue.apply import Applied
from lineproof.rescue.fuller import doubts
from lineproof.rescue.hurt import EndAt, Hurt


@dataclass(frozen=True, kw_only=True)
class Looked:
    """What became of the lost ends, and whether another falls silent that still arrived.

    `back`: those that arrive, hoped for or not; `lost`: those hoped for that do not. Of the rest
    nobody can tell.
    """

    back: tuple[EndAt, ...] = ()
    lost: tuple[EndAt, ...] = ()
    silenced: bool = False


def looked(
    hurt: Hurt, done: Applied, struck: tuple[Fault, ...], hoped: tuple[EndAt, ...]
) -> Looked:
    """Give what arrives with loads, delays and the clock as they are after the moves."""
    if not hoped:
        return Looked()
    known = hurt.after.calm
    now = again(known, done.show, done.plan)
    after = after_faults(now, struck)
    doubted = doubts(known, after)
    if doubted is not None:
        after = replace(after, doubts=doubted)
    rows = {resting.line.key: resting for resting in now.lines}
    stands = {end: _stands(known, rows, after, end) for end in hurt.lost}
    # What nobody moved anything of stands as its legs do; these only change with the cables.
    rewired = done.plan.network.runs != known.network.runs
    worse = doubted is not None or (rewired and _is_worse(hurt, after))
    others = _others(hurt) if worse else _moved(hurt, rows)
    return Looked(
        back=tuple(end for end, state in stands.items() if state.arrives),
        lost=tuple(end for end in hoped if stands[end] is State.LOST),
        silenced=any(
            _arrived(hurt, end) and not _stands(known, rows, after, end).arrives for end in others
        ),
    )


def _is_worse(hurt: Hurt, after: After) -> bool:
    """Say whether some leg stands worse than before the moves."""
    return any(
        hurt.after.leg(leg, key).state.arrives and not after.leg(leg).state.arrives
        for key, (leg, _) in hurt.after.calm.rests.by_leg.items()
    )


def _others(hurt: Hurt) -> Iterator[EndAt]:
    lost = set(hurt.lost)
    for at, resting in enumerate(hurt.lines):
        yield from ((at, n) for n in range(len(resting.arrivals)) if (at, n) not in lost)


def _moved(hurt: Hurt, rows: Mapping[LineKey, Resting]) -> Iterator[EndAt]:
    """Give the ends that are not lost of lines that something was moved of."""
    for at, n in _others(hurt):
        before = hurt.lines[at]
        if rows[before.line.key] is not before:
            yield at, n


def _arrived(hurt: Hurt, end: EndAt) -> bool:
    resting = hurt.lines[end[0]]
    return end_standing(resting, resting.arrivals[end[1]], hurt.after).state.arrives


def _stands(known: Calm, rows: Mapping[LineKey, Resting], after: After, end: EndAt) -> State:
    """Give how an end of before, by its place in the row, stands in the row as it is now."""
    at, n = end
    before = known.lines[at]
    place = _place(before.line.ends, before.arrivals[n].end)
    now = rows[before.line.key]
    found = next((a for a in now.arrivals if a.end is now.line.ends[place]), None)
    return State.LOST if found is None else end_standing(now, found, after).state


def _place(ends: Iterable[object], wanted: object) -> int:
    """Give the place of one end of a row; two may be written alike."""
    return next(n for n, end in enumerate(ends) if end is wanted)
