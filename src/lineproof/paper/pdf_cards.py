"""Rescue cards as data for the typesetter, which chooses their size by what stands on them."""

from __future__ import annotations

import re
from itertools import accumulate
from typing import Any

from lineproof.paper import fit
from lineproof.paper.fonts import printable
from lineproof.paper.sheet import Card, Cards, Look

#: Between cards, and from a card's rim to what stands on it, in millimetres.
GAP_MM = 4.0
RIM_MM = 3.5
#: Room for the number of a step.
STEP_MM = 9.0
#: A range of numbers, or a name with hyphens; what is longer than this may be parted there.
_NAME = re.compile(r"\d+–\d+|[^\W_]+(?:-[\w:]+)+")
_LONGEST = 26


def cards_data(block: Cards, width_mm: float, height_mm: float, scale: float) -> dict[str, Any]:
    """Give cards for a sheet whose page holds so much: a quarter, a half, or all of it."""
    # Words are broken as the narrowest card needs it: a name may be wider than that.
    narrow = ((width_mm - GAP_MM) / 2 - 2 * RIM_MM - STEP_MM) / scale
    return {
        "type": "cards",
        "width": width_mm,
        "height": height_mm,
        "gap": GAP_MM,
        "rim": RIM_MM,
        "step": STEP_MM,
        "cards": [_card_data(card, narrow) for card in block.cards],
    }


def _card_data(card: Card, narrow_mm: float) -> dict[str, Any]:
    def set_(text: str) -> list[str]:
        return pieces(fit.breakable(printable(text), Look.BIG, narrow_mm))

    begins = [1, *accumulate((len(part.steps) for part in card.parts), initial=1)][1:]
    return {
        "number": card.number,
        "title": set_(card.title),
        "also": set_(card.also),
        "facts": [[printable(name), set_(text)] for name, text in card.facts],
        "parts": [
            {"title": set_(part.title), "begin": begin, "steps": [set_(s) for s in part.steps]}
            for part, begin in zip(card.parts, begins, strict=False)
        ],
        "cautions": [set_(text) for text in card.cautions],
    }


def pieces(text: str) -> list[str]:
    """Give a text in pieces, of which every other one must stay whole.

    >>> pieces("sw-1:8 hears 3–5.")
    ['', 'sw-1:8', ' hears ', '3–5', '.']
    """
    made, at = [], 0
    for found in _NAME.finditer(text):
        if len(found[0]) <= _LONGEST:
            made += [text[at : found.start()], found[0]]
            at = found.end()
    return [*made, text[at:]]
