"""One name changed everywhere in a show's files, every other byte kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from lineproof.base.errors import Refused
from lineproof.base.names import folded
from lineproof.base.where import Where
from lineproof.show.fields import words_in
from lineproof.show.found_spots import FOUND_COLUMNS, FOUND_FILE
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS, Column
from lineproof.show.model import Show
from lineproof.show.naming import Naming, Renamer, Role, Unclear, held_in_range
from lineproof.show.read import SHOW_FILE
from lineproof.show.table import Row, read_table
from lineproof.show.table_csv import Scan, read_letters
from lineproof.show.table_grid import Limits
from lineproof.show.table_write import Edit, patch_csv
from lineproof.show.tree import Entries, Items, Node, Text, read_tree
from lineproof.show.yaml_patch import patch_yaml

_LINE: Mapping[str, Role] = {
    "number": Role.NUMBER,
    "act": Role.ACTS,
    "by": Role.BY,
    **dict.fromkeys(("from", "to", "never", "socket", "channel", "bus", "also"), Role.NAMES),
    **dict.fromkeys(("pair", "standby", "back-to"), Role.OTHER),
    **dict.fromkeys(("minus", "with"), Role.OTHERS),
}
_UNIT: Mapping[str, Role] = {
    "here": Role.ACTS,
    "by": Role.BY,
    "muted-by": Role.ONE,
    **dict.fromkeys(("name", "place", "standby", "covers", "sockets-of"), Role.NAMES),
}
_FOUND: Mapping[str, Role] = {"number": Role.KEY, "spot": Role.NAMES}
#: What the keys name in the sections that hold one record a name.
_RECORDS: Mapping[str, Mapping[str, Role]] = {
    "units": _UNIT,
    "ducts": {"between": Role.NAMES},
    "ties": {"between": Role.NAMES},
    "runs": {"from": Role.NAMES, "to": Role.NAMES},
}
#: What the names of a section's own records are, and what stands beside a bare name.
_NAMED_BY: Mapping[str, Role] = {
    "units": Role.NAMES,
    "places": Role.NAMES,
    "acts": Role.ACTS,
    "pins": Role.KEY,
    "defaults": Role.ACTS,
}
_WORDS: Mapping[str, Role] = {
    "zones": Role.NAMES,
    "lists": Role.NAMES,
    "arrangements": Role.ANY,
}
#: What the columns of a table name.
_TABLES: Mapping[tuple[Column, ...], Mapping[str, Role]] = {
    UNIT_COLUMNS: _UNIT,
    LINE_COLUMNS: _LINE,
    FOUND_COLUMNS: _FOUND,
}
#: Tables that can be changed in place; others are workbooks.
_TEXTS = (".csv", ".tsv", ".tab", ".txt")


@dataclass(frozen=True, kw_only=True)
class _Site:
    """A text that may hold the name: what its words name, and the act of its row."""

    text: str
    where: Where
    role: Role
    act: str | None = None


#: As what a table is read, and from which sheet.
_Found = tuple[tuple[Column, ...], str]


def renamed_files(folder: Path, show: Show, naming: Naming) -> dict[str, bytes]:
    """Give the new bytes of every file of the show that names it; nothing is written.

    `show` is what the folder reads as, without a *stop*. Raises Refused where a file can't be
    changed in place (a workbook, a name inside a range, a bare number that may be two lines).
    """
    data = (folder / SHOW_FILE).read_bytes()
    tree, _ = read_tree(data, file=SHOW_FILE)
    assert tree is not None
    renaming = _Renaming(folder, show, naming)
    sites = list(_in_show(tree, renaming.acts))
    tables = {name: renaming.table(name, found) for name, found in _tables(tree, folder)}
    changed = {SHOW_FILE: renaming.changed(sites), **tables}
    if any(found and not name.lower().endswith(_TEXTS) for name, found in tables.items()):
        raise Refused(_by_hand(changed, naming))
    files = {SHOW_FILE: renaming.yaml(data, sites)}
    files |= {name: renaming.csv(name, found) for name, found in tables.items() if found}
    return {name: new for name, new in files.items() if new != (folder / name).read_bytes()}


def named_files(folder: Path) -> tuple[str, ...]:
    """Give the files that make up the show: its own, and the tables it names."""
    tree, _ = read_tree((folder / SHOW_FILE).read_bytes(), file=SHOW_FILE)
    assert tree is not None
    return (SHOW_FILE, *(name for name, _ in _tables(tree, folder)))


class _Renaming:
    def __init__(self, folder: Path, show: Show, naming: Naming) -> None:
        self.folder = folder
        self.naming = naming
        self.renamer = Renamer.of(naming, (line.key for line in show.lines))
        #: By where its number stands: the act of every row.
        self.acts = {line.where: line.key.act for line in show.lines}

    def change(self, site: _Site) -> Callable[[str], str]:
        """Give what changes the text of the site; it says where it stands when it can't."""

        def change(text: str) -> str:
            try:
                return self.renamer.replaced(text, site.role, act=site.act)
            except Unclear as error:
                raise Refused(f"{site.where}: {error}; nothing was changed") from None

        return change

    def changed(self, sites: Iterable[_Site]) -> list[tuple[_Site, str]]:
        """Give the sites that hold the name, with what each will say."""
        found = []
        for site in sites:
            self.refuse_range(site)
            new = self.change(site)(site.text)
            if new != site.text:
                found.append((site, new))
        return found

    def refuse_range(self, site: _Site) -> None:
        if site.role is not Role.NAMES or self.naming.what not in ("unit", "place"):
            return
        held = held_in_range(self.naming, site.text)
        if held is not None:
            what = f"{site.where}: {self.naming.old!r} is part of the range {held!r}"
            raise Refused(f"{what}: write its names out there, then rename; nothing was changed")

    def yaml(self, data: bytes, sites: Iterable[_Site]) -> bytes:
        changes = {(s.where.row, s.where.column): self.change(s) for s in sites}
        return patch_yaml(data, changes, file=SHOW_FILE)

    def table(self, name: str, found: Iterable[_Found]) -> list[tuple[_Site, str]]:
        """Give the cells of a file that hold the name, each once, whatever sheets were read."""
        sites = {}
        for columns, sheet in found:
            path = self.folder / name
            table, _ = read_table(path, file=name, columns=columns, sheet=sheet)
            for row in table.rows if table is not None else ():
                sites.update({site.where: site for site in self.row(row, columns)})
        return self.changed(sites.values())

    def row(self, row: Row, columns: tuple[Column, ...]) -> Iterator[_Site]:
        roles = _TABLES[columns]
        number = row.cells.get("number")
        act = self.acts.get(number.where) if number is not None else None
        for key, cell in row.cells.items():
            if key in roles and cell.text:
                yield _Site(text=cell.text, where=cell.where, role=roles[key], act=act)

    def csv(self, name: str, changed: Iterable[tuple[_Site, str]]) -> bytes:
        """Give the file with its cells changed, in what they were written, marks and all."""
        data = (self.folder / name).read_bytes()
        scan = Scan(read_letters(data).text, Limits())
        fields = {record.row: record.fields for record in scan.records if record.fields}
        edits = []
        for site, _ in changed:
            written = fields[site.where.row][site.where.column - 1]
            new = self.change(site)(written.text)
            edits.append(
                Edit(site.where.row, site.where.column, new if written.quoted else new.strip())
            )
        return patch_csv(data, edits)


