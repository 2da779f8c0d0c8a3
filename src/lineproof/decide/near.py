"""Where the planner looks first: in near units, and for what hangs already where it hangs.

Whatever a lead is not offered stands together as one more choice, *far*: it costs no more than
the best of what it stands for, and takes up nothing. A model made so is never worse than the
whole. So when its best plan sends nothing far, that plan is the best there is; else what went
far is offered more, and the model is made again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lineproof.base.spot import Side
from lineproof.decide.problem import Plug, PlugId, Problem, plug_id

#: How many of the nearest units a lead is offered at first (those as near as the last, too).
FIRST_LOOK = 6

#: Where leads begin, and on which side of a unit they end.
Site = tuple[str, Side]


@dataclass(frozen=True, kw_only=True)
class Reach:
    """What every plug is offered: `near` units by site; `closed` plugs only where they hang.

    `look` says how many nearest units stand behind `near`.
    """

    near: Mapping[Site, frozenset[str]]
    look: Mapping[Site, int]
    closed: frozenset[PlugId]

    def units(self, plug: Plug) -> list[str]:
        """Give the units whose sockets the plug is offered, in the order of its options."""
        if plug.kept is not None and plug_id(plug) in self.closed:
            return [plug.kept.unit]
        near = self.near[_site(plug)]
        return [unit for unit in plug.options if unit in near]

    def is_closed(self, plug: Plug) -> bool:
        """Say whether the plug is offered the socket alone in which it hangs."""
        return plug_id(plug) in self.closed

    def far_mm(self, plug: Plug) -> int | None:
        """Give the least that the lead costs by what it is not offered; None: it is offered all."""
        if self.is_closed(plug):
            return min(plug.options.values())
        near = self.near[_site(plug)]
        return min((mm for unit, mm in plug.options.items() if unit not in near), default=None)


def first_reach(problem: Problem, *, look: int = FIRST_LOOK) -> Reach:
    """Give what is offered at first."""
    plugs = _plugs(problem)
    looks = {_site(plug): look for plug in plugs}
    closed = frozenset(plug_id(plug) for plug in plugs if plug.kept is not None)
    return Reach(near=_near(plugs, looks), look=looks, closed=closed)


def wider(reach: Reach, problem: Problem, far: Iterable[PlugId]) -> Reach:
    """Give the reach after those plugs went far: each site of theirs is opened or looks further.

    A plug that hangs went far because another wants its socket: all that hang in the units near
    its site are opened, so that the next look sees whoever could make room.
    """
    plugs = {plug_id(plug): plug for plug in _plugs(problem)}
    gone = [plugs[ident] for ident in far]
    shut = [plug for plug in gone if reach.is_closed(plug)]
    looks = dict(reach.look)
    for plug in gone:
        if not reach.is_closed(plug):
            looks[_site(plug)] *= 2
    around = {unit for plug in shut for unit in reach.near[_site(plug)]}
    opened = {ident for ident, p in plugs.items() if p.kept is not None and p.kept.unit in around}
    closed = reach.closed - opened - {plug_id(plug) for plug in shut}
    near = _near(plugs.values(), looks)
    return replace(reach, near=near, look=looks, closed=closed)


def _near(plugs: Iterable[Plug], looks: Mapping[Site, int]) -> dict[Site, frozenset[str]]:
    """Give the nearest units of all plugs of a site; they share them, so that pairs stay pairs."""
    found: dict[Site, set[str]] = {}
    for plug in plugs:
        near = found.setdefault(_site(plug), set())
        lengths = sorted(plug.options.values())
        if lengths:
            last = lengths[min(looks[_site(plug)], len(lengths)) - 1]
            near.update(unit for unit, mm in plug.options.items() if mm <= last)
        if plug.fixed is not None:
            near.add(plug.fixed.unit)
    return {site: frozenset(units) for site, units in found.items()}


def _site(plug: Plug) -> Site:
    return (plug.place, plug.side)


def _plugs(problem: Problem) -> list[Plug]:
    return list({plug_id(p): p for job in problem.jobs for p in job.plugs}.values())
