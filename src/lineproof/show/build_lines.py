"""From rows to lines: who each is, where it starts, every end, its other half."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from lineproof.base.finding import Finding
from lineproof.base.names import folded
from lineproof.base.rule import Rule
from lineproof.base.spot import LineKey, wrong_with_number
from lineproof.base.where import Where
from lineproof.kit.kinds import Kit
from lineproof.kit.load import find_source
from lineproof.show import rules, words
from lineproof.show.build_ends import Ground, line_ends, line_starts
from lineproof.show.build_pairs import fold_stereo, with_pairs
from lineproof.show.fields import Fields
from lineproof.show.found import near_word, stops_in
from lineproof.show.model import Line, Need
from lineproof.show.table_model import Table
from lineproof.show.tree import Entries


@dataclass(frozen=True, kw_only=True)
class Record:
    """One row of a list, with its defaults already in."""

    entries: Entries
    extra: Mapping[str, str] = field(default_factory=dict)
    #: Keys that the whole list lacks, which is told once: its rows can't be read.
    lacks: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Rows:
    """What the rows gave: lines in order, keys of rows that can't be read, each line's fields."""

    lines: tuple[Line, ...]
    unread: tuple[LineKey, ...]
    fields: Mapping[LineKey, Fields]


#: What every row must say, and the rule for a row that doesn't.
_NEEDED = (
    ("number", rules.MISSING_KEY),
    ("from", rules.NO_START),
    ("to", rules.NO_END),
)


def lacking_told_once(
    records: list[Record], table: Table | None, findings: list[Finding]
) -> list[Record]:
    """Give the rows of a list; what not one of them says is found once, at its headings.

    A heading that is misspelt or gone is one mistake, not one in every row.
    """
    if table is None:
        return records
    slips = {slip.name for slip in table.slips}
    lacks = [
        (key, rule)
        for key, rule in _NEEDED
        if (len(records) > 1 or key in slips) and not _is_said(key, records)
    ]
    for key, rule in lacks:
        lacking(table, key, rule, findings)
    keys = frozenset(key for key, _ in lacks)
    return [replace(record, lacks=keys) for record in records]


def lacking(table: Table, key: str, rule: Rule, findings: list[Finding]) -> None:
    """Find that no row of a table says what each must: at the heading that may be misspelt."""
    what = f"no row of {table.file} has a {key!r}"
    slip = next((slip for slip in table.slips if slip.name == key), None)
    if slip is None:
        what += "; expected a column of that heading"
        findings.append(rule.finding(what=what, where=table.header))
        return
    what += f", and the heading {slip.text!r} is none we know; did you mean {slip.word!r}?"
    do = f"write {slip.word!r} over the column"
    findings.append(rule.finding(what=what, where=slip.where, do=do))


def _is_said(key: str, records: list[Record]) -> bool:
    return any(record.entries.get(key) is not None for record in records)


def build_lines(records: list[Record], ground: Ground, kit: Kit) -> Rows:
    """Give the lines of all rows; a row that can't be read gives findings and its key."""
    lines: list[Line] = []
    unread: list[LineKey] = []
    fields_of: dict[LineKey, Fields] = {}
    taken: dict[tuple[str, str], Line] = {}
    for record in records:
        before = stops_in(ground.findings)
        fields = Fields(record.entries, words.LINE, ground.findings, title="line", free=True)
        fields.refused |= record.lacks
        fields.broken = bool(record.lacks)
        read = _lines_of_row(fields, record, ground, kit)
        _find_twice(read, taken, ground.findings)
        for line in read:
            if taken.setdefault(line.key.same(), line) is not line:
                continue
            if fields.broken or stops_in(ground.findings) > before:
                unread.append(line.key)
            else:
                lines.append(line)
                fields_of[line.key] = fields
    lines.sort(key=lambda x: x.key.sort_key())
    paired = with_pairs(lines, unread, fields_of, ground.findings)
    return Rows(lines=tuple(paired), unread=tuple(unread), fields=fields_of)


def _find_twice(
    read: list[Line], taken: Mapping[tuple[str, str], Line], findings: list[Finding]
) -> None:
    """Find the lines of one row that an earlier row has taken; a pair is told once."""
    others = [(x, taken[x.key.same()]) for x in read if x.key.same() in taken]
    if others:
        twice = [f"line {x.key} stands twice: {o.name!r} and {x.name!r}" for x, o in others]
        where = (others[0][0].where, *(other.where for _, other in others))
        of = tuple(str(line.key) for line, _ in others)
        what = "; ".join(twice)
        findings.append(rules.NUMBER_TWICE.finding(what=what, where=where, of=of))


