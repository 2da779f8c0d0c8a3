"""A small writer of drawings (SVG 1.1, W3C): rectangles, lines, texts, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from lineproof.paper.fonts import FAMILY, printable

BLACK = "#000000"
WHITE = "#ffffff"
PALE = "#e6e6e6"


@dataclass(kw_only=True)
class Drawing:
    """A drawing while it is being made: what is drawn later lies on top."""

    width_mm: float
    height_mm: float
    says: str
    parts: list[str] = field(default_factory=list)

    def paper(self, x: float, y: float, width: float, height: float) -> None:
        """Lay white paper over what is drawn, so that words on it can be read."""
        at = f'x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}"'
        self.parts.append(f'<rect {at} fill="{WHITE}"/>')

    def box(self, x: float, y: float, width: float, height: float, *, fill: str = "none") -> None:
        """Draw a rectangle with a black rim."""
        at = f'x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}"'
        self.parts.append(f'<rect {at} fill="{fill}" stroke="{BLACK}" stroke-width="0.35"/>')

    def line(self, *points: tuple[float, float], dashed: bool = False, width: float = 0.5) -> None:
        """Draw a line through points."""
        path = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        dash = ' stroke-dasharray="2 1.5"' if dashed else ""
        style = f'fill="none" stroke="{BLACK}" stroke-width="{_n(width)}"{dash}'
        self.parts.append(f'<polyline points="{path}" {style}/>')

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size_pt: float = 10,
        bold: bool = False,
        anchor: str = "start",
    ) -> None:
        """Write a text; y is its base line. What the fonts lack is replaced as everywhere."""
        weight = ' font-weight="700"' if bold else ""
        size = _n(size_pt * 25.4 / 72)
        where = f'x="{_n(x)}" y="{_n(y)}" font-size="{size}" text-anchor="{anchor}"'
        self.parts.append(f'<text {where}{weight} fill="{BLACK}">{escape(printable(text))}</text>')

    def svg(self) -> str:
        """Give the drawing as a file's text."""
        size = f"{_n(self.width_mm)} {_n(self.height_mm)}"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(self.width_mm)}mm" '
            f'height="{_n(self.height_mm)}mm" viewBox="0 0 {size}" role="img" '
            f"aria-label={quoteattr(printable(self.says))} font-family={quoteattr(FAMILY)}>"
        )
        title = f"<title>{escape(printable(self.says))}</title>"
        return "\n".join([head, title, *self.parts, "</svg>", ""])


def _n(value: float) -> str:
    """Give a number as short as it can be, to a thousandth of a millimetre."""
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"
