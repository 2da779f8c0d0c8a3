"""One key of the catalogue: what it holds, its measure, limits and meaning."""

from __future__ import annotations

import enum
import functools
from dataclasses import dataclass

from lineproof.base.quantity import Measure


class Holds(enum.Enum):
    """What a key holds."""

    TEXT = "a text"
    CHOICE = "one word of a list"
    CHOICES = "words of a list"
    TEXTS = "a list of texts"
    YES_NO = "yes or no"
    COUNT = "a whole number"
    FIGURE = "a figure"
    FIGURES = "a list of figures"
    CHANNELS = "channels for each sample rate, as in {48000: 16, 96000: 8}"
    SOCKETS = "a list of sockets"
    PORTS = "a list of ports"
    NUMBERING = "inputs and outputs"
    CLOCK = "clock facts"


@dataclass(frozen=True, kw_only=True)
class Word:
    """One key. `unit` is the measure's unit that the key's name ends in.

    `group` is the group of figures it belongs to, `field` the field of the type where the two
    differ, `none` whether the word `none` may stand there, `needed` whether it must be given.
    """

    key: str
    holds: Holds
    meaning: str
    field: str = ""
    choices: tuple[str, ...] = ()
    measure: Measure | None = None
    unit: str = ""
    low: float = 0.0
    high: float = 100_000.0
    none: bool = False
    needed: bool = False
    group: str = ""

    @functools.cached_property
    def into(self) -> str:
        """Give the field that the key fills.

        >>> Word(key="rack-units", holds=Holds.FIGURE, meaning="height").into
        'rack_units'
        """
        return self.field or self.key.replace("-", "_")

    def expected(self) -> str:
        """Say what the key expects, with its limits or the words it may hold.

        >>> Word(key="supplies", holds=Holds.COUNT, meaning="inlets", high=4).expected()
        'a whole number from 0 to 4'
        """
        text = self.holds.value
        if self.choices and self.holds in (Holds.CHOICE, Holds.CHOICES):
            text = f"{'words' if self.holds is Holds.CHOICES else 'one'} of {_list(self.choices)}"
        elif self.holds in (Holds.COUNT, Holds.FIGURE, Holds.FIGURES):
            text += f"{_in(self.unit)} from {_limit(self.low)} to {_limit(self.high)}"
        return f"{text}, or none" if self.none else text


def _limit(figure: float) -> str:
    return str(int(figure)) if figure == int(figure) else str(figure)


def _in(unit: str) -> str:
    return f" in {unit}" if unit else ""


def _list(choices: tuple[str, ...]) -> str:
    return choices[0] if len(choices) == 1 else f"{', '.join(choices[:-1])} or {choices[-1]}"