# -- show.yaml -------------------------------------------------------------------------------------


def _in_show(tree: Entries, acts: Mapping[Where, str]) -> Iterator[_Site]:
    """Give every text of the show file that may hold a name."""
    for key, value in tree.entries:
        section = folded(key.value)
        if section == "lines":
            yield from _in_lines(value, acts)
        elif section == "accept":
            for item in value.items if isinstance(value, Items) else (value,):
                yield from _in_record(item, {"of": Role.ANY}, None)
        elif isinstance(value, Entries):
            yield from _in_section(section, value)


def _in_section(section: str, entries: Entries) -> Iterator[_Site]:
    for name, value in entries.entries:
        if section in _NAMED_BY:
            yield _site(name, _NAMED_BY[section], None)
        if section in _WORDS:
            yield from _in_words(value, _WORDS[section], None)
        elif section == "pins":
            yield from _in_pin(value)
        elif section == "defaults":
            yield from _in_record(value, _LINE, None)
        else:
            yield from _in_record(value, _RECORDS.get(section, {}), None)


def _in_lines(node: Node, acts: Mapping[Where, str]) -> Iterator[_Site]:
    for item in node.items if isinstance(node, Items) else (node,):
        if not isinstance(item, Entries):
            continue
        if item.get("table") is not None:
            yield from _in_record(item, {"act": Role.ACTS}, None)
            if (defaults := item.get("defaults")) is not None:
                yield from _in_record(defaults, _LINE, None)
        else:
            number = _value(item, "number")
            act = acts.get(number.where) if number is not None else None
            yield from _in_record(item, _LINE, act)


