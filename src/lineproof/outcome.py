"""One call that works a show out; one frozen result that says what was not tried."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Literal

from lineproof.base.finding import Finding, Grade, in_order
from lineproof.check.accept import IDLE, with_accepted
from lineproof.check.check import Facts
from lineproof.check.every import find_all
from lineproof.drill.calm import calm
from lineproof.drill.odds import Assumed
from lineproof.drill.verdict import Drilled
from lineproof.drill.whole import Whole, drill_all
from lineproof.plan.model import Issued, Plan
from lineproof.plan.recognise import recognise
from lineproof.plan.store import last_issued, read_draft
from lineproof.reckon.delay_figures import NetworkFigures, network_figures
from lineproof.reckon.figures import Figures, reckon
from lineproof.rescue.grade import grades
from lineproof.rescue.rules import RULES as DRILL_RULES
from lineproof.rescue.whole import Rescued, rescue_all
from lineproof.show.canonical import mark
from lineproof.show.changes import Change, changes
from lineproof.show.model import Show
from lineproof.show.naming import Unclear
from lineproof.show.read import Reading, read_files
from lineproof.show.renamed import renamed_show

#: What an outcome that stops at the spots has not tried.
NETWORK = "network load, delay and clock"
#: What an outcome that stops at the figures has not tried.
SINGLES = "single faults"
#: What an outcome that stops at single faults has not tried.
PAIRS = "pairs of faults"
#: What an outcome that stops at pairs of faults has not tried; grades do not stand before.
RESCUES = "rescues"
#: The drill's rules: an acceptance of one is idle only once the drill was done.
_DRILLS = ("singles", "pairs", "rescue")
_DRILLED = frozenset(rule.name for rule in DRILL_RULES)

Upto = Literal["spots", "figures", "singles", "pairs", "rescue"]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A show worked out against a plan.

    `network`: what the planned network does, None where none is planned or nobody asked.
    `issued` is the last issued revision, None before the first. `is_draft` says that `plan` is
    the draft rather than the issued one. `drill`: what every single fault does, and every pair, if
    that was asked for; `rescued`: the way back from each, if that was; `drilled`: the findings of
    both, apart from what is wrong with nothing broken.
    `not_tried` names what nobody looked at.
    """

    show: Show
    plan: Plan
    figures: Figures
    findings: tuple[Finding, ...]
    network: NetworkFigures | None = None
    issued: Issued | None = None
    is_draft: bool = True
    drill: Whole | None = None
    rescued: Rescued | None = None
    drilled: tuple[Finding, ...] = ()
    not_tried: tuple[str, ...] = ()

    # The two that follow take as long as reading a show once more; who only plans asks for neither.

    @cached_property
    def mark(self) -> str:
        """Give the mark of the show as it stands."""
        return mark(self.show)

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """Give what differs in the show since it was issued."""
        return _changes(self.issued, self.show) if self.issued else ()

    @property
    def singles(self) -> tuple[Drilled, ...]:
        """Give what every single fault does, none where that was not asked for."""
        return self.drill.singles if self.drill is not None else ()

    @property
    def status(self) -> str:
        """Give what every sheet says: DRAFT, ISSUED 3, or ISSUED 3 + 2 CHANGES."""
        if self.is_draft or self.issued is None:
            return "DRAFT"
        if not self.changes:
            return f"ISSUED {self.issued.revision}"
        s = "S" if len(self.changes) > 1 else ""
        return f"ISSUED {self.issued.revision} + {len(self.changes)} CHANGE{s}"

    @property
    def stops(self) -> tuple[Finding, ...]:
        """Give the *stops* that stand: do not open doors."""
        return tuple(f for f in self.findings if f.grade is Grade.STOP and not f.accepted)


