"""CSV as people save it: which letters, which separator, and where every cell stands in it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from lineproof.show.table_grid import Grid, GridRow, Limits, TooLarge, Unreadable
from lineproof.show.table_words import clean

SEPARATORS = ("\t", ";", "|", ",")
_SNIFFED = 65_536  # characters looked at to find the separator
_NEWLINE = re.compile(r"\r\n|\r|\n")
_QUOTED = re.compile(r'(?:^|(?<=[,;\t|\r\n]))[ ]*"[^"]*+(?:""[^"]*+)*+"')
_TOLD = re.compile(r"sep=([,;\t|])(?=\r|\n|$)", re.IGNORECASE)
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


class Letters(NamedTuple):
    """A file's text and how it was written; `encode` gives the same bytes back."""

    text: str
    codec: str
    mark: bytes = b""  # the byte order mark at its start

    def encode(self, text: str) -> bytes:
        """Give the bytes of a text in this file's letters; raises UnicodeEncodeError."""
        return self.mark + text.encode(self.codec, _ERRORS[self.codec])

    @property
    def title(self) -> str:
        """Give the encoding's name as people know it."""
        return "Windows-1252" if self.codec == "cp1252" else self.codec.upper()


# Bytes that make no letter are carried as lone surrogates, so that a patch gives them back.
_ERRORS = {
    "utf-8": "surrogateescape",
    "cp1252": "surrogateescape",
    "utf-16-le": "surrogatepass",
    "utf-16-be": "surrogatepass",
}


class Field(NamedTuple):
    """A cell's place in the text, quotes included, and what it says."""

    start: int
    end: int
    quoted: bool
    text: str


class Record(NamedTuple):
    """A row's place in the text (`next`: after its newline) and its cells; none for a comment."""

    row: int
    start: int
    end: int
    next: int
    fields: tuple[Field, ...]


