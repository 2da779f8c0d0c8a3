"""A show folder read whole: `show.yaml`, the tables beside it, and what was found."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from lineproof.base.finding import Finding, Grade, in_order
from lineproof.base.names import folded
from lineproof.base.where import Where
from lineproof.kit.kinds import Kit
from lineproof.kit.load import load_kit
from lineproof.show import build_room as room
from lineproof.show import rules, words
from lineproof.show.build_accept import build_accepted
from lineproof.show.build_ends import Ground
from lineproof.show.build_kinds import build_kit
from lineproof.show.build_lines import Record, Rows, build_lines, lacking, lacking_told_once
from lineproof.show.build_links import check_links, known_groups
from lineproof.show.build_picture import build_picture, read_picture
from lineproof.show.build_pins import build_pins
from lineproof.show.build_rates import carried_rates
from lineproof.show.build_runs import build_runs, build_stock
from lineproof.show.build_units import build_units
from lineproof.show.explain import explained
from lineproof.show.fields import MOST_ENTRIES, Fields, Names, is_words, said_something, words_in
from lineproof.show.found import MOST_STOPS, Found, stops_in
from lineproof.show.found_spots import FOUND_FILE, FoundRow, read_found
from lineproof.show.gather import gathered
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS
from lineproof.show.inside import Outside, path_inside
from lineproof.show.model import Show
from lineproof.show.picture import PictureFile
from lineproof.show.standbys import with_standbys
from lineproof.show.table import Column, Row, Table, read_table
from lineproof.show.tree import (
    MOST_BYTES,
    MOST_LETTERS,
    Entries,
    Items,
    Node,
    Text,
    no_collecting,
    read_tree,
    shortened,
)

SHOW_FILE = "show.yaml"
#: Tables of one show; each may have thousands of rows.
MOST_TABLES = 64
MOST_ROWS = 10_000


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What reading a folder gave: the show unless nothing could be made of it, and findings.

    `picture` is the file behind the room, None where there is none that can be drawn.
    `stops` says whether something stands that keeps the plan from being issued.
    """

    show: Show | None
    findings: tuple[Finding, ...]
    picture: PictureFile | None = None

    @property
    def stops(self) -> bool:
        """Say whether a *stop* was found in reading."""
        return any(f.grade is Grade.STOP for f in self.findings)


def read_show(folder: Path, *, kit: Kit | None = None) -> Reading:
    """Give the show in `folder` and all mistakes in it, each with its place.

    Raises nothing for what people wrote; only `show.yaml` missing or unreadable leaves no show.
    """
    findings = Found()
    show, picture = None, None
    tables: tuple[Table, ...] = ()
    with no_collecting():
        tree = _tree(folder, findings)
        if tree is not None:
            builder = _Builder(folder, tree, findings, kit or load_kit())
            show, tables = builder.show(), tuple(builder.tables_read.values())
            picture = read_picture(folder, show.picture, findings)
    told = gathered(explained(findings, tables))
    if (first := findings.untold) is not None:
        what = f"{MOST_STOPS:,} mistakes are told, and {findings.stops - MOST_STOPS:,} more stand"
        what += f" behind them, the first of them here: {first.what}"
        told.append(rules.TOO_LARGE.finding(what=what, where=first.where, do=_READ_AGAIN))
    return Reading(show=show, findings=in_order(told), picture=picture)


_READ_AGAIN = "mend what is told first, often one slip that repeats, and read the show again"


def _tree(folder: Path, findings: list[Finding]) -> Entries | None:
    """Give the tree of the folder's own file, None with a finding if there is none."""
    own = Text(value=SHOW_FILE, where=Where(file=SHOW_FILE))
    path = inside(folder, own, findings)
    if path is None:
        return None
    try:
        with path.open("rb") as source:
            data = source.read(MOST_BYTES + 1)
    except OSError as error:
        what = f"{SHOW_FILE} can't be read: {error.strerror or error}"
        findings.append(rules.NO_SUCH_FILE.finding(what=what, where=own.where))
        return None
    tree, found = read_tree(data, file=SHOW_FILE)
    findings += found
    return tree


