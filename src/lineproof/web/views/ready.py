"""Ready?: can the doors open, what keeps them shut, and what one fault would do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.base.finding import Finding, Grade
from lineproof.outcome import Outcome
from lineproof.rescue.rules import RECORDING_LOST, SAFETY_SILENCED
from lineproof.web.views.drill import FaultRow, fault_rows
from lineproof.web.views.parts import (
    FindingView,
    Head,
    Rows,
    count,
    finding_view,
    head,
    standing,
)
from lineproof.web.worked import Worked

#: So many notes are told on the first page; all stand on the paper.
MOST_NOTES = 40
#: Rules that grade by the fault itself, whatever a rescue brings back.
_BY_FAULT = frozenset((RECORDING_LOST.name, SAFETY_SILENCED.name))
#: How a page tells a finding before its grade stands.
UNGRADED = "ungraded"
#: So many risks of single faults; the drill's page ranks them all.
MOST_RISKS = 40


@dataclass(frozen=True, kw_only=True)
class Ready:
    """The first page. `answer`: no, not yet or yes; `sentence` says why in one sentence.

    `stops` and `risks` are wrong as it stands, the drilled ones are what a single fault would do;
    `ungraded` is what it would do while rescues are still being worked out, before grades stand.
    """

    head: Head
    answer: str
    sentence: str
    stops: tuple[FindingView, ...]
    drilled_stops: tuple[FindingView, ...]
    drilled_risks: tuple[FindingView, ...]
    more_risks: int
    ungraded: tuple[FindingView, ...]
    more_ungraded: int
    risks: tuple[FindingView, ...]
    notes: tuple[FindingView, ...]
    more_notes: int
    accepted: tuple[FindingView, ...]
    worst: FaultRow | None
    worst_known: bool
    changes: tuple[str, ...]
    changed_since: str
    not_tried: tuple[str, ...]


def ready(worked: Worked) -> Ready:
    """Give the first page."""
    return worked.made("ready", lambda: _ready(worked))


def _ready(worked: Worked) -> Ready:
    outcome = worked.outcome
    show = outcome.show if outcome else None
    rows = Rows(worked.folder)

    def told(findings: tuple[Finding, ...]) -> tuple[FindingView, ...]:
        return tuple(finding_view(f, show, rows) for f in findings)

    drilled = outcome.drilled if outcome else ()
    graded, ungraded = by_grade(outcome) if outcome else ((), ())
    one_risks = standing(graded, Grade.RISK)
    notes = standing(worked.findings, Grade.NOTE)
    answer, sentence = verdict(worked)
    worst = next(iter(fault_rows(worked)), None) if outcome else None
    return Ready(
        head=head(worked),
        answer=answer,
        sentence=sentence,
        stops=told(standing(worked.findings, Grade.STOP)),
        drilled_stops=told(standing(graded, Grade.STOP)),
        drilled_risks=told(one_risks[:MOST_RISKS]),
        more_risks=max(0, len(one_risks) - MOST_RISKS),
        ungraded=tuple(replace(v, grade=UNGRADED) for v in told(ungraded[:MOST_RISKS])),
        more_ungraded=max(0, len(ungraded) - MOST_RISKS),
        risks=told(standing(worked.findings, Grade.RISK)),
        notes=told(notes[:MOST_NOTES]),
        more_notes=max(0, len(notes) - MOST_NOTES),
        accepted=told(tuple(f for f in (*worked.findings, *drilled) if f.accepted)),
        worst=worst if worst and (worst.lost or worst.unknown) else None,
        worst_known=bool(outcome and outcome.drill),
        changes=tuple(map(str, outcome.changes)) if outcome else (),
        changed_since=f"revision {outcome.issued.revision}" if outcome and outcome.issued else "",
        not_tried=outcome.not_tried if outcome else (),
    )


def by_grade(outcome: Outcome) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Give what single faults would do: what is graded, and what is not yet.

    Before rescues only that stands which the fault itself does (what was not recorded or announced
    is missed), what somebody took on, and notes.
    """
    if outcome.rescued is not None:
        return outcome.drilled, ()
    graded: list[Finding] = []
    ungraded: list[Finding] = []
    for finding in outcome.drilled:
        stands = finding.rule in _BY_FAULT or finding.grade is Grade.NOTE or finding.accepted
        (graded if stands else ungraded).append(finding)
    return tuple(graded), tuple(ungraded)


def verdict(worked: Worked) -> tuple[str, str]:
    """Give whether the doors can open: no, not yet or yes, and one sentence that says why."""
    outcome = worked.outcome
    if worked.unread or outcome is None:
        return "no", f"No: {worked.unread or 'nothing has been read yet'}."
    stops = len(standing(outcome.findings, Grade.STOP))
    if stops:
        return "no", f"No: {count(stops, 'stop stands', 'stops stand')}."
    if not outcome.plan.lines:
        return "no", "No: nothing is planned yet; run lineproof plan."
    return _standing_still(worked, outcome)


def _standing_still(worked: Worked, outcome: Outcome) -> tuple[str, str]:
    """Give the same where no stop stands and something is planned."""
    if outcome.is_draft or outcome.issued is None:
        return "not yet", "Not yet: the plan is a draft, and nobody rigs from a draft."
    if outcome.changes:
        number, changed = outcome.issued.revision, len(outcome.changes)
        return "not yet", (
            f"Not yet: the show has {count(changed, 'change')} that revision {number} "
            "on paper does not know."
        )
    if worked.to_come and outcome.drill is None:
        return "not yet", f"Not yet: {worked.to_come}."
    graded, ungraded = by_grade(outcome)
    if drilled := len(standing(graded, Grade.STOP)):
        stops = count(drilled, "stop stands", "stops stand")
        return "no", f"No: nothing is wrong as it stands, but {stops} for what one fault would do."
    if outcome.rescued is None:
        return "not yet", _ungraded(worked, ungraded)
    return "yes", _yes(outcome)


def _ungraded(worked: Worked, ungraded: tuple[Finding, ...]) -> str:
    """Say what is waited for before grades stand: some are milder after a rescue, some worse."""
    maybe = len(standing(ungraded, Grade.STOP))
    stops = "may be a stop" if maybe == 1 else "may be stops"
    may = f", and {count(maybe, 'finding')} of single faults {stops}" if maybe else ""
    return f"Not yet: {worked.to_come or 'rescues are not worked out'}{may}."


def _yes(outcome: Outcome) -> str:
    risks = len(standing((*outcome.findings, *outcome.drilled), Grade.RISK))
    known = f"with {count(risks, 'risk')} to know of" if risks else "and no risk is known"
    tried = (
        f", as far as was tried: not {', '.join(outcome.not_tried)}" if outcome.not_tried else ""
    )
    return f"Yes, {known}{tried}."
