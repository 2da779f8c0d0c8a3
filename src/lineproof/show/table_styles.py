"""What a workbook's cells look like where that means something: struck through, or merged."""

from __future__ import annotations

import posixpath
import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from lineproof.show.table_grid import Merge, Unreadable
from lineproof.show.table_parts import Parts

_MOST_REPEATS = 1_048_576  # rows of the largest sheet there is
_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})")


@dataclass(frozen=True, kw_only=True)
class Marks:
    """A sheet's struck cells (columns by row), merged cells, and those that mean yes or no."""

    struck: Mapping[int, frozenset[int]] = field(default_factory=dict)
    yes_no: Mapping[int, frozenset[int]] = field(default_factory=dict)
    merges: tuple[Merge, ...] = ()


class _Sheet:
    """Gathers a sheet's marks and weighs it on the way."""

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.struck: defaultdict[int, set[int]] = defaultdict(set)
        self.yes_no: defaultdict[int, set[int]] = defaultdict(set)
        self.merges: list[Merge] = []
        self.rows = self.columns = 0

    def filled(self, row: int, column: int, *, struck: bool, length: int = 0) -> None:
        self.parts.check_place(row, column)
        self.parts.count_cell()
        self.rows, self.columns = max(self.rows, row), max(self.columns, column)
        self.parts.hold(length)
        if struck:
            self.struck[row].add(column)

    def marks(self) -> Marks:
        self.parts.lay_out(self.rows, self.columns)
        return Marks(
            struck={row: frozenset(columns) for row, columns in self.struck.items()},
            yes_no={row: frozenset(columns) for row, columns in self.yes_no.items()},
            merges=tuple(self.merges),
        )


def read_reference(text: str) -> tuple[int, int]:
    """Give row and column, from 1, of a cell's reference.

    >>> read_reference("B7"), read_reference("AA10")
    ((7, 2), (10, 27))
    """
    match = _REFERENCE.fullmatch(text)
    if match is None:
        raise Unreadable(f"it names a cell {text[:20]!r}, which can't be")
    column = 0
    for letter in match.group(1):
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match.group(2)), column


class Xlsx:
    """The parts of an XLSX workbook (ISO/IEC 29500-1, part 18: SpreadsheetML)."""

    _BOOK = "xl/workbook.xml"

    def __init__(self, parts: Parts) -> None:
        if not parts.has(self._BOOK):
            raise Unreadable("it is no workbook")
        self._parts = parts
        self._sheets = self._sheet_parts()
        self._styles = self._struck_styles()
        self._strings = self._struck_strings()
        self._marks: dict[str, Marks] = {}

    def weigh(self) -> None:
        """Read every sheet's marks. Raises Unreadable or TooLarge."""
        for name in ("[Content_Types].xml", "_rels/.rels"):
            self._parts.read(name)
        for name, part in self._sheets.items():
            walk = _XlsxSheet(self._parts, self._styles, self._strings)
            self._parts.walk(part, walk.start, walk.end, walk.chars)
            self._marks[name] = walk.sheet.marks()

    def marks(self, name: str) -> Marks:
        """Give a sheet's marks."""
        return self._marks.get(name, Marks())

    def _sheet_parts(self) -> dict[str, str]:
        targets: dict[str, str] = {}
        sheets: dict[str, str] = {}

        def relation(tag: str, has: Mapping[str, str]) -> None:
            if tag == "Relationship":
                targets[has.get("Id", "")] = posixpath.normpath(
                    posixpath.join("/xl", has.get("Target", ""))
                ).lstrip("/")

        def sheet(tag: str, has: Mapping[str, str]) -> None:
            if tag == "sheet":
                sheets[has.get("name", "")] = targets.get(has.get("id", ""), "")

        self._parts.walk("xl/_rels/workbook.xml.rels", relation)
        self._parts.walk(self._BOOK, sheet)
        return sheets

    def _struck_styles(self) -> frozenset[str]:
        """Give the cell styles (their index as text) whose font is struck through."""
        fonts: list[bool] = []
        formats: list[int] = []
        inside: list[str] = []

        def start(tag: str, has: Mapping[str, str]) -> None:
            if tag in ("fonts", "cellXfs", "dxfs"):
                inside[:] = [tag]
            elif tag == "font" and inside == ["fonts"]:
                fonts.append(False)
            elif tag == "strike" and inside == ["fonts"] and fonts:
                fonts[-1] = _is_on(has)
            elif tag == "xf" and inside == ["cellXfs"]:
                number = has.get("fontId", "0")
                formats.append(int(number) if number.isdecimal() else 0)

        def end(tag: str) -> None:
            if tag in ("fonts", "cellXfs", "dxfs"):
                inside.clear()

        self._parts.walk("xl/styles.xml", start, end)
        return frozenset(
            str(style) for style, font in enumerate(formats) if font < len(fonts) and fonts[font]
        )

    def _struck_strings(self) -> list[tuple[int, bool]]:
        """Give each shared text's length, and whether all its runs are struck through."""
        walk = _SharedStrings()
        self._parts.walk("xl/sharedStrings.xml", walk.start, walk.end, walk.chars)
        return walk.strings


