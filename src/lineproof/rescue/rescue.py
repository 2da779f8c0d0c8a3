"""The rescue from some faults: what to do, in walking order, what comes back, what stays lost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.drill.calm import Calm
from lineproof.drill.lose import After, after_faults, end_standing
from lineproof.drill.verdict import State
from lineproof.graph.faults import UNIT, Fault
from lineproof.plan.model import Plan
from lineproof.rescue.again import again
from lineproof.rescue.apply import Applied, applied
from lineproof.rescue.choose import choose
from lineproof.rescue.hand import AtHand
from lineproof.rescue.hurt import EndAt, Hurt, sorted_ends
from lineproof.rescue.joins import Joins
from lineproof.rescue.moves import Move, Pace, seconds
from lineproof.rescue.walk import in_walking_order
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Rescue:
    """What to do about faults that struck together.

    `lost`: the ends they take, as places of the line in the plan and of the end among the line's
    planned ends; `back`: those of them that the moves bring back; `proven`: no fewer moves bring
    back as much, of those that were looked at. `show` and `plan` are as they are once it is done;
    faults still stand.
    """

    faults: tuple[Fault, ...]
    moves: tuple[Move, ...]
    walk_m: float
    lost: tuple[EndAt, ...]
    back: tuple[EndAt, ...]
    proven: bool
    show: Show
    plan: Plan

    @property
    def stays(self) -> tuple[EndAt, ...]:
        """Give the ends that stay lost."""
        back = set(self.back)
        return tuple(end for end in self.lost if end not in back)

    def seconds(self, pace: Pace | None = None) -> float:
        """Give how long it takes one person."""
        return seconds(self.moves, self.walk_m, pace) if self.moves else 0.0


def rescue(
    known: Calm,
    faults: Fault | Iterable[Fault],
    *,
    hand: AtHand | None = None,
    lost: Iterable[EndAt] | None = None,
) -> Rescue:
    """Give the quickest way back: most lines by what they are to the act, with fewest moves.

    Only what arrives again with loads, delays and the clock as they then are is called back.
    `hand`: what is at hand, where many faults are looked at; `lost`: the ends that are lost, where
    the sweep has told already.
    """
    struck = (faults,) if isinstance(faults, Fault) else tuple(faults)
    at_hand = hand or AtHand(known.show, known.plan)
    after = after_faults(known, struck)
    gone = sorted_ends(_lost(after) if lost is None else lost)
    hurt = Hurt(hand=at_hand, after=after, lost=gone)
    joins = Joins(hurt, struck)
    chosen = choose(hurt, joins)
    done = applied(hurt, joins, chosen)
    moves, walk = in_walking_order(at_hand, done.moves, _begin(known.show, after, struck))
    return Rescue(
        faults=struck,
        moves=moves,
        walk_m=walk,
        lost=gone,
        back=_back(known, done, struck, tuple(chosen.ends), gone),
        proven=chosen.proven,
        show=done.show,
        plan=done.plan,
    )


def _begin(show: Show, after: After, struck: tuple[Fault, ...]) -> str:
    """Give the place where the fault is found, if that is one place somebody can stand at."""
    unit = show.units.get(struck[0].name) if struck and struck[0].what == UNIT else None
    return unit.place if unit is not None and unit.place not in after.dead.places else ""


def _lost(after: After) -> list[EndAt]:
    return [
        (at, n)
        for at, resting in enumerate(after.calm.lines)
        for n, arrival in enumerate(resting.arrivals)
        if end_standing(resting, arrival, after).state is State.LOST
    ]


def _back(
    known: Calm,
    done: Applied,
    struck: tuple[Fault, ...],
    hoped: tuple[EndAt, ...],
    lost: tuple[EndAt, ...],
) -> tuple[EndAt, ...]:
    """Give the lost ends that arrive once all is done, the faults still standing."""
    if not done.moves and not hoped:
        return ()
    now = again(known, done.show, done.plan)
    after = after_faults(now, struck)
    by_key = {resting.line.key: resting for resting in now.lines}
    found = []
    for at, n in sorted(set(hoped) & set(lost)):
        before = known.lines[at]
        ordinal = before.line.ends.index(before.arrivals[n].end)
        resting = by_key.get(before.line.key)
        for arrival in resting.arrivals if resting is not None else ():
            if resting.line.ends[ordinal] is arrival.end:
                if end_standing(resting, arrival, after).state.arrives:
                    found.append((at, n))
                break
    return tuple(found)
