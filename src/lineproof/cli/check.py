"""`lineproof check`: everything wrong or risky, worst first."""

from __future__ import annotations

import argparse

from lineproof.cli.folder import add_draft, add_show, folder_of, read
from lineproof.cli.tell import Tell, findings_data, tell_findings
from lineproof.outcome import load_plan, work_out


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
    outcome = work_out(reading, plan, issued=issued, is_draft=is_draft)
    tell.line(f"{outcome.show.title}: {outcome.status}, mark {outcome.mark}")
    tell.line()
    tell_findings(tell, outcome.findings, notes=not args.no_notes)
    tell.line(f"not looked at yet: {', '.join(outcome.not_tried)}")
    tell.answer(
        "check",
        {
            "title": outcome.show.title,
            "status": outcome.status,
            "mark": outcome.mark,
            "changes": [str(c) for c in outcome.changes],
            "findings": findings_data(outcome.findings),
            "not-tried": list(outcome.not_tried),
        },
    )
    return 1 if outcome.stops else 0
