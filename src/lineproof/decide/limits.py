"""How many channels, strips and sockets of its own every unit has for what comes to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import Side
from lineproof.decide.classes import FixedChannels
from lineproof.decide.model import Heard, Linear, PatchModel, Var, in_clique
from lineproof.decide.near import Reach
from lineproof.decide.problem import Arrival, Job, PlugId, Problem, plug_id


@dataclass(frozen=True, kw_only=True)
class _Need:
    """One thing that takes a number in a unit: `who` shares it, in which acts, if `term` is 1."""

    who: object
    acts: frozenset[str]
    term: Linear


@dataclass(kw_only=True)
class _Needs:
    found: dict[tuple[str, Side], list[_Need]] = field(default_factory=dict)

    def add(self, unit: str, side: Side, need: _Need) -> None:
        self.found.setdefault((unit, side), []).append(need)


def whole_model(problem: Problem, fixed: FixedChannels, reach: Reach) -> PatchModel:
    """Give the planner's model with all its hard conditions."""
    model = PatchModel(problem, fixed, reach)
    limit_channels(model)
    return model


def limit_channels(model: PatchModel) -> None:
    """Add the limits on receive channels, sends, strips and sockets of socket-only units.

    A receive channel hears its socket all night, so all acts together take them, unless routes
    change per act; strips and a unit's own sockets are free again when their act is over.
    """
    needs = _Needs()
    for job in model.problem.jobs:
        _collect(model, job, needs)
    all_night = model.show.routes != "per-act"
    for (unit, side), found in needs.found.items():
        room = _room(model, unit, side)
        if len({need.who for need in found}) <= room:
            continue
        if all_night and side in (Side.RECEIVE, Side.SEND):
            model.cp.add(_all_night(model, unit, side, found) <= room)
            continue
        for clique in model.problem.running.cliques:
            there = [n for n in found if in_clique(n.acts, clique)]
            model.cp.add(sum(_by_who(model, there, unit).values()) <= room)


def _room(model: PatchModel, unit: str, side: Side) -> int:
    held = sum(1 for s in model.problem.held if s.unit == unit and s.side is side)
    return model.show.count(model.show.units[unit], side) - held


def _all_night(model: PatchModel, unit: str, side: Side, needs: list[_Need]) -> Linear:
    """Give how many channels are taken when each is kept for what starts at one spot."""
    terms = _by_who(model, needs, unit)
    if not model.show.acts:
        return sum(terms.values())
    plugged: dict[object, Linear] = {w: term for w, term in terms.items() if w in model.plugs}
    inside: Linear = sum(term for who, term in terms.items() if who not in plugged)
    return inside + sum(_sockets_heard(model, unit, side, plugged))


def _by_who(model: PatchModel, needs: Iterable[_Need], unit: str) -> dict[object, Linear]:
    """Give whether a number is taken, for each that takes one."""
    by_who: dict[object, list[Linear]] = {}
    for need in needs:
        by_who.setdefault(need.who, []).append(need.term)
    return {who: _any(model, terms, f"{unit} {who}") for who, terms in by_who.items()}


def _any(model: PatchModel, terms: list[Linear], name: str) -> Linear:
    if len(terms) == 1:
        return terms[0]
    some = model.cp.new_bool_var(f"any {name}")
    for term in terms:
        model.cp.add(some >= term)
    return some


def _sockets_heard(
    model: PatchModel, unit: str, side: Side, plugged: Mapping[object, Linear]
) -> list[Linear]:
    """Give, per class, how many of its sockets the unit hears (or, for SEND, sends all night).

    Plugs of different acts may share a socket, and then its channel: no fewer are taken than are
    heard at one time. How many share is decided with the rest, and kept when sockets are given.
    """
    taken: list[Linear] = []
    for c, cls in enumerate(model.classes):
        own = model.problem.host(cls.unit) == unit
        if cls.side is not Side.IN or own is not (side is Side.SEND):
            continue
        heard = _heard_in(model, unit, c, plugged)
        sockets = len(cls.slots) * (1 if cls.even is None else 2)
        if len(heard) <= 1:
            taken += [var for _, var in heard]
            continue
        count = model.cp.new_int_var(0, min(sockets, len(heard)), f"{unit} {side.value} of {c}")
        for clique in model.problem.running.cliques:
            there = [v for ident, v in heard if in_clique(model.plugs[ident].acts, clique)]
            model.cp.add(count >= sum(there))
        model.heard.setdefault(c, []).append(Heard(plugs=tuple(heard), sockets=count))
        taken.append(count)
    return taken


def _heard_in(
    model: PatchModel, unit: str, c: int, plugged: Mapping[object, Linear]
) -> list[tuple[PlugId, Var]]:
    """Give the plugs in a class that the unit hears: plugged there, and not left out."""
    puts: list[tuple[PlugId, Var]] = [(who, v) for who, _, v in model.singles_in.get(c, ())]
    for at, var in model.pairs_in.get(c, ()):
        halves = (model.pairs[at].left, model.pairs[at].right)
        puts += [(plug_id(half), var) for half in halves]
    found = []
    for ident, var in puts:
        if ident not in plugged:
            continue
        term = plugged[ident]
        if isinstance(term, int):
            found += [(ident, var)] if term else []
            continue
        both = model.cp.new_bool_var(f"{unit} hears {ident} in {c}")
        model.cp.add(both >= var + term - 1)
        found.append((ident, both))
    return found


