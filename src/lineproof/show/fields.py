"""One record's fields, read by their declared words; every mistake becomes a finding."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from lineproof.base.finding import Finding
from lineproof.base.names import allowed, folded, nearest, normal, wrong_with_name
from lineproof.base.quantity import QuantityError, read_quantity
from lineproof.base.where import Where
from lineproof.show import rules, words
from lineproof.show.found import near_word
from lineproof.show.tree import Entries, Items, Node, Text
from lineproof.show.words import Word

T = TypeVar("T")

#: How like a word of ours an unknown key must be to be read as that word.
_MEANT = 0.75

#: No record has more keys, columns of people's own included.
MOST_KEYS = 256
#: No part of a show has more entries: the largest has 2,000 lines and as many units.
MOST_ENTRIES = 4_000
_BETWEEN = re.compile(r"[\s,;]+")


def words_in(node: Node) -> tuple[Text, ...]:
    """Give the words of a list, or of a cell in which blanks or commas separate."""
    if isinstance(node, Text):
        if _BETWEEN.search(node.value) is None:
            return (node,) if node.value else ()
        parts = [p for p in _BETWEEN.split(node.value) if p]
        return tuple(Text(value=p, where=node.where) for p in parts)
    if isinstance(node, Items):
        return tuple(word for item in node.items for word in words_in(item))
    return ()


def said_something(node: Node) -> bool:
    """Say whether there is more than nothing behind a key."""
    return not isinstance(node, Text) or bool(node.value)


def is_words(node: Node) -> bool:
    """Say whether the node is a word, or a plain list of words: what `words_in` reads whole."""
    items = node.items if isinstance(node, Items) else (node,)
    return all(isinstance(item, Text) for item in items)


def _has_shape_of(word: Word, node: Node) -> bool:
    """Say whether the node is a word, a list or a table of keys as the word's type asks."""
    match word.type:
        case "names" | "ends" | "spots" | "start":
            return is_words(node)
        case "position" | "point" | "pixel":
            return isinstance(node, Items)
        case "map":
            return isinstance(node, Entries)
        case "table":
            return True
        case _:
            return isinstance(node, Text)


def said(node: Node) -> str:
    """Give what was read, for a message: the word itself, or what kind of thing stands there."""
    if isinstance(node, Text):
        return repr(node.value)
    if isinstance(node, Items):
        return "a list" if node.items else "an empty list"
    return "a table of keys"


