"""`lineproof check`: everything wrong or risky, worst first."""

from __future__ import annotations

import argparse
from typing import Any

from lineproof.base.finding import Grade
from lineproof.cli.folder import add_draft, add_show, folder_of, read
from lineproof.cli.tell import Tell, findings_data, tell_findings
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
    tell.line(f"{outcome.show.title}: {outcome.status}, mark {outcome.mark}")
    tell.line()
    tell_findings(tell, outcome.findings, notes=not args.no_notes)
    for row in _drilled(outcome):
        tell.line(row)
    tell.line(f"not looked at yet: {', '.join(outcome.not_tried)}")
    tell.answer(
        "check",
        {
            "title": outcome.show.title,
            "status": outcome.status,
            "mark": outcome.mark,
            "changes": [str(c) for c in outcome.changes],
            "findings": findings_data(outcome.findings),
            "worst-single": _worst_data(outcome),
            "not-tried": list(outcome.not_tried),
        },
    )
    return 1 if outcome.stops else 0


def _drilled(outcome: Outcome) -> list[str]:
    """Tell the single fault that takes most lines, and what the drill found, in a row each."""
    drill = outcome.drill
    if drill is None or not drill.worst:
        return []
    lost, total = max(drill.lost_lines), len(drill.swept.keys)
    standing = [f for f in outcome.drilled if not f.accepted and f.grade is not Grade.NOTE]
    stops = sum(f.grade is Grade.STOP for f in standing)
    worst = f"{lost} of {total} lines are lost at some end"
    rows = [f"the worst single fault is {drill.worst[0]}: without it {worst}"]
    if standing:
        risks = len(standing) - stops
        rows.append(
            f"of single faults {stops} would be a stop and {risks} a risk, before any rescue is "
            "worked out: `lineproof drill` tells them"
        )
    return rows


def _worst_data(outcome: Outcome) -> dict[str, Any] | None:
    drill = outcome.drill
    if drill is None or not drill.worst:
        return None
    at = drill.swept.classes.members.index(drill.worst)
    shapes = drill.swept.lost_alone[at]
    lines = sorted({line for shape in shapes for line in drill.swept.lines_of[shape]})
    keys = [str(drill.swept.keys[line]) for line in lines]
    return {"fault": str(drill.worst[0]), "lost": keys}
