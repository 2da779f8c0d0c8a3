"""The parts of an XLSX workbook, weighed, and what its cells look like."""

from __future__ import annotations

import posixpath
from collections.abc import Mapping

from lineproof.show.table_grid import Merge, Unreadable
from lineproof.show.table_marks import Marks, SheetMarks, read_count, read_reference
from lineproof.show.table_parts import Parts


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
        self.sheet = SheetMarks(parts)
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
            self._row = read_count(has.get("r"), self._row + 1)
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
