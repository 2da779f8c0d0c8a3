"""What all pages are made of: links, findings with their rows, names in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from lineproof.base.finding import Finding, Grade
from lineproof.base.spot import LineKey, SpotError
from lineproof.base.where import Where
from lineproof.outcome import Outcome
from lineproof.show.model import Show
from lineproof.web.worked import Worked

#: A row of a file is shown so far; who wants more opens the file.
LONGEST_ROW = 220
#: Files whose rows can be shown as they stand.
TEXT_FILES = (".yaml", ".csv")
#: A larger file is not read for the sake of one row.
MOST_BYTES = 20_000_000


@dataclass(frozen=True, kw_only=True)
class Link:
    """Words that lead to a page."""

    text: str
    href: str


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where something was written: the place in words, and the row itself where it is text."""

    place: str
    row: str = ""


@dataclass(frozen=True, kw_only=True)
class FindingView:
    """One finding as a page tells it; `grade` is stop, risk, note or accepted."""

    grade: str
    rule: str
    what: str
    do: str
    where: tuple[Source, ...]
    about: tuple[Link, ...]
    accepted: str = ""


@dataclass(frozen=True, kw_only=True)
class Head:
    """What stands above every page: which show, which plan, and what is missing of it.

    `early`: neither network nor faults are worked out yet.
    """

    title: str
    status: str
    mark: str
    unread: str
    to_come: str
    early: bool
    serial: int


def head(worked: Worked) -> Head:
    """Give what stands above every page."""
    outcome = worked.outcome
    return Head(
        title=outcome.show.title if outcome else worked.folder.resolve().name,
        status=outcome.status if outcome else "NOT READ",
        mark=outcome.mark if outcome else "",
        unread=worked.unread,
        to_come=worked.to_come,
        early=worked.stage == "spots",
        serial=worked.serial,
    )


def line_href(key: LineKey) -> str:
    """Give the page of a line.

    >>> line_href(LineKey(act="late", number="17L"))
    '/lines/late/17L'
    """
    return "/lines/" + quote(str(key))


def room_href(faults: Iterable[str] = (), find: str = "") -> str:
    """Give the room with things broken in it, or with one thing looked for.

    >>> room_href(["box-1", "circuit:stage"])
    '/room?cut=box-1&cut=circuit%3Astage'
    """
    parts = [f"cut={quote(name, safe='')}" for name in faults]
    parts += [f"find={quote(find, safe='')}"] if find else []
    return "/room" + ("?" + "&".join(parts) if parts else "")


def link_to(show: Show, name: str) -> Link:
    """Give where a name that a finding is about can be looked at: a line, or a thing in the room.

    What is neither leads to the room's list of all.
    """
    try:
        key = LineKey.parse(name)
    except SpotError:
        key = None
    line = show.line(key) if key is not None else None
    if line is not None:
        return Link(text=f"{line.key} {line.title}", href=line_href(line.key))
    return Link(text=name, href=room_href(find=name))


def grade_of(finding: Finding) -> str:
    """Give the word a page shows for a finding: its grade, or accepted."""
    return "accepted" if finding.accepted else finding.grade.value


def finding_view(finding: Finding, show: Show | None, rows: Rows) -> FindingView:
    """Give a finding as pages tell it."""
    return FindingView(
        grade=grade_of(finding),
        rule=finding.rule,
        what=finding.what,
        do=finding.do,
        where=tuple(Source(place=str(w), row=rows.row(w)) for w in finding.where[:8]),
        about=tuple(link_to(show, name) for name in finding.of[:12]) if show else (),
        accepted=finding.accepted,
    )


def findings_of(outcome: Outcome, names: Iterable[str]) -> tuple[Finding, ...]:
    """Give the findings that are about any of these names, worst first."""
    wanted = frozenset(names)
    return tuple(f for f in outcome.findings if wanted & frozenset(f.of))


def standing(findings: Iterable[Finding], grade: Grade) -> tuple[Finding, ...]:
    """Give the findings of a grade that nobody took on."""
    return tuple(f for f in findings if f.grade is grade and not f.accepted)


class Rows:
    """Rows of the show's own text files, as they stand; nothing outside its folder is read."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._files: dict[str, tuple[str, ...]] = {}

    def row(self, where: Where) -> str:
        """Give the row that `where` means, "" where there is none to be shown."""
        if not where.row or where.sheet or not where.file.endswith(TEXT_FILES):
            return ""
        if where.file not in self._files:
            self._files[where.file] = self._read(where.file)
        rows = self._files[where.file]
        text = rows[where.row - 1].strip() if where.row <= len(rows) else ""
        return text if len(text) <= LONGEST_ROW else text[:LONGEST_ROW] + "…"

    def _read(self, file: str) -> tuple[str, ...]:
        try:
            path = (self.folder / file).resolve()
            if not path.is_relative_to(self.folder) or path.stat().st_size > MOST_BYTES:
                return ()
            return tuple(path.read_text("utf-8-sig", errors="replace").splitlines())
        except (OSError, ValueError):
            return ()


def count(number: int, one: str, many: str = "") -> str:
    """Give a number with its word.

    >>> count(1, "stop"), count(3, "stop"), count(0, "risk")
    ('1 stop', '3 stops', 'no risks')
    """
    word = one if number == 1 else many or f"{one}s"
    return f"{number or 'no'} {word}"


def place_title(show: Show, name: str) -> str:
    """Give what papers print for a place or unit: its label, else its name."""
    if (place := show.places.get(name)) is not None:
        return place.label or place.name
    unit = show.units.get(name)
    return unit.title if unit is not None else name


def unit_words(show: Show, name: str) -> str:
    """Give a unit's name, with its label where it has one."""
    unit = show.units.get(name)
    return f"{unit.label} ({name})" if unit is not None and unit.label else name


def act_title(show: Show, name: str) -> str:
    """Give what papers print for an act, "Every act" for none."""
    if not name:
        return "Every act"
    act = next((a for a in show.acts if a.name == name), None)
    return act.label or act.name if act is not None else name
