"""The rescue from what is broken: what to do, in walking order, what comes back, what stays."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from lineproof.base.finding import Finding, Grade
from lineproof.drill.calm import Calm
from lineproof.graph.faults import MISTAKE, Fault
from lineproof.outcome import Outcome
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.moves import Do, Move, counted
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.rules import RECORDING_LOST
from lineproof.rescue.steps import Step, runs_told, steps_of
from lineproof.rescue.taken import Grades
from lineproof.web.breaking import at_rest, break_all, known_rescue, named, rescue_of
from lineproof.web.views.parts import Link, grade_of, line_href, place_title
from lineproof.web.worked import Worked

#: nothing broken, or nothing lost by it; a mistake; being worked out; known.
State = Literal["none", "mistake", "waiting", "known"]
#: What rescues rest on, beside every figure of minutes.
PACES = "minutes for one person, by paces that are assumed"
#: What a fault is graded where nobody looked at rescues yet.
UNGRADED = "not yet graded"
#: Steps and lines that a page shows; the command line and the cards tell all.
MOST_STEPS, MOST_LINES = 60, 40


@dataclass(frozen=True, kw_only=True)
class AtPlace:
    """One place to walk to, numbered in the order of the walk, and what is to be done there.

    `place` is "", `number` 0 for what is done at screens. `first` is the number of its first step.
    """

    number: int
    place: str
    title: str
    first: int
    steps: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StaysLost:
    """An end, and the lines that stay silent there."""

    end: str
    lines: tuple[Link, ...]
    more: int


@dataclass(frozen=True, kw_only=True)
class RescueView:
    """What to do about what is broken; `sentence` says what it brings.

    `more` counts steps that are not shown. `unproven`: perhaps there is a shorter way.
    """

    state: State
    sentence: str
    places: tuple[AtPlace, ...] = ()
    more: int = 0
    stays: tuple[StaysLost, ...] = ()
    stand_ins: tuple[str, ...] = ()
    unproven: bool = False
    assumed: str = ""


def rescue_view(worked: Worked, names: Iterable[str]) -> RescueView:
    """Give the rescue from these names broken at once, worked out where nobody knows it yet."""
    faults, _ = named(worked, names)
    return told(worked, faults, now=True)


def told(worked: Worked, faults: Sequence[Fault], *, now: bool = False) -> RescueView:
    """Give the rescue from faults; where it is not known yet and not wanted `now`, it waits."""
    outcome = worked.outcome
    if outcome is None or not faults:
        return RescueView(state="none", sentence="Nothing is broken.")
    if any(fault.what == MISTAKE for fault in faults):
        return RescueView(
            state="mistake", sentence="A mistake has no rescue: whoever made it undoes it."
        )
    known, found = known_rescue(worked, faults)
    if not known and not now:
        return RescueView(state="waiting", sentence="The rescue is being worked out.")
    if not known:
        drilled = break_all(worked, faults)
        lost = drilled is not None and any(verdict.lost for verdict in drilled.verdicts)
        found = rescue_of(worked, faults) if lost else None
    if found is None or not found.lost:
        return RescueView(state="none", sentence="No line is lost: there is nothing to bring back.")
    return _known(worked, outcome, found)


def _known(worked: Worked, outcome: Outcome, found: Rescue) -> RescueView:
    calm = at_rest(worked, outcome)
    words = back_words(found)
    every = tuple(_places(outcome, found.moves))
    shown = tuple(_shown(every))
    return RescueView(
        state="known",
        sentence=f"{words[:1].upper()}{words[1:]}.",
        places=shown,
        more=sum(len(s.steps) for s in every) - sum(len(s.steps) for s in shown),
        stays=tuple(_stays(calm, found.stays)),
        stand_ins=tuple(f"{by} stands in for {dead} from now on." for dead, by in found.stand_ins),
        unproven=not found.proven,
        assumed=PACES if found.moves else "",
    )


def back_words(rescue: Rescue) -> str:
    """Give in a few words what a rescue brings back, how soon, and by what."""
    if not rescue.back:
        return "nothing at hand brings any of it back"
    minutes = max(1, round(rescue.seconds() / 60))
    how = f"back in about {minutes} min ({counted(rescue.moves)})"
    if not rescue.stays:
        return f"all {how}"
    return f"{len(rescue.back)} of {len(rescue.lost)} ends {how}"


def _places(outcome: Outcome, moves: Sequence[Move]) -> Iterator[AtPlace]:
    """Give the steps under the place where each is done, in walking order, then at screens."""
    found: dict[str, list[Step]] = {}
    for step in steps_of(moves):
        place = step.first.place if step.first.do.by_hand else ""
        found.setdefault(place, []).append(step)
    first = 1
    for number, (place, steps) in enumerate(found.items(), start=1):
        yield AtPlace(
            number=number if place else 0,
            place=place,
            title=place_title(outcome.show, place) if place else "At a screen",
            first=first,
            steps=tuple(step_words(step) for step in steps),
        )
        first += len(steps)


def _shown(places: Iterable[AtPlace]) -> Iterator[AtPlace]:
    left = MOST_STEPS
    for here in places:
        if left <= 0:
            return
        if len(here.steps) > left:
            yield AtPlace(
                number=here.number,
                place=here.place,
                title=here.title,
                first=here.first,
                steps=here.steps[:left],
            )
            return
        yield here
        left -= len(here.steps)


def step_words(step: Step) -> str:
    """Give a step as one tells it to somebody."""
    if not step.numbers or (len(step.moves) == 1 and len(step.new) == 1):
        return step.first.words
    do, old = step.first.do, step.old
    if do is Do.ROUTE:
        # Who sits at the receiving unit goes by its own numbers.
        heard = sorted((new, was) for was, new in step.numbers)
        units = ", ".join(new.rpartition(":")[0] for new in step.new)
        side = step.new[0].rpartition(":")[2]
        return f"{units}: {side} hears {old}: {runs_told(heard, 'from')}"
    pairs = runs_told(step.numbers, "to")
    if do is Do.PATCH:
        return f"patch {old} to {step.new[0]}: {pairs}"
    return f"{len(step.moves)} leads out of {old}, into {step.new[0]}: {pairs}"


def _stays(calm: Calm, ends: Iterable[EndAt]) -> Iterator[StaysLost]:
    found: dict[str, list[int]] = {}
    for line, n in ends:
        found.setdefault(str(calm.lines[line].arrivals[n].end), []).append(line)
    for end, lines in sorted(found.items(), key=lambda each: -len(each[1])):
        keys = [calm.lines[line].line.key for line in lines]
        links = tuple(Link(text=str(key), href=line_href(key)) for key in keys[:MOST_LINES])
        yield StaysLost(end=end, lines=links, more=max(0, len(keys) - MOST_LINES))


# -- grades ----------------------------------------------------------------------------------------


def fault_grades(worked: Worked) -> Mapping[Fault, str]:
    """Give the worst grade of every fault that takes a needed line: stop, risk, note, accepted.

    Empty until rescues were worked out: before, no grade stands.
    """
    outcome = worked.outcome
    if outcome is None or outcome.drill is None or outcome.rescued is None:
        return {}
    return worked.made("grades", lambda: _grades(outcome))


def _grades(outcome: Outcome) -> Mapping[Fault, str]:
    assert outcome.drill is not None
    assert outcome.rescued is not None
    first: dict[str, list[Finding]] = {}
    for finding in outcome.drilled:
        if finding.of:
            first.setdefault(finding.of[0], []).append(finding)
    # That nothing is recorded is told once for all faults that do it, all else by what is taken.
    recording = next((f for f in outcome.drilled if f.rule == RECORDING_LOST.name), None)
    silent = recording.of if recording is not None else ()
    found: dict[Fault, list[Finding]] = {
        fault: [recording]
        for members in outcome.drill.swept.classes.members
        for fault in members
        if recording is not None and str(fault) in silent
    }
    for taken in Grades(swept=outcome.drill.swept, rescued=outcome.rescued).taken():
        own = [f for f in first.get(str(taken.faults[0]), ()) if f is not recording]
        for fault in taken.faults:
            found.setdefault(fault, []).extend(own)
    return {fault: _worst(each) for fault, each in found.items()}


def _worst(findings: Sequence[Finding]) -> str:
    """Give the grade that stands; what was taken on stands below all that was not."""
    order = [Grade.STOP, Grade.RISK, Grade.NOTE]
    open_ = [f for f in findings if not f.accepted]
    if not open_ and findings:
        return grade_of(findings[0])
    return min((f.grade for f in open_), key=order.index, default=Grade.NOTE).value
