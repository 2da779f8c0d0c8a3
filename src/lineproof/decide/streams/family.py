"""Which sets of receivers a stream of one sender may go to, when its best packing is sought."""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.decide.streams.task import Class, Draft, Mask, Task, bits

#: Sets looked at for one sender, beside single receivers.
MOST_SETS = 120
#: Sets with a receiver left out, for receivers that are short of streams.
MOST_LESS = 120


#: A class of so many channels is stray.
STRAY = 2
#: With so many sets in all, every one is looked at, and anybody may get a bundle.
FEW_SETS = 16


#: Receivers that one set may leave to bundles.
MOST_LEFT = 2

#: A class, by its number, with the set that most of its receivers share.
Part = tuple[int, Mask]


@dataclass(frozen=True, kw_only=True)
class Family:
    """Sets of receivers of one sender, sorted, and who may be left out of one for a bundle.

    `short`: receivers who may run short of streams. `seen`: parts of packings already known.
    `whole`: there is no other set, and anybody may be left out of any.
    """

    sets: tuple[Mask, ...]
    short: Mask
    seen: frozenset[Part]
    whole: bool

    def may_leave(self, number: int, mask: Mask, left: Mask, each: Class) -> bool:
        """Say whether a class may be sent to a set although some of its receivers are not in it.

        Who runs short may be left out of any; for the sake of these, a few stray channels may be
        bundled to anybody else.
        """
        if not left or self.whole or mask & (mask - 1) == 0 or (number, mask) in self.seen:
            return True
        if left.bit_count() > MOST_LEFT or not self.short:
            return False
        return not left & ~self.short or len(each.channels) <= STRAY

    def holds(self, task: Task, part: Part) -> bool:
        """Say whether a class may be sent to a set of the family."""
        number, mask = part
        each = task.classes[number]
        known = mask in self.sets and not mask & each.banned
        return known and self.may_leave(number, mask, each.receivers & ~mask, each)


def family(task: Task, short: Mask, seen: frozenset[Part] = frozenset()) -> Family:
    """Give the sets to choose among: every one where there are few, else unions of classes.

    Unions come by least waste. Where receivers are `short` of streams, the same sets without
    them stand beside (they then get a bundle of their own). `seen` sets are taken in too.
    """
    everyone = 0
    for each in task.classes:
        everyone |= each.receivers
    singles = [1 << n for n in range(len(task.names))]
    known = {mask for _, mask in seen}
    if 1 << everyone.bit_count() <= MOST_SETS:
        found = {mask for mask in _subsets(everyone) if task.may_be(mask)}
        whole = len(found) < FEW_SETS
        sets = tuple(sorted({*found, *singles, *known}))
        return Family(sets=sets, short=short, seen=seen, whole=whole)
    unions = _unions(task)
    less = [mask & ~(1 << n) for mask in unions for n in bits(mask & short)]
    extra = [mask for mask in dict.fromkeys(less) if task.may_be(mask)][:MOST_LESS]
    sets = tuple(sorted({*unions, *extra, *singles, *known}))
    return Family(sets=sets, short=short, seen=seen, whole=False)


def parts_of(task: Task, drafts: Iterable[Draft]) -> frozenset[Part]:
    """Give the part that every channel takes in a packing: its class and the set it shares."""
    largest: dict[int, Mask] = {}
    for draft in drafts:
        for channel in draft.channels:
            before = largest.get(channel, 0)
            if draft.receivers.bit_count() > before.bit_count():
                largest[channel] = draft.receivers
    return frozenset(
        (number, largest[channel])
        for number, each in enumerate(task.classes)
        for channel in each.channels
    )


def _subsets(mask: Mask) -> Iterable[Mask]:
    sub = mask
    while sub:
        yield sub
        sub = (sub - 1) & mask


def _unions(task: Task) -> list[Mask]:
    """Give unions of classes, the least wasteful first."""
    starts = sorted({each.receivers for each in task.classes})
    ahead = [(0, mask.bit_count(), mask) for mask in starts]
    heapq.heapify(ahead)
    known = set(starts)
    found: list[Mask] = []
    while ahead and len(found) < MOST_SETS + len(starts):
        _, _, mask = heapq.heappop(ahead)
        found.append(mask)
        for other in starts:
            union = mask | other
            if union not in known and task.may_be(union):
                known.add(union)
                heapq.heappush(ahead, (_waste(task, union), union.bit_count(), union))
    return list(dict.fromkeys([*starts, *found]))


def _waste(task: Task, mask: Mask) -> int:
    """Give the least channels x runs sent for nothing by one stream that must go to all of them.

    It is filled with the channels that have the fewest needless runs, and must hold at least one
    of a class for every receiver, so what is reached for one class alone counts once at least.
    """
    inside = [c for c in task.classes if not c.receivers & ~mask and not c.banned & mask]
    spare = sorted((task.hops(mask) - task.hops(c.receivers), len(c.channels)) for c in inside)
    waste, reached, room = 0, 0, task.capacity(mask)
    for each in inside:
        reached |= each.receivers
    if reached != mask or not spare:
        return 1 << 40
    for more, channels in spare:
        if more == 0:
            return 0
        taken = min(room, channels)
        waste, room = waste + more * taken, room - taken
        if not room:
            break
    return waste
