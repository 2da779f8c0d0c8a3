"""`lineproof diff`: what differs between two plans."""

from __future__ import annotations

import argparse
from pathlib import Path

from lineproof.base.errors import CannotRead, WrongCommand
from lineproof.cli.folder import add_show, folder_of
from lineproof.cli.tell import Tell
from lineproof.plan.diff import difference_data, differences
from lineproof.plan.model import Plan
from lineproof.plan.store import read_draft, read_revision, revisions


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument("before", nargs="?", help="a revision's number (default: the last issued)")
    parser.add_argument("after", nargs="?", help="a revision's number, or draft (default: draft)")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Tell every part of a line that is decided otherwise."""
    folder = folder_of(args)
    numbers = revisions(folder)
    before = args.before or (str(numbers[-1]) if numbers else "none")
    after = args.after or "draft"
    differ = differences(_plan(folder, before), _plan(folder, after))
    names = f"{_title(before)} and {_title(after)}"
    for difference in differ:
        tell.line(str(difference))
    tell.line(f"{len(differ) or 'no'} differences between {names}")
    data = {"before": before, "after": after}
    tell.answer("diff", {**data, "differences": [difference_data(d) for d in differ]})
    return 0


def _plan(folder: Path, word: str) -> Plan:
    if word == "none":
        return Plan()
    if word == "draft":
        draft = read_draft(folder)
        if draft is None:
            raise CannotRead("there is no draft: run `lineproof plan` first")
        return draft
    if not word.isdecimal():
        raise WrongCommand(f"{word!r} is no revision's number and not 'draft'")
    return read_revision(folder, int(word)).plan


def _title(word: str) -> str:
    return {"none": "no plan", "draft": "the draft"}.get(word, f"ISSUED {word}")