# -- what one line takes ---------------------------------------------------------------------------


def _collect(model: PatchModel, job: Job, needs: _Needs) -> None:
    acts = frozenset({job.line.act_name})
    if job.direct:
        _directly(job, needs, acts)
        return
    for part, unit in job.straight:
        needs.add(unit, Side.IN, _Need(who=(job.ident, part), acts=acts, term=1))
    if job.straight and job.plug is None:
        needs.add(job.own_out, Side.OUT, _Need(who=job.ident, acts=acts, term=1))
    routed = _routed(model, job, needs, acts)
    _sends(model, job, routed, needs, acts)
    for a in job.arrivals:
        if a.strip:
            term = 1 - model.is_gone(a.line, a.part)
            # Lines of one role in two arrangements have one strip, as they have one socket.
            strip = (model.starts_as(job) if job.plug else job.line.key, a.part)
            needs.add(a.unit, Side.STRIP, _Need(who=strip, acts=acts, term=term))
    for plug in job.outs:
        if plug.beyond:
            who = plug_id(plug)
            if plug.line == job.line.key:
                need = _Need(who=who, acts=plug.acts, term=model.put[who])
                needs.add(plug.beyond, Side.IN, need)
    if job.own_out and job.plug and job.plug.line == job.line.key:
        who = plug_id(job.plug)
        need = _Need(who=who, acts=job.plug.acts, term=model.put[who])
        needs.add(job.own_out, Side.OUT, need)


def _directly(job: Job, needs: _Needs, acts: frozenset[str]) -> None:
    """Note the two sockets of a lead between units that have sockets only."""
    assert job.change is not None
    for unit, side in ((job.own_out, Side.OUT), (job.change.unit, Side.IN)):
        needs.add(unit, side, _Need(who=job.ident, acts=acts, term=1))


def _routed(
    model: PatchModel, job: Job, needs: _Needs, acts: frozenset[str]
) -> list[tuple[str, Linear]]:
    """Give (unit, whether the line comes to it by a route); notes the receive channels."""
    routed: list[tuple[str, Linear]] = []
    for at, a in enumerate(job.arrivals):
        comes = _comes(model, job, a)
        if not isinstance(comes, int) or comes:
            routed.append((a.unit, comes))
            twice = [b.part for b in job.arrivals[:at] if b.unit == a.unit]
            who = (model.starts_as(job), a.part) if twice else model.starts_as(job)
            needs.add(a.unit, Side.RECEIVE, _Need(who=who, acts=acts, term=comes))
    for plug in job.outs:
        for unit in model.units(plug):
            put, here = model.in_unit[plug_id(plug), unit], model.starts_in(job, unit)
            if not model.show.units[unit].kind.inside_patch:
                # A box has no inside way from an input to an output.
                model.cp.add(put + here <= 1)
                routed.append((unit, put))
            elif job.inside != unit:
                comes = model.cp.new_bool_var(f"route {job.line.key} {unit} {plug.part}")
                model.cp.add(comes >= put - model.may_start_in(job, unit))
                routed.append((unit, comes))
                # One channel serves this end and an arrival of the line at the unit.
                need = _Need(who=model.starts_as(job), acts=acts, term=comes)
                needs.add(unit, Side.RECEIVE, need)
    return routed


def _comes(model: PatchModel, job: Job, arrival: Arrival) -> Linear:
    gone = model.is_gone(arrival.line, arrival.part)
    here = model.may_start_in(job, arrival.unit)
    if isinstance(gone, int) and isinstance(here, int):
        return max(0, 1 - gone - here)
    if isinstance(gone, int):
        return 1 - here
    comes = model.cp.new_bool_var(f"route {arrival.line} {arrival.part}")
    model.cp.add(comes >= 1 - gone - here)
    return comes


def _sends(
    model: PatchModel,
    job: Job,
    routed: list[tuple[str, Linear]],
    needs: _Needs,
    acts: frozenset[str],
) -> None:
    units = [job.inside] if job.inside else model.units(job.plug) if job.plug else []
    for unit in units:
        if not (job.inside or model.show.units[unit].kind.inside_patch):
            # What is plugged into a box's socket n leaves by its channel n.
            continue
        here = model.starts_in(job, unit)
        away = [comes for other, comes in routed if other != unit]
        if job.reserve:
            away.append(1)
        if any(isinstance(comes, int) and comes for comes in away):
            sends = here
        else:
            sends = model.cp.new_bool_var(f"send {job.line.key} {unit}")
            for comes in away:
                model.cp.add(sends >= here + comes - 1)
        needs.add(unit, Side.SEND, _Need(who=model.starts_as(job), acts=acts, term=sends))
