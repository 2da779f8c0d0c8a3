"""A show folder read whole: `show.yaml`, the tables beside it, and what was found."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath

from lineproof.base.finding import Finding, Grade, in_order
from lineproof.base.names import folded, nearest, normal
from lineproof.base.spot import LineKey
from lineproof.base.where import Where
from lineproof.kit.kinds import Kit
from lineproof.kit.load import load_kit
from lineproof.show import build_room as room
from lineproof.show import rules, words
from lineproof.show.build_accept import build_accepted
from lineproof.show.build_ends import Ground
from lineproof.show.build_kinds import build_kit
from lineproof.show.build_lines import Record, Rows, build_lines
from lineproof.show.build_pins import build_pins
from lineproof.show.build_units import build_units
from lineproof.show.fields import Fields, Names, is_words, said_something, words_in
from lineproof.show.gather import gathered
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS
from lineproof.show.model import Act, Show
from lineproof.show.table import Column, Row, read_table
from lineproof.show.tree import Entries, Items, Node, Text, read_tree

SHOW_FILE = "show.yaml"


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What reading a folder gave: the show unless nothing could be made of it, and findings.

    `stops` says whether something stands that keeps the plan from being issued.
    """

    show: Show | None
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> bool:
        """Say whether a *stop* was found in reading."""
        return any(f.grade is Grade.STOP for f in self.findings)


def read_show(folder: Path, *, kit: Kit | None = None) -> Reading:
    """Give the show in `folder` and all mistakes in it, each with its place.

    Raises nothing for what people wrote; only `show.yaml` missing or unreadable leaves no show.
    """
    path = folder / SHOW_FILE
    try:
        data = path.read_bytes()
    except OSError as error:
        what = f"{path} can't be read: {error.strerror or error}"
        finding = rules.NO_SUCH_FILE.finding(what=what, where=Where(file=SHOW_FILE))
        return Reading(show=None, findings=(finding,))
    tree, findings = read_tree(data, file=SHOW_FILE)
    if tree is None:
        return Reading(show=None, findings=in_order(findings))
    show = _Builder(folder, tree, findings, kit or load_kit()).show()
    return Reading(show=show, findings=in_order(gathered(findings)))


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

    def show(self) -> Show:
        top, names = self.top, self.names
        rate = top.quantity("rate")
        places = room.build_places(top, names)
        circuits = room.build_circuits(top, self.findings)
        units = build_units(self.unit_records(), names, self.kit, circuits, self.findings)
        zones = room.build_groups(top, "zones", names, "zone")
        lists = room.build_groups(top, "lists", names, "list")
        groups = {folded(name): words for name, words in {**zones, **lists}.items()}
        acts = room.build_acts(top)
        ground = Ground(
            names=names,
            units=units,
            groups=groups,
            findings=self.findings,
            rate_hz=round(rate or 48_000),
            acts={folded(act.name): act.name for act in acts},
        )
        rows = self.lines(ground)
        check_acts(rows.fields, acts, self.findings)
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
            ducts=room.build_ducts(top, names),
            circuits=circuits,
            units=units,
            runs=room.build_runs(top),
            ties=room.build_ties(top, names),
            zones=zones,
            lists=lists,
            acts=acts,
            arrangements=room.build_groups(
                top, "arrangements", Names(self.findings), "arrangement"
            ),
            lines=rows.lines,
            pins=build_pins(rows.lines, rows.fields, top.entries("pins"), ground),
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
            for row in self.rows(file, UNIT_COLUMNS, ""):
                if "name" in row.cells and not row.crossed_out:
                    cell = row.cells["name"]
                    name = Text(value=cell.text, where=cell.where)
                    found.append((name, entries_of(row, without="name"), extra_of(row)))
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
        before = len(self.findings)
        records = list(self.line_records(node)) if node is not None else []
        told = any(f.grade is Grade.STOP for f in self.findings[before:])
        rows = build_lines(records, ground, self.kit)
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
        rows = self.rows(file, LINE_COLUMNS, sheet)
        return [
            self.record(entries_of(row), defaults, file.value, extra_of(row))
            for row in rows
            if not row.crossed_out
        ]

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
        path = self.inside(file)
        if path is None:
            return ()
        table, found = read_table(path, file=file.value, columns=columns, sheet=sheet)
        self.findings += found
        return table.rows if table is not None else ()

    def inside(self, file: Text) -> Path | None:
        """Give the path of a file the show names, if it lies inside the folder, links included."""
        root = self.folder.resolve()
        path = (root / PurePosixPath(file.value.replace("\\", "/"))).resolve()
        if not path.is_relative_to(root):
            what = f"{file.value!r} lies outside the show's folder"
            self.findings.append(rules.OUTSIDE_FOLDER.finding(what=what, where=file.where))
            return None
        if not path.is_file():
            what = f"there is no file {file.value!r} in the show's folder"
            self.findings.append(rules.NO_SUCH_FILE.finding(what=what, where=file.where))
            return None
        return path


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
    fields = Fields(entries, words.LINE, found, title=title, free=True)
    findings += [f for f in found if f.grade is Grade.STOP]
    return tuple(
        (key.value, node)
        for key, node in entries.entries
        if folded(key.value) in fields.nodes or normal(key.value) in fields.extra
    )


def check_acts(
    fields_of: Mapping[LineKey, Fields], acts: tuple[Act, ...], findings: list[Finding]
) -> None:
    """Find lines of acts that the show doesn't name, where it names any."""
    known = {folded(act.name) for act in acts}
    for key, fields in fields_of.items():
        if acts and key.act and folded(key.act) not in known:
            near = nearest(key.act, [act.name for act in acts])
            hint = f"; did you mean {near!r}?" if near else ""
            what = f"line {key.number} belongs to act {key.act!r}, which is not in `acts`{hint}"
            of = (str(key),)
            findings.append(rules.UNKNOWN_ACT.finding(what=what, where=fields.at("act"), of=of))


def entries_of(row: Row, *, without: str = "") -> Entries:
    """Give a table's row as a record, under our own words."""
    cells = [(name, cell) for name, cell in row.cells.items() if name != without and cell.text]
    entries = tuple(
        (Text(value=name, where=cell.where), Text(value=cell.text, where=cell.where))
        for name, cell in cells
    )
    return Entries(entries=entries, where=row.where)


def extra_of(row: Row) -> dict[str, str]:
    """Give the row's unknown columns, kept for people."""
    return {heading: cell.text for heading, cell in row.extra.items() if cell.text}
