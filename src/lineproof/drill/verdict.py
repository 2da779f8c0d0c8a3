"""What a fault does to a line: a state, and beside it how long, who acts, what carries it, why."""

from __future__ import annotations

import enum
from dataclasses import dataclass

from lineproof.base.spot import LineKey
from lineproof.graph.faults import Fault
from lineproof.reckon.gap import NO_GAP, Gap


class State(enum.Enum):
    """How a line stands once all has settled after a fault, best first."""

    UNTOUCHED = "untouched"
    OTHER_NET = "other net"
    OTHER_END = "other end"
    STANDBY = "standby"
    UNKNOWN = "unknown"
    LOST = "lost"

    @property
    def rank(self) -> int:
        """Give how bad it is: 0 for untouched."""
        return _RANKS[self]

    @property
    def arrives(self) -> bool:
        """Say whether the line is known to arrive."""
        return self not in (State.UNKNOWN, State.LOST)


_RANKS = {state: rank for rank, state in enumerate(State)}


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How one thing stands after a fault: an end, one of its members, or one way to it.

    `gap`: seconds of silence, for a state that arrives. `must_act`: someone has to do something
    before it is heard again. `carries`: what carries it now (`net b`, `rec-2`); `why` in words.
    """

    state: State = State.UNTOUCHED
    gap: Gap = NO_GAP
    must_act: bool = False
    carries: str = ""
    why: str = ""

    def sort_key(self) -> tuple[int, float, float]:
        """Order what stands worse behind what stands better."""
        return (self.state.rank, self.gap.most_s, self.gap.least_s)

    def harm(self) -> tuple[int, float, int]:
        """Order ends by what is heard of it: of those that arrive the longest silence is worst."""
        rank = self.state.rank
        return (0 if self.state.arrives else rank, self.gap.most_s, rank)


UNHURT = Standing()


@dataclass(frozen=True, kw_only=True)
class EndVerdict:
    """One end of a line after a fault; `want` says that the line can do without it."""

    end: str
    want: bool
    standing: Standing


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """A line after a fault: its worst end stands for it; `lost` names the ends it is lost at.

    `ends`: every planned end that is touched.
    """

    line: LineKey
    standing: Standing = UNHURT
    lost: tuple[str, ...] = ()
    ends: tuple[EndVerdict, ...] = ()

    @property
    def state(self) -> State:
        """Give the state of the worst end."""
        return self.standing.state


@dataclass(frozen=True, kw_only=True)
class Drilled:
    """Faults that struck together, and the verdict for every planned line."""

    faults: tuple[Fault, ...]
    verdicts: tuple[Verdict, ...]

    @property
    def fault(self) -> Fault:
        """Give the first, or only, fault."""
        return self.faults[0]

    @property
    def title(self) -> str:
        """Give the faults in words: `box-1`, `box-1 and duct:floor`."""
        return " and ".join(map(str, self.faults)) or "nothing"

    def lines(self, state: State) -> tuple[LineKey, ...]:
        """Give the lines that are in that state."""
        return tuple(v.line for v in self.verdicts if v.state is state)
