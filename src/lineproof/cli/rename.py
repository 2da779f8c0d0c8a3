"""`lineproof rename`: show, pins and plan together, and nothing moves."""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path

from lineproof.base.errors import Refused, WrongCommand
from lineproof.base.names import folded, nearest, wrong_with_name
from lineproof.base.spot import LineKey, SpotError, wrong_with_number
from lineproof.base.together import write_together
from lineproof.cli.folder import add_show, folder_of, read
from lineproof.cli.tell import Tell
from lineproof.plan.model import Plan
from lineproof.plan.rename import (
    RENAMES,
    Rename,
    added,
    names_in,
    read_renames,
    renamed,
    write_renames,
)
from lineproof.plan.store import DRAFT, last_issued, read_draft
from lineproof.plan.text import write_plan
from lineproof.show.changes import changes
from lineproof.show.model import Show
from lineproof.show.naming import Naming, Unclear
from lineproof.show.read import Reading, read_show
from lineproof.show.rename import named_files, renamed_files
from lineproof.show.renamed import renamed_show


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument("what", choices=("unit", "place", "act", "line"))
    parser.add_argument("old", metavar="OLD", help="the name it has (a line: number or act/number)")
    parser.add_argument("new", metavar="NEW", help="the name it gets (a line: its number)")
    parser.add_argument(
        "--by-hand",
        action="store_true",
        help="the show's own files were changed by hand already: only the plan follows",
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Change the name everywhere, or nothing at all."""
    folder = folder_of(args)
    show = _readable(read(folder), "nothing is renamed while the show can't be read whole")
    issued, draft = last_issued(folder), read_draft(folder)
    plans = [plan for plan in (issued.plan if issued else None, draft) if plan is not None]
    if args.by_hand:
        naming = _done(args.what, args.old, args.new, show, plans)
        files = {}
    else:
        naming = _asked(args.what, args.old, args.new, show)
        _refuse_planned(naming, plans)
        files = renamed_files(folder, show, naming)
        _prove(folder, show, naming, files)
    last = issued.revision if issued else 0
    rename = Rename(what=naming.what, old=naming.old, new=naming.new, revision=last)
    if draft is not None:
        files[DRAFT.as_posix()] = write_plan(renamed(draft, rename)).encode()
    files[RENAMES.as_posix()] = write_renames(added(read_renames(folder), rename))
    write_together(folder, files)
    _tell(tell, naming, sorted(files))
    return 0


def _tell(tell: Tell, naming: Naming, files: list[str]) -> None:
    tell.line(f"{naming.what} {naming.old} is {naming.new} now, in {', '.join(files)}")
    tell.answer(
        "rename", {"what": naming.what, "old": naming.old, "new": naming.new, "files": files}
    )


def _readable(reading: Reading, else_: str) -> Show:
    """Give the show; while a row can't be read, nobody knows what it names."""
    assert reading.show is not None
    stops = [f for f in reading.findings if f.grade.rank == 0]
    if stops:
        place = f"{stops[0].where[0]}: " if stops[0].where else ""
        more = f", and {len(stops) - 1} more" if len(stops) > 1 else ""
        what = f"{place}{stops[0].what}{more}"
        raise Refused(f"{else_}: {what}")
    return reading.show


# -- names -----------------------------------------------------------------------------------------


def _asked(what: str, old: str, new: str, show: Show) -> Naming:
    """Give the rename as its names will be written; refuse what is unknown, wrong or taken."""
    known = _known(what, show)
    old = _spelt(what, old, known)
    new = _line(old, new) if what == "line" else _name(what, new)
    others = {**_all(what, show)}
    others.pop(folded(old))
    if folded(new) in others:
        raise Refused(f"{new!r} is already a {others[folded(new)]}'s name: nothing was changed")
    if new == old:
        raise Refused(f"{what} {old!r} has that name already: nothing was changed")
    return Naming(what=what, old=old, new=new)


def _done(what: str, old: str, new: str, show: Show, plans: list[Plan]) -> Naming:
    """Give the rename that people have made in the show; refuse one they haven't."""
    known = _known(what, show)
    if folded(old) in {folded(name) for name in known}:
        raise Refused(f"the show still has a {what} {old!r}: change it there first")
    new = _spelt(what, new, known)
    if not any(folded(old) in names_in(plan, what) for plan in plans):
        raise WrongCommand(f"no plan has a {what} {old!r}: there is nothing to follow")
    if what == "line" and LineKey.parse(old).act != LineKey.parse(new).act:
        raise WrongCommand(f"{old!r} and {new!r} are of two acts: a rename keeps a line's act")
    naming = Naming(what=what, old=old, new=new)
    _refuse_planned(naming, plans)
    return naming


def _refuse_planned(naming: Naming, plans: Iterable[Plan]) -> None:
    """Refuse a name that something else has in a plan, if only among what is freed."""
    if folded(naming.old) == folded(naming.new):
        return
    if any(folded(naming.new) in names_in(plan, naming.what) for plan in plans):
        what = f"the plan still holds something for {naming.what} {naming.new!r} of old"
        raise Refused(f"{what}; two would become one. Take another name: nothing was changed")


def _known(what: str, show: Show) -> list[str]:
    if what == "line":
        return [str(line.key) for line in show.lines]
    if what == "act":
        acts = [act.name for act in show.acts] + [x.key.act for x in show.lines if x.key.act]
        return list(dict.fromkeys(acts))
    return list(show.units if what == "unit" else show.places)


def _all(what: str, show: Show) -> dict[str, str]:
    """Give all names of that name space, folded, each with what has it."""
    if what in ("line", "act"):
        return {folded(name): what for name in _known(what, show)}
    spaces = {"unit": show.units, "place": show.places, "zone": show.zones, "list": show.lists}
    return {folded(name): kind for kind, names in spaces.items() for name in names}


def _spelt(what: str, name: str, known: list[str]) -> str:
    """Give the name as the show spells it; raises WrongCommand if nothing has it."""
    by_fold = {folded(k): k for k in known}
    if folded(name) in by_fold:
        return by_fold[folded(name)]
    alike = [k for k in known if folded(k).endswith(f"/{folded(name)}")] if what == "line" else []
    near = nearest(name, known)
    hint = f"; did you mean {' or '.join(alike)}?" if alike else ""
    hint = hint or (f"; did you mean {near!r}?" if near else "")
    raise WrongCommand(f"there is no {what} {name!r}{hint}")


def _name(what: str, name: str) -> str:
    if (wrong := wrong_with_name(name)) is not None:
        raise WrongCommand(f"{name!r} can't be a {what}'s name: {wrong}")
    return name


def _line(old: str, new: str) -> str:
    """Give the line's new key: its act stays, whether it is said again or not."""
    was = LineKey.parse(old)
    try:
        key = LineKey.parse(new)
    except SpotError as error:
        raise WrongCommand(str(error)) from None
    if (wrong := wrong_with_number(key.number)) is not None:
        raise WrongCommand(f"{new!r} can't be a line's number: {wrong}")
    if key.act and folded(key.act) != folded(was.act):
        raise WrongCommand(f"a rename keeps a line's act: give {old!r} a number of its own")
    return str(LineKey(act=was.act, number=key.number))


# -- proof -----------------------------------------------------------------------------------------


def _prove(folder: Path, show: Show, naming: Naming, files: dict[str, bytes]) -> None:
    """Read the show as it would become; refuse if more than the name would differ."""
    try:
        wanted = renamed_show(show, naming)
    except Unclear as error:
        raise Refused(f"{error}; nothing was changed") from None
    with tempfile.TemporaryDirectory(prefix="lineproof-") as name:
        there = Path(name)
        for file in named_files(folder):
            (there / file).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(folder / file, there / file)
        for file, data in files.items():
            (there / file).write_bytes(data)
        reading = read_show(there)
    after = _readable(reading, "nothing was changed, as the show could not be read then")
    if after != wanted:
        differs = [str(change) for change in changes(wanted, after)] or ["the show changed"]
        raise Refused(_differs(differs))


def _differs(differs: list[str]) -> str:
    more = f", and {len(differs) - 1} more" if len(differs) > 1 else ""
    what = f"more than the name would change ({differs[0]}{more}): nothing was changed"
    if "left" in differs[0]:
        what += ". Which half of a pair is left goes by their numbers: write L and R under `stereo`"
    return what
