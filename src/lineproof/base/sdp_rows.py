"""The rows of an SDP file made elsewhere, with limits; what can't be read becomes a finding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from lineproof.base.finding import Finding, Grade
from lineproof.base.where import Where

#: A description of 64 channels on two nets takes under 2 kB; a hostile one takes what it can get.
MOST_BYTES = 65_536
MOST_ROWS = 512
MOST_ROW_BYTES = 2_048
MOST_MEDIA = 16
#: Mistakes told one by one; the rest are counted.
MOST_TOLD = 20

#: RFC 8866 5: the order of the rows, and the same of those of a medium.
SESSION_ORDER = "vosiuepcbtrzka"
MEDIA_ORDER = "micbka"
#: These may come more than once; t, r and z also take turns.
_REPEATED = frozenset("epbtrza")

#: Lasting names: people accept findings by them.
STOPPED = "sdp-unusable"
RISKY = "sdp-doubtful"
NOTED = "sdp-left-out"
_NAMES = {Grade.STOP: STOPPED, Grade.RISK: RISKY, Grade.NOTE: NOTED}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: its letter, what follows `=`, and its number in the file."""

    number: int
    letter: str
    value: str

    def attribute(self) -> tuple[str, str]:
        """Give the name and value of an `a=` row, as `("ptime", "1")`."""
        name, _, value = self.value.partition(":")
        return name.strip(), value.strip()


@dataclass(kw_only=True)
class Found:
    """The findings of one file while it is read."""

    file: str
    findings: list[Finding] = field(default_factory=list)
    more: int = 0
    stopped: bool = False

    def add(self, grade: Grade, row: int, what: str, do: str) -> None:
        """Add one; from the twenty-first on they are only counted."""
        self.stopped = self.stopped or grade is Grade.STOP
        if len(self.findings) >= MOST_TOLD:
            self.more += 1
            return
        where = (Where(file=self.file, row=row),)
        told = Finding(rule=_NAMES[grade], grade=grade, what=what, do=do, where=where)
        self.findings.append(told)

    def stop(self, row: int, what: str, do: str) -> None:
        """Add a mistake that makes the stream unusable."""
        self.add(Grade.STOP, row, what, do)

    def risk(self, row: int, what: str, do: str) -> None:
        """Add something that a receiver may take amiss."""
        self.add(Grade.RISK, row, what, do)

    def note(self, row: int, what: str, do: str) -> None:
        """Add something that was passed over."""
        self.add(Grade.NOTE, row, what, do)

    def all(self) -> tuple[Finding, ...]:
        """Give the findings, the count of those not told last."""
        if not self.more:
            return tuple(self.findings)
        grade = Grade.STOP if self.stopped else Grade.RISK
        what = f"{self.more} more mistakes in this file"
        do = "mend those above, then read it again"
        more = Finding(
            rule=_NAMES[grade], grade=grade, what=what, do=do, where=(Where(file=self.file),)
        )
        return (*self.findings, more)


def said(text: str) -> str:
    """Give what was read, quoted and cut to what a message can hold.

    >>> said("x" * 100)
    "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…'"
    """
    # repr shows control marks rather than letting a terminal act on them.
    return repr(text if len(text) <= 40 else f"{text[:40]}…")


def named(rows: tuple[Row, ...], name: str) -> tuple[Row, ...]:
    """Give the rows of the attribute of that name."""
    return tuple(row for row in rows if row.letter == "a" and row.attribute()[0] == name)


def rows_of(data: bytes, found: Found) -> tuple[Row, ...]:
    """Give the rows, none where the file is too large to be looked at."""
    if len(data) > MOST_BYTES:
        what = f"the file holds {len(data):,} bytes; at most {MOST_BYTES:,} are read"
        found.stop(0, what, "ask its maker for the description of one stream in a file")
        return ()
    # A mark in front is no part of it; some editors write one.
    lines = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    if lines and not lines[-1]:
        lines.pop()
    if len(lines) > MOST_ROWS:
        what = f"the file holds {len(lines):,} rows; at most {MOST_ROWS} are read"
        found.stop(0, what, "ask its maker for the description of one stream in a file")
        return ()
    return tuple(_rows(lines, found))


def _rows(lines: list[bytes], found: Found) -> Iterator[Row]:
    for number, line in enumerate(lines, start=1):
        bare = line.removesuffix(b"\r")
        if len(bare) > MOST_ROW_BYTES:
            what = f"the row holds {len(bare):,} bytes; at most {MOST_ROW_BYTES:,} are read"
            found.stop(number, what, "shorten it, or ask its maker for a shorter one")
            continue
        try:
            text = bare.decode("utf-8")
        except UnicodeDecodeError:
            found.stop(number, "the row is no UTF-8 text", "save the file as UTF-8")
            continue
        if any(mark < " " and mark != "\t" for mark in text) or "\x7f" in text:
            found.stop(number, f"the row holds a control mark: {said(text)}", "take it out")
            continue
        if not text.strip():
            what, do = "the row is empty", "take it out: a strict receiver stops reading there"
            found.risk(number, what, do)
            continue
        if text[1:2] != "=" or not ("a" <= text[0] <= "z"):
            what = f"the row reads {said(text)}; expected a letter and '=', as in 's=name'"
            found.stop(number, what, "mend the row, or take it out")
            continue
        yield Row(number=number, letter=text[0], value=text[2:])


@dataclass(frozen=True, kw_only=True)
class Parts:
    """The rows of the session, and those of each medium, its `m=` first."""

    session: tuple[Row, ...]
    media: tuple[tuple[Row, ...], ...]


def parts_of(rows: tuple[Row, ...], found: Found) -> Parts:
    """Give the rows apart, those of no known letter or out of order found."""
    starts = [n for n, row in enumerate(rows) if row.letter == "m"]
    if len(starts) > MOST_MEDIA:
        what = f"the file holds {len(starts)} media; at most {MOST_MEDIA} are read"
        found.stop(rows[starts[MOST_MEDIA]].number, what, "split it into one file a stream")
        starts = starts[:MOST_MEDIA]
        rows = rows[: starts[-1] + 1]
    ends = [*starts[1:], len(rows)]
    session = rows[: starts[0]] if starts else rows
    media = tuple(rows[a:b] for a, b in zip(starts, ends, strict=True)) if starts else ()
    _in_order(session, SESSION_ORDER, found)
    for part in media:
        _in_order(part, MEDIA_ORDER, found)
    return Parts(session=session, media=media)


def _in_order(rows: tuple[Row, ...], order: str, found: Found) -> None:
    """Find rows that stand where RFC 8866 5 has them not, and letters it doesn't know."""
    latest, seen = 0, set[str]()
    for row in rows:
        if row.letter not in order:
            what = f"{row.letter}= has no meaning here (RFC 8866 5)"
            found.risk(row.number, what, "take the row out")
            continue
        place = order.index(row.letter)
        if place < latest and not {row.letter, order[latest]} <= set("trz"):
            what = f"{row.letter}= stands after {order[latest]}= (RFC 8866 5 has it before)"
            found.risk(row.number, what, "put the rows in order: strict receivers refuse others")
        # A medium may have several c= rows; each is told where it is read.
        if row.letter in seen and row.letter not in _REPEATED and row.letter != "c":
            found.risk(row.number, f"{row.letter}= stands here a second time", "take one out")
        seen.add(row.letter)
        latest = max(latest, place)