class Fields:
    """The fields of one record. Getters give None (or an empty value) where nothing is said.

    `title` names the record for messages ("unit 'desk'"); `free`: unknown keys are kept as
    extra columns rather than refused.
    """

    def __init__(
        self,
        entries: Entries,
        section: Mapping[str, Word],
        findings: list[Finding],
        *,
        title: str,
        free: bool = False,
    ) -> None:
        self.section = section
        self.findings = findings
        self.title = title
        self.where = entries.where
        self.nodes: dict[str, Node] = {}
        self.extra: dict[str, str] = {}
        #: Keys that hold something of another shape than they should; told already.
        self.refused: set[str] = set()
        #: Set where the record can't be used because something it names can't be read.
        self.broken = False
        kept = entries.entries[:MOST_KEYS]
        if len(entries.entries) > MOST_KEYS:
            what = f"{title} holds {len(entries.entries):,} keys; at most {MOST_KEYS} are read"
            findings.append(rules.TOO_LARGE.finding(what=what, where=entries.where))
        written = {folded(key.value) for key, _ in kept}
        for key, node in kept:
            self._take(key, node, written, free=free)

    def _take(self, key: Text, node: Node, written: set[str], *, free: bool) -> None:
        name = folded(key.value)
        word = self.section.get(name)
        if word is None:
            self._unknown(key, node, written, free=free)
        elif not said_something(node):
            return
        elif not _has_shape_of(word, node):
            self.refused.add(name)
            self.wrong(name, node)
        else:
            self.nodes[name] = self._cut(name, node)
            if not word.reader:
                what = f"{name!r} of {self.title} is kept, but not yet used"
                of = (self.title.split()[0], name)
                self.findings.append(rules.NOT_YET_USED.finding(what=what, where=key.where, of=of))

    def _cut(self, name: str, node: Node) -> Node:
        """Give the node, or its beginning if no show has so many of them; that is found."""
        cut: Node
        match node:
            case Entries(entries=entries):
                count, cut = len(entries), replace(node, entries=entries[:MOST_ENTRIES])
            case Items(items=items):
                count, cut = len(items), replace(node, items=items[:MOST_ENTRIES])
            case Text():
                return node
        if count <= MOST_ENTRIES:
            return node
        what = f"{name} of {self.title} holds {count:,} entries; {MOST_ENTRIES:,} are read"
        self.findings.append(rules.TOO_LARGE.finding(what=what, where=node.where))
        return cut

    def _unknown(self, key: Text, node: Node, written: set[str], *, free: bool) -> None:
        near = near_word(self.findings, key.value, self.section)
        hint = f"; did you mean {near!r}?" if near else ""
        meant = nearest(key.value, self.section, closeness=_MEANT)
        meant = None if meant in written else meant
        needed = meant is not None and self.section[meant].needed
        if free and isinstance(node, Text) and not needed:
            self.extra[normal(key.value)] = node.value
            what = f"{key.value!r} of {self.title} is no word of ours; it is kept and printed{hint}"
            self.findings.append(rules.UNKNOWN_COLUMN.finding(what=what, where=key.where))
            return
        known = ", ".join(self.section)
        what = f"{key.value!r} of {self.title} is unknown{hint}"
        do = f"write {near!r}, or leave it out" if near else f"use one of: {known}"
        self.findings.append(rules.UNKNOWN_KEY.finding(what=what, where=key.where, do=do))
        if meant is not None:
            # Read as what it was probably meant to be, so that one slip is told once, and not
            # again by everything that misses it. The stop stands all the same.
            self.refused.add(meant)
            if said_something(node) and _has_shape_of(self.section[meant], node):
                self.nodes[meant] = node

    # -- what went wrong ---------------------------------------------------------------------

    def wrong(self, key: str, node: Node, problem: str = "", *, near: str | None = None) -> None:
        """Note a value that is not what its word expects."""
        expected = self.section[key].expected()
        hint = f"; did you mean {near!r}?" if near else ""
        problem = problem or f"{said(node)} can't be read"
        what = f"{key} of {self.title}: {problem}; expected {expected}{hint}"
        do = f"write {near!r}" if near else f"write {expected}"
        self.findings.append(rules.WRONG_VALUE.finding(what=what, where=node.where, do=do))

    def missing(self, key: str) -> None:
        """Note that a needed key is not there."""
        what = f"{self.title} has no {key!r}; expected {self.section[key].expected()}"
        self.findings.append(rules.MISSING_KEY.finding(what=what, where=self.where))

    def at(self, key: str) -> Where:
        """Give where `key` stands, or the record if it doesn't."""
        node = self.nodes.get(key)
        return node.where if node is not None else self.where

    def has(self, key: str) -> bool:
        """Say whether `key` was written with something in it."""
        return key in self.nodes

    def node(self, key: str) -> Node | None:
        """Give the raw value; notes it when it is needed and missing."""
        node = self.nodes.get(key)
        if node is None and self.section[key].needed and key not in self.refused:
            self.missing(key)
        return node

    # -- typed values ------------------------------------------------------------------------

    def word(self, key: str) -> Text | None:
        """Give the one word under `key`, or None where nothing is said."""
        node = self.node(key)
        assert node is None or isinstance(node, Text)
        return node

    def text(self, key: str) -> str:
        """Give a text, "" where nothing is said."""
        word = self.word(key)
        return normal(word.value) if word is not None else ""

    def name(self, key: str) -> str:
        """Give a name as written (whether it exists is for later), "" where nothing is said."""
        text = self.text(key)
        if text and (problem := wrong_with_name(text)) is not None:
            self.wrong(key, self.nodes[key], f"{text!r}: {problem}")
            return ""
        return text

    def names(self, key: str) -> tuple[Text, ...]:
        """Give names with their positions."""
        node = self.node(key)
        return words_in(node) if node is not None else ()

    def quantity(self, key: str) -> float | None:
        """Give a figure in its measure's unit, the word's default where nothing is said."""
        word = self.section[key]
        assert word.measure is not None
        node = self.word(key)
        if node is None:
            return read_quantity(word.default, word.measure) if word.default else None
        try:
            return read_quantity(node.value, word.measure)
        except QuantityError as error:
            self.wrong(key, node, str(error))
            return None

    def count(self, key: str) -> int | None:
        """Give a whole number from 1 to 9999, or None."""
        node = self.word(key)
        if node is None:
            return None
        if re.fullmatch(r"[1-9][0-9]{0,3}", node.value):
            return int(node.value)
        self.wrong(key, node)
        return None

    def yes_no(self, key: str) -> bool | None:
        """Give yes or no, None where nothing is said."""
        node = self.word(key)
        if node is None:
            return None
        word = node.value.casefold()
        if word in words.YES:
            return True
        if word in words.NO or word in words.NOTHING:
            return False
        self.wrong(key, node)
        return None

    def choice(self, key: str) -> str:
        """Give one of the word's choices, its default where nothing is said."""
        word = self.section[key]
        node = self.word(key)
        if node is None:
            return word.default
        # A choice of two words is written with a blank as well: `per act`.
        text = "-".join(folded(node.value).split())
        if text in word.choices:
            return text
        self.wrong(key, node, near=nearest(text, word.choices))
        return word.default

    def position(self, key: str) -> tuple[float, float, float] | None:
        """Give three metres, or None."""
        found = self._figures(key, _metres, 3)
        return (found[0], found[1], found[2]) if found else None

    def point(self, key: str) -> tuple[float, float] | None:
        """Give two metres, or None; a third one, the height, may stand behind them."""
        found = self._figures(key, _metres, 2, 3)
        return (found[0], found[1]) if found else None

    def pixel(self, key: str) -> tuple[int, int] | None:
        """Give two whole numbers from 0 to 99,999, or None."""
        found = self._figures(key, _pixels, 2)
        return (found[0], found[1]) if found else None

    def _figures(self, key: str, read: Callable[[Node], T | None], *counts: int) -> list[T]:
        """Give the figures of a list that holds one of these counts, none where it doesn't."""
        node = self.node(key)
        if node is None:
            return []
        figures = [read(item) for item in node.items] if isinstance(node, Items) else []
        found = [f for f in figures if f is not None]
        if len(figures) == len(found) and len(found) in counts:
            return found
        self.wrong(key, node)
        return []

    def entries(self, key: str) -> tuple[tuple[Text, Node], ...]:
        """Give the entries of a table of keys."""
        node = self.node(key)
        assert node is None or isinstance(node, Entries)
        return node.entries if node is not None else ()


