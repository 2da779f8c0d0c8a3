"""Reads PDF back by programs that others wrote: words with places, sizes, pictures of pages."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from html import unescape
from pathlib import Path

MM_PER_PT = 25.4 / 72


_NUMBER = r'="([-\d.]+)"'
_WORD = re.compile(f"<word xMin{_NUMBER} yMin{_NUMBER} xMax{_NUMBER} yMax{_NUMBER}>(.*?)</word>")


@dataclass(frozen=True, kw_only=True)
class Word:
    """A word on a page with its box in millimetres from the upper left corner."""

    page: int
    text: str
    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, kw_only=True)
class Page:
    """A page's size in millimetres and its words."""

    width: float
    height: float
    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        """Give its words, one blank between."""
        return " ".join(word.text for word in self.words)


def pages(pdf: bytes, folder: Path) -> list[Page]:
    """Give the pages of a PDF as pdftotext finds them."""
    path = folder / "read.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(
        ["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True
    )
    found = []
    for number, page in enumerate(done.stdout.split("<page ")[1:], start=1):
        width, height = re.findall(r'(?:width|height)="([\d.]+)"', page)[:2]
        words = _WORD.findall(page)
        found.append(
            Page(
                width=float(width) * MM_PER_PT,
                height=float(height) * MM_PER_PT,
                words=tuple(
                    Word(
                        page=number,
                        text=unescape(text),
                        left=float(x1) * MM_PER_PT,
                        right=float(x2) * MM_PER_PT,
                        top=float(y1) * MM_PER_PT,
                        bottom=float(y2) * MM_PER_PT,
                    )
                    for x1, y1, x2, y2, text in words
                ),
            )
        )
    return found


def sizes(pdf: bytes, folder: Path) -> dict[str, set[int]]:
    """Give, for every piece of text, the type sizes in points in which it is set (pdftohtml)."""
    path = folder / "sizes.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(
        ["pdftohtml", "-xml", "-i", "-stdout", "-zoom", "1", str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    fonts = dict(re.findall(r'<fontspec id="(\d+)" size="(\d+)"', done.stdout))
    found: dict[str, set[int]] = {}
    for font, text in re.findall(r'<text [^>]*font="(\d+)">(.*?)</text>', done.stdout):
        bare = unescape(re.sub(r"<[^>]+>", "", text)).strip()
        found.setdefault(bare, set()).add(int(fonts[font]))
    return found


@dataclass(frozen=True, kw_only=True)
class Scan:
    """A page as grey dots, 600 to the inch."""

    width: int
    height: int
    dots: bytes

    def row(self, y_mm: float) -> bytes:
        """Give the dots of one row across the page."""
        y = round(y_mm / 25.4 * 600)
        return self.dots[y * self.width : (y + 1) * self.width]

    def dark_runs(self, y_mm: float) -> list[tuple[float, float]]:
        """Give where dark dots begin and end across the page, in millimetres."""
        dark = re.finditer(rb"[\x00-\x7f]+", self.row(y_mm))
        return [(m.start() * 25.4 / 600, m.end() * 25.4 / 600) for m in dark]


def scan(pdf: bytes, folder: Path, page: int = 1) -> Scan:
    """Give one page as pdftoppm draws it."""
    path = folder / "scan.pdf"
    path.write_bytes(pdf)
    where = ["-f", str(page), "-l", str(page)]
    done = subprocess.run(
        ["pdftoppm", "-r", "600", "-gray", *where, str(path)], capture_output=True, check=True
    )
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", done.stdout)
    assert head is not None
    return Scan(width=int(head[1]), height=int(head[2]), dots=done.stdout[head.end() :])
