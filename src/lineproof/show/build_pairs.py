"""Which two lines are a pair, and which of them is the left half."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.finding import Finding
from lineproof.base.names import folded
from lineproof.base.spot import LineKey, SpotError
from lineproof.show import rules, words
from lineproof.show.build_ends import half_of
from lineproof.show.fields import Fields
from lineproof.show.model import Line


def fold_stereo(fields: Fields) -> str:
    """Give 'both' for a row that is a pair, 'left' or 'right' for one half, else ''."""
    word = folded(fields.text("stereo"))
    if word in ("l", "left"):
        return "left"
    if word in ("r", "right"):
        return "right"
    if word in words.YES or word in ("stereo", "st", "pair", "2"):
        return "both"
    if word and word not in words.NO and word not in words.NOTHING and word not in ("mono", "m"):
        fields.wrong("stereo", fields.nodes["stereo"], f"{word!r} can't be read")
    return ""


def with_pairs(
    lines: list[Line],
    unread: list[LineKey],
    fields_of: Mapping[LineKey, Fields],
    findings: list[Finding],
) -> list[Line]:
    """Give the lines with their other halves; what hangs together and is no pair is found once."""
    by_same = {line.key.same(): line for line in lines}
    skipped = {key.same() for key in unread}
    named: dict[LineKey, LineKey] = {}
    for line in lines:
        other = _pair_named(line, fields_of[line.key], by_same, skipped, findings)
        if other is not None:
            named[line.key] = other
    # One row naming the other is enough.
    for key, other in list(named.items()):
        named.setdefault(other, key)
    broken = _broken_pairs(named)
    findings += [_pair_broken(knot, named, fields_of) for knot in broken]
    apart = {key for knot in broken for key in knot}
    return [
        _paired(line, None if line.key in apart else named.get(line.key), fields_of)
        for line in lines
    ]


def _broken_pairs(named: Mapping[LineKey, LineKey]) -> list[list[LineKey]]:
    """Give the lines that hang together by their pairs and are not just two, by number."""
    beside: dict[LineKey, set[LineKey]] = {}
    for key, other in named.items():
        beside.setdefault(key, set()).add(other)
        beside.setdefault(other, set()).add(key)
    knots, seen = [], set[LineKey]()
    for key in sorted(beside, key=LineKey.sort_key):
        knot, waiting = set[LineKey](), [key]
        while waiting:
            if (one := waiting.pop()) not in seen:
                seen.add(one)
                knot.add(one)
                waiting += beside[one]
        if knot and len(knot) != 2:
            knots.append(sorted(knot, key=LineKey.sort_key))
    return knots


#: Lines that a finding about a broken pair names; the others are counted.
_MOST_NAMED = 10


def _pair_broken(
    knot: list[LineKey], named: Mapping[LineKey, LineKey], fields_of: Mapping[LineKey, Fields]
) -> Finding:
    """Tell of lines that can't all be pairs, first those that come into a pair from outside."""
    if len(knot) == 1:
        what = f"line {knot[0]} is paired with itself"
    else:
        shown = [words for key in knot if (words := _said_of(key, named, fields_of))]
        more = f" and {len(shown) - _MOST_NAMED:,} more" if len(shown) > _MOST_NAMED else ""
        what = f"a pair is two lines, not {len(knot):,}: " + ", ".join(shown[:_MOST_NAMED]) + more
    outside = [key for key in knot if named[named[key]] != key and _names(key, fields_of)]
    first = [key for key in outside if named[named[named[key]]] == named[key]]
    order = dict.fromkeys((*first, *outside, *knot))
    where = tuple(fields_of[key].at("pair") for key in order)[:_MOST_NAMED]
    return rules.PAIR_BROKEN.finding(what=what, where=where, of=tuple(map(str, knot)))


def _names(key: LineKey, fields_of: Mapping[LineKey, Fields]) -> bool:
    return fields_of[key].has("pair")


def _said_of(
    key: LineKey, named: Mapping[LineKey, LineKey], fields_of: Mapping[LineKey, Fields]
) -> str:
    if _names(key, fields_of):
        return f"{key} names {fields_of[key].text('pair')}"
    other = named[key]
    in_one_row = fields_of[key] is fields_of[other] and key.sort_key() < other.sort_key()
    return f"{key} and {other} are one row" if in_one_row else ""


def _pair_named(
    line: Line,
    fields: Fields,
    by_same: Mapping[tuple[str, str], Line],
    skipped: set[tuple[str, str]],
    findings: list[Finding],
) -> LineKey | None:
    text = fields.text("pair")
    if line.pair is not None or not text:
        return line.pair
    try:
        key = LineKey.parse(text)
    except SpotError as error:
        fields.wrong("pair", fields.nodes["pair"], str(error))
        return None
    if not key.act:
        key = replace(key, act=line.key.act)
    other = by_same.get(key.same())
    if other is None and key.same() not in skipped:
        what = f"line {line.key} is paired with line {text}, which isn't in the list"
        where = fields.at("pair")
        findings.append(rules.PAIR_BROKEN.finding(what=what, where=where, of=(str(line.key),)))
    return other.key if other is not None else None


def _paired(line: Line, other: LineKey | None, fields_of: Mapping[LineKey, Fields]) -> Line:
    if other is None:
        return replace(line, pair=None)
    left = _is_left(line.key, other, fields_of)
    return replace(line, pair=other, left=left, ends=half_of(line.ends, left=left))


def _is_left(key: LineKey, other: LineKey, fields_of: Mapping[LineKey, Fields]) -> bool:
    """Say whether `key` is the left half: as the list says, else the one that sorts first."""
    mine, theirs = fold_stereo(fields_of[key]), fold_stereo(fields_of[other])
    if mine in ("left", "right"):
        return mine == "left"
    if theirs in ("left", "right"):
        return theirs == "right"
    return key.sort_key() < other.sort_key()
