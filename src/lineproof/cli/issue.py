"""`lineproof issue`: the draft becomes a numbered revision, kept whole."""

from __future__ import annotations

import argparse
import getpass
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from lineproof.base.errors import CannotRead, Refused
from lineproof.base.finding import Finding
from lineproof.cli.folder import add_show, folder_of, read
from lineproof.cli.tell import Tell, findings_data, tell_findings
from lineproof.outcome import Outcome, work_out
from lineproof.plan.model import Issued, Plan
from lineproof.plan.store import ISSUED, last_issued, read_draft, read_revision, save_issued
from lineproof.show.read import Reading
from lineproof.show.write import write_show


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument("--by", default="", metavar="NAME", help="who issues (default: the login)")
    parser.add_argument("--note", default="", help="a word to those who get it")
    parser.add_argument(
        "--again", type=int, metavar="N", help="issue revision N's decisions again, as a new one"
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Give the draft a number and keep it; refuse what must not go out."""
    folder = folder_of(args)
    reading = read(folder)
    last = last_issued(folder)
    plan = _again(folder, args.again, reading, last) if args.again else _draft(folder)
    outcome = work_out(reading, plan, issued=last)
    if not args.again:
        _refuse_stale(reading, outcome)
    if last is not None and last.plan.decisions() == plan.decisions():
        return _nothing(tell, last, outcome)
    issued = _issued(args, outcome, plan, last)
    save_issued(folder, issued)
    return _tell(tell, issued, outcome)


def _again(folder: Path, revision: int, reading: Reading, last: Issued | None) -> Plan:
    """Give an earlier revision's decisions; descriptions that differ from the last are new."""
    from lineproof.decide.addresses import with_versions

    plan = read_revision(folder, revision).plan
    if last is None or reading.show is None or not plan.network.nets:
        return plan
    network = with_versions(reading.show, plan.network, last.plan.network, revision=last.revision)
    return replace(plan, network=network)


def _draft(folder: Path) -> Plan:
    draft = read_draft(folder)
    if draft is None:
        raise CannotRead("there is no draft: run `lineproof plan` first")
    return draft


def _refuse_stale(reading: Reading, outcome: Outcome) -> None:
    unread = [f for f in reading.findings if f.grade.rank == 0]
    if unread:
        raise Refused(f"nothing is issued while the show can't be read whole: {_first(unread)}")
    missing = [f for f in outcome.findings if f.rule in ("not-planned", "spot-gone")]
    if missing:
        what = f"the show has changed since the draft ({_first(missing)})"
        raise Refused(f"{what}: run `lineproof plan` again")


def _first(findings: list[Finding]) -> str:
    more = f", and {len(findings) - 1} more" if len(findings) > 1 else ""
    where = f"{findings[0].where[0]}: " if findings[0].where else ""
    return f"{where}{findings[0].what}{more}"


def _issued(args: argparse.Namespace, outcome: Outcome, plan: Plan, last: Issued | None) -> Issued:
    return Issued(
        revision=last.revision + 1 if last else 1,
        by=args.by or getpass.getuser(),
        at=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        mark=outcome.mark,
        plan=plan,
        show=write_show(outcome.show),
        note=args.note,
    )


def _nothing(tell: Tell, last: Issued, outcome: Outcome) -> int:
    changed = (
        "" if last.mark == outcome.mark else f" (words changed: the new mark is {outcome.mark})"
    )
    tell.line(f"no decision differs from ISSUED {last.revision}: it stays{changed}")
    tell.answer("issue", {"revision": last.revision, "new": False, "mark": outcome.mark})
    return 1 if outcome.stops else 0


def _tell(tell: Tell, issued: Issued, outcome: Outcome) -> int:
    path = (ISSUED / f"{issued.revision}.json").as_posix()
    tell.line(f"ISSUED {issued.revision} by {issued.by}, mark {issued.mark}: {path}")
    if outcome.stops:
        tell_findings(tell, outcome.stops)
        tell.line("issued with stops standing; the cover says so")
    tell.answer(
        "issue",
        {
            "revision": issued.revision,
            "new": True,
            "by": issued.by,
            "mark": issued.mark,
            "file": path,
            "stops": findings_data(outcome.stops),
        },
    )
    return 1 if outcome.stops else 0
