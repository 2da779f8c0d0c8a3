"""The law of a rescue: carried out from its card and drilled again, it gives what it promises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lineproof.base.spot import LineKey
from lineproof.drill.calm import Calm, calm, calm_net
from lineproof.drill.dead import what_dies
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.plan.model import Plan
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue
from lineproof.show.model import Show
from tests.drill.second import Second
from tests.rescue.hands import CardError, Hands

#: A line and which of the ends of its row.
At = tuple[LineKey, int]


def broken_promises(known: Calm, rescue: Rescue) -> Iterator[str]:
    """Give where a card, carried out with the faults still standing, is not as it promises."""
    dead = what_dies(known.shared, rescue.faults)
    try:
        show, plan = Hands(known.show, known.plan, dead).carry_out(rescue.moves)
    except CardError as error:
        yield f"the card can't be carried out: {error}"
        return
    before = standings(known, rescue.faults)
    after = standings(as_it_is_set(known, show, plan), rescue.faults)
    lost = {at for at, state in before.items() if state is State.LOST}
    if lost != set(named(known, rescue.lost)):
        yield "other ends are lost than the card says"
    back = {at for at in lost if arrives(after, at)}
    promised = set(named(known, rescue.back))
    if promised - back:
        yield f"promised and not back: {told(promised - back)}"
    if back - promised:
        yield f"back and not promised: {told(back - promised)}"
    worse = {at for at, state in before.items() if state.arrives and not arrives(after, at)}
    if worse:
        yield f"arrived before and no longer: {told(worse)}"
    # The same for mere arrival, with a graph library and none of the drill's code.
    second = Second(show, plan).lost(rescue.faults)
    gone = {
        (line.key, n)
        for line in show.lines
        for n, end in enumerate(line.ends)
        if (str(line.key), str(end)) in second
    }
    # It knows neither multicores nor ties.
    passive = {
        decided.key
        for decided in plan.lines
        if decided.ties or any(show.units[spot.unit].sockets_of for spot in decided.spots())
    }
    gone = {at for at in gone if at[0] not in passive}
    mine_lost = {at for at, state in after.items() if state is State.LOST and at[0] not in passive}
    if gone != mine_lost:
        yield f"the second drill differs at {told(gone ^ mine_lost)}"


def standings(known: Calm, faults: Sequence[Fault]) -> dict[At, State]:
    """Give by line and end how it stands, loads, delays and clock looked at."""
    drilled = lose(known.show, known.plan, faults, ready=known)
    touched = {(v.line, each.end): each.standing.state for v in drilled.verdicts for each in v.ends}
    return {
        at: touched.get((at[0], str(end)), State.UNTOUCHED)
        for at, end in _ends(known)
    }


def arrives(after: dict[At, State], at: At) -> bool:
    """Say whether an end arrives; one that nobody feeds any more does not."""
    return at in after and after[at].arrives


def _ends(known: Calm) -> Iterator[tuple[At, object]]:
    for resting in known.lines:
        for arrival in resting.arrivals:
            places = [n for n, end in enumerate(resting.line.ends) if end is arrival.end]
            yield (resting.line.key, places[0]), arrival.end


def named(known: Calm, ends: Sequence[EndAt]) -> list[At]:
    """Give a rescue's ends by their lines' keys."""
    found = []
    for at, n in ends:
        resting = known.lines[at]
        places = [k for k, end in enumerate(resting.line.ends) if end is resting.arrivals[n].end]
        found.append((resting.line.key, places[0]))
    return found


def as_it_is_set(known: Calm, show: Show, plan: Plan) -> Calm:
    """Give a show and plan after moves ready to be drilled, every receive buffer as it was set."""
    fresh = calm(show, plan)
    figures = fresh.figures.nets if fresh.figures else {}
    nets = {
        net: calm_net(show, plan.network, each.swept.calm, known.offsets_ns)
        for net, each in figures.items()
    }
    return replace(fresh, nets=nets, offsets_ns=known.offsets_ns)


def told(ends: set[At]) -> str:
    """Give ends in words."""
    return ", ".join(sorted(f"{key} at end {n + 1}" for key, n in ends))