def work_out(
    reading: Reading,
    plan: Plan,
    *,
    issued: Issued | None = None,
    is_draft: bool = True,
    upto: Upto = "figures",
    assumed: Assumed | None = None,
    progress: Callable[[str], None] | None = None,
) -> Outcome:
    """Give what follows from the show as it stands and the plan, as far as `upto`.

    `assumed`: what the odds of pairs are reckoned from. `progress` is told what has begun.
    `reading.show` must be there. The same values give the same outcome.
    """
    show = reading.show
    assert show is not None
    known = recognise(show, plan)
    plan = known.plan
    figures = reckon(show, plan)
    network = None
    if upto != "spots" and plan.network.nets:
        network = network_figures(show, plan, plan.network)
    found = [
        *reading.findings,
        *known.findings,
        *find_all(Facts(show=show, plan=plan, figures=figures, network=network)),
    ]
    drill, rescued = None, None
    if upto in _DRILLS:
        ready = calm(show, plan, network)
        pairs = upto != "singles"
        drill = drill_all(ready, pairs=pairs, assumed=assumed, progress=progress)
        rescued = rescue_all(drill.swept, progress) if upto == "rescue" else None
    told = _graded(show, found, drill, rescued)
    return Outcome(
        show=show,
        plan=plan,
        figures=figures,
        findings=in_order([f for f in told if f.rule not in _DRILLED]),
        network=network,
        issued=issued,
        is_draft=is_draft,
        drill=drill,
        rescued=rescued,
        drilled=in_order([f for f in told if f.rule in _DRILLED]),
        not_tried=_not_tried(upto),
    )


def with_rescues(
    before: Outcome,
    progress: Callable[[str], None] | None = None,
    *,
    found: Rescued | None = None,
) -> Outcome:
    """Give an outcome that went as far as pairs with rescues and grades as well.

    `found`: the rescues, where somebody has worked them out already.
    """
    assert before.drill is not None
    rescued = found or rescue_all(before.drill.swept, progress)
    wrong = [f for f in before.findings if f.rule != IDLE.name]
    told = _graded(before.show, wrong, before.drill, rescued)
    return replace(
        before,
        rescued=rescued,
        findings=in_order([f for f in told if f.rule not in _DRILLED]),
        drilled=in_order([f for f in told if f.rule in _DRILLED]),
        not_tried=_not_tried("rescue"),
    )


def _graded(
    show: Show, found: list[Finding], drill: Whole | None, rescued: Rescued | None
) -> list[Finding]:
    """Give all findings with who took which on; before grades stand none of theirs is idle."""
    drilled = grades(drill.swept, rescued) if drill is not None else []
    told = with_accepted(show, [*found, *drilled])
    if rescued is not None:
        return told
    return [f for f in told if f.rule != IDLE.name or _DRILLED.isdisjoint(f.of)]


def _not_tried(upto: Upto) -> tuple[str, ...]:
    return {
        "spots": (NETWORK, SINGLES, PAIRS, RESCUES),
        "figures": (SINGLES, PAIRS, RESCUES),
        "singles": (PAIRS, RESCUES),
        "pairs": (RESCUES,),
        "rescue": (),
    }[upto]


def _changes(issued: Issued, show: Show) -> tuple[Change, ...]:
    """Give what differs since the revision was issued; a rename is one change, not many."""
    before = read_files(issued.show).show
    if before is None:
        return ()
    told = []
    for naming in issued.renamed:
        # A number that was unclear then is told as what it became.
        with contextlib.suppress(Unclear):
            before = renamed_show(before, naming)
        told.append(Change(what=f"{naming.what} {naming.old}", how="renamed", keys=(naming.new,)))
    return (*told, *changes(before, show))


def load_plan(folder: Path, *, draft: bool = False) -> tuple[Plan, Issued | None, bool]:
    """Give the plan a command works on: the issued one, else the draft; `draft` asks for the draft.

    Also the last issued revision, and whether the plan given is a draft.
    """
    issued = last_issued(folder)
    if issued is not None and not draft:
        return issued.plan, issued, False
    return read_draft(folder) or Plan(), issued, True
