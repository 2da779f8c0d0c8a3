"""The fonts papers are set in: where they lie, what they can print, how wide a text comes out."""

from __future__ import annotations

import functools
import re
import struct
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path

#: Drawn so that 0 and O, 1, l and I, 8 and B can't be taken for each other in the dark.
FAMILY = "Atkinson Hyperlegible"
PACKAGE = "fontpkg_atkinson_hyperlegible"
REGULAR = "AtkinsonHyperlegible-Regular.ttf"
BOLD = "AtkinsonHyperlegible-Bold.ttf"

#: Blanks of every kind but the one that keeps two words together.
_BLANKS = re.compile(r"[^\S\u00a0]+")

#: Stands for a mark the fonts don't have; the line's number tells which line is meant.
INSTEAD = "?"


def folder() -> Path:
    """Give the folder of the font files, which come as a package of their own."""
    return Path(str(resources.files(PACKAGE))) / "files"


@dataclass(frozen=True, kw_only=True, eq=False)
class Font:
    """What a font file tells: the glyph of each mark, its width, and units to the em."""

    glyphs: Mapping[int, int]
    widths: tuple[int, ...]
    em: int
    # A large show asks for the same marks some million times.
    _advances: dict[str, int] = field(default_factory=dict, init=False, repr=False)

    def has(self, mark: str) -> bool:
        """Say whether the font can print one mark."""
        return ord(mark) in self.glyphs

    def width_mm(self, text: str, size_pt: float) -> float:
        """Give how wide a text comes out at a size, without kerning (72 points to the inch)."""
        return self.mm(_units(self, text), size_pt)

    def mm(self, units: int, size_pt: float) -> float:
        """Give so many of the font's units in millimetres, at a size."""
        return units / self.em * size_pt * 25.4 / 72

    def advance(self, mark: str) -> int:
        """Give how wide one mark is, in the font's units; what it lacks is as wide as glyph 0."""
        known = self._advances.get(mark)
        if known is None:
            glyph = min(self.glyphs.get(ord(mark), 0), len(self.widths) - 1)
            known = self._advances[mark] = self.widths[glyph]
        return known


@functools.lru_cache(maxsize=200_000)
def _units(font: Font, text: str) -> int:
    return sum(map(font.advance, text))


@functools.cache
def regular() -> Font:
    """Give the upright font."""
    return read_font((folder() / REGULAR).read_bytes())


@functools.cache
def bold() -> Font:
    """Give the bold font."""
    return read_font((folder() / BOLD).read_bytes())


def read_font(data: bytes) -> Font:
    """Give what a TrueType file tells (ISO/IEC 14496-22: tables cmap, head, hhea, hmtx)."""
    tables = _tables(data)
    (em,) = struct.unpack_from(">H", data, tables["head"] + 18)
    (count,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
    metrics = struct.unpack_from(f">{2 * count}H", data, tables["hmtx"])
    return Font(glyphs=_glyphs(data, tables["cmap"]), widths=metrics[::2], em=em)


def _tables(data: bytes) -> dict[str, int]:
    (count,) = struct.unpack_from(">H", data, 4)
    records = [struct.unpack_from(">4sIII", data, 12 + 16 * n) for n in range(count)]
    return {tag.decode("latin-1"): offset for tag, _, offset, _ in records}


def _glyphs(data: bytes, cmap: int) -> dict[int, int]:
    """Give the glyphs of the Basic Multilingual Plane (cmap, format 4)."""
    (count,) = struct.unpack_from(">H", data, cmap + 2)
    for n in range(count):
        _, _, offset = struct.unpack_from(">HHI", data, cmap + 4 + 8 * n)
        if struct.unpack_from(">H", data, cmap + offset) == (4,):
            return _format_4(data, cmap + offset)
    raise ValueError("the font has no character map of format 4")


def _format_4(data: bytes, at: int) -> dict[int, int]:
    (doubled,) = struct.unpack_from(">H", data, at + 6)
    count = doubled // 2
    ends = struct.unpack_from(f">{count}H", data, at + 14)
    starts = struct.unpack_from(f">{count}H", data, at + 16 + doubled)
    deltas = struct.unpack_from(f">{count}h", data, at + 16 + 2 * doubled)
    offsets_at = at + 16 + 3 * doubled
    offsets = struct.unpack_from(f">{count}H", data, offsets_at)
    found: dict[int, int] = {}
    for n, (start, end) in enumerate(zip(starts, ends, strict=True)):
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = code
            if offsets[n]:
                where = offsets_at + 2 * n + offsets[n] + 2 * (code - start)
                (glyph,) = struct.unpack_from(">H", data, where)
            if glyph := (glyph + deltas[n]) & 0xFFFF if glyph or not offsets[n] else 0:
                found[code] = glyph
    return found


def unprintable(text: str) -> str:
    """Give the marks of a text the fonts can't print, each once.

    >>> unprintable("Böe, Łódź"), unprintable("笛 flute")
    ('', '笛')
    """
    marks = dict.fromkeys(unicodedata.normalize("NFC", text))
    return "".join(m for m in marks if not _fits(m))


@functools.lru_cache(maxsize=100_000)
def printable(text: str) -> str:
    """Give a text as the fonts can print it: one row, and a stand-in for each mark they lack.

    >>> printable("笛 flute"), printable("two" + chr(10) + "rows")
    ('? flute', 'two rows')
    """
    marks = _BLANKS.sub(" ", unicodedata.normalize("NFC", text)).strip(" ")
    return "".join(m if _fits(m) else INSTEAD for m in marks if not _silent(m))


@functools.cache
def _fits(mark: str) -> bool:
    return mark.isspace() or _silent(mark) or (regular().has(mark) and bold().has(mark))


def _silent(mark: str) -> bool:
    """Say whether a mark is never seen: it steers direction or joining, or is a control."""
    return unicodedata.category(mark) in ("Cc", "Cf")