def _in_pin(node: Node) -> Iterator[_Site]:
    for key, value in node.entries if isinstance(node, Entries) else ():
        if folded(key.value) == "start":
            yield from _in_words(value, Role.NAMES, None)
        elif isinstance(value, Entries):
            for end, spots in value.entries:
                yield _site(end, Role.NAMES, None)
                yield from _in_words(spots, Role.NAMES, None)


def _in_record(node: Node, roles: Mapping[str, Role], act: str | None) -> Iterator[_Site]:
    for key, value in node.entries if isinstance(node, Entries) else ():
        if (role := roles.get(folded(key.value))) is not None:
            yield from _in_words(value, role, act)


def _in_words(node: Node, role: Role, act: str | None) -> Iterator[_Site]:
    if isinstance(node, Text):
        yield _site(node, role, act)
    elif isinstance(node, Items):
        for item in node.items:
            yield from _in_words(item, role, act)


def _site(text: Text, role: Role, act: str | None) -> _Site:
    return _Site(text=text.value, where=text.where, role=role, act=act)


def _value(entries: Entries, key: str) -> Node | None:
    return next((value for name, value in entries.entries if folded(name.value) == key), None)


# -- tables ----------------------------------------------------------------------------------------


def _tables(tree: Entries, folder: Path) -> Iterator[tuple[str, list[_Found]]]:
    """Give the tables the show names: file, and as what and from which sheet it is read."""
    tables: dict[str, list[_Found]] = {}
    for file, columns, sheet in _named_tables(tree):
        path = (folder / PurePosixPath(file.replace("\\", "/"))).resolve()
        name = path.relative_to(folder.resolve()).as_posix()
        tables.setdefault(name, []).append((columns, sheet))
    if (folder / FOUND_FILE).is_file():
        tables.setdefault(FOUND_FILE, [(FOUND_COLUMNS, "")])
    yield from tables.items()


def _named_tables(tree: Entries) -> Iterator[tuple[str, tuple[Column, ...], str]]:
    units, lines = _value(tree, "units"), _value(tree, "lines")
    for word in words_in(units) if units is not None else ():
        yield word.value, UNIT_COLUMNS, ""
    if isinstance(lines, Text):
        for word in words_in(lines):
            yield word.value, LINE_COLUMNS, ""
        return
    for item in lines.items if isinstance(lines, Items) else (lines,):
        if isinstance(item, Text):
            yield item.value, LINE_COLUMNS, ""
        elif isinstance(item, Entries) and isinstance(table := item.get("table"), Text):
            sheet = item.get("sheet")
            yield table.value, LINE_COLUMNS, sheet.value if isinstance(sheet, Text) else ""


# -- what is left to people ------------------------------------------------------------------------


def _by_hand(changed: Mapping[str, list[tuple[_Site, str]]], naming: Naming) -> str:
    """Say every place to change by hand, row by row, and what to do then."""
    rows = [f"  {site.where}: {new}" for found in changed.values() for site, new in found]
    then = f"lineproof rename SHOW {naming.what} {naming.old} {naming.new} --by-hand"
    return "\n".join(
        [
            "a workbook names it, and workbooks can't be changed in place: nothing was changed.",
            "Change these by hand, all of them:",
            *rows,
            f"Then `{then}`, so that the plan follows and nothing moves.",
        ]
    )
