"""Network cables moved and laid: the runs as they are then, and what somebody does for them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from lineproof.base.names import natural
from lineproof.plan.network import Network, PlannedRun, PortAt
from lineproof.rescue.hand import AtHand
from lineproof.rescue.joins import Join, Opening
from lineproof.rescue.moves import Do, Move


def recabled(hand: AtHand, joins: Iterable[Join]) -> tuple[Network, tuple[Move, ...]]:
    """Give the network with cables moved and laid, each in a port of its own; and the moves."""
    network = hand.plan.network
    free: dict[Opening, list[PortAt]] = {}
    runs = {run.name: run for run in network.runs}
    used: set[PortAt] = set()
    moves = []
    for join in joins:
        taken = [free.setdefault(o, list(o.ports)).pop(0) for o in join.openings]
        used.update(taken)
        one, other = (*join.fixed, *taken)
        if join.run is not None:
            runs.pop(join.run.name, None)  # its plugs are out
        run = _run(join, one, other, runs)
        runs[run.name] = run
        moves.append(_move(hand, join, one, other))
    found = sorted(runs.values(), key=lambda run: natural(run.name))
    rescue = tuple(r for r in network.rescue_ports if r.port not in used)
    return replace(network, runs=tuple(found), rescue_ports=rescue), tuple(moves)


def _run(join: Join, one: PortAt, other: PortAt, runs: Mapping[str, PlannedRun]) -> PlannedRun:
    if join.do is Do.CABLE:
        assert join.run is not None
        return replace(join.run, ends=(one, other), given=False)
    stem = join.run.name if join.run is not None else f"{one.unit}-{other.unit}-{join.net}"
    return PlannedRun(
        name=_new_name(stem, runs),
        net=join.net,
        ends=(one, other),
        ducts=join.ducts,
        medium=join.medium,
        length_m=join.length_m,
    )


def _move(hand: AtHand, join: Join, one: PortAt, other: PortAt) -> Move:
    """Give the move: where a loose end lies, or at the first end of a spare cable."""
    if join.do is Do.CABLE:
        assert join.run is not None
        loose = join.run.other_end(one.unit)
        return Move(
            do=Do.CABLE,
            place=hand.place(loose.unit),
            unit=other.unit,
            what=f"network cable {join.run.name}",
            old=str(loose),
            new=str(other),
        )
    return Move(
        do=Do.LAY,
        place=hand.place(one.unit),
        unit=one.unit,
        what=f"{join.medium} network cable",
        old=str(one),
        new=str(other),
        length_m=join.length_m,
    )


def _new_name(stem: str, runs: Mapping[str, PlannedRun]) -> str:
    at = 1
    while f"{stem}-spare-{at}" in runs:
        at += 1
    return f"{stem}-spare-{at}"
