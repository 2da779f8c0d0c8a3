"""Draws a net's blocks: a switch a bar, lines to what is above it, units as chips below.

All in black: a line's weight shows its load, dashes what is blocked, and every number is written.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lineproof.paper.edition import Edition
from lineproof.paper.fit import shortened
from lineproof.paper.fonts import bold, printable, regular
from lineproof.paper.sheet import Picture
from lineproof.paper.sheets.net_parts import mbit, milliseconds, place_of, run_title
from lineproof.paper.sheets.netmap import Block, Carried, Chip, Joint
from lineproof.paper.sheets.netmap_layout import BAR_MM, CHIP_MM, ROW_MM, WIDE_MM, Layout, lay_out
from lineproof.paper.svg import PALE, WHITE, Drawing

#: A higher picture is parted: what is left of an upright A4 or letter sheet under its title.
HIGH_MM = 196.0
NAME_PT = 12.0
SIZE_PT = 10.0
#: The piece of line that stands before what is written about a run.
SAMPLE_MM = 7.0
#: Beside a unit's words: the line it hangs by, and the rim.
CHIP_RIM_MM = 6.2
#: A longer name of a unit is cut, with dots.
WIDEST_MM = 60.0


def line_width_mm(bits_s: int) -> float:
    """Give how thick a line is drawn: from 0.3 mm for nothing to 2.5 mm for a full gigabit.

    >>> line_width_mm(0), line_width_mm(1_000_000_000)
    (0.3, 2.5)
    """
    return round(0.3 + 2.2 * math.sqrt(min(bits_s, 1_000_000_000) / 1e9), 3)


def carried_text(edition: Edition, carried: Carried) -> str:
    """Give both directions in Mbit/s as seen from where it stands."""
    return edition.words("map.carried", into=mbit(carried.into), out=mbit(carried.out))


def joint_text(edition: Edition, joint: Joint) -> str:
    """Give a run between switches in one row: ports, run, load."""
    key = "map.blocked" if joint.blocked else "map.loop" if joint.loop else "map.up"
    carried = joint.carried
    return edition.words(
        key,
        port=joint.port,
        far=f"{joint.far}:{joint.far_port}",
        run=run_title(edition, joint.run.name),
        carried=carried_text(edition, carried),
        most=edition.words("map.carried", into=mbit(carried.most_in), out=mbit(carried.most_out)),
    )


def chip_text(edition: Edition, chip: Chip) -> str:
    """Give what stands under a unit's name: load, longest times."""
    said = carried_text(edition, chip.carried)
    if chip.delay_ns is None:
        return said
    calm, worst = (milliseconds(edition.words, ns).removesuffix(" ms") for ns in chip.delay_ns)
    return f"{said} · {calm}" if calm == worst else f"{said} · {calm} ({worst})"


def _chip_name(chip: Chip) -> str:
    return f"{chip.port} · {chip.unit}"


def _chip_beside(edition: Edition, block: Block, chip: Chip) -> str:
    """Give what stands beside a unit's name: where it is if elsewhere, and what is between."""
    place = place_of(edition, chip.unit)
    more = [place] if place != place_of(edition, block.unit) else []
    if chip.through:
        more.append(edition.words("map.through", unit=chip.through))
    return printable(", ".join(more))


def _chip_head_mm(edition: Edition, block: Block, chip: Chip) -> float:
    name = bold().width_mm(printable(_chip_name(chip)), SIZE_PT)
    beside = _chip_beside(edition, block, chip)
    return name + (2 + bold().width_mm(beside, SIZE_PT) if beside else 0.0)


def _chip_mm(edition: Edition, blocks: tuple[Block, ...]) -> float:
    """Give what the widest unit's words need, in millimetres, all in bold: they are cut by that."""
    texts = [
        width
        for block in blocks
        for chip in block.chips
        for width in (
            bold().width_mm(printable(chip_text(edition, chip)), SIZE_PT),
            min(_chip_head_mm(edition, block, chip), WIDEST_MM),
        )
    ]
    return max(texts, default=0.0) * 1.02 + CHIP_RIM_MM


