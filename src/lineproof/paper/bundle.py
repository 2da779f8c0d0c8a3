"""Everything an edition prints, as files by name; and how they come into a folder."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from lineproof.base.files import write_whole
from lineproof.paper.book import PARTS as BOOK_PARTS
from lineproof.paper.book import book
from lineproof.paper.csv import write_csv
from lineproof.paper.edition import Edition
from lineproof.paper.pdf import Paper, draw_book, draw_labels
from lineproof.paper.sdp import session_files
from lineproof.paper.sheet import Sheet, Table
from lineproof.paper.sheets.drill import drill_tables
from lineproof.paper.sheets.labels import label_strips
from lineproof.paper.xlsx import write_xlsx

#: Says which files in a folder are ours, so that a later run takes away what it doesn't renew.
LIST = "papers.json"
FORMAT = 1


#: What `--without` may name: parts of the book, and the labels.
PARTS = (*BOOK_PARTS, "labels")


def bundle(edition: Edition, paper: Paper, without: Collection[str] = ()) -> dict[str, bytes]:
    """Give every file of an edition by its name in the folder, but for the parts in `without`."""
    sheets = book(edition, without)
    tables = tables_by_name(sheets)
    if edition.for_crew and "drill" not in without:
        tables |= {table.name: [table] for table in drill_tables(edition)}
    files = {"patch-book.pdf": draw_book(edition, sheets, paper)}
    if "labels" not in without and (strips := label_strips(edition)):
        files["labels.pdf"] = draw_labels(edition, strips, paper)
    files["tables.xlsx"] = write_xlsx(edition, tables)
    for name, found in tables.items():
        files[f"csv/{name}.csv"] = write_csv(edition, found)
    for sheet in sheets:
        for picture in sheet.pictures:
            files[f"pictures/{picture.name}.svg"] = picture.svg.encode("utf-8")
    if edition.for_crew and "streams" not in without:
        files |= session_files(edition.show, edition.outcome.plan.network)
    return files


#: Of the book alone: they say nothing that a table on a screen needs, or say it in short.
_BOOK_ONLY = frozenset(
    [
        *("cover", "contents", "signatures", "drill-tried", "drill-worst", "drill-likely"),
        *("drill-two", "drill-matrix", "drill-index"),
    ]
)


def tables_by_name(sheets: Iterable[Sheet]) -> dict[str, list[Table]]:
    """Give the tables that are parts of one list together, in the book's order.

    Two of one name with other columns can't stand under one heading: the later gets a number.
    """
    found: dict[str, list[Table]] = {}
    for sheet in sheets:
        for table in sheet.tables:
            if table.name not in _BOOK_ONLY and table.rows:
                found.setdefault(_free_name(table, found), []).append(table)
    return found


def _free_name(table: Table, found: Mapping[str, list[Table]]) -> str:
    name, n = table.name, 1
    while name in found and found[name][0].columns != table.columns:
        n += 1
        name = f"{table.name}-{n}"
    return name


@dataclass(frozen=True, kw_only=True)
class Written:
    """What came into a folder, what went, and what was ours but has been changed by somebody."""

    files: tuple[str, ...]
    removed: tuple[str, ...]
    kept: tuple[str, ...]


def write_bundle(folder: Path, files: Mapping[str, bytes]) -> Written:
    """Write all files, each whole or not at all, and take away what an earlier run left behind.

    Only files of the earlier run's own list go, and only if nobody has changed them since.
    """
    before = _listed(folder)
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    # Both lists until all is done: a run that is cut off must leave nothing nobody knows of.
    _write_list(folder, {**before, **sums})
    for name, data in files.items():
        write_whole(folder / name, data)
    stale = [name for name in before if name not in files and (folder / name).is_file()]
    removed = [name for name in stale if _sum(folder / name) == before[name]]
    for name in removed:
        (folder / name).unlink()
    _write_list(folder, sums)
    kept = tuple(name for name in stale if name not in removed)
    return Written(files=tuple(files), removed=tuple(removed), kept=kept)


def _sum(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _write_list(folder: Path, sums: Mapping[str, str]) -> None:
    text = json.dumps({"format": FORMAT, "files": dict(sorted(sums.items()))}, indent=1)
    write_whole(folder / LIST, (text + "\n").encode())


def _listed(folder: Path) -> dict[str, str]:
    """Give the earlier run's list; what is no list of ours counts as none."""
    try:
        data = json.loads((folder / LIST).read_text("utf-8"))
        return {n: s for n, s in data["files"].items() if isinstance(s, str) and _inside(n)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _inside(name: str) -> bool:
    path = PurePosixPath(name)
    return (
        not path.is_absolute() and ".." not in path.parts and "\\" not in name and ":" not in name
    )
