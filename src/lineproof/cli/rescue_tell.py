"""What `lineproof drill` says of rescues: moves in walking order, what comes back, what stays."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lineproof.cli.drill_tell import counted_in, some
from lineproof.cli.tell import Tell
from lineproof.drill.calm import Calm
from lineproof.outcome import Outcome
from lineproof.rescue.gains import Gain, Standing
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.moves import Move, counted
from lineproof.rescue.rescue import Rescue

#: Rescues listed; the rest are counted, `--cut` tells any of them.
_TOP = 10


def tell_rescues(tell: Tell, outcome: Outcome) -> None:
    """Print how the faults that take most are made good; nothing where none was worked out."""
    if outcome.rescued is None:
        return
    cards = sorted(outcome.rescued.cards, key=lambda card: -len(card.rescue.lost))
    total = sum(1 for card in cards if not card.rescue.stays)
    tell.line(
        f"{len(cards)} rescues worked out: {total} bring everything back "
        "(minutes by assumed paces; --cut tells the moves)"
    )
    for card in cards[:_TOP]:
        tell.line(f"  {some(map(str, card.faults))}: {_told(card.rescue)}")
    if len(cards) > _TOP:
        tell.line(f"  and {len(cards) - _TOP} more rescues")
    tell.line()


def _told(rescue: Rescue) -> str:
    if not rescue.back:
        return f"nothing at hand brings back any of {len(rescue.lost)} ends"
    minutes = max(1, round(rescue.seconds() / 60))
    of = "all" if not rescue.stays else f"{len(rescue.back)} of"
    return f"{of} {len(rescue.lost)} ends back in about {minutes} min ({counted(rescue.moves)})"


def tell_rescue(tell: Tell, calm: Calm, rescue: Rescue) -> None:
    """Print one rescue, move by move."""
    if not rescue.lost:
        return
    tell.line()
    tell.line(f"rescue: {_told(rescue)}")
    for dead, other in rescue.stand_ins:
        tell.line(f"  {other} stands in for {dead} from now on")
    place = None
    for number, move in enumerate(rescue.moves, start=1):
        here = move.place if move.do.by_hand else "at a screen"
        if here != place:
            tell.line(f"  {here}")
            place = here
        tell.line(f"  {number:3}. {move.words}")
    for end, lines in _by_end(calm, rescue.stays).items():
        s = "" if len(lines) == 1 else "s"
        tell.line(f"  stays lost at {end}: line{s} {', '.join(lines)}")
    if not rescue.proven:
        tell.line("  perhaps there is a shorter way: the search was cut off")


def tell_gains(tell: Tell, gains: Sequence[Gain]) -> None:
    """Print what single improvements would bring, the best first."""
    if not gains:
        return
    before = gains[0].before
    stops, risks = counted_in("stop", before.stops), counted_in("risk", before.risks)
    tell.line(
        f"{counted_in('single improvement', len(gains))} worked out; as it is: {stops}, {risks}, "
        f"{before.minutes:.2g} minutes of needed lines silent a show (by assumed rates and paces)"
    )
    for gain in gains:
        tell.line(f"  {_gain_told(gain)}")
        if gain.needs:
            tell.line(f"      it needs {gain.needs}")
    tell.line()


def _gain_told(gain: Gain) -> str:
    if gain.after is None:
        return f"{gain.words}: {gain.why_not}"
    after = gain.after
    share = gain.minutes / gain.before.minutes if gain.before.minutes else 0.0
    less = f"{abs(share):.0%} {'less' if share >= 0 else 'more'} silence"
    stops, risks = counted_in("stop", after.stops), counted_in("risk", after.risks)
    return f"{gain.words}: {stops}, {risks}, {less}"


def gains_data(gains: Sequence[Gain]) -> list[dict[str, Any]]:
    """Give improvements as JSON."""
    return [
        {
            "improvement": gain.words,
            "needs": gain.needs,
            "before": _standing_data(gain.before),
            "after": _standing_data(gain.after) if gain.after is not None else None,
            "why-not": gain.why_not,
        }
        for gain in gains
    ]


def _standing_data(standing: Standing) -> dict[str, Any]:
    return {"stops": standing.stops, "risks": standing.risks, "line-minutes": standing.minutes}


def _by_end(calm: Calm, ends: tuple[EndAt, ...]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line, n in ends:
        resting = calm.lines[line]
        found.setdefault(str(resting.arrivals[n].end), []).append(str(resting.line.key))
    return found


def rescue_data(calm: Calm, rescue: Rescue) -> dict[str, Any]:
    """Give one rescue as JSON."""
    return {
        "faults": [str(fault) for fault in rescue.faults],
        "moves": [_move_data(move) for move in rescue.moves],
        "stand-ins": [{"for": dead, "by": other} for dead, other in rescue.stand_ins],
        "walk-m": rescue.walk_m,
        "seconds": round(rescue.seconds()),
        "fewest-proven": rescue.proven,
        "back": _ends_data(calm, rescue.back),
        "stays-lost": _ends_data(calm, rescue.stays),
    }


def _move_data(move: Move) -> dict[str, Any]:
    return {
        "do": move.do.value,
        "place": move.place,
        "unit": move.unit,
        "told": move.words,
        "lines": [str(key) for key in move.lines],
    }


def _ends_data(calm: Calm, ends: tuple[EndAt, ...]) -> dict[str, list[str]]:
    """Give ends by line."""
    found: dict[str, list[str]] = {}
    for line, n in ends:
        resting = calm.lines[line]
        found.setdefault(str(resting.line.key), []).append(str(resting.arrivals[n].end))
    return found


def rescues_data(outcome: Outcome) -> list[dict[str, Any]]:
    """Give every rescue as JSON, each with all the faults that it leads back from."""
    assert outcome.drill is not None
    assert outcome.rescued is not None
    calm = outcome.drill.calm
    return [
        {**rescue_data(calm, card.rescue), "faults": [str(fault) for fault in card.faults]}
        for card in outcome.rescued.cards
    ]
