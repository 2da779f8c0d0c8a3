"""`lineproof check`: everything wrong or risky, worst first."""

from __future__ import annotations

import argparse
from typing import Any

from lineproof.cli.folder import add_draft, add_show, folder_of, read
from lineproof.cli.tell import Tell, findings_data, tell_findings
from lineproof.drill.verdict import Drilled, State
from lineproof.outcome import Outcome, load_plan, work_out


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    add_draft(parser)
    parser.add_argument("--no-notes", action="store_true", help="stops and risks only")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Work the show out against its plan and tell what was found."""
    folder = folder_of(args)
    reading = read(folder)
    plan, issued, is_draft = load_plan(folder, draft=args.draft)
    outcome = work_out(reading, plan, issued=issued, is_draft=is_draft, upto="singles")
    worst = _worst(outcome)
    tell.line(f"{outcome.show.title}: {outcome.status}, mark {outcome.mark}")
    tell.line()
    tell_findings(tell, outcome.findings, notes=not args.no_notes)
    if worst is not None:
        tell.line(_told(worst))
    tell.line(f"not looked at yet: {', '.join(outcome.not_tried)}")
    tell.answer(
        "check",
        {
            "title": outcome.show.title,
            "status": outcome.status,
            "mark": outcome.mark,
            "changes": [str(c) for c in outcome.changes],
            "findings": findings_data(outcome.findings),
            "worst-single": _worst_data(worst),
            "not-tried": list(outcome.not_tried),
        },
    )
    return 1 if outcome.stops else 0


def _worst(outcome: Outcome) -> Drilled | None:
    """Give the single fault at which most lines are lost somewhere, None if none loses any."""
    worst = max(outcome.singles, key=lambda d: len(d.lines(State.LOST)), default=None)
    return worst if worst and worst.lines(State.LOST) else None


def _told(worst: Drilled) -> str:
    lost, unknown = len(worst.lines(State.LOST)), len(worst.lines(State.UNKNOWN))
    more = f", {unknown} more unknown" if unknown else ""
    return (
        f"the worst single unit or circuit is {worst.fault}: without it {lost} of "
        f"{len(worst.verdicts)} lines are lost at some end{more}"
    )


def _worst_data(worst: Drilled | None) -> dict[str, Any] | None:
    if worst is None:
        return None
    lost = [str(key) for key in worst.lines(State.LOST)]
    return {"fault": str(worst.fault), "lost": lost}