def _lines_of_row(fields: Fields, record: Record, ground: Ground, kit: Kit) -> list[Line]:
    number = fields.text("number")
    if not number:
        return []
    fields.title = f"line {number}"
    halves = [part.strip() for part in number.split("/")]
    act = fields.name("act")
    act = _known_act(act, number, fields, ground)
    keys = []
    for half in halves:
        if (problem := wrong_with_number(half)) is not None:
            fields.wrong("number", fields.nodes["number"], f"{half!r}: {problem}")
            return []
        keys.append(LineKey(act=act, number=half))
    stereo = fold_stereo(fields)
    if len(keys) == 1 and stereo == "both":
        keys = [replace(keys[0], number=f"{halves[0]}L"), replace(keys[0], number=f"{halves[0]}R")]
    if len({key.same() for key in keys}) < len(keys):
        fields.wrong("number", fields.nodes["number"], f"{number!r} holds one number twice")
        return []
    if len(keys) > 2:
        fields.wrong("number", fields.nodes["number"], f"{number!r} holds {len(keys)} numbers")
        return []
    line = _line(keys[0], fields, record, ground, kit)
    if len(keys) == 1:
        return [line]
    return _two_halves(line, keys, fields, ground)


def _known_act(act: str, number: str, fields: Fields, ground: Ground) -> str:
    """Give the act as the show spells it; one that a show with acts doesn't name is found.

    The row can't be read then, and keeps the decisions it had.
    """
    if act and ground.acts and folded(act) not in ground.acts:
        near = near_word(ground.findings, act, ground.acts.values())
        hint = f"; did you mean {near!r}?" if near else ""
        what = f"line {number} belongs to act {act!r}, which is not in `acts`{hint}"
        of = (str(LineKey(act=act, number=number)),)
        ground.findings.append(rules.UNKNOWN_ACT.finding(what=what, where=fields.at("act"), of=of))
    return ground.acts.get(folded(act), act)


def _two_halves(line: Line, keys: list[LineKey], fields: Fields, ground: Ground) -> list[Line]:
    left, right = keys
    what = f"line {fields.text('number')} was read as two lines, {left.number} and {right.number}"
    where = fields.at("number")
    ground.findings.append(rules.SPLIT_NUMBER.finding(what=what, where=where, of=(str(left),)))
    return [
        replace(line, key=left, name=f"{line.name} L", pair=right),
        replace(line, key=right, name=f"{line.name} R", pair=left),
    ]


def _line(key: LineKey, fields: Fields, record: Record, ground: Ground, kit: Kit) -> Line:
    source_text = undecided_as_blank(fields.text("source"))
    source = find_source(kit, source_text) if source_text else None
    if source_text and source is None:
        what = f"source of line {key}: {source_text!r} is no source the catalogue knows"
        where = fields.at("source")
        ground.findings.append(rules.UNKNOWN_SOURCE.finding(what=what, where=where, of=(str(key),)))
    name = fields.text("name")
    return Line(
        key=key,
        name=name or f"line {key.number}",
        label=fields.text("label"),
        starts=line_starts(fields, ground),
        ends=line_ends(fields, ground),
        source=source,
        source_text=source_text,
        phantom=fields.yes_no("phantom"),
        group=fields.text("group"),
        need=Need(fields.choice("need")),
        via=fields.choice("via"),
        minus=tuple(w.value for w in fields.names("minus")),
        contains=tuple(w.value for w in fields.names("with")),
        never=tuple(w.value for w in fields.names("never")),
        private=bool(fields.yes_no("private")),
        standby=fields.text("standby"),
        by=fields.text("by"),
        back_to=fields.text("back-to"),
        also=tuple(w.value for w in fields.names("also")),
        role=fields.text("role"),
        spread=fields.text("spread"),
        content=fields.choice("content"),
        stand=fields.text("stand"),
        colour=fields.text("colour"),
        note=fields.text("note"),
        extra={**fields.extra, **record.extra},
        where=_row_of(fields),
    )


def _row_of(fields: Fields) -> Where:
    return fields.at("number")


def undecided_as_blank(text: str) -> str:
    """Give "" for the list's words for 'not yet known' and 'none', else the text."""
    return "" if folded(text) in words.UNDECIDED | words.NOTHING else text
