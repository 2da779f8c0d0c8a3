"""From a show and the last issued plan to a draft, or to the reasons why there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from lineproof.base.finding import Finding, Grade, in_order
from lineproof.base.spot import LineKey
from lineproof.decide import rules
from lineproof.decide.assemble import Placed, assemble
from lineproof.decide.building import build_problem
from lineproof.decide.channels import NoNumber
from lineproof.decide.fixed import fixed_channels
from lineproof.decide.near import first_reach, wider
from lineproof.decide.problem import Problem
from lineproof.decide.roles import with_roles
from lineproof.decide.terms import Term, with_moves
from lineproof.plan.freed import what_is_freed
from lineproof.plan.model import Issued, LinePlan, Plan
from lineproof.plan.recognise import Recognised, recognise
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Decision:
    """A draft with what each wish came to beside its proven bound, or findings that say why not.

    `earlier` is the issued plan it starts from, under the numbers that the lines have now.
    """

    plan: Plan | None
    earlier: Plan = field(default_factory=Plan)
    terms: tuple[Term, ...] = ()
    findings: tuple[Finding, ...] = ()


def _quiet(_: str) -> None:
    """Say nothing."""


def decide(
    show: Show,
    issued: Issued | None = None,
    *,
    renew: frozenset[LineKey] = frozenset(),
    renew_all: bool = False,
    follow: str = "",
    progress: Callable[[str], None] = _quiet,
) -> Decision:
    """Give the best plan for the show that moves nothing it needn't since `issued`.

    `renew` plans those lines afresh and gives back what was kept for them; `renew_all` plans as
    if nothing hung yet. The same show and issued plan give the same decision on any computer.
    """
    known = Recognised(plan=Plan())
    if issued and not renew_all:
        known = recognise(show, issued.plan, follow=follow)
    if any(f.grade is Grade.STOP for f in known.findings):
        return Decision(plan=None, earlier=known.plan, findings=known.findings)
    problem = build_problem(show, known.plan, renew=renew)
    if problem.no_ways:
        return Decision(plan=None, earlier=known.plan, findings=rules.no_way_findings(problem))
    decision = _decided(with_roles(problem), issued.revision if issued else 0, renew, progress)
    findings = in_order((*known.findings, *decision.findings))
    return replace(decision, earlier=known.plan, findings=findings)


def _decided(
    problem: Problem, revision: int, renew: frozenset[LineKey], progress: Callable[[str], None]
) -> Decision:
    # The solver takes a third of a second to load: only what plans pays for it.
    from lineproof.decide.fill import CrowdedClass
    from lineproof.decide.levels import Impossible, Undecided
    from lineproof.decide.refusal import refusal

    try:
        placed, terms = _placed(problem, progress)
    except Undecided:
        return Decision(plan=None, findings=(rules.no_answer(problem),))
    except Impossible:
        progress("no plan exists: looking for the reasons")
        return Decision(plan=None, findings=refusal(problem) or (rules.no_answer(problem),))
    except CrowdedClass as crowded:
        # Lines of one role can't all keep one socket here: each takes its own.
        if not crowded.lines - problem.apart:
            raise
        return _decided(with_roles(problem, crowded.lines), revision, renew, progress)
    try:
        assembled = assemble(problem, fixed_channels(problem), placed)
    except NoNumber as short:
        return Decision(plan=None, findings=(rules.no_number(problem, str(short)),))
    lines = (*assembled, *_unread(problem))
    lines = tuple(sorted(lines, key=lambda x: x.key.sort_key()))
    freed = what_is_freed(problem.earlier, lines, revision, drop=lambda f: f.line in renew)
    plan = Plan(lines=lines, freed=freed)
    terms = with_moves(terms, problem.show, plan)
    return Decision(plan=plan, terms=terms, findings=in_order(rules.told(problem, plan)))


def _placed(problem: Problem, progress: Callable[[str], None]) -> tuple[Placed, tuple[Term, ...]]:
    from lineproof.decide.fill import fill
    from lineproof.decide.levels import TooNear, solve
    from lineproof.decide.limits import whole_model

    fixed = fixed_channels(problem)
    reach = first_reach(problem)
    while True:
        model = whole_model(problem, fixed, reach)
        try:
            solution, terms = solve(model, progress)
        except TooNear as near:
            progress("looking further")
            reach = wider(reach, problem, near.far)
        else:
            gone = frozenset(key for key, var in model.gone.items() if solution.value(var))
            return Placed(spots=fill(model, solution), left_out=gone), terms


def _unread(problem: Problem) -> list[LinePlan]:
    """Give the decisions of rows that can't be read now: they keep what they had."""
    unread = {key.same() for key in problem.show.unread}
    return [line for line in problem.earlier.lines if line.key.same() in unread]
