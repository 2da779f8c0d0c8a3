"""Equipment of the show's own, or the catalogue's with a figure changed."""

from __future__ import annotations

import re

from lineproof.base.names import normal, wrong_with_name
from lineproof.base.where import Where
from lineproof.kit.kinds import Kind, Kit
from lineproof.kit.load import Mistake, kind_for_show
from lineproof.show import rules
from lineproof.show.fields import Fields
from lineproof.show.tree import Entries, Items, Node, Text

#: Kinds that one show describes at most; each may have a thousand sockets.
MOST_KINDS = 200
_WHOLE = re.compile(r"-?[1-9][0-9]{0,11}|0")
_FIGURE = re.compile(r"-?(?:[1-9][0-9]{0,11}|0)\.[0-9]{0,2}[1-9]")


def build_kit(top: Fields, kit: Kit) -> Kit:
    """Give the catalogue with the show's own kinds added; each mistake is found at its key."""
    kinds: dict[str, Kind] = dict(kit.kinds)
    written = top.entries("kinds")
    if len(written) > MOST_KINDS:
        what = f"{len(written):,} kinds stand here; at most {MOST_KINDS} are read"
        top.findings.append(rules.TOO_LARGE.finding(what=what, where=top.at("kinds")))
    for text, node in written[:MOST_KINDS]:
        name = normal(text.value)
        if (problem := wrong_with_name(name)) is not None:
            what = f"kind {name!r}: {problem}"
            top.findings.append(rules.BAD_NAME.finding(what=what, where=text.where))
            continue
        kind, mistakes = kind_for_show(Kit(kinds=kinds, sources=kit.sources), name, plain(node))
        for mistake in mistakes:
            where = where_of(node, mistake.path) or text.where
            what, do = told(name, mistake)
            top.findings.append(rules.WRONG_VALUE.finding(what=what, where=where, do=do))
        if kind is not None:
            kinds[name] = kind
    return Kit(kinds=kinds, sources=kit.sources)


def told(name: str, mistake: Mistake) -> tuple[str, str]:
    """Give what is wrong with a kind's key, and what to do."""
    return f"kind {name!r}: {mistake}", f"write {mistake.expected}"


def plain(node: Node) -> object:
    """Give the node as a catalogue file would hold it, numbers as numbers."""
    if isinstance(node, Entries):
        return {key.value: plain(value) for key, value in node.entries}
    if isinstance(node, Items):
        return [plain(item) for item in node.items]
    return _word(node)


def _word(text: Text) -> object:
    if text.quoted:
        return text.value
    # What would be printed otherwise than it stands, as a label '007', stays a text.
    if _WHOLE.fullmatch(text.value):
        return int(text.value)
    if _FIGURE.fullmatch(text.value):
        return float(text.value)
    return text.value


def where_of(node: Node, path: tuple[object, ...]) -> Where | None:
    """Give where the thing at `path` stands, or the nearest thing around it."""
    where: Where | None = None
    for step in path:
        where = node.where
        if isinstance(node, Entries):
            found = next(((k, v) for k, v in node.entries if k.value == str(step)), None)
            if found is None:
                break
            where, node = found[0].where, found[1]
        elif isinstance(node, Items) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
            where = node.where
        else:
            break
    return where
