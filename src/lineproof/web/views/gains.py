"""What would help: single improvements, and how the show would stand with each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lineproof.rescue.gains import Gain, Standing
from lineproof.web.worked import Worked

#: no rescues to go by; nobody has asked; being worked out; known.
State = Literal["early", "unasked", "waiting", "known"]


@dataclass(frozen=True, kw_only=True)
class StandingView:
    """How a show stands against single faults: stops, risks, and silence on average.

    `minutes` are line-minutes a show: two needed lines silent for three minutes are six.
    """

    stops: int
    risks: int
    minutes: float


@dataclass(frozen=True, kw_only=True)
class GainRow:
    """An improvement, what must be there for it, and how the show would stand with it.

    `after` is None where it can't be, and `why_not` says why. `less`: how the silence changes, in
    words.
    """

    words: str
    needs: str
    after: StandingView | None
    less: str
    why_not: str


@dataclass(frozen=True, kw_only=True)
class GainsView:
    """What improvements would bring, the best first; `before` is how the show stands now."""

    state: State
    before: StandingView | None
    rows: tuple[GainRow, ...]


def gains(worked: Worked) -> GainsView:
    """Give what would help, as far as anybody has asked."""
    found = worked.gains
    return GainsView(
        state=_state(worked),
        before=_standing(found[0].before) if found else None,
        rows=tuple(_row(gain) for gain in found or ()),
    )


def _state(worked: Worked) -> State:
    if worked.gains is not None:
        return "known"
    if worked.gaining:
        return "waiting"
    rescued = worked.outcome is not None and worked.outcome.rescued is not None
    return "unasked" if rescued and not worked.unread else "early"


def _row(gain: Gain) -> GainRow:
    after = _standing(gain.after) if gain.after is not None else None
    less = _less(gain) if gain.after is not None else ""
    return GainRow(words=gain.words, needs=gain.needs, after=after, less=less, why_not=gain.why_not)


def _standing(standing: Standing) -> StandingView:
    return StandingView(stops=standing.stops, risks=standing.risks, minutes=standing.minutes)


def _less(gain: Gain) -> str:
    share = gain.minutes / gain.before.minutes if gain.before.minutes else 0.0
    return f"{abs(share):.0%} {'less' if share >= 0 else 'more'}"
