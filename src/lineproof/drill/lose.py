"""The plain method: what faults do to every line, end by end, value in and value out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from lineproof.drill.after import Clocks, NetAfter, nets_after
from lineproof.drill.bearing import Arrival, Course, Leg, Member, Resting
from lineproof.drill.calm import Calm, calm
from lineproof.drill.dead import Dead, what_dies
from lineproof.drill.dip import after_dip
from lineproof.drill.rests import Alike
from lineproof.drill.verdict import UNHURT, Drilled, EndVerdict, Standing, State, Verdict
from lineproof.graph.faults import DIP, MISTAKE, NET, Fault
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.reckon.gap import Gap
from lineproof.show.model import Show
from lineproof.show.standbys import by_hand, changeover_unit


def lose(
    show: Show,
    plan: Plan,
    faults: Fault | Iterable[Fault],
    *,
    ready: Calm | None = None,
    only_arrival: bool = False,
) -> Drilled:
    """Give what the faults do to every planned line, all of them at once.

    `ready`: the show made ready by `calm`, where many faults are tried. `only_arrival` leaves out
    loads, delays and the clock: only whether things reach one another. Mistakes are not for here.
    Without a planned network a dead switch makes unknown whatever goes over the network.
    """
    struck = (faults,) if isinstance(faults, Fault) else tuple(faults)
    if any(fault.what == MISTAKE for fault in struck):
        raise ValueError("a mistake is drilled by itself, with `blunder`")
    known = ready or calm(show, plan)
    after = after_faults(known, struck, only_arrival=only_arrival)
    # Beside anything that stays broken a dip is told as its feed being off.
    dips = [f.name for f in struck] if all(f.what == DIP for f in struck) else []
    # An end on which all is as before stands as before, and most ends are such.
    hurt = known.rests.hurt(after.dead, lambda leg, key: after.leg(leg, key) == UNHURT)
    verdicts = [
        verdict(line, after, dips=dips, ends=hurt.get(at, ()))
        for at, line in enumerate(known.lines)
    ]
    return Drilled(faults=struck, verdicts=tuple(verdicts))


@dataclass(frozen=True, kw_only=True)
class After:
    """All that a line's verdict follows from.

    `blind`: no network is planned and a switch or net is gone. `doubts` says of a course why
    nobody can tell how it stands, None where it is as it seems.
    """

    calm: Calm
    dead: Dead
    nets: Mapping[str, NetAfter]
    clocks: Clocks
    blind: bool = False
    only_arrival: bool = False
    doubts: Callable[[Course], str] = field(default=lambda _: "")
    # Channels of one stream to one unit stand alike: each is worked out once.
    _legs: dict[Alike, Standing] = field(default_factory=dict, compare=False)

    def steady(self, leg: Leg) -> bool:
        """Say whether a leg's units hear the clock as before, or nobody looks at the clock."""
        return self.only_arrival or self.clocks.steady(leg)

    def leg(self, leg: Leg, key: Alike | None = None) -> Standing:
        """Give how a leg stands; `key`: its `alike`, where it is known."""
        key = key or self.calm.alike(leg)
        if key not in self._legs:
            self._legs[key] = _leg(leg, self)
        return self._legs[key]


def after_faults(known: Calm, struck: tuple[Fault, ...], *, only_arrival: bool = False) -> After:
    """Give what everything stands on with those faults."""
    dead = what_dies(known.shared, struck)
    nets = nets_after(known, dead, only_arrival=only_arrival)
    units = known.show.units
    switch = any(units[u].kind.does is Does.SWITCH for u in dead.units if u in units)
    gone = switch or any(fault.what == NET for fault in struck)
    return After(
        calm=known,
        dead=dead,
        nets=nets,
        clocks=Clocks(calm=known, nets=nets),
        blind=gone and not known.nets,
        only_arrival=only_arrival,
    )


