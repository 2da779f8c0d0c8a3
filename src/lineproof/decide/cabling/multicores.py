"""Multicores: from each drop box to the box whose sockets come out there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from lineproof.base.names import folded
from lineproof.decide.cabling.given import MULTICORE, place_of
from lineproof.decide.cabling.ground import Cable, Ground
from lineproof.decide.cabling.reach import run_length_m
from lineproof.plan.network import PlannedRun, PortAt

_BETWEEN = re.compile(r"[\s,;]+")


def multicore_runs(
    ground: Ground, runs: Sequence[PlannedRun]
) -> Iterator[tuple[tuple[PortAt, PortAt], Cable]]:
    """Give a multicore for each drop box and each box behind it that none joins yet.

    One that is given between the two places, or the two units, will do.
    """
    show = ground.show
    names = {folded(name): name for name in show.units}
    spare = [run for run in runs if run.medium == MULTICORE]
    for drop in show.units.values():
        words = (word.partition(":")[0] for word in _BETWEEN.split(drop.sockets_of) if word)
        boxes = [names[folded(word)] for word in words if folded(word) in names]
        for box in dict.fromkeys(boxes):
            places = {drop.place, show.units[box].place}
            there = [r for r in spare if {place_of(show, end) for end in r.ends} == places]
            own = [r for r in there if {drop.name, box} & {end.unit for end in r.ends}]
            if lies := [*own, *there]:
                spare.remove(lies[0])
                continue
            way = ground.ways.shortest(show.units[box].place, drop.place)
            if way is not None:
                length = run_length_m(show, way)
                cable = Cable(way=way, medium=MULTICORE, cable=MULTICORE, length_m=length)
                yield (PortAt(unit=box), PortAt(unit=drop.name)), cable
