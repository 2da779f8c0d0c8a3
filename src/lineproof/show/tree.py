"""YAML as a tree that remembers where each word stands."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

import yaml

from lineproof.base.finding import Finding
from lineproof.base.names import folded
from lineproof.base.where import Where
from lineproof.show import rules
from lineproof.show.found import Found

#: Limits on what a hostile or mistaken file may cost us.
MOST_BYTES = 4_000_000
MOST_DEPTH = 24
MOST_NODES = 100_000
MOST_LETTERS = 2_000


@dataclass(frozen=True, kw_only=True)
class Text:
    """A word or number as written; what it means is for whoever asked for it."""

    value: str
    where: Where
    quoted: bool = False


@dataclass(frozen=True, kw_only=True)
class Items:
    """A list."""

    items: tuple[Node, ...]
    where: Where


@dataclass(frozen=True, kw_only=True)
class Entries:
    """A table of keys, in the order written."""

    entries: tuple[tuple[Text, Node], ...]
    where: Where

    def get(self, key: str) -> Node | None:
        """Give the value of `key`, however it is spelled in capitals, or None."""
        return next((value for name, value in self.entries if folded(name.value) == key), None)


Node = Text | Items | Entries


def shortened(text: Text, findings: list[Finding]) -> Text:
    """Give the text, or its beginning if it is longer than any word or note; that is found."""
    if len(text.value) <= MOST_LETTERS:
        return text
    what = f"{len(text.value):,} letters stand here; at most {MOST_LETTERS:,} are read"
    findings.append(rules.TOO_LARGE.finding(what=what, where=text.where))
    return replace(text, value=text.value[:MOST_LETTERS])


class _Bad(Exception):
    """A file we stop reading; holds the finding."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.what)
        self.finding = finding


@contextmanager
def no_collecting() -> Iterator[None]:
    """Keep the garbage collector from looking at live nodes: half the time of a large show."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def read_tree(data: bytes, *, file: str) -> tuple[Entries | None, list[Finding]]:
    """Give the file's tree and what was found; no tree when it is no YAML table at all.

    Anchors and aliases, second documents and tags are refused; a key that stands twice is a
    finding and the first one counts.
    """
    if len(data) > MOST_BYTES:
        what = f"{file} holds {len(data):,} bytes; at most {MOST_BYTES:,} are read"
        return None, [rules.TOO_LARGE.finding(what=what, where=Where(file=file))]
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        what = f"{file} is not UTF-8: byte {data[error.start]:#04x} in row {row}"
        return None, [rules.NOT_YAML.finding(what=what, where=Where(file=file, row=row))]
    builder = _Builder(file)
    try:
        root = builder.build(text)
    except _Bad as bad:
        return None, [*builder.findings, bad.finding]
    if isinstance(root, Entries):
        return root, builder.findings
    what = f"{file} holds no keys"
    return None, [
        *builder.findings,
        rules.NOT_YAML.finding(what=what, where=Where(file=file, row=1)),
    ]


class _Builder:
    def __init__(self, file: str) -> None:
        self.file = file
        self.findings: list[Finding] = Found()
        self.nodes = 0

    def build(self, text: str) -> Node | None:
        loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
        try:
            events = iter(yaml.parse(text, Loader=loader))
            root: Node | None = None
            for event in events:
                if isinstance(event, yaml.DocumentStartEvent):
                    if root is not None:
                        raise self.bad("a second document begins; a show is one", event)
                    root = self.node(next(events), events, 0)
            return root
        except yaml.YAMLError as error:
            raise self.not_yaml(error) from None
        except RecursionError:
            what = f"{self.file} is nested too deep"
            raise _Bad(rules.TOO_LARGE.finding(what=what, where=Where(file=self.file))) from None

    def where(self, event: yaml.Event) -> Where:
        mark = event.start_mark
        if mark is None:
            return Where(file=self.file)
        return Where(file=self.file, row=mark.line + 1, column=mark.column + 1)

    def bad(self, what: str, event: yaml.Event) -> _Bad:
        return _Bad(rules.NOT_YAML.finding(what=what, where=self.where(event)))

    def not_yaml(self, error: yaml.YAMLError) -> _Bad:
        mark = getattr(error, "problem_mark", None)
        problem = getattr(error, "problem", None) or str(error)
        where = Where(file=self.file, row=1)
        if mark is not None:
            where = Where(file=self.file, row=mark.line + 1, column=mark.column + 1)
        return _Bad(
            rules.NOT_YAML.finding(what=f"this can't be read as YAML: {problem}", where=where)
        )

    def node(self, event: yaml.Event, events: Iterator[yaml.Event], depth: int) -> Node:
        self.nodes += 1
        if depth > MOST_DEPTH or self.nodes > MOST_NODES:
            most = f"{MOST_DEPTH} levels" if depth > MOST_DEPTH else f"{MOST_NODES:,} entries"
            what = f"{self.file} holds more than {most}"
            raise _Bad(rules.TOO_LARGE.finding(what=what, where=self.where(event)))
        if getattr(event, "anchor", None) is not None:
            raise self.bad("anchors and aliases (& and *) are not read: write the words out", event)
        if getattr(event, "tag", None) not in (None, "!"):
            raise self.bad("tags (!) are not read", event)
        if isinstance(event, yaml.ScalarEvent):
            quoted = event.style in ("'", '"')
            text = Text(value=event.value.strip(), where=self.where(event), quoted=quoted)
            return shortened(text, self.findings)
        if isinstance(event, yaml.SequenceStartEvent):
            return self.items(event, events, depth)
        if isinstance(event, yaml.MappingStartEvent):
            return self.entries(event, events, depth)
        raise self.bad("anchors and aliases (& and *) are not read: write the words out", event)

    def items(self, start: yaml.Event, events: Iterator[yaml.Event], depth: int) -> Items:
        items: list[Node] = []
        while not isinstance(event := next(events), yaml.SequenceEndEvent):
            items.append(self.node(event, events, depth + 1))
        return Items(items=tuple(items), where=self.where(start))

    def entries(self, start: yaml.Event, events: Iterator[yaml.Event], depth: int) -> Entries:
        entries: list[tuple[Text, Node]] = []
        seen: dict[str, Where] = {}
        while not isinstance(event := next(events), yaml.MappingEndEvent):
            key = self.node(event, events, depth + 1)
            value = self.node(next(events), events, depth + 1)
            if not isinstance(key, Text):
                raise self.bad("a key must be a word", event)
            if (before := seen.get(folded(key.value))) is not None:
                what = f"{key.value!r} stands twice here; the first one counts"
                self.findings.append(rules.KEY_TWICE.finding(what=what, where=(key.where, before)))
                continue
            seen[folded(key.value)] = key.where
            entries.append((key, value))
        return Entries(entries=tuple(entries), where=self.where(start))
