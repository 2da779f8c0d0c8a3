"""`lineproof drill`: break things, one by one, in pairs or as asked, and tell what falls silent."""

from __future__ import annotations

import argparse
from pathlib import Path

from lineproof.base.errors import CannotPlan, WrongCommand
from lineproof.base.finding import Grade
from lineproof.cli.drill_tell import (
    drilled_data,
    tell_drilled,
    tell_more,
    tell_pairs,
    tell_singles,
    whole_data,
)
from lineproof.cli.folder import add_draft, add_show, folder_of, read
from lineproof.cli.rescue_tell import (
    gains_data,
    rescue_data,
    rescues_data,
    tell_gains,
    tell_rescue,
    tell_rescues,
)
from lineproof.cli.tell import Progress, Tell, findings_data, tell_findings
from lineproof.drill.blunder import drill
from lineproof.drill.calm import calm
from lineproof.drill.odds import FAILURES_A_YEAR, REPAIR_MIN, Assumed
from lineproof.drill.verdict import Drilled
from lineproof.graph.faults import DIP, MISTAKE, FaultError, faults, mistakes, parse_fault
from lineproof.outcome import Outcome, Upto, load_plan, work_out
from lineproof.plan.model import Issued, Plan
from lineproof.rescue.gains import MOST_TRIED, Gain, gains
from lineproof.rescue.rescue import rescue

