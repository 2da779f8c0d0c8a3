"""How wide the columns of a table become, so that no word leaves its cell."""

from __future__ import annotations

import bisect
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lineproof.paper.fonts import Font, bold, printable, regular
from lineproof.paper.fonts import bold as bold_font
from lineproof.paper.sheet import Cell, Column, Look, Table

#: Sizes in points: what is read by torchlight is large, nothing is smaller than the body.
BODY_PT = 10.0
BIG_PT = 14.0
#: On a label a long name is set smaller, down to this.
LEAST_LABEL_PT = 8.0
#: Left and right of what stands in a cell, in millimetres.
INSET_MM = 1.4
#: An empty box to tick, with the gap behind it.
TICK_MM = 5.5
CHANGE_MM = 18.0
#: A column of single letters; its heading stands upright.
MARK_MM = 6.2
#: One long name must not take the room of all the others.
WIDEST_WORD_MM = 46.0
WIDEST_TICK_MM = 80.0
WIDEST_TEXT_MM = 95.0
WIDEST_TICKS_MM = 140.0
MOST_STEPS = 16
#: Kerning can set a text a hair wider than its letters one by one.
SLACK = 1.02

#: Where a row of text may be broken: as Unicode's line breaking has it (UAX 14) for blanks and
#: for hyphens before a letter.
_BREAKS = re.compile(r" +|(?<=-)(?=[^\W\d_])")
_AFTER_HYPHEN = re.compile(r"(?<=-)(?=[^\W\d_])")
#: A figure and its unit stay together.
_FIGURE = re.compile(r"(?<=\d) (?=(?:V|m|kg|s|mm|%)(?![\w]))")
NO_BREAK = "\u00a0"
BREAK = "\u200b"


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What a column wants, in millimetres: `least` for its widest word, `best` for no break.

    `texts` are the widths at which its cells need one row only, in order; `grows` says whether
    it takes room that nobody needs.
    """

    least: float
    best: float
    texts: tuple[float, ...] = ()
    grows: bool = True

    @property
    def steps(self) -> tuple[float, ...]:
        """Give the widths worth trying: those of its texts, a few of them where there are many."""
        every = sorted(set(self.texts))
        return tuple(every[:: -max(1, len(every) // MOST_STEPS)])

    def saved(self, width: float, to: float) -> int:
        """Give how many texts need one row only at the second width, but not at the first."""
        return bisect.bisect_right(self.texts, to) - bisect.bisect_right(self.texts, width)

    def wider(self, factor: float) -> Wish:
        """Give the same for larger type."""
        texts = tuple(text * factor for text in self.texts)
        return replace(self, least=self.least * factor, best=self.best * factor, texts=texts)


def column_widths(table: Table, width_mm: float, *, scale: float = 1.0) -> tuple[float, ...]:
    """Give the widths of a table's columns in millimetres; together they fill the width.

    Every column gets its widest word, then what is left is shared by what each still wants.
    `scale` enlarges all type.
    """
    wishes = [_wish(column, table, n) for n, column in enumerate(table.columns)]
    return shared([wish.wider(scale) for wish in wishes], width_mm)


def shared(wishes: Sequence[Wish], width_mm: float) -> tuple[float, ...]:
    """Give each its share of a width.

    >>> shared([Wish(least=10, best=10), Wish(least=10, best=30)], 40)
    (10.0, 30.0)
    """
    least, best = sum(w.least for w in wishes), sum(w.best for w in wishes)
    if least > width_mm:
        return _squeezed([w.least for w in wishes], width_mm)
    widths = [w.best for w in wishes] if best <= width_mm else _stepped(wishes, width_mm)
    return _grown(wishes, widths, width_mm)


def _stepped(wishes: Sequence[Wish], width_mm: float) -> list[float]:
    """Give widths from the least upwards, each step where a millimetre saves most broken texts."""
    widths = [wish.least for wish in wishes]
    while True:
        room = width_mm - sum(widths)
        steps = [
            (wish.saved(width, to) / (to - width), -n, to)
            for n, (wish, width) in enumerate(zip(wishes, widths, strict=True))
            for to in wish.steps
            if width < to <= min(width + room, wish.best)
        ]
        if not steps:
            return _shared_out(wishes, widths, room)
        _, n, to = max(steps)
        widths[-n] = to


def _shared_out(wishes: Sequence[Wish], widths: list[float], room: float) -> list[float]:
    """Give what is left, too little to save another break, to those that still want it."""
    wants = [wish.best - width for wish, width in zip(wishes, widths, strict=True)]
    return [w + room * want / sum(wants) for w, want in zip(widths, wants, strict=True)]


def _grown(wishes: Sequence[Wish], widths: list[float], width_mm: float) -> tuple[float, ...]:
    """Give the widths, and what nobody needs to the columns that grow."""
    growing = [w if wish.grows else 0.0 for wish, w in zip(wishes, widths, strict=True)]
    if not sum(growing):
        growing = widths
    part = (width_mm - sum(widths)) / sum(growing)
    return tuple(w + g * part for w, g in zip(widths, growing, strict=True))


def _squeezed(least: list[float], width_mm: float) -> tuple[float, ...]:
    """Give widths when even single words are too many: the widest give way first."""
    low, high = 0.0, max(least)
    for _ in range(50):
        cap = (low + high) / 2
        low, high = (cap, high) if sum(min(w, cap) for w in least) <= width_mm else (low, cap)
    return tuple(min(w, low) for w in least)


def _wish(column: Column, table: Table, n: int) -> Wish:
    if column.look is Look.MARK:
        return Wish(least=MARK_MM, best=MARK_MM)
    head = [bold().width_mm(word, BODY_PT) for word in _words(column.title)]
    title = bold().width_mm(printable(column.title), BODY_PT)
    if column.look is Look.WRITE:
        width = _outer(max(column.least_mm, title))
        return Wish(least=width, best=width)
    cells = [row.cells[n] for row in table.rows]
    font, size = face(column.look)
    words = [w for cell in cells for w in _word_widths(cell, font, size)]
    texts = [title, *(_text_width(cell, font, size) for cell in cells)]
    most = max(WIDEST_TEXT_MM, WIDEST_TICKS_MM if column.look is Look.TICK else 0.0)
    # A tick stands before its words: they should not run on under it.
    widest = WIDEST_TICK_MM if column.look is Look.TICK else WIDEST_WORD_MM
    least = max(min(max([*head, *words]), widest), min(column.least_mm, max(texts)))
    best = max(least, min(max(texts), most))
    return Wish(
        least=_outer(least),
        best=_outer(best),
        texts=tuple(sorted(map(_outer, texts))),
        grows=column.look in (Look.BIG, Look.BODY),
    )


def _outer(text_mm: float) -> float:
    """Give how wide a cell must be for a text of that width."""
    return text_mm * SLACK + 2 * INSET_MM


def face(look: Look) -> tuple[Font, float]:
    """Give the font and the size of a look."""
    return (bold(), BIG_PT) if look is Look.BIG else (regular(), BODY_PT)


def _words(text: str) -> list[str]:
    return [word for word in _BREAKS.split(together(printable(text))) if word]


def _word_widths(cell: Cell, font: Font, size_pt: float) -> list[float]:
    if cell.ticks:
        ticks = [font.width_mm(printable(tick), size_pt) for tick in cell.ticks]
        return [TICK_MM + width for width in ticks]
    return [font.width_mm(word, size_pt) for word in _words(cell.text)]


def _text_width(cell: Cell, font: Font, size_pt: float) -> float:
    if cell.ticks:
        return sum(_word_widths(cell, font, size_pt)) + 2.5 * len(cell.ticks)
    return font.width_mm(printable(cell.text), size_pt)


def together(text: str) -> str:
    r"""Give a text in which figures can't be parted from their units.

    >>> together("48 V on") == "48\u00a0V on"
    True
    """
    return _FIGURE.sub(NO_BREAK, text)


def shortened(text: str, size_pt: float, width_mm: float) -> str:
    """Give a text as far as a width holds it in bold, and dots for the rest."""
    if bold().width_mm(text, size_pt) * SLACK <= width_mm:
        return text
    font = bold()
    units, kept = font.advance("…"), 0
    for mark in text:
        units += font.advance(mark)
        if font.mm(units, size_pt) * SLACK > width_mm:
            break
        kept += 1
    return text[:kept].rstrip() + "…"


def on_label(text: str, wish_pt: float, width_mm: float, *, bold: bool) -> tuple[str, float]:
    """Give a text and its size on a label: smaller if it is long, cut only at the least size."""
    font = bold_font() if bold else regular()
    wide = font.width_mm(text, wish_pt) * SLACK
    if wide <= width_mm:
        return text, wish_pt
    size = max(LEAST_LABEL_PT, int(wish_pt * width_mm / wide * 10) / 10)
    if wide * size / wish_pt <= width_mm:
        return text, size
    return shortened(text, size, width_mm), size


#: Heights of rows of one line of type each: what stands there, and a gap above and below.
ROW_MM = {Look.BIG: 6.4, Look.TICK: 6.6}
LEAST_ROW_MM = 5.3


def height_mm(cells: Sequence[Cell], looks: Sequence[Look]) -> float:
    """Give the height of a row whose cells need one line each."""
    high = [ROW_MM.get(look, LEAST_ROW_MM) for c, look in zip(cells, looks, strict=True) if c.plain]
    ticks = [ROW_MM[Look.TICK] for cell in cells if cell.ticks]
    return max([*high, *ticks], default=LEAST_ROW_MM)


def in_one_row(cell: Cell, look: Look, width_mm: float) -> bool:
    """Say whether a cell surely needs one line only."""
    return _outer(_text_width(cell, *face(look))) <= width_mm


def breakable(text: str, look: Look, width_mm: float, *, taken_mm: float = 0.0) -> str:
    """Give a text with places to break in words that are wider than their cell."""
    font, size = face(look)
    text = together(text)
    room = (width_mm - 2 * INSET_MM) / SLACK - taken_mm
    if room <= 0 or font.width_mm(text, size) <= room:
        return text
    return " ".join(_broken(word, font, size, room) for word in text.split(" "))


def _broken(word: str, font: Font, size_pt: float, room_mm: float) -> str:
    if font.width_mm(word, size_pt) <= room_mm:
        return word
    return "".join(_cut(p, font, size_pt, room_mm) for p in _AFTER_HYPHEN.split(word))


def _cut(piece: str, font: Font, size_pt: float, room_mm: float) -> str:
    """Give a piece without a hyphen, with places to break wherever the room is full."""
    made: list[str] = []
    units = 0
    for mark in piece:
        units += font.advance(mark)
        if made and font.mm(units, size_pt) > room_mm:
            made.append(BREAK)
            units = font.advance(mark)
        made.append(mark)
    return "".join(made)
