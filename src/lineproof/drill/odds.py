"""How likely silence is: failure rates and repair times, over all that takes a *must* line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from lineproof.drill.pairs import Pairs
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import CIRCUIT, DUCT, NET, PLACE, PORT, RACK, RUN, SUPPLY, UNIT, Fault
from lineproof.show.model import Show

HOURS_A_YEAR = 8766.0

#: How often a thing fails while it is in use, a year of use being 8,766 hours. Assumptions, all of
#: them, for lack of anything measured: edit them. Units have their kind's own figure.
FAILURES_A_YEAR: Mapping[str, float] = MappingProxyType(
    {
        UNIT: 0.05,
        SUPPLY: 0.02,
        PORT: 0.005,
        RUN: 0.05,
        CIRCUIT: 0.3,
        DUCT: 0.05,
        RACK: 0.005,
        PLACE: 0.005,
        NET: 0.02,
    }
)
#: How long it takes until it works again, in minutes: common practice with a spare at hand.
REPAIR_MIN: Mapping[str, float] = MappingProxyType(
    {
        UNIT: 15.0,
        SUPPLY: 15.0,
        PORT: 5.0,
        RUN: 10.0,
        CIRCUIT: 10.0,
        DUCT: 30.0,
        RACK: 30.0,
        PLACE: 60.0,
        NET: 15.0,
    }
)


@dataclass(frozen=True, kw_only=True)
class Assumed:
    """What the odds are reckoned from; every figure may be changed, none is measured.

    `hours`: how long the show is. Failures a year of use and minutes to repair by what fails;
    `unit_failures` by kind's name wins over the kind's own figure.
    """

    hours: float = 4.0
    failures_a_year: Mapping[str, float] = field(default_factory=lambda: FAILURES_A_YEAR)
    repair_min: Mapping[str, float] = field(default_factory=lambda: REPAIR_MIN)
    unit_failures: Mapping[str, float] = field(default_factory=dict)

    def rate_h(self, show: Show, fault: Fault) -> float:
        """Give how often a fault happens, an hour."""
        yearly = self.failures_a_year.get(fault.what, 0.0)
        unit = show.units.get(fault.name) if fault.what == UNIT else None
        if unit is not None and unit.kind.failures_per_year is not None:
            yearly = unit.kind.failures_per_year
        if unit is not None:
            yearly = self.unit_failures.get(unit.kind.name, yearly)
        return yearly / HOURS_A_YEAR

    def repair_h(self, fault: Fault) -> float:
        """Give how long a fault lasts on average, in hours."""
        return self.repair_min.get(fault.what, 15.0) / 60.0


def availability(mtbf_h: float, repair_h: float) -> float:
    """Give the share of time in which a thing works, once long in use (facts/10 RED-012).

    >>> round(availability(50_000, 4), 9)
    0.999920006
    """
    return mtbf_h / (mtbf_h + repair_h)


def survives(mtbf_h: float, hours: float, count: int = 1) -> float:
    """Give the chance that none of so many fails within the hours (facts/10 RED-017).

    >>> round(survives(50_000, 4, 10), 9)
    0.99920032
    """
    return math.exp(-count * hours / mtbf_h)


def shared_pair(chance: float, share: float) -> float:
    """Give the chance that both of a pair fail when a share of failures takes both (RED-021)."""
    return share * chance + ((1 - share) * chance) ** 2


@dataclass(frozen=True, kw_only=True)
class Coming:
    """How one class of faults comes and goes: how often an hour, how soon it is mended an hour."""

    fails_h: float
    mends_h: float

    def down(self, hours: float) -> float:
        """Give the chance that it is down so long after all worked: constant rates both ways."""
        both = self.fails_h + self.mends_h
        return self.fails_h / both * -math.expm1(-both * hours) if both else 0.0


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One cause of silence: a class of faults, or two; the minutes a show it costs on average.

    `faults`: the first of each class stands for it. `lines`: how many lines it takes.
    """

    faults: tuple[Fault, ...]
    minutes: float
    chance: float
    lines: int


@dataclass(frozen=True, kw_only=True)
class Odds:
    """How likely it is that a *must* line is lost, and for how long.

    `minutes`: expected minutes a show in which some *must* line is lost, at most (causes are
    added up). `singles_minutes` of them by one fault. `causes`: the worst first.
    """

    minutes: float
    singles_minutes: float
    causes: tuple[Cause, ...]
    assumed: Assumed


def odds(swept: Swept, pairs: Pairs, assumed: Assumed | None = None) -> Odds:
    """Give the expected silent minutes by minimal causes: single classes, then pairs."""
    given = assumed or Assumed()
    comings = coming(swept, given)
    alone = [bool(lost & swept.must) for lost in pairs.single]
    found = [
        _cause(swept, (at,), pairs.single[at], comings, given)
        for at, takes in enumerate(alone)
        if takes
    ]
    singles = sum(cause.minutes for cause in found)
    for (one, other), lost in pairs.together.items():
        # A pair with one that takes a must line by itself is no further cause of silence.
        if not (alone[one] or alone[other]) and not swept.must.isdisjoint(lost):
            found.append(_cause(swept, (one, other), lost, comings, given))
    found.sort(key=lambda cause: (-cause.minutes, [str(fault) for fault in cause.faults]))
    return Odds(
        minutes=sum(cause.minutes for cause in found),
        singles_minutes=singles,
        causes=tuple(found),
        assumed=given,
    )


def coming(swept: Swept, assumed: Assumed) -> tuple[Coming, ...]:
    """Give how every class of faults comes and goes: rates add up, repairs by their share."""
    show = swept.calm.show
    found = []
    for members in swept.classes.members:
        rates = [assumed.rate_h(show, fault) for fault in members]
        total = sum(rates)
        hours = sum(r * assumed.repair_h(f) for r, f in zip(rates, members, strict=True))
        found.append(Coming(fails_h=total, mends_h=total / hours if hours else 0.0))
    return tuple(found)


def _cause(
    swept: Swept,
    struck: tuple[int, ...],
    lost: Iterable[int],
    comings: Sequence[Coming],
    assumed: Assumed,
) -> Cause:
    each = [comings[at] for at in struck]
    lines = {line for shape in lost for line in swept.lines_of[shape]}
    return Cause(
        faults=tuple(swept.classes.members[at][0] for at in struck),
        minutes=60.0 * down_hours(each, assumed.hours),
        chance=_some_time(each, assumed.hours),
        lines=len(lines),
    )


#: Steps of Simpson's rule over a show; smooth curves, so that the error is far below any guess.
_STEPS = 64


def down_hours(comings: Sequence[Coming], hours: float) -> float:
    """Give the expected hours in which all are down at once, in a show of so many hours."""
    step = hours / _STEPS
    total = 0.0
    for n in range(_STEPS + 1):
        weight = 1 if n in (0, _STEPS) else 4 if n % 2 else 2
        total += weight * math.prod(each.down(n * step) for each in comings)
    return total * step / 3


def _some_time(comings: Sequence[Coming], hours: float) -> float:
    """Give how often in a show all become down at once, on average: the chance while it is small.

    All but one are down already when that one fails.
    """
    step = hours / _STEPS
    total = 0.0
    for n in range(_STEPS):
        downs = [each.down((n + 0.5) * step) for each in comings]
        for at, each in enumerate(comings):
            others = math.prod(downs[:at] + downs[at + 1 :])
            total += others * (1 - downs[at]) * each.fails_h * step
    return total
