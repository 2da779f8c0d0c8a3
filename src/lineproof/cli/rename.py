"""`lineproof rename`: show, pins and plan together, and nothing moves."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from lineproof.base.errors import Refused, WrongCommand
from lineproof.base.names import folded, nearest, wrong_with_name
from lineproof.base.spot import LineKey, SpotError, wrong_with_number
from lineproof.base.together import write_together
from lineproof.cli.folder import add_show, folder_of, read
from lineproof.cli.tell import Tell
from lineproof.plan.rename import RENAMES, Rename, read_renames, renamed, write_renames
from lineproof.plan.store import DRAFT, read_draft, revisions
from lineproof.plan.text import write_plan
from lineproof.show.model import Show
from lineproof.show.read import read_show
from lineproof.show.rename import Naming, renamed_files


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument("what", choices=("unit", "place", "act", "line"))
    parser.add_argument("old", metavar="OLD", help="the name it has (a line: number or act/number)")
    parser.add_argument("new", metavar="NEW", help="the name it gets")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Change the name everywhere, or nothing at all."""
    folder = folder_of(args)
    reading = read(folder)
    assert reading.show is not None
    old, new = _checked(args.what, args.old, args.new, reading.show)
    files = renamed_files(folder, Naming(what=args.what, old=old, new=new))
    _try(folder, files, before=len([f for f in reading.findings if f.grade.rank == 0]))
    numbers = revisions(folder)
    rename = Rename(what=args.what, old=old, new=new, revision=numbers[-1] if numbers else 0)
    draft = read_draft(folder)
    if draft is not None:
        files[DRAFT.as_posix()] = write_plan(renamed(draft, rename)).encode()
    files[RENAMES.as_posix()] = write_renames((*read_renames(folder), rename))
    write_together(folder, files)
    tell.line(f"{args.what} {old} is {new} now, in {', '.join(sorted(files))}")
    tell.answer("rename", {"what": args.what, "old": old, "new": new, "files": sorted(files)})
    return 0


def _checked(what: str, old: str, new: str, show: Show) -> tuple[str, str]:
    """Give both names as they will be written; refuse a name that is unknown, wrong or taken."""
    known = _known(what, show)
    by_fold = {folded(name): name for name in known}
    if folded(old) not in by_fold:
        near = nearest(old, known)
        hint = f"; did you mean {near!r}?" if near else ""
        raise WrongCommand(f"there is no {what} {old!r}{hint}")
    wrong = wrong_with_number(_number(new)) if what == "line" else wrong_with_name(new)
    if wrong is not None:
        raise WrongCommand(f"{new!r} can't be a {what}'s name: {wrong}")
    if what == "line":
        new = str(LineKey(act=LineKey.parse(by_fold[folded(old)]).act, number=_number(new)))
    taken = _taken(what, show) - {folded(old)}
    if folded(new) in taken:
        raise Refused(f"{new!r} is taken already")
    return by_fold[folded(old)], new


def _number(text: str) -> str:
    try:
        return LineKey.parse(text).number
    except SpotError as error:
        raise WrongCommand(str(error)) from None


def _known(what: str, show: Show) -> list[str]:
    if what == "line":
        return [str(line.key) for line in show.lines]
    if what == "act":
        return [act.name for act in show.acts]
    return list(show.units if what == "unit" else show.places)


def _taken(what: str, show: Show) -> set[str]:
    if what in ("line", "act"):
        return {folded(name) for name in _known(what, show)}
    shared = (*show.units, *show.places, *show.zones, *show.lists)
    return {folded(name) for name in shared}


def _try(folder: Path, files: dict[str, bytes], *, before: int) -> None:
    """Read the show as it would become; refuse if that brings a *stop* that wasn't there."""
    with tempfile.TemporaryDirectory(prefix="lineproof-") as name:
        there = Path(name)
        for path in folder.rglob("*"):
            beside = path.relative_to(folder)
            if path.is_file() and beside.parts[0] != "plan":
                (there / beside).parent.mkdir(parents=True, exist_ok=True)
                (there / beside).write_bytes(files.get(beside.as_posix(), path.read_bytes()))
        stops = [f for f in read_show(there).findings if f.grade.rank == 0]
    if len(stops) > before:
        raise Refused(f"the show could not be read afterwards ({stops[-1].what}): nothing changed")
