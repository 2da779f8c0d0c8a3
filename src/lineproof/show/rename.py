"""One name changed everywhere in a show's files, every other byte kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from lineproof.base.errors import Refused
from lineproof.base.names import folded
from lineproof.base.spot import LineKey
from lineproof.base.where import Where
from lineproof.show.ends import EndError, expand_range
from lineproof.show.headings import LINE_COLUMNS, UNIT_COLUMNS
from lineproof.show.read import SHOW_FILE
from lineproof.show.table import Cell, Column, read_table
from lineproof.show.table_write import Edit, patch_csv
from lineproof.show.tree import Entries, Items, Node, Text, read_tree

#: The sections whose keys are names of that sort.
_OWN = {"unit": ("units",), "place": ("places",), "act": ("acts", "defaults"), "line": ("pins",)}

#: The keys (and columns) under which names of that sort may stand.
_KEYS = {
    "unit": frozenset(
        {"from", "to", "socket", "channel", "bus", "also", "never", "by", "standby", "covers"}
        | {"sockets-of", "muted-by", "ends", "start", "of", "zones", "lists"}
    ),
    "place": frozenset({"from", "to", "never", "between", "place", "ends", "of", "zones", "lists"}),
    "act": frozenset({"act", "here", "of", "arrangements"}),
    "line": frozenset({"number", "pair", "standby", "back-to", "minus", "with", "of"}),
}
_BETWEEN = re.compile(r"([\s,;|?/]+)")


@dataclass(frozen=True, kw_only=True)
class Naming:
    """What is renamed: `what` is unit, place, act or line."""

    what: str
    old: str
    new: str

    def replaced(self, text: str) -> str:
        """Give `text` with the new name for every word that names the old one.

        >>> Naming(what="unit", old="rec-1", new="tape").replaced("desk rec-1|rec-2? rec-10")
        'desk tape|rec-2? rec-10'
        >>> Naming(what="unit", old="box-1", new="drums").replaced("box-1:in-3")
        'drums:in-3'
        """
        return "".join(self._word(part) for part in _BETWEEN.split(text))

    def _word(self, word: str) -> str:
        if ".." in word:
            self._refuse_range(word)
            return word
        if self.what == "line":
            return self._number(word)
        name, colon, rest = word.partition(":")
        if name == "changeover" and colon:
            return f"{name}{colon}{self._word(rest)}"
        return f"{self.new}{colon}{rest}" if folded(name) == folded(self.old) else word

    def _number(self, word: str) -> str:
        act, slash, number = word.rpartition("/")
        old, new = LineKey.parse(self.old), LineKey.parse(self.new)
        if folded(number) != folded(old.number) or (act and folded(act) != folded(old.act)):
            return word
        return f"{act}{slash}{new.number}"

    def _refuse_range(self, word: str) -> None:
        try:
            names = {folded(name) for name in expand_range(word)}
        except EndError:
            return
        if folded(self.old) in names:
            what = f"{self.old!r} stands in the range {word!r}: write the range out, then rename"
            raise Refused(what)


def renamed_files(folder: Path, naming: Naming) -> dict[str, bytes]:
    """Give the new bytes of every file of the show that names it; nothing is written.

    Raises Refused where a file can't be changed in place (a workbook, a word written in parts).
    """
    data = (folder / SHOW_FILE).read_bytes()
    tree, _ = read_tree(data, file=SHOW_FILE)
    if tree is None:
        raise Refused(f"{SHOW_FILE} can't be read: mend it first")
    files = {SHOW_FILE: _patched_yaml(data, tree, naming)}
    for name, columns, act in _tables(tree):
        path = folder / name
        if path.is_file() and _concerns(naming, act):
            files[name] = _patched_table(path, name, columns, naming)
    return {n: d for n, d in files.items() if (folder / n).read_bytes() != d}


def _concerns(naming: Naming, act: str) -> bool:
    """Say whether a table may name it: a line of one act stands in no other act's table."""
    of = LineKey.parse(naming.old).act if naming.what == "line" else ""
    return not (naming.what == "line" and act and folded(of) != folded(act))