def _is_on(has: Mapping[str, str]) -> bool:
    return has.get("val", "1") not in ("0", "false")


class _SharedStrings:
    def __init__(self) -> None:
        self.strings: list[tuple[int, bool]] = []
        self._in_text = False
        self._length = 0
        self._run_struck = False
        self._plain = 0  # characters that are not struck

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "si":
            self._length, self._plain, self._run_struck = 0, 0, False
        elif tag == "r":
            self._run_struck = False
        elif tag == "strike":
            self._run_struck = _is_on(has)
        elif tag == "t":
            self._in_text = True

    def chars(self, text: str) -> None:
        if self._in_text:
            self._length += len(text)
            self._plain += 0 if self._run_struck else len(text.strip())

    def end(self, tag: str) -> None:
        if tag == "t":
            self._in_text = False
        elif tag == "si":
            self.strings.append((self._length, self._length > 0 and self._plain == 0))


class _XlsxSheet:
    def __init__(
        self, parts: Parts, styles: frozenset[str], strings: list[tuple[int, bool]]
    ) -> None:
        self.sheet = _Sheet(parts)
        self._styles = styles
        self._strings = strings
        self._row = 0
        self._column = 0
        self._struck = False
        self._shared = False
        self._value = ""
        self._in_value = False

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "row":
            self._row = _count(has.get("r"), self._row + 1)
            self._column = 0
        elif tag == "c":
            self._begin_cell(has)
        elif tag in ("v", "t"):
            self._in_value, self._value = True, ""
        elif tag == "mergeCell":
            first, _, last = has.get("ref", "").partition(":")
            (top, left), (bottom, right) = read_reference(first), read_reference(last or first)
            self.sheet.merges.append(Merge(top=top, left=left, bottom=bottom, right=right))

    def _begin_cell(self, has: Mapping[str, str]) -> None:
        # Without a reference a cell is the next one (18.3.1.4: `r` is optional).
        self._column += 1
        if "r" in has:
            self._row, self._column = read_reference(has["r"])
        self._struck = has.get("s", "0") in self._styles
        self._shared = has.get("t") == "s"

    def chars(self, text: str) -> None:
        if self._in_value:
            self._value += text

    def end(self, tag: str) -> None:
        if tag not in ("v", "t") or not self._in_value:
            return
        self._in_value = False
        length, struck = len(self._value), self._struck
        if self._shared:
            length, all_struck = self._shared_string()
            struck = struck or all_struck
        if length:
            self.sheet.filled(self._row, self._column, struck=struck, length=length)

    def _shared_string(self) -> tuple[int, bool]:
        number = self._value.strip()
        if not number.isdecimal() or int(number[:9]) >= len(self._strings):
            raise Unreadable("a cell names a text that is not there")
        return self._strings[int(number[:9])]


def _count(text: str | None, otherwise: int) -> int:
    if text is None:
        return otherwise
    if not text.isdecimal() or len(text) > 9:
        raise Unreadable(f"it counts {text[:20]!r} rows or cells, which can't be")
    return int(text)


class Ods:
    """The parts of an ODS workbook (ISO/IEC 26300, OpenDocument)."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self._marks: dict[str, Marks] = {}

    def weigh(self) -> None:
        """Read every sheet's marks. Raises Unreadable or TooLarge."""
        for name in ("mimetype", "META-INF/manifest.xml"):
            self._parts.read(name)
        if b"encryption-data" in self._parts.read("META-INF/manifest.xml"):
            raise Unreadable("it is locked with a password")
        walk = _OdsWalk(self._parts)
        self._parts.walk("styles.xml", walk.style_start)
        self._parts.walk("content.xml", walk.start, walk.end, walk.chars)
        self._marks = walk.sheets

    def marks(self, name: str) -> Marks:
        """Give a sheet's marks."""
        return self._marks.get(name, Marks())


