"""Draws sheets and labels as PDF, tagged for screen readers (PDF/UA-1), the same bytes each time.

What people wrote reaches the typesetter as data (JSON), never as source.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, Any

from lineproof.paper import fit
from lineproof.paper.edition import Edition
from lineproof.paper.fonts import FAMILY, folder, printable
from lineproof.paper.pdf_cards import cards_data
from lineproof.paper.sheet import Block, Cards, Cell, Label, Look, Row, Sheet, Strip, Table, Text

if TYPE_CHECKING:
    import typst

TEMPLATE = "book.typ"


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A size of paper, in millimetres, upright."""

    name: str
    width_mm: float
    height_mm: float


#: ISO 216 and ANSI/ASME Y14.1.
PAPERS = {
    "a4": Paper(name="a4", width_mm=210.0, height_mm=297.0),
    "a3": Paper(name="a3", width_mm=297.0, height_mm=420.0),
    "letter": Paper(name="letter", width_mm=215.9, height_mm=279.4),
}
#: What most printers can't reach, and room for a clip.
MARGIN_MM = 12.0
#: What running head and foot take of a page, and with a sheet's title.
HEAD_MM = 24.0
FOOT_MM = 17.0
HEAD_AND_FOOT_MM = 57.0
#: Eight labels of 24 mm side by side need more of the paper.
LABEL_MARGIN_MM = 8.0


class DrawingError(Exception):
    """The typesetter warned: a page would not be what the sheet says."""


def draw_book(edition: Edition, sheets: Sequence[Sheet], paper: Paper) -> bytes:
    """Give the sheets as one PDF, every page numbered and marked with the revision."""
    data = {**_common(edition, paper, "sheet.cover"), "kind": "book"}
    # A3 hangs on a wall and is read from further away.
    data["scale"] = scale = 1.25 if paper.name == "a3" else 1.0
    data["sheets"] = [_sheet_data(edition, sheet, paper, scale) for sheet in sheets]
    return _drawn(data)


def draw_labels(edition: Edition, strips: Sequence[Strip], paper: Paper) -> bytes:
    """Give label strips and cable flags to scale, with a rule to check the print by."""
    data = {**_common(edition, paper, "sheet.labels"), "kind": "labels", "scale": 1.0}
    data["strips"] = [_strip_data(strip) for strip in strips]
    words = edition.words
    data["margin"] = LABEL_MARGIN_MM
    data["rule"] = words("said.scale", length=100)
    data["hints"] = [words("said.cut"), words("said.thick")]
    return _drawn(data)


def _common(edition: Edition, paper: Paper, title: str) -> dict[str, Any]:
    words = edition.words
    return {
        "title": printable(f"{edition.show.title}: {words(title)}"),
        "heading": printable(words(title)),
        "show": printable(edition.show.title),
        "status": edition.status,
        "mark": words("said.mark", mark=edition.outcome.mark),
        "page": words("said.page", number="\t", count="\t").split("\t"),
        "language": words.language,
        "font": FAMILY,
        "width": paper.width_mm,
        "height": paper.height_mm,
        "margin": MARGIN_MM,
        "body": fit.BODY_PT,
        "big": fit.BIG_PT,
        "inset": fit.INSET_MM,
        "change": words("change.column"),
    }


def _sheet_data(edition: Edition, sheet: Sheet, paper: Paper, scale: float) -> dict[str, Any]:
    across = paper.height_mm if sheet.landscape else paper.width_mm
    width = across - 2 * MARGIN_MM
    height = paper.width_mm + paper.height_mm - across - HEAD_AND_FOOT_MM
    show = edition.show.title
    return {
        "name": sheet.name,
        "title": printable(sheet.title),
        "running": "" if sheet.title == show else printable(sheet.title),
        "for": printable(sheet.for_whom),
        "landscape": sheet.landscape,
        "blocks": [_block_data(block, (width, height), scale) for block in sheet.blocks],
    }


