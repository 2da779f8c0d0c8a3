"""Revisions: what was issued when and by whom, and what differs between two plans."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

from lineproof.base.errors import CannotRead
from lineproof.base.spot import Spot
from lineproof.plan.diff import Difference, differences
from lineproof.plan.model import Plan
from lineproof.plan.store import read_draft, read_revision, revisions
from lineproof.web.views.parts import Head, count, head, line_href
from lineproof.web.worked import Worked

NONE, DRAFT = "none", "draft"
#: So many comparisons are kept; with a large show each takes a moment to read.
MOST_COMPARED = 4


@dataclass(frozen=True, kw_only=True)
class RevisionRow:
    """One issued revision."""

    number: int
    by: str
    at: str
    mark: str
    note: str
    lines: int


@dataclass(frozen=True, kw_only=True)
class DifferenceRow:
    """One part of a line that is decided otherwise: new, gone or moved."""

    how: str
    line: str
    href: str
    name: str
    part: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One plan that can be compared."""

    value: str
    title: str


@dataclass(frozen=True, kw_only=True)
class RevisionsPage:
    """All revisions, and two of them compared."""

    head: Head
    revisions: tuple[RevisionRow, ...]
    choices: tuple[Choice, ...]
    before: str
    after: str
    sentence: str
    rows: tuple[DifferenceRow, ...]
    wrong: str


def revisions_page(worked: Worked, before: str = "", after: str = "") -> RevisionsPage:
    """Give the page; without a choice the last issued revision stands against the draft."""
    key = (before, after)
    made = worked.once.recent(
        "revisions", key, lambda: _page(worked, before, after), most=MOST_COMPARED
    )
    # A page in a browser follows by this number; the same worked out may get another.
    return replace(made, head=head(worked))


def _page(worked: Worked, before: str, after: str) -> RevisionsPage:
    folder = worked.folder
    numbers = revisions(folder)
    wrong = ""
    rows: tuple[DifferenceRow, ...] = ()
    sentence = ""
    before = before or (str(numbers[-1]) if numbers else NONE)
    issued: tuple[RevisionRow, ...] = ()
    choices: tuple[Choice, ...] = ()
    try:
        issued = tuple(_row(folder, number) for number in reversed(numbers))
        has_draft = read_draft(folder) is not None
        choices = _choices(numbers, has_draft=has_draft)
        after = after or (DRAFT if has_draft or not numbers else str(numbers[-1]))
        found = differences(_plan(folder, before, choices), _plan(folder, after, choices))
        rows = tuple(map(_difference, found))
        sentence = _sentence(found, _title(before), _title(after))
    except CannotRead as error:
        wrong = str(error)
    return RevisionsPage(
        head=head(worked),
        revisions=issued,
        choices=choices,
        before=before,
        after=after,
        sentence=sentence,
        rows=rows,
        wrong=wrong,
    )


def _row(folder: Path, number: int) -> RevisionRow:
    issued = read_revision(folder, number)
    return RevisionRow(
        number=number,
        by=issued.by,
        at=issued.at,
        mark=issued.mark,
        note=issued.note,
        lines=len(issued.plan.lines),
    )


def _choices(numbers: tuple[int, ...], *, has_draft: bool) -> tuple[Choice, ...]:
    words = [NONE, *map(str, numbers), *([DRAFT] if has_draft else [])]
    return tuple(Choice(value=word, title=_title(word)) for word in words)


def _title(word: str) -> str:
    return {NONE: "no plan", DRAFT: "the draft"}.get(word, f"revision {word}")


def _plan(folder: Path, word: str, choices: tuple[Choice, ...]) -> Plan:
    if word not in [choice.value for choice in choices]:
        raise CannotRead(f"there is no plan called {word[:40]!r}")
    if word == NONE:
        return Plan()
    if word == DRAFT:
        return read_draft(folder) or Plan()
    return read_revision(folder, int(word)).plan


def _difference(difference: Difference) -> DifferenceRow:
    return DifferenceRow(
        how=difference.how,
        line=str(difference.line),
        href=line_href(difference.line),
        name=difference.name,
        part=difference.part,
        before=_spots(difference.before),
        after=_spots(difference.after),
    )


def _spots(spots: tuple[Spot, ...]) -> str:
    return " ".join(map(str, spots))


def _sentence(found: tuple[Difference, ...], before: str, after: str) -> str:
    if not found:
        return f"Nothing differs between {before} and {after}."
    how = Counter(d.how for d in found)
    told = ", ".join(f"{how[word]} {word}" for word in ("moved", "new", "gone") if how[word])
    lines = len({d.line for d in found})
    return f"From {before} to {after}: {count(lines, 'line')} differ: {told}."
