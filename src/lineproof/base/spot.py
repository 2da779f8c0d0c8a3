"""Spots and the line's key: one parser and one printer for each."""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from functools import lru_cache

from lineproof.base.names import folded, natural, normal, wrong_with_name


class Side(enum.Enum):
    """Which of a unit's numbered rows a spot stands in."""

    IN = "in"
    OUT = "out"
    SEND = "send"
    RECEIVE = "receive"
    STRIP = "strip"

    # There is one of each, so it may be known by where it lies: an enum asks its name each time,
    # and every spot in every table of a plan asks for it.
    __hash__ = object.__hash__

    @property
    def rank(self) -> int:
        """Give the order in which papers print the sides."""
        return _RANKS[self]


_RANKS = {side: at for at, side in enumerate(Side)}


class SpotError(ValueError):
    """A text that is no spot, or no line key; the message says why."""


_SPOT = re.compile(r"([^\s:]+):(?:(in|out|send|receive|strip)-)?([1-9][0-9]{0,3})", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Spot:
    """One numbered socket, channel or strip of a unit.

    >>> str(Spot.parse("box-1:in-3"))
    'box-1:in-3'
    """

    unit: str
    side: Side
    number: int

    def __str__(self) -> str:
        return f"{self.unit}:{self.side.value}-{self.number}"

    @classmethod
    def parse(cls, text: str, *, sole: Side | None = None) -> Spot:
        """Read a spot; `unit:2` only where `sole` says which side is the only one possible."""
        return _read_spot(text, sole)

    def sort_key(self) -> tuple[object, int, int]:
        """Order spots by unit, side and number as papers do."""
        return (natural(self.unit), self.side.rank, self.number)


@lru_cache(maxsize=65_536)
def _read_spot(text: str, sole: Side | None) -> Spot:
    match = _SPOT.fullmatch(normal(text))
    if match is None:
        raise SpotError(f"{text!r} is no spot, as in 'box-1:in-3'")
    unit, side, number = match.groups()
    if (wrong := wrong_with_name(unit)) is not None:
        raise SpotError(f"{text!r} is no spot: {wrong}")
    if side is None and sole is None:
        raise SpotError(f"{text!r} does not say which: in, out, send, receive or strip")
    which = Side(side.lower()) if side is not None else sole
    assert which is not None
    return Spot(unit=unit, side=which, number=int(number))


@dataclass(frozen=True, kw_only=True)
class LineKey:
    """Who a line is: its act and its number, never its row. `act` is "" for every act.

    >>> str(LineKey.parse("late-set/17L")), str(LineKey.parse("12a"))
    ('late-set/17L', '12a')
    """

    act: str
    number: str

    def __str__(self) -> str:
        return f"{self.act}/{self.number}" if self.act else self.number

    @classmethod
    def parse(cls, text: str) -> LineKey:
        """Read `number` or `act/number`."""
        act, slash, number = normal(text).rpartition("/")
        if slash and (wrong := wrong_with_name(act)) is not None:
            raise SpotError(f"{text!r} is no line: {wrong}")
        if (wrong := wrong_with_number(number)) is not None:
            raise SpotError(f"{text!r} is no line: {wrong}")
        return cls(act=act, number=number)

    def sort_key(self) -> tuple[object, object]:
        """Order lines as people do: by number, then by act."""
        return (natural(self.number), natural(self.act))

    def same(self) -> tuple[str, str]:
        """Give the form in which two keys are compared: without case."""
        return (folded(self.act), folded(self.number))


_NUMBER = re.compile(r"[^\W_][\w.\-]{0,15}")


def wrong_with_number(text: str) -> str | None:
    """Say what keeps `text` from being a line's number, or None.

    >>> wrong_with_number("17L") is None, wrong_with_number("5/6")
    (True, "a line's number is letters, digits, '.' and '-'")
    """
    if not text:
        return "a line's number can't be empty"
    if not _NUMBER.fullmatch(text):
        return "a line's number is letters, digits, '.' and '-'"
    return None
