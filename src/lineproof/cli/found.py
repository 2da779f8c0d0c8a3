"""`lineproof found`: what the crew has really done becomes a pin, with time and initials."""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from lineproof.base.errors import Refused, WrongCommand
from lineproof.base.files import write_whole
from lineproof.base.finding import Finding
from lineproof.base.spot import Spot
from lineproof.cli.folder import folder_of, read
from lineproof.cli.tell import Tell, findings_data, tell_findings
from lineproof.outcome import load_plan
from lineproof.plan.model import Plan
from lineproof.plan.recognise import recognise
from lineproof.show.found_spots import (
    FOUND_COLUMNS,
    FOUND_FILE,
    RULES,
    Equipment,
    FoundRow,
    found_pins,
    line_named,
    read_found,
    share,
    spot_named,
)
from lineproof.show.model import Line, Show
from lineproof.show.table import read_table
from lineproof.show.table_write import append_row

_KEYS = ("line", *(column.name for column in FOUND_COLUMNS[1:]))


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.usage = "lineproof found [SHOW] [LINE SPOT --by INITIALS]"
    parser.add_argument(
        "words",
        nargs="*",
        metavar="SHOW LINE SPOT",
        help="the show's folder; and which line is really on which spot, as in: 12 box-1:in-3",
    )
    parser.add_argument("--by", default="", metavar="INITIALS", help="who has seen it")
    parser.add_argument("--note", default="", help="a word to those who read it")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Take down one line's spot, or tell what was taken down."""
    words = list(args.words)
    args.show = words.pop(0) if len(words) in (1, 3) else "."
    if len(words) not in (0, 2) or any(Path(word).is_dir() for word in words[:1]):
        raise WrongCommand("say which line is on which spot, as in: found SHOW 12 box-1:in-3")
    folder = folder_of(args)
    reading = read(folder)
    assert reading.show is not None
    if not words:
        return _list(folder, reading.show, tell, reading.findings)
    return _take_down(args, folder, reading.show, words, tell)


def equipment_of(show: Show) -> Equipment:
    """Give what spots there are in the show."""
    return Equipment(units=show.units, rate_hz=show.rate_hz)


# -- taking down -----------------------------------------------------------------------------------


def _take_down(
    args: argparse.Namespace, folder: Path, show: Show, words: list[str], tell: Tell
) -> int:
    by = " ".join(args.by.split())
    if not by:
        raise WrongCommand("say who has seen it: --by and your initials")
    line = line_named(words[0], show.lines)
    if isinstance(line, str):
        raise WrongCommand(line)
    spot = spot_named(words[1], line, equipment_of(show))
    if isinstance(spot, str):
        raise WrongCommand(spot)
    row = FoundRow(
        line=str(line.key),
        spot=str(spot),
        at=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        by=by,
        note=" ".join(args.note.split()),
        # A line without a name is called by its number, which says nothing more.
        name="" if line.name == f"line {line.key.number}" else line.name,
    )
    others = _others(folder, show, line, spot)
    write_whole(folder / FOUND_FILE, _with_row(folder, row))
    _tell(tell, row, line, others)
    return 0


def _with_row(folder: Path, row: FoundRow) -> bytes:
    """Give `found.csv` with one more row at its end, every other byte kept."""
    path = folder / FOUND_FILE
    cells = {key: getattr(row, key) for key in _KEYS}
    if not path.exists():
        return _written([list(_KEYS), list(cells.values())]).encode()
    return append_row(path.read_bytes(), _in_columns(path, cells))


def _in_columns(path: Path, cells: Mapping[str, str]) -> list[str]:
    """Give the cells in the order in which the file has its columns."""
    table, _ = read_table(path, file=FOUND_FILE, columns=FOUND_COLUMNS)
    headings = table.headings if table is not None else {}
    if not {"number", "spot"} <= set(headings):
        raise Refused(f"{FOUND_FILE} has no columns `line` and `spot`: mend or move it first")
    words = {**cells, "number": cells["line"]}
    by_column = {where.column: words[key] for key, where in headings.items()}
    return [by_column.get(column, "") for column in range(1, max(by_column) + 1)]


def _written(rows: list[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def _others(folder: Path, show: Show, line: Line, spot: Spot) -> tuple[Line, ...]:
    """Give the lines that the plan has on that spot while the line needs it."""
    plan, _, _ = load_plan(folder)
    known: Plan = recognise(show, plan).plan
    keys = known.by_spot().get(spot, ())
    lines = [show.line(key) for key in keys if key != line.key and not share(key, line.key)]
    return tuple(other for other in lines if other is not None)


def _tell(tell: Tell, row: FoundRow, line: Line, others: tuple[Line, ...]) -> None:
    tell.line(f"line {row.line} ({line.title}) is on {row.spot}: {row.by}, {row.at}")
    for other in others:
        tell.line(f"line {other.key} ({other.title}) is planned there: it has to go elsewhere")
    tell.line("`lineproof plan` works out what follows; nothing else moves")
    told = {key: getattr(row, key) for key in _KEYS}
    tell.answer("found", {"found": [{**told, "counts": True}], "others": _keys(others)})


def _keys(lines: tuple[Line, ...]) -> list[str]:
    return [str(line.key) for line in lines]


# -- listing ---------------------------------------------------------------------------------------


def _list(folder: Path, show: Show, tell: Tell, findings: tuple[Finding, ...]) -> int:
    rows, _ = read_found(folder)
    counting, _ = found_pins(rows, show.lines, equipment_of(show))
    count = {found.row for found in counting}
    for row in rows:
        end = "" if row in count else "  (no longer so)"
        text = f"{row.line:<12}{row.name:<20}{row.spot:<18}{row.at:<22}{row.by:<8}{row.note}"
        tell.line(f"{text.rstrip()}{end}")
    own = [f for f in findings if f.rule in {rule.name for rule in RULES}]
    if own:
        tell_findings(tell, own)
    tell.line(f"{len(count)} of {len(rows)} rows count" if rows else "nothing was found yet")
    told = [{**{key: getattr(row, key) for key in _KEYS}, "counts": row in count} for row in rows]
    tell.answer("found", {"found": told, "findings": findings_data(own)})
    return 0
