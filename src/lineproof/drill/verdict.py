"""What a fault does to a line, in a word."""

from __future__ import annotations

import enum
from dataclasses import dataclass

from lineproof.base.spot import LineKey
from lineproof.graph.faults import Fault


class State(enum.Enum):
    """How a line stands after a fault, best first."""

    UNTOUCHED = "untouched"
    OTHER_END = "other end"
    STANDBY = "standby"
    UNKNOWN = "unknown"
    LOST = "lost"

    @property
    def rank(self) -> int:
        """Give how bad it is: 0 for untouched."""
        return list(State).index(self)


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """A line after a fault: its worst end stands for it; `lost` names the ends it is lost at."""

    line: LineKey
    state: State
    lost: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Drilled:
    """One fault, and its verdict for every planned line."""

    fault: Fault
    verdicts: tuple[Verdict, ...]

    def lines(self, state: State) -> tuple[LineKey, ...]:
        """Give the lines that are in that state."""
        return tuple(v.line for v in self.verdicts if v.state is state)