def verdict(
    resting: Resting, after: After, *, dips: Iterable[str] = (), ends: Iterable[int] | None = None
) -> Verdict:
    """Give a line's verdict; its worst end stands for it.

    `ends`: those to look at, by their place among the line's ends, where all others are known to
    stand as with nothing broken; all where nothing is said.
    """
    found = []
    looked_at = range(len(resting.arrivals)) if ends is None else ends
    for arrival in (resting.arrivals[at] for at in looked_at):
        standing = end_standing(resting, arrival, after)
        if dips:
            standing = after_dip(standing, arrival, after.calm, after.dead, dips)
        if standing is not UNHURT and standing != UNHURT:
            found.append(EndVerdict(end=str(arrival.end), want=arrival.end.want, standing=standing))
    worst = max((each.standing for each in found), key=Standing.harm, default=UNHURT)
    lost = tuple(each.end for each in found if each.standing.state is State.LOST)
    return Verdict(line=resting.line.key, standing=worst, lost=lost, ends=tuple(found))


def end_standing(resting: Resting, arrival: Arrival, after: After) -> Standing:
    """Give how an end stands: any member that arrives will do."""
    each = [(member.name, _member(resting, member, after)) for member in arrival.members]
    alive = [(name, standing) for name, standing in each if standing.state.arrives]
    if len(alive) == len(each):
        return max((standing for _, standing in each), key=Standing.sort_key)
    worst = max((s for _, s in each if not s.state.arrives), key=Standing.sort_key)
    if not alive:
        return min((standing for _, standing in each), key=Standing.sort_key)
    name, best = min(alive, key=lambda pair: pair[1].sort_key())
    state = max(best.state, State.OTHER_END, key=lambda s: s.rank)
    carries = best.carries if state is State.STANDBY else name
    return replace(best, state=state, carries=carries, why=worst.why)


def _member(resting: Resting, member: Member, after: After) -> Standing:
    first, *others = [_course(course, after) for course in member.courses]
    best = first
    for course, standing in zip(member.courses[1:], others, strict=True):
        stands_in = _standing_in(resting, course, standing, first, after)
        best = min(best, stands_in, key=Standing.sort_key)
    if best.state is State.LOST:
        return _patched_by_hand(resting, best, after)
    for needed in member.needs:
        also = min((_course(course, after) for course in needed), key=Standing.sort_key)
        if also.state is State.LOST:
            why = f"{also.why}, and this goes through it"
            return Standing(state=State.LOST, must_act=True, why=why)
        best = max(best, also, key=Standing.sort_key)
    return best


def _standing_in(
    resting: Resting, course: Course, standing: Standing, first: Standing, after: After
) -> Standing:
    """Give how a further way stands: it takes over from the first, by hand or by itself."""
    if not standing.state.arrives:
        return standing
    by_itself = bool(changeover_unit(resting.line, after.calm.show.units))
    state = max(standing.state, State.STANDBY, key=lambda s: s.rank)
    return replace(
        standing, state=state, must_act=not by_itself, carries=course.start, why=first.why
    )


def _patched_by_hand(resting: Resting, lost: Standing, after: After) -> Standing:
    """Say of a lost line what stands by and only waits to be patched."""
    units, starts = after.calm.show.units, resting.line.starts
    if not starts or not by_hand(resting.line, units):
        return lost
    if starts[0].name not in after.dead.units:
        return lost  # what stands by would not come through either
    first = units.get(starts[0].name)
    names = [*(start.name for start in starts[1:]), *((first.standby,) if first else ())]
    waits = [name for name in names if name and name not in after.dead.units]
    if not waits:
        return lost
    return replace(lost, why=f"{lost.why}; {waits[0]} stands by, to be patched by hand")


