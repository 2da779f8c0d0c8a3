"""A grid becomes a table: its header, its rows with every cell's place, its notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from lineproof.base.where import Where
from lineproof.show.headings import Column
from lineproof.show.table_fill import Filler
from lineproof.show.table_grid import Grid, Limits, TooLarge
from lineproof.show.table_header import Header, find_header
from lineproof.show.table_items import Aside, Item, Line, Section, SectionColumn, items_of
from lineproof.show.table_model import Cell, Row, Slip, Table
from lineproof.show.table_slips import slips_in

#: Columns in which a date is a pair or a number that a spreadsheet has read as it likes.
DATED = ("number", "pair")


class Layout:
    """A grid laid out; `header` is None, and there is nothing else, where no headings are found."""

    def __init__(
        self, grid: Grid, *, file: str, columns: tuple[Column, ...], section: SectionColumn
    ) -> None:
        self.columns = columns
        self.header = find_header(grid, columns)
        self.items: list[Item] = []
        self.filler = Filler(grid)
        self._grid = grid
        self._file = file
        self._fillable = sorted(column.name for column in columns if column.fill_down)
        if self.header is not None:
            self.items = items_of(grid, self.header, columns, section)

    def where(self, row: int, column: int = 0, heading: str = "") -> Where:
        """Give a place in this table."""
        sheet = self._grid.sheet
        return Where(file=self._file, row=row, column=column, heading=heading, sheet=sheet)

    def weigh(self, limits: Limits) -> None:
        """Raise TooLarge where the rows would have more cells than the limit, blank ones too."""
        cells = 0
        for item in self.items:
            if isinstance(item, Line):
                cells += len(item.header.headings)
                if cells > limits.cells:
                    raise TooLarge(f"has more than {limits.cells:,} cells", row=item.row)

    def table(self) -> Table | None:
        """Give the table, or None if no row of headings is there."""
        if self.header is None:
            return None
        return Table(
            file=self._file,
            sheet=self._grid.sheet,
            header=self.where(self.header.row),
            headings={
                name: self.where(heading.row, heading.column, name)
                for name, heading in self.header.known.items()
            },
            rows=tuple(self._rows()),
            notes=tuple(self._notes(self.header)),
            slips=tuple(self.slips(self.header)),
        )

    def slips(self, header: Header) -> Iterator[Slip]:
        """Give the headings that may be misspelt, with their places."""
        for heading, word, name in slips_in(header, self.columns):
            where = self.where(heading.row, heading.column, heading.text)
            yield Slip(text=heading.text, where=where, name=name, word=word)

    def is_too_long(self, line: Line) -> bool:
        """Say whether a row has more cells than its headings, blank ones too.

        Blank ones count only where they don't end every row, as some programs write them.
        """
        filled = line.filled
        return filled[-1] > line.header.width or len(line.grid.texts) > self._usual_length

    @cached_property
    def _usual_length(self) -> int:
        # A workbook's rows are as long as its longest one, so there blanks tell nothing.
        if self._grid.sheet or self.header is None:
            return self._longest
        headings = len(self._grid.rows[self.header.last].texts)
        lengths = [len(item.grid.texts) for item in self.items if isinstance(item, Line)]
        return max(headings, min(lengths)) if len(lengths) > 1 else headings

    @property
    def _longest(self) -> int:
        return max((len(row.texts) for row in self._grid.rows), default=0)

    def _rows(self) -> Iterator[Row]:
        section = ""
        for item in self.items:
            if isinstance(item, Section):
                section = item.text
                self.filler.begin(item)
            elif isinstance(item, Line):
                self.filler.reach(item)
                yield self._row(item, section)

    def _row(self, line: Line, section: str) -> Row:
        cells = {
            name: Cell(
                text=line.at(heading.column), where=self.where(line.row, heading.column, name)
            )
            for name, heading in line.header.known.items()
        }
        crossed_out = line.crossed_out
        if not crossed_out:
            cells |= self._filled(line, cells)
        return Row(
            where=self.where(line.row),
            cells=cells,
            extra=self._extra(line),
            section=section,
            crossed_out=crossed_out,
            too_long=self.is_too_long(line),
            dates=frozenset(name for name in DATED if line.has_date(name)),
        )

    def _filled(self, line: Line, cells: dict[str, Cell]) -> dict[str, Cell]:
        filled: dict[str, Cell] = {}
        for name in self._fillable:
            if name in cells and cells[name].text:
                continue
            if (source := self.filler.source(name, line)) is not None:
                where = self.where(source.row, source.column, name)
                filled[name] = Cell(text=source.text, where=where, filled=True)
        return filled

    def _extra(self, line: Line) -> dict[str, Cell]:
        extra: dict[str, Cell] = {}
        for column in line.filled:
            heading = line.header.headings.get(column)
            if heading is not None and heading.name:
                continue
            label = heading.text if heading is not None else f"column {column}"
            label = label if label not in extra else f"{label} (column {column})"
            extra[label] = Cell(text=line.at(column), where=self.where(line.row, column, label))
        return extra

    def _notes(self, header: Header) -> Iterator[Cell]:
        below = {item.row for item in self.items if isinstance(item, Aside)}
        for place, row in enumerate(self._grid.rows):
            if place < header.first or row.row in below:
                yield from self._texts(row.row, row.texts)

    def _texts(self, row: int, texts: Sequence[str]) -> Iterator[Cell]:
        for column, text in enumerate(texts, 1):
            if text:
                yield Cell(text=text, where=self.where(row, column))
