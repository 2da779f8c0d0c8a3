"""The input list and the output list: every line, where it is plugged and where it arrives."""

from __future__ import annotations

from lineproof.base.part import split_part
from lineproof.base.spot import Side, Spot
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table
from lineproof.paper.sheets.parts import (
    arrival_text,
    arrivals,
    cells,
    columns,
    lead_cell,
    phantom_of,
    plugs_text,
    source_of,
    spots_text,
    starts_of,
)
from lineproof.show.model import Line


def input_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the input list, and the output list where there are outputs; a table for each act."""
    inputs, outputs = [], []
    for act, lines in edition.by_act():
        ins = tuple(line for line in lines if not is_output(edition, line))
        outs = tuple(line for line in lines if is_output(edition, line))
        inputs += [_inputs(edition, act, ins)] if ins else []
        outputs += [_outputs(edition, act, outs)] if outs else []
    parts = (("inputs", inputs), ("outputs", outputs))
    return tuple(_sheet(edition, name, tables) for name, tables in parts if tables)


def _sheet(edition: Edition, name: str, tables: list[Table]) -> Sheet:
    return Sheet(
        name=name,
        title=edition.words(f"sheet.{name}"),
        for_whom=edition.words(f"for.{edition.reader.kind.value}"),
        blocks=tuple(tables),
        landscape=True,
    )


def is_output(edition: Edition, line: Line) -> bool:
    """Say whether a line starts inside a mixer or a processor: it is an output, not an input."""
    if line.source is not None and line.source.mix:
        return True
    starts = [edition.show.units.get(start.name) for start in line.starts]
    return any(unit and unit.kind.does in (Does.MIXER, Does.PROCESSOR) for unit in starts)


def _inputs(edition: Edition, act: str, lines: tuple[Line, ...]) -> Table:
    keys = ("line", "name", "source", "phantom", "stand", "from", "plug", "lead", "arrives", "note")
    rows = tuple(_input_row(edition, line) for line in lines)
    return _table(edition, "inputs", act, keys, rows)


def _table(
    edition: Edition, name: str, act: str, keys: tuple[str, ...], rows: tuple[Row, ...]
) -> Table:
    part = act if edition.has_acts else ""
    head = columns(edition.words, *keys)
    return Table(name=name, of=part, title=part, columns=head, rows=rows)


def _input_row(edition: Edition, line: Line) -> Row:
    plugs = edition.plugs(line)
    start = plugs_text(edition, line) or spots_text(_last_of_starts(edition, line))
    return Row(
        cells=(
            *cells(line.key.number, line.title),
            *cells(
                source_of(edition, line),
                phantom_of(line),
                line.stand,
                starts_of(edition, line),
                start,
            ),
            _leads(edition, line, plugs),
            Cell(text=_ends_text(edition, line)),
            Cell(text=_notes(edition, line)),
        ),
        change=edition.change_of(line),
    )


def _leads(edition: Edition, line: Line, plugs: tuple[Spot, ...]) -> Cell:
    """Give the leads to the sockets in which a line is plugged, in their order."""
    each = [lead_cell(edition.words, edition.lead(line, plug)) for plug in plugs]
    if len(each) == 1:
        return each[0]
    return Cell(text=", ".join(cell.text for cell in each if cell.text))


def _last_of_starts(edition: Edition, line: Line) -> tuple[Spot, ...]:
    parts = edition.decided(line).start.values()
    return tuple(dict.fromkeys(spots[-1] for spots in parts if spots))


def _ends_text(edition: Edition, line: Line) -> str:
    return ", ".join(arrival_text(edition, name, spots) for name, spots in arrivals(edition, line))


def _notes(edition: Edition, line: Line) -> str:
    """Give the list's own note, what could not be given a place, and what must be kept private."""
    said = [line.note] if line.note else []
    if left_out := edition.decided(line).left_out:
        said.append(edition.words("said.left-out", ends=", ".join(left_out)))
    if line.private:
        said.append(edition.words("said.private"))
    if not edition.decided(line).start:
        said.append(edition.words("said.not-planned"))
    return "; ".join(said)


def _outputs(edition: Edition, act: str, lines: tuple[Line, ...]) -> Table:
    keys = ("line", "name", "source", "from", "leaves", "ends", "note")
    return _table(edition, "outputs", act, keys, tuple(_output_row(edition, x) for x in lines))


def _output_row(edition: Edition, line: Line) -> Row:
    chains = edition.decided(line).start.values()
    sends = list(dict.fromkeys(s for spots in chains for s in spots))
    sockets = [
        s
        for _, spots in arrivals(edition, line)
        for s in spots
        if s.side is Side.OUT and s.unit in {start.name for start in line.starts}
    ]
    ends = "; ".join(_way_text(edition, name, spots) for name, spots in arrivals(edition, line))
    return Row(
        cells=(
            *cells(line.key.number, line.title),
            *cells(
                source_of(edition, line), starts_of(edition, line), spots_text([*sends, *sockets])
            ),
            *cells(ends, _notes(edition, line)),
        ),
        change=edition.change_of(line),
    )


def _way_text(edition: Edition, name: str, spots: tuple[Spot, ...]) -> str:
    end, start = split_part(name)
    way = " – ".join(str(spot) for spot in spots) or end
    return edition.words("said.from-standby", end=way, start=start) if start else way
