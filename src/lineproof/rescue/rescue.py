"""The rescue from some faults: what to do, in walking order, what comes back, what stays lost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.drill.calm import Calm
from lineproof.drill.lose import After, after_faults, end_standing
from lineproof.drill.verdict import State
from lineproof.graph.faults import DIP, UNIT, Fault
from lineproof.plan.model import Plan
from lineproof.rescue.apply import Applied, applied
from lineproof.rescue.chance import StandIn
from lineproof.rescue.choose import Chosen, choose, weight
from lineproof.rescue.hand import AtHand
from lineproof.rescue.hurt import EndAt, Hurt, sorted_ends
from lineproof.rescue.joins import Joins
from lineproof.rescue.look import looked
from lineproof.rescue.moves import Move, Pace, seconds
from lineproof.rescue.walk import in_walking_order
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Rescue:
    """What to do about faults that struck together.

    `lost`: the ends they take, as places of the line in the plan and of the end among the line's
    planned ends; `back`: those of them that the moves bring back; `crowded`: those that stay lost
    though a second unit that could take them is near. `proven`: no fewer moves bring back as much,
    of those that were looked at. `stand_ins`: which unit does from now on what a dead one did, as
    (dead, stand-in): somebody has to know it even where nothing needs to be moved.
    `show` and `plan` are as they are once it is done; faults still stand.
    """

    faults: tuple[Fault, ...]
    moves: tuple[Move, ...]
    walk_m: float
    lost: tuple[EndAt, ...]
    back: tuple[EndAt, ...]
    crowded: tuple[EndAt, ...]
    proven: bool
    show: Show
    plan: Plan
    stand_ins: tuple[tuple[str, str], ...] = ()

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
    gone = sorted_ends(_lost(after, struck) if lost is None else lost)
    hurt = Hurt(hand=at_hand, after=after, lost=gone)
    joins = Joins(hurt, struck)
    chosen, done, back = _settled(hurt, joins, struck)
    moves, walk = in_walking_order(at_hand, done.moves, _begin(known.show, after, struck))
    return Rescue(
        faults=struck,
        moves=moves,
        walk_m=walk,
        lost=gone,
        back=back,
        crowded=tuple(end for end in gone if end not in set(back) and hurt.second_near(end)),
        proven=chosen.proven,
        show=done.show,
        plan=done.plan,
        stand_ins=_stand_ins(chosen),
    )


def _settled(
    hurt: Hurt, joins: Joins, struck: tuple[Fault, ...]
) -> tuple[Chosen, Applied, tuple[EndAt, ...]]:
    """Choose, carry out, and look; what does not come back is given up, and chosen without.

    So is the less needed half of what is too much for the net, or silences something else.
    """
    hopeless: frozenset[EndAt] = frozenset()
    while True:
        chosen = choose(hurt, joins, hopeless=hopeless)
        done = applied(hurt, chosen)
        hoped = sorted_ends(set(chosen.ends) & set(hurt.lost))
        found = looked(hurt, done, struck, hoped)
        if found.lost:
            hopeless |= set(found.lost)
        elif doubtful := set(hoped) - set(found.back):
            hopeless |= _less_needed(hurt, doubtful)
        elif found.silenced:
            hopeless |= _less_needed(hurt, hoped)
        else:
            return chosen, done, found.back


def _less_needed(hurt: Hurt, ends: Iterable[EndAt]) -> set[EndAt]:
    """Give the half of some ends that weighs less, of those alike the last in the plan."""
    some = sorted(ends, key=lambda end: (-weight(hurt, end), end))
    return set(some[len(some) // 2 :])


def _stand_ins(chosen: Chosen) -> tuple[tuple[str, str], ...]:
    """Give the pairs of a dead unit and what stands in for it, each once, in order."""
    found = {
        (each.dead, each.unit)
        for chance in chosen.ends.values()
        for each in (chance.start, chance.end)
        if isinstance(each, StandIn)
    }
    return tuple(sorted(found))


def _begin(show: Show, after: After, struck: tuple[Fault, ...]) -> str:
    """Give the place where the fault is found, if that is one place somebody can stand at."""
    unit = show.units.get(struck[0].name) if struck and struck[0].what == UNIT else None
    return unit.place if unit is not None and unit.place not in after.dead.places else ""


def _lost(after: After, struck: tuple[Fault, ...]) -> list[EndAt]:
    """Give the ends that stay lost: after dips alone all comes back by itself."""
    if all(fault.what == DIP for fault in struck):
        return []
    return [
        (at, n)
        for at, resting in enumerate(after.calm.lines)
        for n, arrival in enumerate(resting.arrivals)
        if end_standing(resting, arrival, after).state is State.LOST
    ]
