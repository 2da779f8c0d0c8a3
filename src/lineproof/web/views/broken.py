"""What happens when things are broken: which lines fall silent where, and what carries the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.drill.dead import Dead
from lineproof.drill.verdict import Drilled, Standing, State, Verdict
from lineproof.outcome import Outcome
from lineproof.reckon.gap import Gap
from lineproof.show.model import Need
from lineproof.web.breaking import at_once, break_all, dead_with, named
from lineproof.web.views.parts import act_title, count, line_href, room_href
from lineproof.web.views.rescue import RescueView, told
from lineproof.web.worked import Worked

#: The states in which a page shows lines, worst first, with the words above them.
TOLD = (
    (State.LOST, "silent", "Silent at an end"),
    (State.UNKNOWN, "unknown", "Nobody can say yet"),
    (State.STANDBY, "standby", "Carried by a standby"),
    (State.OTHER_END, "other end", "Heard by the other member of an end only"),
    (State.OTHER_NET, "other net", "Carried by the other net"),
    (State.UNTOUCHED, "cut short", "Heard as before, after a gap"),
)


@dataclass(frozen=True, kw_only=True)
class Cut:
    """One thing that is broken, and the room with it put right."""

    name: str
    mend: str


@dataclass(frozen=True, kw_only=True)
class Touched:
    """One line that feels it."""

    key: str
    href: str
    title: str
    act: str
    need: str


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Lines that stand alike: where they are silent, for how long, what carries them now, why.

    `act_now` says that somebody must do something before they are heard again.
    """

    where: str
    gap: str
    act_now: bool
    carries: str
    why: str
    lines: tuple[Touched, ...]


@dataclass(frozen=True, kw_only=True)
class Felt:
    """The lines in one state, those that stand alike together."""

    state: str
    title: str
    count: int
    alike: tuple[Alike, ...]


@dataclass(frozen=True, kw_only=True)
class EndCount:
    """How many lines an end no longer hears."""

    end: str
    lines: int


@dataclass(frozen=True, kw_only=True)
class Broken:
    """What is broken and what that does. `wrong` tells names that nothing is called by.

    `dead` are the units, `cut` the runs and ducts that no longer work. `ask` is the page on which
    the rescue is worked out, where it is not known yet.
    """

    cuts: tuple[Cut, ...]
    wrong: tuple[str, ...]
    sentence: str
    dead: tuple[str, ...]
    cut: tuple[str, ...]
    ends: tuple[EndCount, ...]
    felt: tuple[Felt, ...]
    rescue: RescueView
    ask: str
    serial: int


def broken(
    worked: Worked, names: Iterable[str], *, soon: bool = False, rescue: bool = False
) -> Broken:
    """Give what breaking these names at once does; each name counts once.

    `soon`: what is known already will do, without gaps and reasons. `rescue`: the rescue is
    waited for, where it is not known yet.
    """
    faults, wrong = named(worked, names)
    outcome = worked.outcome
    drilled = (at_once(worked, faults) if soon else None) or break_all(worked, faults)
    dead = dead_with(worked, faults) if faults else None
    each = [str(fault) for fault in faults]
    return Broken(
        cuts=tuple(Cut(name=name, mend=room_href(n for n in each if n != name)) for name in each),
        wrong=wrong,
        sentence=_sentence(drilled, len(each)) if drilled else "Nothing is broken.",
        dead=tuple(sorted(dead.units, key=natural)) if dead else (),
        cut=_cut(outcome, dead) if outcome and dead else (),
        ends=_ends(drilled) if drilled else (),
        felt=tuple(_felt(outcome, drilled)) if outcome and drilled else (),
        rescue=told(worked, faults, now=rescue),
        ask=f"{room_href(each)}&rescue=1" if each else "",
        serial=worked.serial,
    )