def _course(course: Course, after: After) -> Standing:
    """Give how one way stands: nothing on it dead, and every leg carried by some net."""
    if why := _broken(course, after.dead):
        return Standing(state=State.LOST, must_act=True, why=why)
    if doubt := after.doubts(course):
        return Standing(state=State.UNKNOWN, must_act=True, why=doubt)
    legs = [after.leg(leg) for leg in course.legs]
    return max(legs, key=Standing.sort_key, default=UNHURT)


def _broken(course: Course, dead: Dead) -> str:
    """Say what of a course is dead, first in the order of the signal, "" for nothing."""
    for name in course.units:
        if name in dead.units:
            return f"{name} has no power" if name in dead.unpowered else f"{name} is dead"
    for names, gone, words in (
        (course.places, dead.places, "{0} is gone"),
        (course.runs, dead.runs, "multicore {0} is cut"),
        (course.ducts, dead.ducts, "its lead lies in {0}"),
    ):
        for name in names:
            if name in gone:
                return words.format(name)
    return ""


def _leg(leg: Leg, after: After) -> Standing:
    """Give how a leg stands: any net that carried it with nothing broken will do."""
    if not after.calm.nets:
        why = "no network is planned, so nobody knows which switches carry it"
        blind = Standing(state=State.UNKNOWN, must_act=True, why=why)
        return blind if after.blind else UNHURT
    joining = after.calm.joining(leg)
    before = [net for name, net in after.nets.items() if name in joining]
    if before and all(net.spares(leg) for net in before) and after.steady(leg):
        return UNHURT
    pair = f"{leg.sender} and {leg.receiver}"
    if not before:
        why = f"no net joins {pair} even with nothing broken"
        return Standing(state=State.UNKNOWN, must_act=True, why=why)
    alive = [net for net in before if net.carries(leg)]
    if not alive:
        return Standing(state=State.LOST, must_act=True, why=_not_carried(leg, before))
    return _carried(leg, before, alive, after)


def _not_carried(leg: Leg, nets: list[NetAfter]) -> str:
    causes = [net.down or (net.mute if net.multicast(leg) else "") for net in nets]
    if any(causes):
        return " and ".join(cause for cause in causes if cause)
    names = " and ".join(net.name for net in nets)
    joins = "join" if len(nets) > 1 else "joins"
    s = "s" if len(nets) > 1 else ""
    return f"net{s} {names} no longer {joins} {leg.sender} and {leg.receiver}"


def _carried(leg: Leg, before: list[NetAfter], alive: list[NetAfter], after: After) -> Standing:
    if after.only_arrival:
        state = State.UNTOUCHED if len(alive) == len(before) else State.OTHER_NET
        return Standing(state=state, carries=_named(alive, state))
    if late := after.clocks.trouble(leg):
        return Standing(state=State.UNKNOWN, must_act=True, why=late)
    troubles = {net.name: net.trouble(leg) for net in alive}
    sound = [net for net in alive if not troubles[net.name]]
    if not sound:
        why = troubles[alive[0].name]
        return Standing(state=State.UNKNOWN, must_act=True, why=why)
    least = min((net.gap(leg, after.calm) for net in sound), key=_length)
    clock = after.clocks.gap(leg)
    gap = max(least, clock, key=_length)
    if len(sound) == len(before):
        moved = f"net {sound[0].name} finds another way" if least.most_s else ""
        return Standing(gap=gap, why=_locks(leg) if gap is clock and clock.most_s else moved)
    weak = [net for net in before if net not in sound]
    bad = [troubles[net.name] for net in weak if troubles.get(net.name)]
    why = bad[0] if bad else _not_carried(leg, weak)
    return Standing(state=State.OTHER_NET, gap=gap, carries=_named(sound, State.OTHER_NET), why=why)


def _named(nets: list[NetAfter], state: State) -> str:
    return f"net {nets[0].name}" if state is State.OTHER_NET else ""


def _locks(leg: Leg) -> str:
    return f"{leg.sender} and {leg.receiver} follow another clock"


def _length(gap: Gap) -> tuple[float, float]:
    return (gap.most_s, gap.least_s)
