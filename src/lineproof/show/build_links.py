"""Words by which one thing names another: what a zone holds, what stands in for what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Side, SpotError
from lineproof.kit.kinds import Kit
from lineproof.show import rules
from lineproof.show.build_ends import Ground, silent
from lineproof.show.build_lines import Rows
from lineproof.show.build_pins import spot_named
from lineproof.show.ends import EndError, read_end
from lineproof.show.fields import Fields, Names, words_in
from lineproof.show.found import near_word
from lineproof.show.model import Act, Unit
from lineproof.show.tree import Text

#: Who changes over, besides `changeover:unit`.
_BY = ("hand", "end")
_UNITS = ("place", "unit")
_ENDS = ("place", "unit", "zone", "list")


def known_groups(
    top: Fields,
    key: str,
    groups: Mapping[str, tuple[str, ...]],
    names: Names,
    units: Mapping[str, Unit],
) -> dict[str, tuple[str, ...]]:
    """Give zones or lists; one that names nothing that sounds is told once, and holds nothing.

    The lines that go there are then not read, rather than planned without that end.
    """
    written = {folded(text.value): words_in(node) for text, node in top.entries(key)}
    known = {}
    for name, words in groups.items():
        title = f"{key.removesuffix('s')} {name!r}"
        # Under a name that can't be one, and was mended in reading, nothing is found again.
        its = written.get(folded(name), ())
        # A word that stands there often is looked up, and told, once.
        once: dict[str, Text] = {}
        for word in its:
            once.setdefault(word.value, word)
        unknown = [w for w in once.values() if not _is_known(w, title, names, units)]
        known[name] = () if unknown else words
    return known


def _is_known(word: Text, title: str, names: Names, units: Mapping[str, Unit]) -> bool:
    try:
        ends = read_end(word, {})
    except EndError as error:
        what = f"{title}: {error}"
        names.findings.append(rules.WRONG_VALUE.finding(what=what, where=word.where))
        return False
    members = (member.name for end in ends for member in end.members)
    # All of them are looked at, so that every one that is wrong is told.
    sounding = [_sounds(Text(value=m, where=word.where), title, names, units) for m in members]
    return all(sounding)


def _sounds(word: Text, title: str, names: Names, units: Mapping[str, Unit]) -> bool:
    name = names.look_up(word, *_UNITS, by=title)
    unit = units.get(name) if name is not None else None
    if unit is not None and (problem := silent(unit, starts=False)):
        what = f"{title} names {name!r}: {problem}"
        where = (word.where, unit.where)
        names.findings.append(rules.NO_WAY.finding(what=what, where=where, of=(unit.name,)))
        return False
    return name is not None


def acts_named(fields: Fields, key: str, acts: tuple[Act, ...]) -> tuple[str, ...]:
    """Give the acts under a key as `acts` spells them; one that isn't there is found."""
    known = {folded(act.name): act.name for act in acts}
    found = []
    for word in fields.names(key):
        if (name := known.get(folded(word.value))) is not None:
            found.append(name)
            continue
        hint = _hint(fields, word.value, known.values())
        what = f"{key} of {fields.title} names act {word.value!r}, which is not in `acts`{hint}"
        finding = rules.UNKNOWN_ACT.finding(what=what, where=word.where, of=(word.value,))
        fields.findings.append(finding)
    return tuple(found)


def covered(fields: Fields, names: Names, kit: Kit) -> tuple[str, ...]:
    """Give what a spare can stand in for: units, or every unit of a kind."""
    kinds = {folded(kind) for kind in kit.kinds}
    for word in fields.names("covers"):
        if folded(word.value) not in kinds:
            names.look_up(word, "unit", by=f"covers of {fields.title}")
    return tuple(word.value for word in fields.names("covers"))


def changes_over(fields: Fields, names: Names) -> str:
    """Give who changes over: hand, end, or changeover:unit of a unit that is there."""
    text = fields.text("by")
    head, colon, unit = text.partition(":")
    if folded(head) == "changeover" and colon:
        word = Text(value=unit, where=fields.at("by"))
        names.look_up(word, "unit", by=f"by of {fields.title}")
    elif text and folded(text) not in _BY:
        what = f"by of {fields.title} is {text!r}; expected hand, end or changeover:unit"
        finding = rules.UNKNOWN_NAME.finding(what=what, where=fields.at("by"), of=(text,))
        fields.findings.append(finding)
    return text


def check_links(rows: Rows, ground: Ground) -> None:
    """Find what the rows of lines name that isn't there: lines, ends and sockets."""
    keys = {line.key.same(): line.key for line in rows.lines}
    keys |= {key.same(): key for key in rows.unread}
    for key, fields in rows.fields.items():
        for word in ("standby", "back-to"):
            _line_named(fields, word, key, keys)
        for end in fields.names("never"):
            bare = Text(value=end.value.partition(":")[0], where=end.where)
            ground.names.look_up(bare, *_ENDS, by=f"never of {fields.title}")
        for socket in fields.names("also"):
            spot_named(socket, Side.IN, ground, f"also of {fields.title}")
        changes_over(fields, ground.names)


def _line_named(
    fields: Fields, word: str, key: LineKey, keys: Mapping[tuple[str, str], LineKey]
) -> None:
    text = fields.text(word)
    if not text:
        return
    try:
        named = LineKey.parse(text)
    except SpotError as error:
        fields.wrong(word, fields.nodes[word], str(error))
        return
    same_act = replace(named, act=named.act or key.act)
    if named.same() not in keys and same_act.same() not in keys:
        hint = _hint(fields, text, map(str, keys.values()))
        what = f"{word} of {fields.title} names line {text!r}, which isn't in the list{hint}"
        finding = rules.UNKNOWN_NAME.finding(what=what, where=fields.at(word), of=(text,))
        fields.findings.append(finding)


def _hint(fields: Fields, text: str, known: Iterable[str]) -> str:
    near = near_word(fields.findings, text, known)
    return f"; did you mean {near!r}?" if near else ""
