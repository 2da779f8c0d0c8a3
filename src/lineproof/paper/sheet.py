"""What is on a sheet, as frozen data: tables, texts and pictures, before anything is drawn."""

from __future__ import annotations

import enum
from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.base.spot import Spot


class Look(enum.Enum):
    """How a column is set; what that means in points is the business of what draws it."""

    BODY = "body"
    BIG = "big"  # spots, numbers and names: what is read by torchlight
    FIGURE = "figure"  # set to the right, so that figures stand under each other
    TICK = "tick"  # an empty box for each thing to be ticked off
    WRITE = "write"  # left empty, for a pen
    MARK = "mark"  # a letter or nothing, under a heading that stands upright


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a table: its heading and its look.

    `least_mm` keeps room for a pen, or for texts that would else become many short rows.
    """

    title: str
    look: Look = Look.BODY
    least_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One cell. `ticks` are the words behind empty boxes; `figure` is the number the text tells.

    `page_of` names the sheet whose page number stands here in a book.
    """

    text: str = ""
    ticks: tuple[str, ...] = ()
    figure: float | None = None
    page_of: str = ""

    @property
    def plain(self) -> str:
        """Give the cell as one text, as tables on a screen have it."""
        return "; ".join(self.ticks) if self.ticks else self.text


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row. `change` says in a word what is new about it since the last revision.

    `spots` are the spots of the plan that the row is about, `spare` that nothing uses them.
    """

    cells: tuple[Cell, ...]
    change: str = ""
    spots: tuple[Spot, ...] = ()
    spare: bool = False

    @property
    def texts(self) -> tuple[str, ...]:
        """Give every cell as one text."""
        return tuple(cell.plain for cell in self.cells)


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows under headings. Tables of one `name` are parts of one list; `of` says which part."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    of: str = ""
    title: str = ""

    def __post_init__(self) -> None:
        # A row with a cell too few would shift everything after it: a mistake of ours.
        assert all(len(row.cells) == len(self.columns) for row in self.rows), self.name


@dataclass(frozen=True, kw_only=True)
class Text:
    """Paragraphs under a heading; `loud` ones stand in a frame."""

    paragraphs: tuple[str, ...]
    title: str = ""
    loud: bool = False


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing: its file's name, what it shows in words, and the drawing itself as SVG."""

    name: str
    says: str
    svg: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, kw_only=True)
class Part:
    """Steps of a card under a heading: what is done at one place, in order."""

    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Card:
    """One card to keep beside the desk: what has failed, facts, steps to take, cautions.

    `facts` are a word and what it says. Steps are numbered through all `parts`.
    """

    number: int
    title: str
    also: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    parts: tuple[Part, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Cards:
    """Cards in large type, a few on a page, none of them on two pages."""

    cards: tuple[Card, ...]


Block = Table | Text | Picture | Cards


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One kind of paper for one reader; it may go on over several pages.

    `name` lasts: tests and tables go by it. `for_whom` is printed under the title.
    """

    name: str
    title: str
    for_whom: str
    blocks: tuple[Block, ...]
    landscape: bool = False

    @property
    def tables(self) -> tuple[Table, ...]:
        """Give its tables, in order."""
        return tuple(block for block in self.blocks if isinstance(block, Table))

    @property
    def cards(self) -> tuple[Card, ...]:
        """Give its cards, in order."""
        found = (block.cards for block in self.blocks if isinstance(block, Cards))
        return tuple(card for cards in found for card in cards)

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Give its pictures, in order."""
        return tuple(block for block in self.blocks if isinstance(block, Picture))


@dataclass(frozen=True, kw_only=True)
class Label:
    """One label: `corner` above, `big` which must be read from afar, `small` and `below` under it.

    A long name stands in `big` on several rows. `change` says in a word what is new about it since
    the last revision.
    """

    big: str
    small: str = ""
    below: str = ""
    corner: str = ""
    change: str = ""


@dataclass(frozen=True, kw_only=True)
class Strip:
    """Labels side by side, all of one size in millimetres, cut out in one piece or one by one.

    `fold_mm` is the part in the middle that goes round a cable; 0 for none: then the label is
    printed once, else on both sides of it.
    """

    title: str
    width_mm: float
    height_mm: float
    labels: tuple[Label, ...]
    fold_mm: float = 0.0
    of: str = ""


def spots_on(sheets: Iterable[Sheet]) -> tuple[Spot, ...]:
    """Give every spot that rows of the sheets are about, as often as it stands there."""
    rows = [row for sheet in sheets for table in sheet.tables for row in table.rows]
    return tuple(spot for row in rows for spot in row.spots)
