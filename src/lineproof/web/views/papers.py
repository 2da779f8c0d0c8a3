"""Papers: what a reader gets, sheet by sheet as it will be printed, and its files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, urlencode

from lineproof.outcome import Outcome
from lineproof.paper.book import book
from lineproof.paper.bundle import bundle
from lineproof.paper.edition import Edition
from lineproof.paper.pdf import PAPERS
from lineproof.paper.readers import CREW, For, Reader, knows, performers
from lineproof.paper.sheet import Sheet
from lineproof.paper.translate import LANGUAGES, words_of
from lineproof.plan.model import Issued
from lineproof.plan.store import read_revision, revisions
from lineproof.web.views.parts import Head, head
from lineproof.web.worked import Worked

#: The sheets that only a printed book needs.
NOT_SHOWN = frozenset({"cover", "contents"})
#: A large show's book takes ten megabytes: those of so many readers are kept.
MOST_BOOKS = 3
LANGUAGE_TITLES = {"en": "English", "de": "Deutsch"}


@dataclass(frozen=True, kw_only=True)
class Wish:
    """Which papers are wanted: for whom, on what paper, in which language."""

    reader: str = "crew"
    name: str = ""
    paper: str = "a4"
    language: str = "en"

    @property
    def query(self) -> str:
        """Give the wish as the end of an address."""
        each = {"for": self.reader, "name": self.name, "paper": self.paper}
        return urlencode({**each, "language": self.language})


@dataclass(frozen=True, kw_only=True)
class FileRow:
    """One file that can be taken away."""

    name: str
    href: str
    what: str


@dataclass(frozen=True, kw_only=True)
class SheetLink:
    """One sheet that can be looked at."""

    name: str
    title: str
    for_whom: str
    href: str
    rows: int


@dataclass(frozen=True, kw_only=True)
class PapersPage:
    """The papers of one reader. `warning` says what a draft must not be used for."""

    head: Head
    wish: Wish
    readers: tuple[str, ...]
    performers: tuple[str, ...]
    papers: tuple[str, ...]
    languages: tuple[tuple[str, str], ...]
    sheets: tuple[SheetLink, ...]
    files: tuple[FileRow, ...]
    shown: Sheet | None
    warning: str


WHAT = {
    "patch-book.pdf": "everything as one book, to print",
    "labels.pdf": "label strips and cable flags, to scale: print at 100 %",
    "tables.xlsx": "the same tables, to go on working with",
}


def checked(worked: Worked, wish: Wish) -> Wish:
    """Give the wish with what nobody knows replaced by the usual."""
    show = worked.outcome.show if worked.outcome else None
    reader = wish.reader if wish.reader in [each.value for each in For] else "crew"
    name = wish.name if reader == For.PERFORMER.value and show and knows(show, wish.name) else ""
    if reader == For.PERFORMER.value and show and not name:
        name = next(iter(performers(show)), "")
        reader = reader if name else "crew"
    return Wish(
        reader=reader,
        name=name,
        paper=wish.paper if wish.paper in PAPERS else "a4",
        language=wish.language if wish.language in LANGUAGES else "en",
    )


def papers(worked: Worked, wish: Wish, sheet: str = "") -> PapersPage:
    """Give the papers' page; `sheet` names the one that is shown in full, the first if unknown."""
    wish = checked(worked, wish)
    outcome = worked.outcome
    sheets = sheets_of(worked, wish) if outcome and outcome.plan.lines else ()
    kept = [each for each in sheets if each.name not in NOT_SHOWN]
    shown = next((s for s in kept if s.name == sheet), kept[0] if kept else None)
    return PapersPage(
        head=head(worked),
        wish=wish,
        readers=tuple(each.value for each in For),
        performers=performers(outcome.show) if outcome else (),
        papers=tuple(PAPERS),
        languages=tuple((code, LANGUAGE_TITLES.get(code, code)) for code in LANGUAGES),
        sheets=tuple(_link(each, wish) for each in kept),
        files=_files(wish) if kept else (),
        shown=shown,
        warning=_warning(outcome),
    )


def _warning(outcome: Outcome | None) -> str:
    if outcome is None or not outcome.plan.lines:
        return "There is no plan to print yet: run lineproof plan."
    if outcome.is_draft:
        return "This is a draft, and says so on every sheet: don't plug from it."
    if outcome.changes:
        return "The show has changed since this revision: the sheets say so."
    return ""


def _link(sheet: Sheet, wish: Wish) -> SheetLink:
    return SheetLink(
        name=sheet.name,
        title=sheet.title,
        for_whom=sheet.for_whom,
        href=f"/papers?{wish.query}&sheet={quote(sheet.name, safe='')}",
        rows=sum(len(table.rows) for table in sheet.tables),
    )


def _files(wish: Wish) -> tuple[FileRow, ...]:
    return tuple(
        FileRow(name=name, href=f"/papers/file/{name}?{wish.query}", what=what)
        for name, what in WHAT.items()
    )


def edition_of(worked: Worked, wish: Wish) -> Edition:
    """Give the edition that a wish asks for, marked against the revision before."""
    outcome = worked.outcome
    assert outcome is not None
    reader = CREW if wish.reader == "crew" else Reader(kind=For(wish.reader), name=wish.name)
    before = _before(worked.folder, outcome.issued, is_draft=outcome.is_draft)
    words = words_of(wish.language)
    return Edition(outcome=outcome, words=words, reader=reader, before=before)


def sheets_of(worked: Worked, wish: Wish) -> tuple[Sheet, ...]:
    """Give all sheets of a wish, made once."""
    key = (wish.reader, wish.name, wish.language)
    return worked.once.recent(
        "sheets", key, lambda: book(edition_of(worked, wish)), most=MOST_BOOKS
    )


def file_of(worked: Worked, wish: Wish, name: str) -> bytes | None:
    """Give a file of a wish, None where there is none of that name; all are made at once."""
    wish = checked(worked, wish)
    if worked.outcome is None or not worked.outcome.plan.lines:
        return None
    made = worked.once.recent(
        "files",
        wish,
        lambda: bundle(edition_of(worked, wish), PAPERS[wish.paper]),
        most=MOST_BOOKS,
    )
    return made.get(name)


def picture_of(worked: Worked, wish: Wish, name: str) -> str | None:
    """Give a picture of a wish's sheets as SVG, None where there is none of that name."""
    if worked.outcome is None or not worked.outcome.plan.lines:
        return None
    for sheet in sheets_of(worked, checked(worked, wish)):
        for picture in sheet.pictures:
            if picture.name == name:
                return picture.svg
    return None


def _before(folder: Path, issued: Issued | None, *, is_draft: bool) -> Issued | None:
    """Give the revision against which rows are marked as new: the one before what is printed."""
    if issued is None or is_draft:
        return issued
    earlier = [number for number in revisions(folder) if number < issued.revision]
    return read_revision(folder, earlier[-1]) if earlier else None