_MOST_HOURS = 10_000.0


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    add_draft(parser)
    parser.add_argument(
        "--cut",
        action="append",
        default=[],
        metavar="FAULT",
        help="break this and nothing else: box-1, circuit:stage, run:desk-a, port:sw-1:8, "
        "duct:floor, rack:left, place:wings, net:a, supply:desk/2, dip:stage, mistake:...; "
        "more than one are broken together",
    )
    parser.add_argument("--pairs", action="store_true", help="all pairs, and how likely they are")
    parser.add_argument("--more", action="store_true", help="dips and mistakes, one by one, too")
    parser.add_argument(
        "--no-rescue", action="store_true", help="faults alone: no way back, and no grades yet"
    )
    parser.add_argument(
        "--gains",
        nargs="?",
        type=int,
        const=MOST_TRIED,
        metavar="N",
        help=f"what single improvements would bring: so many are worked out ({MOST_TRIED})",
    )
    parser.add_argument("--no-notes", action="store_true", help="stops and risks only")
    parser.add_argument("--hours", default="4", metavar="H", help="how long the show is (4)")
    parser.add_argument(
        "--assume",
        action="append",
        default=[],
        metavar="WHAT=RATE[,MINUTES]",
        help="failures a year of use, and minutes to repair, of unit, run, circuit, a kind …",
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Drill the show against its plan; 1 where a stop stands that nobody took on."""
    assumed = _assumed(args)
    if args.gains is not None and (args.no_rescue or args.gains < 1):
        raise WrongCommand("--gains takes a number from 1 on, and goes with rescues")
    if args.cut:
        return _cut(args, tell)
    folder = folder_of(args)
    reading = read(folder)
    plan, issued, is_draft = _plan(folder, draft=args.draft)
    progress = Progress(tell)
    progress("figures")
    outcome = work_out(
        reading,
        plan,
        issued=issued,
        is_draft=is_draft,
        upto=_upto(args),
        assumed=assumed,
        progress=progress,
    )
    assert outcome.drill is not None
    tell.line(f"{outcome.show.title}: {outcome.status}, mark {outcome.mark}")
    tell.line()
    _tell_unplanned(outcome, tell)
    tell_findings(tell, outcome.drilled, notes=not args.no_notes)
    tell.line()
    tell_singles(tell, outcome.drill)
    tell_rescues(tell, outcome)
    if args.pairs:
        tell_pairs(tell, outcome.drill)
    found = _gains(outcome, args, assumed, progress)
    tell_gains(tell, found)
    more = _more(outcome, progress) if args.more else ()
    tell_more(tell, more)
    if outcome.not_tried:
        tell.line(f"not looked at yet: {', '.join(outcome.not_tried)}")
    tell.answer(
        "drill",
        {
            "title": outcome.show.title,
            "status": outcome.status,
            "mark": outcome.mark,
            "findings": findings_data(outcome.drilled),
            **whole_data(outcome.drill),
            **({"rescues": rescues_data(outcome)} if outcome.rescued is not None else {}),
            **({"gains": gains_data(found)} if args.gains else {}),
            **({"more": [drilled_data(each) for each in more]} if args.more else {}),
            "not-tried": list(outcome.not_tried),
        },
    )
    return 1 if any(f.grade is Grade.STOP and not f.accepted for f in outcome.drilled) else 0


def _gains(
    outcome: Outcome, args: argparse.Namespace, assumed: Assumed, progress: Progress
) -> tuple[Gain, ...]:
    """Give what improvements bring, nothing where nobody asked."""
    if not args.gains:
        return ()
    assert outcome.rescued is not None
    return gains(outcome.rescued, most=args.gains, assumed=assumed, progress=progress)


def _upto(args: argparse.Namespace) -> Upto:
    if not args.no_rescue:
        return "rescue"
    return "pairs" if args.pairs else "singles"


def _plan(folder: Path, *, draft: bool) -> tuple[Plan, Issued | None, bool]:
    """Give the plan to drill; raises CannotPlan where nothing is planned yet."""
    plan, issued, is_draft = load_plan(folder, draft=draft)
    if not plan.lines:
        raise CannotPlan(
            "nothing is planned yet, so nothing can be drilled: `lineproof plan` first"
        )
    return plan, issued, is_draft


def _tell_unplanned(outcome: Outcome, tell: Tell) -> None:
    assert outcome.drill is not None
    missing = len(outcome.show.lines) - len(outcome.drill.swept.keys)
    if missing:
        lines = "1 line of the show is" if missing == 1 else f"{missing} lines of the show are"
        tell.line(f"{lines} not planned as it stands now, and can't be drilled")
        tell.line()


def _cut(args: argparse.Namespace, tell: Tell) -> int:
    """Tell what the faults asked for do together."""
    folder = folder_of(args)
    reading = read(folder)
    plan, issued, is_draft = _plan(folder, draft=args.draft)
    outcome = work_out(reading, plan, issued=issued, is_draft=is_draft)
    struck = []
    for text in args.cut:
        try:
            struck.append(parse_fault(text, outcome.show, outcome.plan))
        except FaultError as error:
            raise WrongCommand(str(error)) from error
    if len(struck) > 1 and any(fault.what == MISTAKE for fault in struck):
        raise WrongCommand("a mistake is drilled by itself: leave the other --cut out")
    ready = calm(outcome.show, outcome.plan, outcome.network)
    drilled = drill(outcome.show, outcome.plan, tuple(dict.fromkeys(struck)), ready=ready)
    tell.line(f"{outcome.show.title}: {outcome.status}, mark {outcome.mark}")
    tell.line()
    tell_drilled(tell, drilled)
    data = {"title": outcome.show.title, "cut": drilled_data(drilled)}
    if not args.no_rescue and all(fault.what != MISTAKE for fault in struck):
        found = rescue(ready, drilled.faults)
        tell_rescue(tell, ready, found)
        data["rescue"] = rescue_data(ready, found)
    tell.answer("drill", data)
    return 0


def _more(outcome: Outcome, progress: Progress) -> tuple[Drilled, ...]:
    """Give every dip and every mistake, each worked out by itself."""
    show, plan = outcome.show, outcome.plan
    assert outcome.drill is not None
    each = [fault for fault in faults(show, plan.network) if fault.what == DIP]
    each += mistakes(show, plan)
    found = []
    for at, fault in enumerate(each):
        if at % 50 == 0:
            progress(f"dips and mistakes: {at} of {len(each)}")
        found.append(drill(show, plan, (fault,), ready=outcome.drill.calm))
    return tuple(found)


def _assumed(args: argparse.Namespace) -> Assumed:
    hours = _number(args.hours, "--hours")
    if not 0 < hours <= _MOST_HOURS:
        raise WrongCommand(f"--hours {args.hours}: a show lasts more than 0 and up to 10,000 hours")
    rates, repairs = dict(FAILURES_A_YEAR), dict(REPAIR_MIN)
    kinds: dict[str, float] = {}
    for text in args.assume:
        what, equals, figures = text.partition("=")
        rate, comma, minutes = figures.partition(",")
        if not equals or not what:
            raise WrongCommand(f"--assume {text!r}: write it as in circuit=0.5,10")
        if what in rates:
            rates[what] = _number(rate, text)
        else:
            kinds[what] = _number(rate, text)
        if comma and what in repairs:
            repairs[what] = _number(minutes, text)
        elif comma:
            raise WrongCommand(
                f"--assume {text!r}: minutes to repair go by what fails, not by kind"
            )
    return Assumed(hours=hours, failures_a_year=rates, repair_min=repairs, unit_failures=kinds)


def _number(text: str, where: str) -> float:
    try:
        number = float(text)
    except ValueError as error:
        raise WrongCommand(f"{where}: {text!r} is no number") from error
    if not 0 <= number < float("inf"):
        raise WrongCommand(f"{where}: {text!r} must be 0 or more")
    return number
