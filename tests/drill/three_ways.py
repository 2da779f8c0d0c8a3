"""One set of faults worked out three ways: plainly, with a graph library, and by the sweep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineproof.drill.calm import Calm
from lineproof.drill.lose import lose
from lineproof.drill.planes import places_of
from lineproof.drill.sweep import Sight, Swept, swept
from lineproof.drill.verdict import Drilled, State
from lineproof.graph.faults import Fault
from tests.drill.second import Second

STATES = tuple(State)
#: By line, where it is not untouched, its state and how many of its ends are lost.
Told = dict[int, tuple[State, int]]


def differences(known: Calm, sets: Sequence[tuple[Fault, ...]]) -> Iterator[str]:
    """Give where the plain method is not as the second one, or the sweep not as the plain one."""
    second, fast = Second(known.show, known.plan), swept(known)
    of_fault = {f: at for at, members in enumerate(fast.classes.members) for f in members}
    swift = swiftly(fast, [[of_fault[fault] for fault in faults] for faults in sets])
    for faults, by_sweep in zip(sets, swift, strict=True):
        drilled = plainly(known, faults)
        ours, theirs = lost(drilled), second.lost(faults)
        if ours != theirs:
            yield f"{drilled.title}: {sorted(ours ^ theirs)[:5]}"
        if told(drilled) != by_sweep:
            yield f"{drilled.title}: the sweep has {by_sweep}"


def plainly(known: Calm, faults: Sequence[Fault]) -> Drilled:
    return lose(known.show, known.plan, faults, ready=known, only_arrival=True)


def lost(drilled: Drilled) -> set[tuple[str, str]]:
    """Give (line, end) that is lost."""
    return {(str(v.line), end) for v in drilled.verdicts for end in v.lost}


def told(drilled: Drilled) -> Told:
    return {
        at: (v.state, len(v.lost))
        for at, v in enumerate(drilled.verdicts)
        if v.state is not State.UNTOUCHED
    }


def swiftly(fast: Swept, sets: Sequence[Sequence[int]]) -> list[Told]:
    """Give the same by the sweep, for every set of classes of faults."""
    sight = Sight(swept=fast, planes=fast.cases(sets))
    ranks: list[dict[int, int]] = [{} for _ in sets]
    ends: list[dict[int, int]] = [{} for _ in sets]
    for at, (stands, shapes) in enumerate(zip(sight.lines(), fast.line_shapes, strict=True)):
        for plane in stands:
            for case in places_of(plane):
                ranks[case][at] = ranks[case].get(at, 0) + 1
        for shape in shapes:
            for case in places_of(sight.shapes[shape][4]):
                ends[case][at] = ends[case].get(at, 0) + 1
    return [
        {at: (STATES[rank], gone.get(at, 0)) for at, rank in found.items()}
        for found, gone in zip(ranks, ends, strict=True)
    ]