def _block_data(block: Block, room_mm: tuple[float, float], scale: float) -> dict[str, Any]:
    match block:
        case Table():
            return _table_data(block, room_mm[0], scale)
        case Text():
            paragraphs = [printable(p) for p in block.paragraphs]
            title = printable(block.title)
            return {"type": "text", "title": title, "paragraphs": paragraphs, "loud": block.loud}
        case Cards():
            free = room_mm[1] + HEAD_AND_FOOT_MM - HEAD_MM - FOOT_MM
            return cards_data(block, room_mm[0], free, scale)
        case _:
            # Never larger than to scale, never wider nor higher than the sheet.
            fitting = room_mm[1] * block.width_mm / block.height_mm
            width = min(room_mm[0], block.width_mm * scale, fitting)
            return {"type": "picture", "says": block.says, "svg": block.svg, "width": width}


def _table_data(table: Table, width_mm: float, scale: float) -> dict[str, Any]:
    changed = any(row.change for row in table.rows)
    first = fit.CHANGE_MM * scale if changed else 0.0
    widths = fit.column_widths(table, width_mm - first, scale=scale)
    looks = [column.look for column in table.columns]
    return {
        "type": "table",
        "title": printable(table.title),
        "changed": changed,
        "change-width": first,
        "columns": [
            {"title": printable(c.title), "look": c.look.value, "width": w}
            for c, w in zip(table.columns, widths, strict=True)
        ],
        "rows": [_row_data(row, looks, widths, scale) for row in table.rows],
    }


def _row_data(
    row: Row, looks: Sequence[Look], widths: Sequence[float], scale: float
) -> dict[str, Any]:
    each = list(zip(row.cells, looks, (width / scale for width in widths), strict=True))
    one_row = not row.change and all(fit.in_one_row(cell, look, w) for cell, look, w in each)
    return {
        "change": printable(row.change),
        "spare": row.spare,
        "cells": [_cell_data(cell, look, width) for cell, look, width in each],
        # A height that is known need not be measured: half the time of a large book.
        "height": _height_mm(row, looks) * scale if one_row else 0,
    }


def _height_mm(row: Row, looks: Sequence[Look]) -> float:
    return fit.LEAST_ROW_MM if row.spare else fit.height_mm(row.cells, looks)


def _cell_data(cell: Cell, look: Look, width_mm: float) -> str | list[str] | dict[str, str]:
    if cell.page_of:
        return {"page-of": cell.page_of}
    if cell.ticks:
        texts = [printable(tick) for tick in cell.ticks]
        return [fit.breakable(t, look, width_mm, taken_mm=fit.TICK_MM) for t in texts]
    return fit.breakable(printable(cell.text), look, width_mm)


def _strip_data(strip: Strip) -> dict[str, Any]:
    room = (strip.width_mm - strip.fold_mm) / (2 if strip.fold_mm else 1) - 2 * fit.INSET_MM
    return {
        "title": printable(strip.title),
        "width": strip.width_mm,
        "height": strip.height_mm,
        "fold": strip.fold_mm,
        "labels": [_label_data(label, room) for label in strip.labels],
    }


def _label_data(label: Label, room_mm: float) -> dict[str, Any]:
    """Give the texts of a label that aren't empty, each with the size that fits, and its rim."""
    big = ((row, fit.BIG_PT, True) for row in label.big.split("\n"))
    small = ((text, 10.0, False) for text in (label.small, label.below))
    texts = ((label.corner, 12.0, True), *big, *small)
    rows = [
        {"text": made, "size": size, "bold": bold}
        for text, wish_pt, bold in texts
        if text
        for made, size in [fit.on_label(printable(text), wish_pt, room_mm, bold=bold)]
    ]
    return {"rows": rows, "change": label.change != ""}


def _drawn(data: dict[str, Any]) -> bytes:
    pdf, warnings = _compiler().compile_with_warnings(
        (resources.files("lineproof.paper") / TEMPLATE).read_bytes(),
        format="pdf",
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=0,
    )
    if warnings:
        raise DrawingError("; ".join(warning.message for warning in warnings))
    assert isinstance(pdf, bytes)
    return pdf


@functools.cache
def _compiler() -> typst.Compiler:
    """Give the typesetter, which takes a fifth of a second to read its fonts, once."""
    import typst

    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(folder())])
    return typst.Compiler(font_paths=fonts)
