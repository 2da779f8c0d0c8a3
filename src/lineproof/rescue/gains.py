"""What each single improvement would bring: the changed show planned, broken and rescued anew."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lineproof.base.finding import Grade
from lineproof.decide.whole import decide_whole
from lineproof.drill.calm import calm
from lineproof.drill.odds import Assumed
from lineproof.drill.sweep import swept
from lineproof.graph.faults import UNIT
from lineproof.plan.model import Issued
from lineproof.rescue.better import Improvement, improvements, recorders_apart
from lineproof.rescue.grade import grades
from lineproof.rescue.harm import Harm, harm
from lineproof.rescue.whole import Rescued, rescue_all

#: So many improvements are worked out where nobody says how many.
MOST_TRIED = 8


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How a show stands against single faults: what is graded, and line-minutes a show."""

    stops: int
    risks: int
    minutes: float


@dataclass(frozen=True, kw_only=True)
class Gain:
    """An improvement and how the show would stand with it; `after` is None where it can't be.

    `why_not`: why it can't be planned. `needs`: what must be there for it.
    """

    words: str
    needs: str
    before: Standing
    after: Standing | None
    why_not: str = ""

    @property
    def stops(self) -> int:
        """Give how many stops it takes away; below 0 where it brings some."""
        return self.before.stops - self.after.stops if self.after is not None else 0

    @property
    def minutes(self) -> float:
        """Give the line-minutes a show that it saves; below 0 where it makes things worse."""
        return self.before.minutes - self.after.minutes if self.after is not None else 0.0


def standing(rescued: Rescued, harm: Harm) -> Standing:
    """Give how a show stands; what somebody accepted counts as well."""
    found = grades(rescued.swept, rescued)
    return Standing(
        stops=sum(1 for finding in found if finding.grade is Grade.STOP),
        risks=sum(1 for finding in found if finding.grade is Grade.RISK),
        minutes=harm.total,
    )


def gains(
    rescued: Rescued,
    *,
    most: int = MOST_TRIED,
    assumed: Assumed | None = None,
    progress: Callable[[str], None] | None = None,
) -> tuple[Gain, ...]:
    """Give what single improvements bring, the best first: fewest stops, then least silence.

    Those against the worst faults are tried. Each is worked out: the changed show is planned so
    that nothing moves that need not, broken and rescued. That takes as long as planning and
    drilling `most` shows.
    """
    say = progress or (lambda _: None)
    before = harm(rescued, assumed)
    now = standing(rescued, before)
    found = []
    for n, each in enumerate(_worth_trying(before, most), start=1):
        say(f"improvement {n}: {each.words}")
        found.append(_worked(each, now, before))
    return tuple(sorted(found, key=lambda gain: (-gain.stops, -gain.minutes, gain.words)))


def _worth_trying(before: Harm, most: int) -> Iterator[Improvement]:
    """Give improvements against the worst faults, the worst first, each once."""
    known = before.rescued.swept.calm
    own = {fault.name: m for fault, m in before.by_fault.items() if fault.what == UNIT}
    worst = sorted(before.by_fault.items(), key=lambda found: (-found[1], str(found[0])))
    against = [improvements(known.show, known.plan, fault, own) for fault, _ in worst[:most]]
    told: set[str] = set()
    # The best against each fault in turn, before second bests.
    rounds = itertools.zip_longest(recorders_apart(known.show, known.plan), *against)
    for each in itertools.chain.from_iterable(rounds):
        if each is not None and each.words not in told and len(told) < most:
            told.add(each.words)
            yield each


def _worked(each: Improvement, now: Standing, before: Harm) -> Gain:
    plan = decide_whole(each.show, _as_issued(each)).plan
    if plan is None:
        why = "the changed show can't be planned"
        return Gain(words=each.words, needs=each.needs, before=now, after=None, why_not=why)
    rescued = rescue_all(swept(calm(each.show, plan)))
    after = standing(rescued, harm(rescued, before.assumed, before.pace))
    return Gain(words=each.words, needs=each.needs, before=now, after=after)


def _as_issued(each: Improvement) -> Issued:
    return Issued(revision=0, by="", at="", mark="", plan=each.plan, show={})