def net_pictures(
    edition: Edition, blocks: tuple[Block, ...], name: str, says: str, *, compact: bool = False
) -> tuple[Picture, ...]:
    """Give the blocks as pictures no higher than a sheet, in order.

    A line whose other end is on another picture goes on over the edge.
    """
    layout = lay_out(blocks, _chip_mm(edition, blocks), compact=compact)
    cuts = layout.cuts(HIGH_MM)
    many = len(cuts) > 1
    return tuple(
        _Page(edition=edition, layout=layout, top=top, bottom=bottom).picture(
            f"{name}-{n}" if many else name, says
        )
        for n, (top, bottom) in enumerate(cuts, start=1)
    )


@dataclass(frozen=True, kw_only=True)
class _Page:
    """The part of a layout from `top` to `bottom`, as one picture."""

    edition: Edition
    layout: Layout
    top: float
    bottom: float

    def picture(self, name: str, says: str) -> Picture:
        high = self.bottom - self.top + 1
        drawing = Drawing(width_mm=WIDE_MM, height_mm=high, says=says)
        here = [b for b in self.layout.blocks if self.top <= self.layout.at[b.unit] < self.bottom]
        for block in self.layout.blocks:
            self._line_up(drawing, block)
        self._lines_across(drawing)
        for block in here:
            self._block(drawing, block)
        return Picture(
            name=name, says=printable(says), svg=drawing.svg(), width_mm=WIDE_MM, height_mm=high
        )

    # -- lines -----------------------------------------------------------------------------------

    def _y(self, y: float) -> float:
        """Give where a height lies on this picture, held to its edges."""
        return min(max(y, self.top), self.bottom) - self.top + 0.5

    def _inside(self, y: float) -> bool:
        return self.top <= y < self.bottom

    def _line_up(self, drawing: Drawing, block: Block) -> None:
        """Draw the line from a block to the one above it."""
        layout = self.layout
        if block.up is None or block.parent not in layout.at:
            return
        above = layout.by_unit[block.parent]
        x = layout.left(above) + layout.indent_mm * 0.45
        y1, y2 = layout.bar_foot(above), layout.bar_middle(block)
        width = line_width_mm(block.up.carried.heavier)
        points = [(x, self._y(y1)), (x, self._y(y2))]
        if points[0] == points[1]:
            return
        if self._inside(y2):
            points.append((layout.left(block), self._y(y2)))
        drawing.line(*points, width=width)

    def _lines_across(self, drawing: Drawing) -> None:
        """Draw the runs outside the tree, each in a lane of its own right of the bars."""
        layout = self.layout
        for crossing in layout.crossings:
            x = layout.lane_x(crossing.lane)
            points = [(x, self._y(crossing.top)), (x, self._y(crossing.bottom))]
            if points[0] == points[1]:
                continue
            if self._inside(crossing.top):
                points.insert(0, (layout.right, points[0][1]))
            if self._inside(crossing.bottom):
                points.append((layout.right, points[-1][1]))
            self._across(drawing, crossing.joint, points)

    def _across(self, drawing: Drawing, joint: Joint, points: list[tuple[float, float]]) -> None:
        """Draw a run outside the tree: dashed where it is blocked, else as heavy as its load."""
        width = 0.5 if joint.blocked else line_width_mm(joint.carried.heavier)
        drawing.line(*points, dashed=joint.blocked, width=width)

    # -- blocks ----------------------------------------------------------------------------------

    def _block(self, drawing: Drawing, block: Block) -> None:
        layout = self.layout
        left, y = layout.left(block), self._y(layout.at[block.unit])
        if layout.compact:
            self._row(drawing, block, left, y)
        else:
            self._bar(drawing, block, left, y)
            self._chips(drawing, block)
        for joint, at in layout.joints_of(block):
            self._joint(drawing, joint, left, self._y(at))

    def _bar(self, drawing: Drawing, block: Block, left: float, y: float) -> None:
        """Draw a switch as a bar: its name, its place, what it is to the net."""
        right = self.layout.right
        drawing.box(left, y, right - left, BAR_MM, fill=PALE)
        if "root" in block.roles:
            drawing.box(left + 0.7, y + 0.7, right - left - 1.4, BAR_MM - 1.4)
        roles = ", ".join(self.edition.words(f"map.{role}") for role in block.roles)
        wide = regular().width_mm(printable(roles), SIZE_PT)
        drawing.text(right - 2, y + 4.8, roles, size_pt=SIZE_PT, anchor="end")
        self._names(drawing, block, (left + 2, y + 4.9), right - left - wide - 8, NAME_PT)

    def _names(
        self, drawing: Drawing, block: Block, at: tuple[float, float], room: float, size_pt: float
    ) -> None:
        """Write a block's name, and its place as far as there is room."""
        name = shortened(printable(block.unit), size_pt, room)
        drawing.text(*at, name, size_pt=size_pt, bold=True)
        taken = bold().width_mm(name, size_pt) + 3
        place = printable(place_of(self.edition, block.unit))
        if place and room - taken > 12:
            place = shortened(place, SIZE_PT, room - taken)
            drawing.text(at[0] + taken, at[1], place, size_pt=SIZE_PT)

    def _row(self, drawing: Drawing, block: Block, left: float, y: float) -> None:
        """Draw a switch as one row, where there are too many for bars."""
        right = self.layout.right
        drawing.box(left, y + 1.2, 3, 3, fill="#000000" if "root" in block.roles else WHITE)
        text = carried_text(self.edition, block.up.carried) if block.up else ""
        if block.roles:
            roles = ", ".join(self.edition.words(f"map.{role}") for role in block.roles)
            text = f"{roles} · {text}" if text else roles
        wide = regular().width_mm(printable(text), SIZE_PT)
        drawing.text(right - 1, y + 4, text, size_pt=SIZE_PT, anchor="end")
        self._names(drawing, block, (left + 4.5, y + 4), right - left - wide - 8, SIZE_PT)

    def _joint(self, drawing: Drawing, joint: Joint, left: float, y: float) -> None:
        """Write a run's row under a bar: a piece of its line, then ports, name and load."""
        layout = self.layout
        x = left + layout.indent_mm
        self._across(drawing, joint, [(x, y), (x + SAMPLE_MM, y)])
        x += SAMPLE_MM + 1.5
        text = shortened(printable(joint_text(self.edition, joint)), SIZE_PT, layout.right - x - 1)
        drawing.text(x, y + 1.3, text, size_pt=SIZE_PT)
        end = x + regular().width_mm(text, SIZE_PT) + 1.5
        if y in self._crossing_rows and end < layout.right:
            self._across(drawing, joint, [(end, y), (layout.right, y)])

    @property
    def _crossing_rows(self) -> frozenset[float]:
        rows = [y for crossing in self.layout.crossings for y in (crossing.top, crossing.bottom)]
        return frozenset(self._y(y) for y in rows if self._inside(y))

    def _chips(self, drawing: Drawing, block: Block) -> None:
        """Draw the units under a bar, each hanging by a line as heavy as its load."""
        layout = self.layout
        for chip, (x, top, width) in zip(block.chips, layout.chips_at(block), strict=True):
            y = self._y(top)
            weight = line_width_mm(chip.carried.heavier)
            drawing.line((x + 1.5, y), (x + 1.5, y + CHIP_MM), width=weight)
            drawing.box(x + 3, y, width - 3, CHIP_MM, fill=WHITE)
            drawing.line((x + 1.5, y + CHIP_MM / 2), (x + 3, y + CHIP_MM / 2), width=weight)
            self._chip(drawing, block, chip, (x + 4.2, y + 4.2, width - 5.6))

    def _chip(
        self, drawing: Drawing, block: Block, chip: Chip, room: tuple[float, float, float]
    ) -> None:
        x, y, width = room
        name = shortened(printable(_chip_name(chip)), SIZE_PT, width)
        drawing.text(x, y, name, size_pt=SIZE_PT, bold=True)
        beside = _chip_beside(self.edition, block, chip)
        taken = bold().width_mm(name, SIZE_PT) + 2
        if beside and width - taken > 8:
            text = shortened(beside, SIZE_PT, width - taken)
            drawing.text(x + taken, y, text, size_pt=SIZE_PT)
        under = shortened(printable(chip_text(self.edition, chip)), SIZE_PT, width)
        drawing.text(x, y + ROW_MM - 0.3, under, size_pt=SIZE_PT)
