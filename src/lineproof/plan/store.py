"""Where plans lie: `plan/draft.json` and `plan/issued/N.json` in the show's folder."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from lineproof.base.errors import CannotRead, Refused
from lineproof.base.files import write_new, write_whole
from lineproof.plan.model import Issued, Plan
from lineproof.plan.rename import read_renames, renamed, since
from lineproof.plan.text import read_issued, read_plan, write_issued, write_plan

DRAFT = Path("plan") / "draft.json"
ISSUED = Path("plan") / "issued"

#: A plan file larger than this is no plan of ours.
MOST_BYTES = 200_000_000


def draft_path(folder: Path) -> Path:
    """Give where the draft lies."""
    return folder / DRAFT


def read_draft(folder: Path) -> Plan | None:
    """Give the draft, or None if there is none."""
    text = _text(folder / DRAFT)
    return None if text is None else read_plan(text, file=DRAFT.as_posix())


def save_draft(folder: Path, plan: Plan) -> None:
    """Write the draft, whole or not at all; the same draft is not written again."""
    write_whole(folder / DRAFT, write_plan(plan).encode())


def revisions(folder: Path) -> tuple[int, ...]:
    """Give the numbers of the issued revisions, in order."""
    found = [re.fullmatch(r"([1-9]\d*)\.json", p.name) for p in (folder / ISSUED).glob("*.json")]
    return tuple(sorted(int(m.group(1)) for m in found if m))


def read_revision(folder: Path, revision: int) -> Issued:
    """Give one issued revision, its plan under the names that things have now."""
    path = ISSUED / f"{revision}.json"
    text = _text(folder / path)
    if text is None:
        raise CannotRead(f"there is no revision {revision} ({path.as_posix()})")
    issued = read_issued(text, file=path.as_posix())
    for rename in since(read_renames(folder), revision):
        issued = replace(
            issued, plan=renamed(issued.plan, rename), renamed=(*issued.renamed, rename)
        )
    return issued


def last_issued(folder: Path) -> Issued | None:
    """Give the newest issued revision, or None, under the names that things have now."""
    numbers = revisions(folder)
    return read_revision(folder, numbers[-1]) if numbers else None


def save_issued(folder: Path, issued: Issued) -> None:
    """Write a new revision whole; never over one that is there.

    Raises Refused if somebody else issued the same number meanwhile.
    """
    path = ISSUED / f"{issued.revision}.json"
    try:
        write_new(folder / path, write_issued(issued).encode())
    except FileExistsError:
        what = f"revision {issued.revision} was issued by somebody else meanwhile: plan again"
        raise Refused(what) from None


def _text(path: Path) -> str | None:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise CannotRead(f"{path} is too large to be a plan")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise CannotRead(f"{path} can't be read: {error}") from None