def _metres(node: Node) -> float | None:
    if not isinstance(node, Text):
        return None
    text = node.value.removesuffix("m").strip().replace(",", ".")
    try:
        figure = float(text)
    except ValueError:
        return None
    return figure if math.isfinite(figure) and abs(figure) <= 100_000 else None


def _pixels(node: Node) -> int | None:
    if isinstance(node, Text) and re.fullmatch(r"[0-9]{1,5}", node.value):
        return int(node.value)
    return None


class Names:
    """The names of one name space: who has them, and where."""

    def __init__(self, findings: list[Finding]) -> None:
        self.findings = findings
        self.kept: dict[str, tuple[str, str, Where]] = {}

    def add(self, key: Text, what: str) -> str | None:
        """Give the name if it may be one and is free; else note why not and give None."""
        name = normal(key.value)
        if (problem := wrong_with_name(name)) is not None:
            text = f"{what} {name!r}: {problem}"
            self.findings.append(rules.BAD_NAME.finding(what=text, where=key.where))
            # Gone on with without its wrong marks, so that whatever names it is not told as well.
            name = allowed(name)
            if wrong_with_name(name) is not None:
                return None
        if (before := self.kept.get(folded(name))) is not None:
            text = f"{name!r} names a {what} here, but already a {before[1]}"
            where = (key.where, before[2])
            self.findings.append(rules.NAME_TWICE.finding(what=text, where=where, of=(name,)))
            return None
        self.kept[folded(name)] = (name, what, key.where)
        return name

    def find(self, text: str, *whats: str) -> str | None:
        """Give the name as its owner spells it, if one of `whats` has it."""
        found = self.kept.get(folded(text))
        return found[0] if found and (not whats or found[1] in whats) else None

    def what(self, text: str) -> str | None:
        """Say what has the name: place, unit, zone, list …; None if nothing has."""
        found = self.kept.get(folded(text))
        return found[1] if found else None

    def known(self, whats: Iterable[str]) -> Iterable[str]:
        """Give all names of those sorts."""
        wanted = set(whats)
        return (name for name, what, _ in self.kept.values() if what in wanted)

    def look_up(self, word: Text, *whats: str, by: str) -> str | None:
        """Give the name as its owner spells it, or note that `by` names nothing we know."""
        if (found := self.find(word.value, *whats)) is not None:
            return found
        sorts = " or ".join(whats)
        near = near_word(self.findings, word.value, self.known(whats))
        hint = f"; did you mean {near!r}?" if near else ""
        other = self.what(word.value)
        is_other = f" (it is a {other})" if other else ""
        what = f"{by} names {word.value!r}, which is no {sorts}{is_other}{hint}"
        do = f"write {near!r}, or add a {whats[0]} of that name" if near else None
        finding = rules.UNKNOWN_NAME.finding(what=what, where=word.where, of=(word.value,), do=do)
        self.findings.append(finding)
        return None
