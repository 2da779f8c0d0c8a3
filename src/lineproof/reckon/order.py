"""Orders people work in: the walk through the places, and switching on and off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.base.spot import Side
from lineproof.kit.kinds import Does
from lineproof.show.model import Place, Show, Unit


def walking_order(show: Show) -> tuple[str, ...]:
    """Give the places as one would walk them: from stage left on, always to the nearest next.

    Places without a position come last, by name.
    """
    left = sorted(show.places.values(), key=lambda p: natural(p.name))
    known = [place for place in left if place.at_m is not None]
    walk: list[Place] = []
    while known:
        here = walk[-1] if walk else None
        following = min(known, key=lambda p: _steps(here, p))
        walk.append(following)
        known.remove(following)
    return tuple(p.name for p in walk) + tuple(p.name for p in left if p.at_m is None)


def _steps(here: Place | None, there: Place) -> float:
    assert there.at_m is not None
    if here is None or here.at_m is None:
        return there.at_m[0]
    return math.dist(here.at_m, there.at_m)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of switching on: what it is for, its units, and how long to wait after it.

    `wait_s` is the longest start of its units, by their kinds; 0 where no kind tells.
    """

    stage: str
    units: tuple[Unit, ...]
    wait_s: float


#: Loudspeakers last on and first off, so that no start of another unit is heard (practice);
#: the network first, so that units find each other and the clock.
STAGES = ("network", "stage", "mixers", "loud")

_STAGE_OF = {
    Does.SWITCH: "network",
    Does.CLOCK: "network",
    Does.MIXER: "mixers",
    Does.LOUDSPEAKER: "loud",
    Does.AMPLIFIER: "loud",
    Does.DRIVER: "loud",
}


def switching_on(show: Show) -> tuple[Step, ...]:
    """Give the steps of switching on, in order; switching off goes the other way round."""
    found: dict[str, list[Unit]] = {stage: [] for stage in STAGES}
    for unit in show.units.values():
        if not unit.kind.passive:
            found[_stage(unit)].append(unit)
    return tuple(_step(stage, units) for stage, units in found.items() if units)


def _stage(unit: Unit) -> str:
    # A transmitter goes to somebody's ears: it comes on with the loudspeakers.
    if unit.kind.does is Does.RADIO and unit.kind.sockets_on(Side.IN):
        return "loud"
    return _STAGE_OF.get(unit.kind.does, "stage")


def _step(stage: str, units: list[Unit]) -> Step:
    return Step(stage=stage, units=tuple(units), wait_s=max(u.kind.start_s for u in units))
