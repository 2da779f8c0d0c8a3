"""The parts of an ODS workbook, weighed, and what its cells look like."""

from __future__ import annotations

from collections.abc import Mapping

from lineproof.show.table_grid import Merge, Unreadable
from lineproof.show.table_marks import Marks, SheetMarks, read_count
from lineproof.show.table_parts import Parts

_MOST_REPEATS = 1_048_576  # rows of the largest sheet there is


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
        self._sheet = SheetMarks(parts)
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
            self._name, self._sheet = has.get("name", ""), SheetMarks(self._parts)
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
            self._length += read_count(has.get("c"), 1)
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
    repeats = read_count(has.get(key), 1)
    if not 1 <= repeats <= _MOST_REPEATS:
        raise Unreadable(f"it repeats a cell {repeats:,} times, which can't be")
    return repeats
