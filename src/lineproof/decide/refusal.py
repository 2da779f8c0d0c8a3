"""Why no plan exists: independent clashes, each as few of the user's rows as make one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from lineproof.base.finding import Finding
from lineproof.base.spot import LineKey, Side
from lineproof.decide import rules
from lineproof.decide import solver as cp_model
from lineproof.decide.fixed import fixed_channels
from lineproof.decide.limits import whole_model
from lineproof.decide.near import first_reach, wider
from lineproof.decide.problem import Job, Plug, Problem
from lineproof.decide.roles import role_families, with_roles

T = TypeVar("T")

#: Rows named in one finding; the rest are counted.
MOST_ROWS = 10


def refusal(problem: Problem) -> tuple[Finding, ...]:
    """Give one *stop* per independent clash.

    Each is a set of lines that can't be planned together though any one fewer could be (checked
    by leaving out each). The lines of one clash are set aside before the next is looked for.
    """
    by_line: dict[LineKey, list[Job]] = {}
    for job in problem.singly:
        by_line.setdefault(job.line.key, []).append(job)
    found: list[Finding] = []
    left = list(by_line)

    def can(lines: list[LineKey]) -> bool:
        return possible(problem, [job for key in lines for job in by_line[key]])

    while not can(left):
        chain = shortest_chain(left, can)
        found.append(_told(problem, [job for key in chain for job in by_line[key]]))
        left = [key for key in left if key not in chain]
    return tuple(found)


def possible(problem: Problem, jobs: list[Job]) -> bool:
    """Say whether these jobs alone could be planned, with roles sharing a plug or without."""
    alone = with_roles(replace(problem, singly=tuple(jobs)))
    if _possible(alone):
        return True
    lines = frozenset(job.line.key for job in jobs)
    return bool(role_families(alone)) and _possible(with_roles(alone, lines))


def _possible(part: Problem) -> bool:
    fixed, reach = fixed_channels(part), first_reach(part)
    while True:
        model = whole_model(part, fixed, reach)
        if model.far:
            model.cp.minimize(sum(model.far.values()))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        if solver.solve(model.cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return False
        far = [ident for ident, var in model.far.items() if solver.value(var)]
        if not far:
            return True
        reach = wider(reach, part, far)


def shortest_chain(lines: list[T], possible: Callable[[list[T]], bool]) -> list[T]:
    """Give lines that clash although any one fewer would not (deletion by halves, then singly)."""
    kept = list(lines)
    size = len(kept) // 2
    while size >= 1:
        at = 0
        while at < len(kept):
            without = kept[:at] + kept[at + size :]
            if without and not possible(without):
                kept = without
            else:
                at += size
        size //= 2
    return kept


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """More asked than there is: so many lines, so many places for them, named."""

    asked: int
    there: int
    what: str


def _told(problem: Problem, chain: list[Job]) -> Finding:
    counted = shortage(problem, chain)
    lines = list({job.line.key: job.line for job in chain}.values())
    rows = ", ".join(f"{line.key} ({line.name})" for line in lines[:MOST_ROWS])
    more = f" and {len(lines) - MOST_ROWS} more" if len(lines) > MOST_ROWS else ""
    if counted is not None:
        what = (
            f"{counted.asked} lines ask for {counted.what}, there are {counted.there}: {rows}{more}"
        )
        do = f"bring {counted.asked - counted.there} more, or make one of these lines a want"
    else:
        what = f"these lines can't be planned together, though any one fewer could be: {rows}{more}"
        do = None
    where = tuple(line.where for line in lines[:MOST_ROWS])
    of = tuple(str(line.key) for line in lines)
    return rules.NOT_ENOUGH.finding(what=what, where=where, of=of, do=do)


def shortage(problem: Problem, chain: list[Job]) -> Shortage | None:
    """Give the count that shows why the chain clashes, where it is a matter of counting."""
    candidates = [
        _plugs_short(problem, [j.plug for j in chain if j.plug is not None]),
        _plugs_short(problem, [p for j in chain for p in j.outs]),
        *_channels_short(problem, chain),
    ]
    short = [c for c in candidates if c is not None and c.asked > c.there]
    return max(short, key=lambda c: c.asked - c.there, default=None)


def _plugs_short(problem: Problem, plugs: list[Plug]) -> Shortage | None:
    must = [p for p in plugs if not p.may_go]
    if not must:
        return None
    fitting = set()
    for plug in must:
        for unit in plug.options:
            fits = enumerate(problem.sockets(unit, plug.side))
            fitting |= {(unit, number) for number, socket in fits if plug.fits(socket)}
    units = ", ".join(dict.fromkeys(u for p in must for u in p.options))
    phantom = " with phantom" if all(p.phantom for p in must) else ""
    side = "an input socket" if must[0].side is Side.IN else "an output socket"
    return Shortage(asked=len(must), there=len(fitting), what=f"{side}{phantom} on {units}")


def _channels_short(problem: Problem, chain: list[Job]) -> list[Shortage]:
    found = []
    units = dict.fromkeys(a.unit for job in chain for a in job.arrivals)
    for unit in units:
        for side, words in ((Side.RECEIVE, "a receive channel"), (Side.STRIP, "a strip")):
            room = problem.show.count(problem.show.units[unit], side)
            asked = {job.line.key for job in chain if _asks(job, unit, side)}
            found.append(Shortage(asked=len(asked), there=room, what=f"{words} of {unit}"))
    for unit in dict.fromkeys(job.inside for job in chain if job.inside):
        room = problem.show.count(problem.show.units[unit], Side.SEND)
        asked = {job.line.key for job in chain if job.inside == unit}
        found.append(Shortage(asked=len(asked), there=room, what=f"a send channel of {unit}"))
    for unit in dict.fromkeys(p.beyond for job in chain for p in job.outs if p.beyond):
        room = problem.show.count(problem.show.units[unit], Side.IN)
        heard: set[LineKey] = {j.line.key for j in chain for p in j.outs if p.beyond == unit}
        found.append(Shortage(asked=len(heard), there=room, what=f"an input socket of {unit}"))
    return found


def _asks(job: Job, unit: str, side: Side) -> bool:
    arrives = [a for a in job.arrivals if a.unit == unit and not a.may_go]
    return bool(arrives) and (side is Side.RECEIVE or arrives[0].strip)
