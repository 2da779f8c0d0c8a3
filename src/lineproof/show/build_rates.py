"""Sample rates against what the units of the show can do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.where import Where
from lineproof.show import rules
from lineproof.show.fields import Fields
from lineproof.show.model import Unit

USUAL_HZ = 48_000


def carried_rates(
    top: Fields, written: float | None, units: Mapping[str, Unit]
) -> tuple[int, dict[str, Unit]]:
    """Give the show's rate in Hz and the units, each at a rate at which it carries network audio.

    What can't work at the rate asked for is found, once for the show if no unit can, and goes on
    at a rate that it has: so the rest is planned and looked at, though the *stop* stands.
    """
    rate = round(written or USUAL_HZ)
    heard = [u for u in units.values() if u.kind.networked and u.rate_hz is None]
    silent = [u for u in heard if rate not in u.kind.rates()]
    if silent and silent == heard:
        rates = sorted({r for u in heard for r in u.kind.rates()})
        what = f"no unit of the show works at {_khz(rate)}; its units have {_all(rates)}"
        top.findings.append(rules.RATE_NOT_CARRIED.finding(what=what, where=top.at("rate")))
        rate = _instead(rate, rates)
        silent = [u for u in heard if rate not in u.kind.rates()]
    fitted = dict(units)
    for unit in silent:
        fitted[unit.name] = _fitted(top, unit, rate, (unit.where, top.at("rate")))
    return rate, fitted


def own_rate(fields: Fields, unit: Unit) -> Unit:
    """Give the unit at its own rate, if it has one and can work at it; else found, and without."""
    rate = unit.rate_hz
    if rate is None or not unit.kind.networked or rate in unit.kind.rates():
        return unit
    return replace(_fitted(fields, unit, rate, (fields.at("rate"),)), rate_hz=None)


def _fitted(fields: Fields, unit: Unit, rate: int, where: tuple[Where, ...]) -> Unit:
    rates = list(unit.kind.rates())
    what = f"{unit.name} ({unit.kind.name}) can't work at {_khz(rate)}; it has {_all(rates)}"
    finding = rules.RATE_NOT_CARRIED.finding(what=what, where=where, of=(unit.name,))
    fields.findings.append(finding)
    return replace(unit, rate_hz=_instead(rate, rates))


def _instead(rate: int, rates: list[int]) -> int:
    """Give the usual rate where it can be had, so that no channels are lost; else the nearest."""
    return USUAL_HZ if USUAL_HZ in rates else min(rates, key=lambda r: (abs(r - rate), r))


def _khz(rate: int) -> str:
    return f"{rate / 1000:g} kHz"


def _all(rates: list[int]) -> str:
    return ", ".join(map(_khz, rates))
