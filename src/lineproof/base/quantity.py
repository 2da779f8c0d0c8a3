"""Quantities with their units, as people write them: `48 kHz`, `38 m`, `-40 dBu`, `1,5 ms`."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Measure:
    """A kind of quantity: the unit we reckon in, and the units people write.

    `units` maps each spelling to the factor that brings it to `unit`; the first spelling of a
    factor is the one we print. `low` and `high` (in `unit`) are the limits of good sense: a
    figure outside is a slip of the pen.
    """

    name: str
    unit: str
    units: Mapping[str, float]
    low: float
    high: float

    def expected(self) -> str:
        """Say what is expected, with an example an engineer would write."""
        return f"{self.name} with its unit, as in {_EXAMPLES[self.name]!r}"


class QuantityError(ValueError):
    """A text that is not a quantity of the measure asked for; the message says why."""


LENGTH = Measure(
    name="a length",
    unit="m",
    units={"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "ft": 0.3048},
    low=0.0,
    high=100_000.0,
)
RATE = Measure(
    name="a sample rate",
    unit="Hz",
    units={"Hz": 1.0, "kHz": 1000.0},
    low=8_000.0,
    high=768_000.0,
)
TIME = Measure(
    name="a time",
    unit="ms",
    units={"ms": 1.0, "s": 1000.0, "us": 0.001, "µs": 0.001, "min": 60_000.0},
    low=0.0,
    high=86_400_000.0,
)
TEMPERATURE = Measure(
    name="a temperature",
    unit="C",
    units={"C": 1.0, "°C": 1.0, "degC": 1.0},
    low=-60.0,
    high=70.0,
)
SHARE = Measure(name="a share", unit="%", units={"%": 1.0}, low=0.0, high=100.0)
VOLTAGE = Measure(
    name="a voltage", unit="V", units={"V": 1.0, "kV": 1000.0}, low=0.0, high=50_000.0
)
CURRENT = Measure(name="a current", unit="A", units={"A": 1.0, "mA": 0.001}, low=0.0, high=10_000.0)
POWER = Measure(
    name="a power", unit="W", units={"W": 1.0, "kW": 1000.0}, low=0.0, high=10_000_000.0
)
BITRATE = Measure(
    name="a bit rate",
    unit="Mbit/s",
    units={"Mbit/s": 1.0, "Gbit/s": 1000.0, "kbit/s": 0.001},
    low=0.0,
    high=1_000_000.0,
)
LEVEL = Measure(
    name="a level",
    unit="dBu",
    # 0 dBV is 1 V, 0 dBu is sqrt(0.6) V: 20 log10(1 / 0.7746) = 2.218 dB; that is an offset, not
    # a factor, so dBV is not accepted here.
    units={"dBu": 1.0},
    low=-160.0,
    high=60.0,
)
MASS = Measure(name="a mass", unit="kg", units={"kg": 1.0, "g": 0.001}, low=0.0, high=100_000.0)

_EXAMPLES = {
    LENGTH.name: "38 m",
    RATE.name: "48 kHz",
    TIME.name: "1 ms",
    TEMPERATURE.name: "14 C",
    SHARE.name: "70 %",
    VOLTAGE.name: "230 V",
    CURRENT.name: "32 A",
    POWER.name: "450 W",
    BITRATE.name: "120 Mbit/s",
    LEVEL.name: "-40 dBu",
    MASS.name: "12 kg",
}

_QUANTITY = re.compile(r"([+\-−]?\d++(?:[.,]\d++)?)\s*+(\S*)")


def read_quantity(text: str, measure: Measure) -> float:
    """Give the figure in the measure's own unit.

    A decimal comma is read as a point. Raises QuantityError when the text is no quantity, has
    no unit or another measure's, or lies outside good sense.

    >>> read_quantity("48 kHz", RATE)
    48000.0
    >>> read_quantity("1,5 ms", TIME)
    1.5
    >>> read_quantity("48", RATE)
    Traceback (most recent call last):
    lineproof.base.quantity.QuantityError: '48' has no unit
    """
    match = _QUANTITY.fullmatch(text.strip().replace("\u00a0", " "))
    if match is None:
        raise QuantityError(f"{text!r} is no quantity")
    number, unit = match.groups()
    if not unit:
        raise QuantityError(f"{text!r} has no unit")
    factor = measure.units.get(unit)
    if factor is None:
        by_fold = {u.casefold(): f for u, f in measure.units.items()}
        factor = by_fold.get(unit.casefold())
    if factor is None:
        raise QuantityError(f"{unit!r} is no unit of {measure.name}")
    # Rounding to a billionth hides what the factor adds in the last binary digit.
    figure = round(float(number.replace(",", ".").replace("−", "-")) * factor, 9)
    if not math.isfinite(figure) or not measure.low <= figure <= measure.high:
        raise QuantityError(
            f"{text!r} lies outside {write_quantity(measure.low, measure)} "
            f"to {write_quantity(measure.high, measure)}"
        )
    return figure


def write_quantity(figure: float, measure: Measure) -> str:
    """Give the text that `read_quantity` reads back to the same figure.

    >>> write_quantity(48000, RATE), write_quantity(12.5, LENGTH)
    ('48 kHz', '12.5 m')
    """
    if measure is RATE and figure >= 1000:
        return f"{_plain(figure / 1000)} kHz"
    return f"{_plain(figure)} {measure.unit}"


def _plain(figure: float) -> str:
    return f"{figure:.9f}".rstrip("0").rstrip(".") if figure % 1 else str(int(figure))
