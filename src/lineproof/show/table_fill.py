"""What blank cells are filled from: merged cells above them, and the section they stand in."""

from __future__ import annotations

from lineproof.show.table_grid import Grid, Merge
from lineproof.show.table_items import Line, Section


class Filler:
    """Goes down the rows with the layout and remembers what covers the row it is at.

    `filled` tells which rows each source has filled, by column.
    """

    def __init__(self, grid: Grid) -> None:
        self.filled: dict[tuple[str, Section], list[int]] = {}
        self._rows = {row.row: row for row in grid.rows}
        downwards = [merge for merge in grid.merges if merge.bottom > merge.top]
        self._waiting = sorted(downwards, key=lambda merge: merge.top, reverse=True)
        self._open: dict[int, Merge] = {}
        self._sections: dict[str, Section] = {}

    def begin(self, section: Section) -> None:
        """Enter a section; one that opens an act ends what the act before had."""
        if section.fills == "act":
            self._sections.clear()
        if section.fills:
            self._sections[section.fills] = section

    def reach(self, line: Line) -> None:
        """Come to a row: merged cells that begin at it or above may cover it."""
        while self._waiting and self._waiting[-1].top <= line.row:
            merge = self._waiting.pop()
            self._open[merge.left] = merge

    def source(self, name: str, line: Line) -> Section | None:
        """Give what fills the blank cell of a column in this row, and take it down."""
        source = self._merged(name, line) or self._sections.get(name)
        if source is None or not source.text:
            return None
        self.filled.setdefault((name, source), []).append(line.row)
        return source

    def _merged(self, name: str, line: Line) -> Section | None:
        heading = line.header.known.get(name)
        merge = self._open.get(heading.column) if heading is not None else None
        if merge is None or not merge.top < line.row <= merge.bottom:
            return None
        above = self._rows.get(merge.top)
        if above is None or merge.left > len(above.texts):
            return None
        text = above.texts[merge.left - 1]
        return Section(row=merge.top, column=merge.left, text=text, fills=name)