def inside(folder: Path, file: Text, findings: list[Finding]) -> Path | None:
    """Give the path of a file the show names, if it lies inside the folder, links included."""
    try:
        path = path_inside(folder, file.value)
    except Outside:
        what = f"{file.value!r} lies outside the show's folder"
        findings.append(rules.OUTSIDE_FOLDER.finding(what=what, where=file.where))
        return None
    if path is None:
        what = f"there is no file {file.value!r} in the show's folder"
        findings.append(rules.NO_SUCH_FILE.finding(what=what, where=file.where))
    return path


def read_files(files: Mapping[str, str]) -> Reading:
    """Give the show in the texts of its files by name, as an issued plan keeps them."""
    with tempfile.TemporaryDirectory(prefix="lineproof-") as name:
        for file, text in files.items():
            (Path(name) / Path(file).name).write_bytes(text.encode())
        return read_show(Path(name))


class _Builder:
    def __init__(self, folder: Path, tree: Entries, findings: list[Finding], kit: Kit) -> None:
        self.folder = folder
        self.findings = findings
        self.top = Fields(tree, words.SHOW, findings, title="show")
        self.names = Names(findings)
        self.kit = build_kit(self.top, kit)
        self.defaults = build_defaults(self.top)
        #: Files and sheets that are read already.
        self.tables: set[tuple[Path, str]] = set()
        self.rows_read = 0
        self.tables_read: dict[tuple[str, str], Table] = {}

    def show(self) -> Show:
        top, names = self.top, self.names
        rate = top.quantity("rate")
        places = room.build_places(top, names)
        circuits = room.build_circuits(top, self.findings)
        acts = room.build_acts(top)
        units = build_units(self.unit_records(), names, self.kit, circuits, acts, self.findings)
        rate_hz, units = carried_rates(top, rate, units)
        zones = room.build_groups(top, "zones", names, "zone")
        lists = room.build_groups(top, "lists", names, "list")
        known = known_groups(top, "zones", zones, names, units)
        known |= known_groups(top, "lists", lists, names, units)
        groups = {folded(name): words for name, words in known.items()}
        arrangements = room.build_groups(top, "arrangements", Names(self.findings), "arrangement")
        ground = Ground(
            names=names,
            units=units,
            groups=groups,
            findings=self.findings,
            rate_hz=rate_hz,
            acts={folded(n): n for n in (*(act.name for act in acts), *arrangements)},
        )
        rows = self.lines(ground)
        check_links(rows, ground)
        lines = with_standbys(rows.lines, units)
        packet, other = top.quantity("packet"), top.quantity("other")
        return Show(
            title=top.text("title"),
            rate_hz=ground.rate_hz,
            kit=self.kit,
            packet_ms=packet if packet is not None else 1.0,
            nets=top.choice("nets"),
            air=room.build_air(top),
            routes=top.choice("routes"),
            weights=room.build_weights(top),
            places=places,
            picture=build_picture(top),
            ducts=room.build_ducts(top, names),
            circuits=circuits,
            units=units,
            runs=build_runs(top),
            stock=build_stock(top),
            ties=room.build_ties(top, names),
            zones=zones,
            lists=lists,
            acts=acts,
            arrangements=arrangements,
            lines=lines,
            pins=build_pins(
                rows.lines, rows.fields, top.entries("pins"), ground, self.found_rows()
            ),
            accepted=build_accepted(top),
            other_mbit=other,
            addresses=room.build_addresses(top),
            unread=rows.unread,
        )

    # -- units -------------------------------------------------------------------------------

    def unit_records(self) -> list[tuple[Text, Entries, Mapping[str, str]]]:
        node = self.top.node("units")
        if isinstance(node, Entries):
            return self.inline_units(node)
        if node is not None and not is_words(node):
            self.top.wrong("units", node)
        found: list[tuple[Text, Entries, Mapping[str, str]]] = []
        for file in words_in(node) if node is not None else ():
            rows = self.rows(file, UNIT_COLUMNS, "")
            if rows and "name" not in rows[0].cells:
                lacking(self.tables_read[file.value, ""], "name", rules.MISSING_KEY, self.findings)
            for row in rows:
                if "name" in row.cells and not row.crossed_out:
                    cell = row.cells["name"]
                    name = Text(value=cell.text, where=cell.where)
                    entries = entries_of(row, self.findings, without="name")
                    found.append((name, entries, extra_of(row)))
        return found

    def inline_units(self, node: Entries) -> list[tuple[Text, Entries, Mapping[str, str]]]:
        found: list[tuple[Text, Entries, Mapping[str, str]]] = []
        for name, value in node.entries:
            if isinstance(value, Entries):
                found.append((name, value, {}))
            else:
                what = f"unit {name.value!r} needs keys with values, as in {{kind: …, place: …}}"
                self.findings.append(rules.WRONG_VALUE.finding(what=what, where=value.where))
        return found

    # -- lines -------------------------------------------------------------------------------

    def lines(self, ground: Ground) -> Rows:
        node = self.top.nodes.get("lines")
        before = stops_in(self.findings)
        records = list(self.line_records(node)) if node is not None else []
        told = stops_in(self.findings) > before
        if len(records) > MOST_ENTRIES:
            what = f"the show has more than {MOST_ENTRIES:,} lines; the rest is not read"
            beyond = records[MOST_ENTRIES].entries.where
            self.findings.append(rules.TOO_LARGE.finding(what=what, where=beyond))
        rows = build_lines(records[:MOST_ENTRIES], ground, self.kit)
        if not records and not told:
            what = "the show has no lines"
            where = node.where if node is not None else self.top.where
            self.findings.append(rules.NO_LINES.finding(what=what, where=where))
        return rows

    def line_records(self, node: Node) -> list[Record]:
        if isinstance(node, Text):
            return [r for word in words_in(node) for r in self.table_records(word, "", {})]
        items = node.items if isinstance(node, Items) else (node,)
        records: list[Record] = []
        for item in items:
            if isinstance(item, Text):
                records += self.table_records(item, "", {})
            elif isinstance(item, Entries) and item.get("table") is not None:
                records += self.described_table(item)
            elif isinstance(item, Entries):
                records.append(self.record(item, {}, ""))
            else:
                what = "a list stands here; expected a table file, or a row with its keys"
                self.findings.append(rules.WRONG_VALUE.finding(what=what, where=item.where))
        return records

    def described_table(self, item: Entries) -> list[Record]:
        fields = Fields(item, words.TABLE, self.findings, title="table of lines")
        file = item.get("table")
        if not isinstance(file, Text):
            return []
        node, title = fields.node("defaults"), f"defaults of {file.value!r}"
        cells = default_cells(node, title, self.findings) if isinstance(node, Entries) else ()
        defaults = dict(cells)
        for key in ("act", "content"):
            if (node := fields.nodes.get(key)) is not None:
                defaults.setdefault(key, node)
        return self.table_records(file, fields.text("sheet"), defaults)

    def table_records(self, file: Text, sheet: str, defaults: Mapping[str, Node]) -> list[Record]:
        rows = self.rows(file, LINE_COLUMNS, sheet)[: MOST_ENTRIES + 1]
        records = [
            self.record(entries_of(row, self.findings), defaults, file.value, extra_of(row))
            for row in rows
            if not row.crossed_out
        ]
        return lacking_told_once(records, self.tables_read.get((file.value, sheet)), self.findings)

    def record(
        self,
        entries: Entries,
        defaults: Mapping[str, Node],
        table: str,
        extra: Mapping[str, str] | None = None,
    ) -> Record:
        """Give the row with what its table's and its act's defaults fill in."""
        there = {folded(k.value) for k, v in entries.entries if said_something(v)}
        act = entries.get("act") or defaults.get("act")
        filled = dict(defaults)
        for name in (act.value if isinstance(act, Text) else "", table):
            for key, node in self.defaults_for(name):
                filled.setdefault(key, node)
        more = [(k, v) for k, v in filled.items() if k not in there]
        kept = tuple((k, v) for k, v in entries.entries if said_something(v))
        added = tuple((Text(value=k, where=v.where), v) for k, v in more)
        return Record(entries=replace(entries, entries=kept + added), extra=extra or {})

    def defaults_for(self, name: str) -> tuple[tuple[str, Node], ...]:
        return self.defaults.get(folded(name), ()) if name else ()

    # -- files -------------------------------------------------------------------------------

    def rows(self, file: Text, columns: tuple[Column, ...], sheet: str) -> tuple[Row, ...]:
        path = inside(self.folder, file, self.findings)
        if path is None or not self.may_read(path, sheet, file):
            return ()
        table, found = read_table(path, file=file.value, columns=columns, sheet=sheet)
        self.findings += found
        if table is None:
            return ()
        self.rows_read += len(table.rows)
        self.tables_read[file.value, sheet] = table
        return table.rows

    def found_rows(self) -> tuple[FoundRow, ...]:
        """Give what the crew has found, unless the show reads that file as a list of its own."""
        if any(path == self.folder.resolve() / FOUND_FILE for path, _ in self.tables):
            return ()
        rows, found = read_found(self.folder)
        self.findings += found
        return rows

    def may_read(self, path: Path, sheet: str, file: Text) -> bool:
        """Say whether a table is new and not one too many; what it isn't is found."""
        table = (path, folded(sheet))
        if table in self.tables:
            what = f"the table {file.value!r} is named twice; it is read once"
            self.findings.append(rules.KEY_TWICE.finding(what=what, where=file.where))
        elif len(self.tables) == MOST_TABLES or self.rows_read > MOST_ROWS:
            what = (
                f"more than {MOST_TABLES} tables, or {MOST_ROWS:,} rows, stand before "
                f"{file.value!r}; it is not read"
            )
            self.findings.append(rules.TOO_LARGE.finding(what=what, where=file.where))
        else:
            self.tables.add(table)
            return True
        return False


