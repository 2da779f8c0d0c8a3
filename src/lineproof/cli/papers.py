"""`lineproof papers`: what a crew, a performer and a guest's engineers need, as files."""

from __future__ import annotations

import argparse
from pathlib import Path

from lineproof.base.errors import CannotRead, WrongCommand
from lineproof.base.names import nearest
from lineproof.cli.folder import add_draft, add_show, folder_of, read
from lineproof.cli.tell import Progress, Tell, counted, findings_data
from lineproof.outcome import load_plan, work_out
from lineproof.paper import rules
from lineproof.paper.bundle import PARTS, Written, bundle, write_bundle
from lineproof.paper.edition import Edition
from lineproof.paper.pdf import PAPERS
from lineproof.paper.readers import CREW, For, Reader, knows, performers
from lineproof.paper.translate import LANGUAGES, words_of
from lineproof.plan.model import Issued
from lineproof.plan.store import read_revision, revisions
from lineproof.show.model import Show

#: Lines times units up to which working out the drill with its rescues takes seconds, not minutes
#: (measured: 6,500 take 2 s, 260,000 four minutes).
MOST_TO_DRILL = 20_000


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    add_draft(parser)
    parser.add_argument("--out", required=True, metavar="DIR", help="the folder to write into")
    parser.add_argument(
        "--for",
        nargs="+",
        default=["crew"],
        dest="reader",
        metavar=("WHO", "NAME"),
        help="crew, performer NAME (a player, a group or an act) or guest",
    )
    parser.add_argument(
        "--without",
        nargs="+",
        choices=PARTS,
        default=[],
        metavar="PART",
        help=f"leave out what you don't need: {', '.join(PARTS)}",
    )
    parser.add_argument(
        "--drill",
        action="store_true",
        help="print the drill and its rescue cards of a large show too, which takes minutes",
    )
    parser.add_argument("--paper", choices=tuple(PAPERS), default="a4", help="size of the paper")
    parser.add_argument("--language", choices=LANGUAGES, default="en", help="language of the paper")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Print everything one reader gets into a folder, and say what was written."""
    folder = folder_of(args)
    reading = read(folder)
    assert reading.show is not None
    reader = reader_of(args.reader, reading.show)
    plan, issued, is_draft = load_plan(folder, draft=args.draft)
    if not plan.lines:
        raise CannotRead("there is no plan to print: run `lineproof plan` first")
    drills = _drills(args, reading.show, reader, tell)
    outcome = work_out(
        reading,
        plan,
        issued=issued,
        is_draft=is_draft,
        upto="rescue" if drills else "figures",
        progress=Progress(tell) if drills else None,
    )
    edition = Edition(
        outcome=outcome,
        words=words_of(args.language),
        reader=reader,
        before=_before(folder, issued, is_draft=is_draft),
    )
    tell.aside(f"printing {edition.status} of {outcome.show.title}")
    written = write_bundle(
        _out(args.out, folder), bundle(edition, PAPERS[args.paper], args.without)
    )
    _tell(tell, edition, written, args.out)
    return 1 if outcome.stops else 0


def reader_of(words: list[str], show: Show) -> Reader:
    """Give who the words after `--for` mean; raises WrongCommand where nobody is meant."""
    kind, *names = words
    if kind == For.PERFORMER.value and len(names) == 1:
        if not knows(show, names[0]):
            near = nearest(names[0], performers(show))
            hint = f"; did you mean {near!r}?" if near else ""
            raise WrongCommand(f"nobody in the show is called {names[0]!r}{hint}")
        return Reader(kind=For.PERFORMER, name=names[0])
    if kind in (For.CREW.value, For.GUEST.value) and not names:
        return CREW if kind == For.CREW.value else Reader(kind=For.GUEST)
    raise WrongCommand(f"--for {' '.join(words)}: say crew, performer NAME or guest")


def _drills(args: argparse.Namespace, show: Show, reader: Reader, tell: Tell) -> bool:
    """Say whether the drill is worked out for the papers; tell where it is left out for time."""
    if args.drill and "drill" in args.without:
        raise WrongCommand("--drill and --without drill: say one or the other")
    if reader is not CREW or "drill" in args.without:
        return False
    if args.drill or len(show.lines) * len(show.units) <= MOST_TO_DRILL:
        return True
    tell.aside(
        "left out: what every fault does, and the rescue cards; in a show of this size they "
        "take minutes. Print them with --drill"
    )
    return False


def _before(folder: Path, issued: Issued | None, *, is_draft: bool) -> Issued | None:
    """Give the revision against which rows are marked as new: the one before what is printed."""
    if issued is None or is_draft:
        return issued
    earlier = [number for number in revisions(folder) if number < issued.revision]
    return read_revision(folder, earlier[-1]) if earlier else None


def _out(name: str, folder: Path) -> Path:
    """Give the folder to write into; it must not be the show's own."""
    out = Path(name)
    if out.exists() and not out.is_dir():
        raise WrongCommand(f"--out {name!r} is a file, not a folder")
    if out.resolve() == folder.resolve():
        raise WrongCommand(f"--out {name!r} is the show's own folder: choose another")
    return out


def _tell(tell: Tell, edition: Edition, written: Written, out: str) -> None:
    for name in written.files:
        tell.line(f"{out}/{name}")
    for name in written.removed:
        tell.line(f"taken away, as it is no longer true: {out}/{name}")
    for name in written.kept:
        tell.line(f"left alone, as somebody changed it: {out}/{name}")
    own = [f for f in edition.findings if f.rule in {rule.name for rule in rules.RULES}]
    for finding in own:
        tell.line(str(finding))
    tell.line(f"{edition.status}: {counted(edition.findings)}")
    tell.answer(
        "papers",
        {
            "status": edition.status,
            "mark": edition.outcome.mark,
            "out": out,
            "files": list(written.files),
            "removed": list(written.removed),
            "left-alone": list(written.kept),
            "findings": findings_data(own),
            "not-tried": list(edition.outcome.not_tried),
        },
    )
