"""Where a table's headings stand, and which column each is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lineproof.show.headings import Column, column_of_each, could_be, is_numberish
from lineproof.show.table_grid import Grid, GridRow, Merge

_LOOKED_AT = 40  # rows in which the headings are looked for
_SAMPLED = 30  # rows below a heading that say what kind of column it is
_KEYS = ("number", "name")  # a table has at least one of these


@dataclass(frozen=True, kw_only=True)
class Heading:
    """A heading as written; its place; which column it stands for ("" for one we don't know).

    `twice`: it would stand for a column that another heading has taken; "" otherwise.
    """

    text: str
    row: int
    column: int
    name: str = ""
    twice: str = ""


@dataclass(frozen=True, kw_only=True)
class Header:
    """The headings, by their column; `first` and `last` are the places of its rows, from 0."""

    first: int
    last: int
    row: int
    headings: Mapping[int, Heading]

    @cached_property
    def known(self) -> dict[str, Heading]:
        """Give the headings that stand for a column of ours, by its name."""
        return {h.name: h for h in self.headings.values() if h.name}

    @property
    def width(self) -> int:
        """Give the last column that has a heading."""
        return max(self.headings, default=0)


def find_header(grid: Grid, columns: tuple[Column, ...]) -> Header | None:
    """Give the header: of the first 40 rows the one with most headings we know, or None.

    It needs a number or a name, and one column more. Two rows together (a merged heading above
    others) are taken where they say more than either alone.
    """
    best: Header | None = None
    places = range(min(_LOOKED_AT, len(grid.rows)))
    singles = [_header(grid, columns, place, place) for place in places]
    doubles = [_header(grid, columns, place, place + 1) for place in places[:-1]]
    for header in (*singles, *doubles):
        if header is not None and (best is None or len(header.known) > len(best.known)):
            best = header
    return best


def header_again(
    grid: Grid, columns: tuple[Column, ...], place: int, before: Header
) -> Header | None:
    """Give the header if the row at this place is one too: repeated, or that of a next table.

    At least three headings we know, and those more than half of what the row holds; or the very
    words of the header `before` it, which is then given itself.
    """
    if grid.rows[place].texts == grid.rows[before.last].texts:
        return before
    header = _header(grid, columns, place, place)
    if header is None or len(header.known) < 3:
        return None
    return header if len(header.known) * 2 > len(header.headings) else None


def _header(grid: Grid, columns: tuple[Column, ...], first: int, last: int) -> Header | None:
    upper, lower = grid.rows[first], grid.rows[last]
    # A bare number heads no column: this is a row of the list.
    if any(text.isdecimal() and text != "48" for text in lower.texts):
        return None
    if not any(could_be(text, columns) for text in lower.texts if text):
        return None
    found = _headings(upper, lower, grid.merges) if last > first else _texts(lower)
    headings = _named(found, columns, grid.rows[last + 1 : last + 1 + _SAMPLED])
    header = Header(first=first, last=last, row=lower.row, headings=headings)
    known = header.known
    return header if len(known) > 1 and any(key in known for key in _KEYS) else None


@dataclass(frozen=True, kw_only=True)
class _Found:
    """A heading's texts, the likeliest first, and the place of the one shown."""

    texts: tuple[str, ...]
    row: int


def _texts(row: GridRow) -> dict[int, _Found]:
    texts = ((column, text) for column, text in enumerate(row.texts, 1))
    return {column: _Found(texts=(text,), row=row.row) for column, text in texts if text}


def _headings(upper: GridRow, lower: GridRow, merges: Sequence[Merge]) -> dict[int, _Found]:
    """Give the headings of two rows: the lower one's word, else both together, else the upper's."""
    above = _spread(upper, merges)
    below = {column: found.texts[0] for column, found in _texts(lower).items()}
    headings: dict[int, _Found] = {}
    for column in sorted({*above, *below}):
        over, under = above.get(column, ""), below.get(column, "")
        if over and under:
            headings[column] = _Found(texts=(under, f"{over} {under}"), row=lower.row)
        elif under:
            headings[column] = _Found(texts=(under,), row=lower.row)
        elif upper.texts[column - 1] if column <= len(upper.texts) else "":
            headings[column] = _Found(texts=(over,), row=upper.row)
    return headings


def _spread(row: GridRow, merges: Sequence[Merge]) -> dict[int, str]:
    """Give a row's texts by column, a merged one over every column it covers."""
    texts = {column: found.texts[0] for column, found in _texts(row).items()}
    for merge in merges:
        if merge.top <= row.row <= merge.bottom and merge.left in texts:
            for column in range(merge.left, min(merge.right, len(row.texts)) + 1):
                texts[column] = texts[merge.left]
    return texts


def _named(
    found: Mapping[int, _Found], columns: tuple[Column, ...], below: Sequence[GridRow]
) -> dict[int, Heading]:
    places = sorted(found)
    choices = [_choices(found[place].texts, columns) for place in places]
    numbered = [
        _numbers(place, below) if len(choice) > 1 else None
        for place, choice in zip(places, choices, strict=True)
    ]
    named = column_of_each(choices, numbered)
    return {
        column: Heading(
            text=found[column].texts[0],
            row=found[column].row,
            column=column,
            name=named.get(place, ""),
            # A word with two meanings whose columns are both taken is simply one we don't need.
            twice=choices[place][0] if place not in named and len(choices[place]) == 1 else "",
        )
        for place, column in enumerate(places)
    }


def _choices(texts: Sequence[str], columns: tuple[Column, ...]) -> tuple[str, ...]:
    return next((names for text in texts if (names := could_be(text, columns))), ())


def _numbers(column: int, below: Sequence[GridRow]) -> bool | None:
    """Say whether most cells of a column look like numbers; None if it has none."""
    texts = [row.texts[column - 1] for row in below if column <= len(row.texts)]
    filled = [text for text in texts if text]
    return sum(map(is_numberish, filled)) * 2 > len(filled) if filled else None
