"""Pairs of faults that part a net which neither parts: a ring cut twice."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from lineproof.drill.planes import Planes, Web, places_of
from lineproof.drill.sweep import Swept

#: Pairs tried at once: more take more memory than time.
_BLOCK = 1 << 14

#: Two classes of faults, the lower first.
_Pair = tuple[int, int]
#: What a class takes of a net: its bridges, and its runs between bridges, by place in the web.
_Takes = tuple[tuple[int, ...], tuple[int, ...]]


def parting(swept: Swept, net: str) -> set[_Pair]:
    """Give the pairs that part two bridges of a net which neither parts.

    Only bridges and the runs between them count for that, so classes that take the same of them
    are tried as one. And only two that take something of one knot can do more than each by itself:
    from knot to knot there is but one way.
    """
    web = swept.webs[net]
    alike = _alike(swept.singles, web)
    in_knots = _in_knots(web, alike)
    classes = list(alike.values())
    tries = [
        (one, other)
        for one, other in itertools.combinations(range(len(classes)), 2)
        if not in_knots[one].isdisjoint(in_knots[other])
    ]
    found: set[_Pair] = set()
    for start in range(0, len(tries), _BLOCK):
        block = tries[start : start + _BLOCK]
        pairs = [(classes[one][0], classes[other][0]) for one, other in block]
        for case in places_of(_newly_parted(swept, net, pairs)):
            one, other = block[case]
            each = itertools.product(classes[one], classes[other])
            found.update((min(pair), max(pair)) for pair in each)
    return found


def _alike(planes: Planes, web: Web) -> dict[_Takes, list[int]]:
    """Give the classes that take bridges of a net or runs between them, by what they take."""
    takes: dict[int, tuple[list[int], list[int]]] = {}
    for at, name in enumerate(web.names):
        for by in places_of(planes.units.get(name, 0)):
            takes.setdefault(by, ([], []))[0].append(at)
    for at, (_, _, run) in enumerate(web.trunks):
        for by in places_of(planes.run(run)):
            takes.setdefault(by, ([], []))[1].append(at)
    alike: dict[_Takes, list[int]] = {}
    for by in sorted(takes):
        bridges, runs = takes[by]
        alike.setdefault((tuple(bridges), tuple(runs)), []).append(by)
    return alike


def _in_knots(web: Web, takes: Iterable[_Takes]) -> list[frozenset[int]]:
    """Give for each in which knots it takes something; a bridge may be in several."""
    of_run = knots(len(web.names), [(one, other) for one, other, _ in web.trunks])
    of_bridge: list[set[int]] = [set() for _ in web.names]
    for (one, other, _), knot in zip(web.trunks, of_run, strict=True):
        of_bridge[one].add(knot)
        of_bridge[other].add(knot)
    return [
        frozenset(itertools.chain((of_run[at] for at in runs), *(of_bridge[at] for at in bridges)))
        for bridges, runs in takes
    ]


def knots(count: int, runs: Sequence[tuple[int, int]]) -> list[int]:
    """Give by run between bridges its knot: runs on one ring are in one, so is one by itself.

    In words of graphs: the blocks, or biconnected components; found in one walk in depth
    (J. Hopcroft and R. Tarjan, 1973, from memory). Two runs between the same two are a ring.

    >>> knots(4, [(0, 1), (1, 2), (2, 0), (2, 3)])
    [1, 1, 1, 0]
    """
    beside: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for run, (one, other) in enumerate(runs):
        beside[one].append((other, run))
        beside[other].append((one, run))
    found = [-1] * len(runs)
    # By bridge: when the walk came there, and the earliest that it or what lies behind it joins.
    came, joins = [-1] * count, [-1] * count
    times, numbers = itertools.count(), itertools.count()
    gone: list[int] = []
    for start in range(count):
        if came[start] >= 0:
            continue
        came[start] = joins[start] = next(times)
        walk = [(start, -1, iter(beside[start]))]
        while walk:
            here, by, ahead = walk[-1]
            for other, run in ahead:
                if run == by or (came[other] >= came[here]):
                    continue
                gone.append(run)
                if came[other] < 0:
                    came[other] = joins[other] = next(times)
                    walk.append((other, run, iter(beside[other])))
                    break
                joins[here] = min(joins[here], came[other])
            else:
                walk.pop()
                if walk:
                    above = walk[-1][0]
                    joins[above] = min(joins[above], joins[here])
                    if joins[here] >= came[above]:
                        _name(found, gone, by, next(numbers))
    return found


def _name(found: list[int], gone: list[int], first: int, knot: int) -> None:
    """Give all runs gone since the first, and that one, to a knot."""
    while True:
        run = gone.pop()
        found[run] = knot
        if run == first:
            return


def _newly_parted(swept: Swept, net: str, pairs: Sequence[_Pair]) -> int:
    """Give the pairs, as a plane, that part bridges between which something goes."""
    single, both = swept.singles, swept.cases(pairs)
    more = 0
    for one, other in swept.used_bridges(net):
        alone = 0
        for by in places_of(single.bridges_parted(net, one, other)):
            alone |= both.masks[by]
        more |= both.bridges_parted(net, one, other) & ~alone
    return more
