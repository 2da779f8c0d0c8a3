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
from lineproof.decide.roles import role_families, with_roles
from lineproof.decide.terms import Term, as_planned
from lineproof.plan.freed import what_is_freed
from lineproof.plan.model import Issued, LinePlan, Plan
from lineproof.plan.recognise import Recognised, recognise
from lineproof.show.model import Show

#: How many wishes stand above the metres, and for how many roles it is tried to keep a plug.
WISHES_ABOVE = 4
MOST_ROLES = 24


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


@dataclass(frozen=True, kw_only=True)
class _Answer:
    """What was found for a problem: `problem` says which roles share a plug in it."""

    problem: Problem
    placed: Placed
    terms: tuple[Term, ...]

    @property
    def above_metres(self) -> tuple[float, ...]:
        """Give what stands above the metres in the order of wishes."""
        return tuple(term.value for term in self.terms[:WISHES_ABOVE])


def _decided(
    problem: Problem, revision: int, renew: frozenset[LineKey], progress: Callable[[str], None]
) -> Decision:
    # The solver takes a while to load: only what plans pays for it.
    from lineproof.decide.levels import Undecided
    from lineproof.decide.refusal import refusal

    try:
        answer = _with_fit_roles(problem, progress)
    except Undecided:
        return Decision(plan=None, findings=(rules.no_answer(problem),))
    if answer is None:
        progress("no plan exists: looking for the reasons")
        return Decision(plan=None, findings=refusal(problem) or (rules.no_answer(problem),))
    problem = answer.problem
    try:
        assembled = assemble(problem, fixed_channels(problem), answer.placed)
    except NoNumber as short:
        return Decision(plan=None, findings=(rules.no_number(problem, str(short)),))
    lines = (*assembled, *_unread(problem))
    lines = tuple(sorted(lines, key=lambda x: x.key.sort_key()))
    freed = what_is_freed(problem.earlier, lines, revision, drop=lambda f: f.line in renew)
    plan = Plan(lines=lines, freed=freed)
    terms = as_planned(answer.terms, problem.show, plan)
    return Decision(plan=plan, terms=terms, findings=in_order(rules.told(problem, plan)))


def _with_fit_roles(problem: Problem, progress: Callable[[str], None]) -> _Answer | None:
    """Give the best answer; None: there is none.

    Lines of one role share a plug, but where something that stands above the metres is better
    with them apart: then as few roles as can be come apart, late ones first.
    """
    whole = _answer(problem, progress)
    families = role_families(problem)
    if not families or (whole is not None and not any(whole.above_metres)):
        return whole
    progress("looking whether roles should come apart")
    apart = frozenset(key for family in families for key in family)
    loose = _answer(with_roles(problem, apart), progress)
    if loose is None or (whole is not None and whole.above_metres <= loose.above_metres):
        return whole
    best = loose
    for family in families[:MOST_ROLES]:
        trial = _answer(with_roles(problem, apart - family), progress)
        if trial is not None and trial.above_metres <= best.above_metres:
            apart, best = apart - family, trial
    return best


def _answer(problem: Problem, progress: Callable[[str], None]) -> _Answer | None:
    from lineproof.decide.fill import CrowdedClass
    from lineproof.decide.levels import Impossible

    while True:
        try:
            placed, terms = _placed(problem, progress)
        except Impossible:
            return None
        except CrowdedClass as crowded:
            # Lines of one role can't all keep one socket here: each takes its own.
            if not crowded.lines - problem.apart:
                raise
            problem = with_roles(problem, crowded.lines)
        else:
            return _Answer(problem=problem, placed=placed, terms=terms)


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