def read_letters(data: bytes) -> Letters:
    """Give the text of a file.

    A byte order mark decides; else UTF-8, and where that fails Windows-1252, unless most of what
    is not ASCII is good UTF-8 (a few broken bytes in it). Raises Unreadable for what is no text.
    """
    for mark, codec in _MARKS:
        if data.startswith(mark):
            return _decoded(data[len(mark) :], codec, mark)
    try:
        return Letters(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        lenient = data.decode("utf-8", "ignore")
        bad = len(data.decode("utf-8", "surrogateescape")) - len(lenient)
        good = len(lenient) - len(lenient.encode("ascii", "ignore"))
        return _decoded(data, "utf-8" if good > bad else "cp1252", b"")


def _decoded(data: bytes, codec: str, mark: bytes) -> Letters:
    try:
        return Letters(data.decode(codec, _ERRORS[codec]), codec, mark)
    except UnicodeDecodeError as error:
        raise Unreadable(f"its letters can't be read as {codec.upper()}: {error.reason}") from None


def separator_of(text: str) -> str:
    r"""Give the separator: the one that cuts most rows into the same number of cells, most cells.

    A first row `sep=;` settles it.

    >>> separator_of("a;b;c\n1;0,5;x\n2;1,5;y\n")
    ';'
    """
    if told := _TOLD.match(text):
        return told.group(1)
    rows = [row for row in _NEWLINE.split(_QUOTED.sub("", text[:_SNIFFED])) if row[:1] != "#"]
    return max(SEPARATORS, key=lambda mark: _evenness(rows, mark))


def _evenness(rows: list[str], mark: str) -> int:
    counts = Counter(row.count(mark) for row in rows)
    return max((count * times for count, times in counts.items()), default=0)


@lru_cache(maxsize=len(SEPARATORS))
def _patterns(separator: str) -> tuple[re.Pattern[str], re.Pattern[str]]:
    quoted = re.compile(r'[ ]*"([^"]*+(?:""[^"]*+)*+)"')
    return quoted, re.compile(rf"[^{re.escape(separator)}\r\n]*")


class Scan:
    """A text cut into records; `open_quotes` are the rows in which a quote is never closed."""

    def __init__(self, text: str, limits: Limits) -> None:
        self.text = text
        self.separator = separator_of(text)
        self.open_quotes: list[int] = []
        self._limits = limits
        self._cells = 0
        self._quoted, self._plain = _patterns(self.separator)
        self.records = tuple(self._scan())

    def _scan(self) -> Iterator[Record]:
        place, row = 0, 1
        while place < len(self.text):
            if row > self._limits.rows:
                raise TooLarge(f"holds more than {self._limits.rows:,} rows", row=row)
            record = self._record(place, row)
            yield record
            row += len(_NEWLINE.findall(self.text, record.start, record.next)) or 1
            place = record.next

    def _record(self, start: int, row: int) -> Record:
        fields: list[Field] = []
        place = start
        if self._is_no_row(start):
            place = _rest_of_row(self.text, start)
        else:
            while True:
                fields.append(self._field(place, row))
                place = fields[-1].end
                self._count(len(fields), row)
                if self.text[place : place + 1] != self.separator:
                    break
                place += 1
        after = _NEWLINE.match(self.text, place)
        return Record(row, start, place, after.end() if after else place, tuple(fields))

    def _count(self, columns: int, row: int) -> None:
        self._cells += 1
        if columns > self._limits.columns:
            raise TooLarge(f"has more than {self._limits.columns:,} columns", row=row)
        if self._cells > self._limits.cells:
            raise TooLarge(f"holds more than {self._limits.cells:,} cells", row=row)

    def _is_no_row(self, start: int) -> bool:
        """Say whether a comment starts here, or the row that names the separator."""
        if start == 0 and _TOLD.match(self.text):
            return True
        if self.text[start : start + 1] != "#":
            return False
        # A first cell that is only "#" is a heading: people number their lines under it.
        first = self._plain.match(self.text, start)
        assert first is not None
        cut_off = self.text[first.end() : first.end() + 1] == self.separator
        return not (first.group().strip() == "#" and cut_off)

    def _field(self, start: int, row: int) -> Field:
        quoted = self._quoted.match(self.text, start)
        if quoted is not None:
            tail = self._plain.match(self.text, quoted.end())
            assert tail is not None
            inside, junk = quoted.group(1), tail.group().strip()
            # A quote that "closes" rows below in the middle of a word was never meant to span.
            if not junk or _NEWLINE.search(inside) is None:
                text = inside.replace('""', '"') + junk
                return Field(start, tail.end(), True, text)
        plain = self._plain.match(self.text, start)
        assert plain is not None
        if plain.group().lstrip(" ").startswith('"'):
            self.open_quotes.append(row)
        return Field(start, plain.end(), False, plain.group())


def _rest_of_row(text: str, start: int) -> int:
    newline = _NEWLINE.search(text, start)
    return newline.start() if newline else len(text)


def read_csv(data: bytes, limits: Limits) -> tuple[Grid, Letters, tuple[int, ...]]:
    """Give the grid of a CSV file, its letters, and the rows with a quote never closed.

    Raises Unreadable or TooLarge.
    """
    letters = read_letters(data)
    if "\0" in letters.text:
        raise Unreadable("it is no text")
    if not letters.text.strip():
        raise Unreadable("there is nothing in it")
    scan = Scan(letters.text, limits)
    rows = tuple(_grid_row(record) for record in scan.records if record.fields)
    return Grid(sheet="", rows=rows), letters, tuple(scan.open_quotes)


def _grid_row(record: Record) -> GridRow:
    texts = [clean(field.text) for field in record.fields]
    struck = frozenset(n for n, text in enumerate(texts, 1) if _is_struck(text))
    filled = [n for n, text in enumerate(texts, 1) if text]
    # ~~1;Kick;…;desk~~ crosses out the whole row.
    if len(filled) > 1:
        first, last = texts[filled[0] - 1], texts[filled[-1] - 1]
        if first.startswith("~~") and last.endswith("~~") and not struck & {filled[0], filled[-1]}:
            texts[filled[0] - 1], texts[filled[-1] - 1] = clean(first[2:]), clean(last[:-2])
            struck = frozenset(filled)
    texts = [_unstruck(text) if n in struck else text for n, text in enumerate(texts, 1)]
    return GridRow(row=record.row, texts=tuple(texts), struck=struck)


def _is_struck(text: str) -> bool:
    return len(text) > 4 and text.startswith("~~") and text.endswith("~~")


def _unstruck(text: str) -> str:
    return clean(text[2:-2]) if _is_struck(text) else text
