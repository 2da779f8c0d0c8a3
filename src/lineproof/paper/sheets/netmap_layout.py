"""Where the blocks of a net's drawing lie: one below the other, indented under what is above."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.paper.sheets.netmap import Block, Joint

#: The width of an upright A4 sheet between its margins.
WIDE_MM = 186.0
BAR_MM = 7.0
ROW_MM = 5.0
CHIP_MM = 10.2
CHIP_GAP_MM = 1.4
GAP_MM = 4.5
COMPACT_MM = 5.6
LANE_MM = 3.0
INDENT_MM = 8.0
#: No more room for indents than this, however deep the tree is.
INDENTS_MM = 60.0
CHIPS_ACROSS = 4


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """A run outside the tree: the lane it goes in, and the heights of its two rows."""

    joint: Joint
    lane: int
    top: float
    bottom: float


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Blocks with their heights on one endless sheet. `compact`: a row each, no chips."""

    blocks: tuple[Block, ...]
    least_depth: int
    indent_mm: float
    chip_mm: float
    compact: bool

    @cached_property
    def by_unit(self) -> Mapping[str, Block]:
        """Give the blocks by name."""
        return {block.unit: block for block in self.blocks}

    @cached_property
    def _tops(self) -> tuple[float, ...]:
        """Give where each block begins, and where the last ends."""
        return tuple(itertools.accumulate(map(self._height, self.blocks), initial=0.0))

    @cached_property
    def at(self) -> Mapping[str, float]:
        """Give where each block begins, by name."""
        return {block.unit: top for block, top in zip(self.blocks, self._tops, strict=False)}

    @property
    def foot(self) -> float:
        """Give where the last block ends."""
        return self._tops[-1]

    def _height(self, block: Block) -> float:
        if self.compact:
            return COMPACT_MM + ROW_MM * len(block.across)
        rows = -(-len(block.chips) // self.chips_across(block))
        joints = len(block.across) + (block.up is not None)
        return BAR_MM + 1.2 + ROW_MM * joints + (CHIP_MM + CHIP_GAP_MM) * rows + GAP_MM

    def left(self, block: Block) -> float:
        """Give where a block begins."""
        return 0.3 + (block.depth - self.least_depth) * self.indent_mm

    @property
    def right(self) -> float:
        """Give where bars end; right of it are the lanes."""
        count = max(self._lane_of.values(), default=-1) + 1
        return WIDE_MM - 0.3 - LANE_MM * count

    def lane_x(self, lane: int) -> float:
        """Give where a lane lies."""
        return self.right + LANE_MM * (lane + 0.7)

    def bar_middle(self, block: Block) -> float:
        """Give the height at which lines come to a block."""
        return self.at[block.unit] + (2.7 if self.compact else BAR_MM / 2)

    def bar_foot(self, block: Block) -> float:
        """Give the height from which lines go down from a block."""
        return self.at[block.unit] + (4.2 if self.compact else BAR_MM)

    def joints_of(self, block: Block) -> Iterator[tuple[Joint, float]]:
        """Give the rows under a bar with their heights: the run upwards, then those across."""
        y = self.at[block.unit] + (COMPACT_MM if self.compact else BAR_MM + 0.6) + ROW_MM / 2
        # In a row of its own the run upwards would say what the row of the switch says already.
        shown = (block.up,) if block.up is not None and not self.compact else ()
        for joint in (*shown, *block.across):
            yield joint, y
            y += ROW_MM

    def chips_at(self, block: Block) -> Iterator[tuple[float, float, float]]:
        """Give left, top and width of every chip of a block."""
        across = self.chips_across(block)
        left = self.left(block) + self.indent_mm
        width = (self.right - left) / across
        joints = len(block.across) + (block.up is not None)
        top = self.at[block.unit] + BAR_MM + 1.2 + ROW_MM * joints
        for n, _ in enumerate(block.chips):
            row, column = divmod(n, across)
            yield left + column * width, top + row * (CHIP_MM + CHIP_GAP_MM), width

    def chips_across(self, block: Block) -> int:
        """Give how many units stand in a row under a block: as many as there is room for."""
        room = self.right - self.left(block) - self.indent_mm
        return min(CHIPS_ACROSS, max(1, int(room // self.chip_mm)))

    @cached_property
    def _rows(self) -> Mapping[str, list[tuple[int, Joint]]]:
        """Give the rows of each run across, by its name: number of the block, and what it tells."""
        found: dict[str, list[tuple[int, Joint]]] = {}
        for n, block in enumerate(self.blocks):
            for joint in block.across:
                found.setdefault(joint.run.name, []).append((n, joint))
        return found

    @cached_property
    def _lane_of(self) -> Mapping[str, int]:
        """Give a lane to each run across that has both its rows here: no two lie on each other."""
        both = [(rows[0][0], rows[1][0], name) for name, rows in self._rows.items() if rows[1:]]
        ends: list[int] = []
        found = {}
        for top, bottom, name in sorted(both):
            lane = next((n for n, end in enumerate(ends) if end < top), len(ends))
            ends[lane : lane + 1] = [bottom]
            found[name] = lane
        return found

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Give the runs across that have both their rows here, from the top."""
        heights: dict[str, list[float]] = {}
        for block in self.blocks:
            for joint, y in self.joints_of(block):
                if joint is not block.up:
                    heights.setdefault(joint.run.name, []).append(y)
        return tuple(
            Crossing(joint=self._rows[name][0][1], lane=lane, top=ys[0], bottom=ys[-1])
            for name, lane in self._lane_of.items()
            for ys in (heights[name],)
        )

    def cuts(self, high_mm: float) -> tuple[tuple[float, float], ...]:
        """Give top and bottom of each part when no part is higher than that, cut between blocks."""
        tops = [self.at[block.unit] for block in self.blocks]
        cuts, top = [], 0.0
        for n, start in enumerate(tops):
            end = tops[n + 1] if n + 1 < len(tops) else self.foot
            if end - top > high_mm and start > top:
                cuts.append((top, start))
                top = start
        return (*cuts, (top, self.foot)) if self.blocks else ()


def lay_out(blocks: tuple[Block, ...], chip_mm: float = 50.0, *, compact: bool = False) -> Layout:
    """Give every block its height; `chip_mm`: what the widest unit's words need."""
    least = min((block.depth for block in blocks), default=0)
    deepest = max((block.depth for block in blocks), default=0) - least
    return Layout(
        blocks=blocks,
        least_depth=least,
        indent_mm=min(INDENT_MM, INDENTS_MM / deepest) if deepest else INDENT_MM,
        chip_mm=chip_mm,
        compact=compact,
    )