# -- show.yaml -------------------------------------------------------------------------------------


def _patched_yaml(data: bytes, tree: Entries, naming: Naming) -> bytes:
    bom = b"\xef\xbb\xbf" if data.startswith(b"\xef\xbb\xbf") else b""
    text = data.decode("utf-8-sig")
    starts = [0, *(m.end() for m in re.finditer(r"\r\n|\n|\r", text))]
    edits = []
    for word in _named(tree, naming, ()):
        new = naming.replaced(word.value)
        if new != word.value:
            at = starts[word.where.row - 1] + word.where.column - 1
            edits.append((_found(text, at, word), word.value, new))
    for at, old, new in sorted(edits, reverse=True):
        text = text[:at] + new + text[at + len(old) :]
    return bom + text.encode()


def _found(text: str, at: int, word: Text) -> int:
    """Give where the word itself begins, behind its quote if it has one."""
    for begins in (at, at + 1):
        if text.startswith(word.value, begins):
            return begins
    raise Refused(f"{word.where}: {word.value!r} is written in parts: write it in one row first")


def _named(node: Node, naming: Naming, way: tuple[str, ...]) -> Iterator[Text]:
    """Give the words that may hold the name: keys of its own section, values of fitting keys."""
    if isinstance(node, Text):
        if _KEYS[naming.what].intersection(way):
            yield node
    elif isinstance(node, Items):
        for item in node.items:
            yield from _named(item, naming, way)
    else:
        for key, value in node.entries:
            if way and way[-1] in _OWN[naming.what] and len(way) == 1:
                yield key
            if not _other_names(way, key.value):
                yield from _named(value, naming, (*way, folded(key.value)))


def _other_names(way: tuple[str, ...], key: str) -> bool:
    """Say whether names of another sort stand there: circuits have names of their own."""
    return way[:1] == ("circuits",) or folded(key) in ("circuit", "circuits", "kinds")


# -- tables ----------------------------------------------------------------------------------------


def _tables(tree: Entries) -> Iterator[tuple[str, tuple[Column, ...], str]]:
    """Give the tables the show names: file, columns, and the act of all its lines."""
    units, lines = tree.get("units"), tree.get("lines")
    if isinstance(units, Text):
        yield units.value, UNIT_COLUMNS, ""
    for item in lines.items if isinstance(lines, Items) else (lines,):
        if isinstance(item, Text):
            yield item.value, LINE_COLUMNS, ""
        elif isinstance(item, Entries) and isinstance(table := item.get("table"), Text):
            act = item.get("act")
            yield table.value, LINE_COLUMNS, act.value if isinstance(act, Text) else ""


def _patched_table(path: Path, name: str, columns: tuple[Column, ...], naming: Naming) -> bytes:
    data = path.read_bytes()
    table, _ = read_table(path, file=name, columns=columns)
    if table is None:
        raise Refused(f"{name} can't be read: mend it first")
    cells = [c for row in table.rows for k, c in row.cells.items() if _holds(k, columns, naming)]
    changed = {c.where: (c, new) for c in cells if (new := naming.replaced(c.text)) != c.text}
    if not changed:
        return data
    if path.suffix.lower() != ".csv":
        raise Refused(f"{name} is a workbook: change these cells there: {_places(changed)}")
    edits = [Edit(row=w.row, column=w.column, text=new) for w, (_, new) in changed.items()]
    return patch_csv(data, edits)


def _holds(key: str, columns: tuple[Column, ...], naming: Naming) -> bool:
    own = columns is UNIT_COLUMNS and key == "name" and naming.what == "unit"
    return own or key in _KEYS[naming.what]


def _places(changed: Mapping[Where, tuple[Cell, str]]) -> str:
    shown = [f"{where} to {new!r}" for where, (_, new) in list(changed.items())[:10]]
    more = f" and {len(changed) - 10} more" if len(changed) > 10 else ""
    return ", ".join(shown) + more