def _cut(outcome: Outcome, dead: Dead) -> tuple[str, ...]:
    """Give what else no longer works, under the names by which it can be broken."""
    gone = {run.name for net in dead.nets for run in outcome.plan.network.runs_on(net)}
    runs = [f"run:{name}" for name in sorted(dead.runs | gone, key=natural)]
    ducts = [f"duct:{name}" for name in sorted(dead.ducts, key=natural)]
    places = [f"place:{name}" for name in sorted(dead.places, key=natural)]
    return (*runs, *ducts, *places)


def _sentence(drilled: Drilled, things: int) -> str:
    states = Counter(v.state for v in drilled.verdicts)
    total = len(drilled.verdicts)
    whole = sum(not _feels(v) for v in drilled.verdicts)
    if whole == total:
        return f"No line feels it: all {total} are as before."
    rest = total - whole - states[State.LOST] - states[State.UNKNOWN]
    told = [f"{count(states[State.LOST], 'line')} of {total} silent at an end"]
    told += [f"{rest} carried another way"] if rest else []
    told += (
        [f"{states[State.UNKNOWN]} of which nobody can say yet"] if states[State.UNKNOWN] else []
    )
    told += [f"{whole} as before"]
    return f"With {count(things, 'thing')} broken: {', '.join(told)}."


def _ends(drilled: Drilled) -> tuple[EndCount, ...]:
    ends = Counter(end for verdict in drilled.verdicts for end in verdict.lost)
    return tuple(EndCount(end=end, lines=lines) for end, lines in ends.most_common())


def _felt(outcome: Outcome, drilled: Drilled) -> Iterable[Felt]:
    for state, word, title in TOLD:
        verdicts = [
            v
            for v in drilled.verdicts
            if v.state is state and (v.ends or v.lost or v.state is not State.UNTOUCHED)
        ]
        if verdicts:
            alike = _alike(outcome, verdicts)
            yield Felt(state=word, title=title, count=len(verdicts), alike=alike)


def _feels(verdict: Verdict) -> bool:
    """Say whether a line feels the fault at all, be it for a moment."""
    return verdict.state is not State.UNTOUCHED or bool(verdict.ends)


_NEEDS = tuple(need.value for need in (Need.SAFETY, Need.MUST, Need.WANT, Need.SPARE))


def _alike(outcome: Outcome, verdicts: list[Verdict]) -> tuple[Alike, ...]:
    found: dict[tuple[str, Standing], list[Touched]] = {}
    acts = {act.name: n for n, act in enumerate(outcome.show.acts)}
    for verdict in sorted(verdicts, key=lambda v: acts.get(v.line.act, -1)):
        key = (", ".join(verdict.lost), verdict.standing)
        found.setdefault(key, []).append(_touched(outcome, verdict))
    made = [
        Alike(
            where=where,
            gap=gap_words(standing.gap) if standing.state.arrives else "",
            act_now=standing.must_act,
            carries=standing.carries,
            why=standing.why,
            lines=tuple(sorted(lines, key=lambda line: _NEEDS.index(line.need))),
        )
        for (where, standing), lines in found.items()
    ]
    return tuple(sorted(made, key=lambda each: -len(each.lines)))


def _touched(outcome: Outcome, verdict: Verdict) -> Touched:
    line = outcome.show.line(verdict.line)
    return Touched(
        key=str(verdict.line),
        href=line_href(verdict.line),
        title=f"{verdict.line.number} {line.title if line else ''}".rstrip(),
        act=act_title(outcome.show, verdict.line.act) if outcome.show.acts else "",
        need=line.need.value if line else Need.MUST.value,
    )


def gap_words(gap: Gap) -> str:
    """Give how long it is silent, in words, "" for no time.

    >>> gap_words(Gap(least_s=1.0, most_s=6.5)), gap_words(Gap(least_s=0, most_s=0))
    ('1 to 6.5 s', '')
    """
    if not gap.most_s:
        return ""
    if gap.most_s == float("inf"):
        return "nobody can say how long"
    most = f"{gap.most_s:.2g}" if gap.most_s < 10 else f"{gap.most_s:.0f}"
    least = f"{gap.least_s:.2g}" if gap.least_s < 10 else f"{gap.least_s:.0f}"
    return f"{most} s" if least == most else f"{least} to {most} s"