def build_defaults(top: Fields) -> dict[str, tuple[tuple[str, Node], ...]]:
    """Give what fills empty cells, by the folded name of a table or an act."""
    defaults = {}
    for name, node in top.entries("defaults"):
        if isinstance(node, Entries):
            title = f"defaults of {name.value!r}"
            defaults[folded(name.value)] = default_cells(node, title, top.findings)
        else:
            what = f"defaults of {name.value!r} need keys with values, as in {{to: …}}"
            top.findings.append(rules.WRONG_VALUE.finding(what=what, where=node.where))
    return defaults


def default_cells(
    entries: Entries, title: str, findings: list[Finding]
) -> tuple[tuple[str, Node], ...]:
    """Give the cells that rows are filled with; notes are told at the rows, not here."""
    found: list[Finding] = []
    fields = Fields(entries, words.LINE, found, title=title)
    findings += [f for f in found if f.grade is Grade.STOP]
    return tuple(
        (name, node) for key, node in entries.entries if (name := folded(key.value)) in fields.nodes
    )


def entries_of(row: Row, findings: list[Finding], *, without: str = "") -> Entries:
    """Give a table's row as a record, under our own words."""
    cells = [(name, cell) for name, cell in row.cells.items() if name != without and cell.text]
    entries = tuple(
        (
            Text(value=name, where=cell.where),
            shortened(Text(value=cell.text, where=cell.where), findings),
        )
        for name, cell in cells
    )
    return Entries(entries=entries, where=row.where)


def extra_of(row: Row) -> dict[str, str]:
    """Give the row's unknown columns, kept for people."""
    return {h: cell.text[:MOST_LETTERS] for h, cell in row.extra.items() if cell.text}