class _OdsWalk:
    """Walks content.xml; a cell's look is its style's, else its row's, else its column's."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self.sheets: dict[str, Marks] = {}
        self._styles: dict[str, tuple[str, bool | None]] = {}  # parent, struck if said
        self._style = ""
        self._name = ""
        self._sheet = _Sheet(parts)
        self._columns: list[tuple[int, str]] = []  # up to which column, default style
        self._row = self._row_repeats = self._column = 0
        self._row_style = ""
        self._cells: list[tuple[int, int, int, bool]] = []  # column, repeats, length, struck
        self._cell: Mapping[str, str] | None = None
        self._length = self._plain = self._inked = 0
        self._notes = self._paragraphs = 0
        self._spans: list[bool] = []

    def style_start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "style":
            self._style = has.get("name", "")
            self._styles[self._style] = (has.get("parent-style-name", ""), None)
        elif tag == "text-properties" and self._style:
            line = has.get("text-line-through-style", has.get("text-line-through-type"))
            if line is not None:
                parent, _ = self._styles[self._style]
                self._styles[self._style] = (parent, line != "none")
        elif tag in ("default-style", "table"):
            self._style = ""

    def _is_struck(self, style: str) -> bool:
        for _ in range(16):  # styles that inherit in a circle end here
            parent, struck = self._styles.get(style, ("", None))
            if struck is not None:
                return struck
            style = parent
        return False

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        self.style_start(tag, has)
        if tag == "annotation":
            self._notes += 1
        elif self._notes:
            return
        elif tag == "table":
            self._name, self._sheet = has.get("name", ""), _Sheet(self._parts)
            self._columns, self._row = [], 0
        elif tag == "table-column":
            last = self._columns[-1][0] if self._columns else 0
            until = last + _repeats(has, "number-columns-repeated")
            self._columns.append((until, has.get("default-cell-style-name", "")))
        elif tag == "table-row":
            self._row_repeats = _repeats(has, "number-rows-repeated")
            self._row_style = has.get("default-cell-style-name", "")
            self._column, self._cells = 0, []
        elif tag in ("table-cell", "covered-table-cell"):
            self._cell, self._length, self._plain, self._inked = has, 0, 0, 0
        elif tag == "p":
            self._paragraphs += 1
        elif tag == "span":
            self._spans.append(self._is_struck(has.get("style-name", "")))
        elif tag == "s":
            # A count of blanks: a short part can ask for billions of them.
            self._length += _count(has.get("c"), 1)
            self._parts.hold(self._length)

    def chars(self, text: str) -> None:
        if self._cell is not None and self._paragraphs and not self._notes:
            self._length += len(text)
            self._inked += len(text.strip())
            self._plain += 0 if any(self._spans) else len(text.strip())

    def end(self, tag: str) -> None:
        if tag == "annotation":
            self._notes -= 1
        elif self._notes:
            return
        elif tag == "p":
            self._paragraphs -= 1
        elif tag == "span" and self._spans:
            self._spans.pop()
        elif tag in ("table-cell", "covered-table-cell"):
            self._end_cell(tag)
        elif tag == "table-row":
            self._end_row()
        elif tag == "table":
            self.sheets[self._name] = self._sheet.marks()

    def _end_cell(self, tag: str) -> None:
        has = self._cell or {}
        column, repeats = self._column + 1, _repeats(has, "number-columns-repeated")
        self._column += repeats
        self._cell = None
        if tag == "table-cell":
            self._merge(has, column)
        # An XLSX book's yes and no, saved again as ODS, become formulas with a number.
        if has.get("formula", "").endswith(("=TRUE()", "=FALSE()")):
            self._sheet.yes_no[self._row + 1].add(column)
        if self._length or "value-type" in has:
            struck = self._inked > 0 and (self._plain == 0 or self._is_struck(self._look(has)))
            self._cells.append((column, repeats, self._length, struck))

    def _look(self, has: Mapping[str, str]) -> str:
        if "style-name" in has:
            return has["style-name"]
        if self._row_style:
            return self._row_style
        return next((style for until, style in self._columns if self._column <= until), "")

    def _merge(self, has: Mapping[str, str], column: int) -> None:
        across = _repeats(has, "number-columns-spanned")
        down = _repeats(has, "number-rows-spanned")
        if across > 1 or down > 1:
            top = self._row + 1
            merge = Merge(top=top, left=column, bottom=top + down - 1, right=column + across - 1)
            self._sheet.merges.append(merge)

    def _end_row(self) -> None:
        first = self._row + 1
        self._row += self._row_repeats
        if not self._cells:
            return
        self._sheet.parts.check_place(self._row, 1)
        for column, repeats, length, struck in self._cells:
            self._sheet.parts.check_place(first, column + repeats - 1)
            for row in range(first, self._row + 1):
                for place in range(column, column + repeats):
                    self._sheet.filled(row, place, struck=struck, length=length)


def _repeats(has: Mapping[str, str], key: str) -> int:
    repeats = _count(has.get(key), 1)
    if not 1 <= repeats <= _MOST_REPEATS:
        raise Unreadable(f"it repeats a cell {repeats:,} times, which can't be")
    return repeats
