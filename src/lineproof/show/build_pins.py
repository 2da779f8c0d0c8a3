"""Decisions made by hand: the columns `socket`, `channel` and `bus`, and `pins:`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from lineproof.base.finding import Finding
from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.base.where import Where
from lineproof.show import rules, words
from lineproof.show.build_ends import Ground, starts_inside
from lineproof.show.build_room import plain_words
from lineproof.show.fields import Fields, words_in
from lineproof.show.found import near_word
from lineproof.show.found_spots import Equipment, FoundRow, found_pins, over_the_list
from lineproof.show.model import Line, Pin, Unit
from lineproof.show.tree import Entries, Node, Text


def build_pins(
    lines: tuple[Line, ...],
    fields_of: Mapping[LineKey, Fields],
    named: Iterable[tuple[Text, Node]],
    ground: Ground,
    found: Sequence[FoundRow] = (),
) -> tuple[Pin, ...]:
    """Give all pins, by line and spot; two lines on one spot are a finding.

    What the crew has `found` wins over what the list says.
    """
    pins: list[Pin] = []
    for line in lines:
        pins += _column_pins(line, fields_of[line.key], ground)
    pins += _named_pins(lines, named, ground)
    once: dict[tuple[LineKey, Spot], Pin] = {}
    for pin in pins:
        once.setdefault((pin.line, pin.spot), pin)
    equipment = Equipment(units=ground.units, rate_hz=ground.rate_hz)
    crew, not_used = found_pins(found, lines, equipment)
    kept, otherwise = over_the_list(list(once.values()), crew, lines, equipment)
    ground.findings.extend((*not_used, *otherwise))
    unique = sorted(kept, key=lambda p: (p.line.sort_key(), p.spot.sort_key()))
    return tuple(_without_twice(unique, ground.findings))


def _without_twice(pins: list[Pin], findings: list[Finding]) -> list[Pin]:
    """Give the pins without those that want a spot which is pinned already; those are found.

    The first one counts, so that the rest of the show can be planned and looked at.
    """
    #: The first pin of each spot in each act; under None whatever the act.
    first: dict[tuple[Spot, str | None], Pin] = {}
    kept: list[Pin] = []
    for pin in pins:
        act = pin.line.act
        # A line without an act is there all night; told once, however many want the spot.
        others = (first.get((pin.spot, a)) for a in ((act, "") if act else (None,)))
        other = next((other for other in others if other is not None), None)
        if other is not None:
            what = f"lines {other.line} and {pin.line} are both pinned to {pin.spot}"
            of = (str(pin.spot),)
            where = (pin.where, other.where)
            findings.append(rules.PINNED_TWICE.finding(what=what, where=where, of=of))
        else:
            kept.append(pin)
        first.setdefault((pin.spot, act), pin)
        first.setdefault((pin.spot, None), pin)
    return kept


# -- columns -----------------------------------------------------------------------------------


def _column_pins(line: Line, fields: Fields, ground: Ground) -> list[Pin]:
    pins = []
    for key, units in _columns(line, ground):
        for word in fields.names(key):
            pin = _column_pin(line, word, units, fields, key, ground)
            if pin is not None:
                pins.append(pin)
    return pins


def _columns(line: Line, ground: Ground) -> tuple[tuple[str, dict[str, Side]], ...]:
    """Give, per column, the side that a bare number means on each unit."""
    starts = [ground.units[t.name] for t in line.starts if t.name in ground.units]
    inside = [u for u in starts if starts_inside(u.kind)]
    ends = [ground.units[m.name] for _, m in line.end_members() if m.name in ground.units]
    arriving = {u.name: Side.STRIP if u.kind.strips else Side.RECEIVE for u in ends}
    leaving = {u.name: Side.SEND if u.kind.networked else Side.OUT for u in inside}
    plugged = dict.fromkeys(ground.units, Side.OUT if inside else Side.IN)
    return (("socket", plugged), ("channel", arriving), ("bus", leaving))


def _column_pin(
    line: Line,
    word: Text,
    sides: Mapping[str, Side],
    fields: Fields,
    key: str,
    ground: Ground,
) -> Pin | None:
    text = word.value
    if text.isdecimal():
        if key == "channel":
            mixers = [n for n, side in sides.items() if side is Side.STRIP]
            units = mixers or list(sides)
        else:
            units = list(sides)
        if len(units) != 1:
            problem = f"{text!r} doesn't say on which unit"
            fields.wrong(key, word, problem)
            return None
        text = f"{units[0]}:{text}"
    by_fold = {folded(name): side for name, side in sides.items()}
    sole = by_fold.get(folded(text.partition(":")[0]))
    spot = spot_named(Text(value=text, where=word.where), sole, ground, fields.title)
    return Pin(line=line.key, spot=spot, where=word.where) if spot is not None else None


def spot_named(word: Text, sole: Side | None, ground: Ground, title: str) -> Spot | None:
    """Give the spot a word names, if the unit has it; else None with a finding."""
    try:
        spot = Spot.parse(word.value, sole=sole)
    except SpotError as error:
        _bad_pin(f"{title}: {error}", word.where, ground.findings)
        return None
    unit = _unit(spot.unit, ground.units)
    if unit is None:
        near = near_word(ground.findings, spot.unit, ground.units)
        hint = f"; did you mean {near!r}?" if near else ""
        what = f"{title} is pinned to {word.value!r}, but there is no unit {spot.unit!r}{hint}"
        _bad_pin(what, word.where, ground.findings)
        return None
    count = unit.kind.count(spot.side, unit.rate_hz or ground.rate_hz)
    if spot.number > count:
        what = (
            f"{title} is pinned to {word.value!r}, but {unit.name} ({unit.kind.name}) has "
            f"{count or 'no'} {spot.side.value}"
        )
        _bad_pin(what, word.where, ground.findings)
        return None
    return Spot(unit=unit.name, side=spot.side, number=spot.number)


def _unit(name: str, units: Mapping[str, Unit]) -> Unit | None:
    if name in units:
        return units[name]
    return next((u for n, u in units.items() if folded(n) == folded(name)), None)


def _bad_pin(what: str, where: Where, findings: list[Finding]) -> None:
    findings.append(rules.BAD_PIN.finding(what=what, where=where))


# -- pins: ---------------------------------------------------------------------------------------


def _named_pins(
    lines: tuple[Line, ...], named: Iterable[tuple[Text, Node]], ground: Ground
) -> list[Pin]:
    keys = {line.key.same(): line.key for line in lines}
    pins = []
    for text, value in named:
        key = _line_key(text, keys, ground.findings)
        if not isinstance(value, Entries):
            what = f"pins of line {text.value!r} need keys with values, as in {{start: …}}"
            ground.findings.append(rules.WRONG_VALUE.finding(what=what, where=value.where))
        elif key is not None:
            pins += _pins_of_line(key, value, ground)
    return pins


def _line_key(
    text: Text, keys: Mapping[tuple[str, str], LineKey], findings: list[Finding]
) -> LineKey | None:
    try:
        key = keys.get(LineKey.parse(text.value).same())
    except SpotError:
        key = None
    if key is None:
        near = near_word(findings, text.value, map(str, keys.values()))
        hint = f"; did you mean {near!r}?" if near else ""
        what = f"pins names line {text.value!r}, which isn't in the list{hint}"
        findings.append(rules.UNKNOWN_NAME.finding(what=what, where=text.where, of=(text.value,)))
    return key


def _pins_of_line(key: LineKey, value: Entries, ground: Ground) -> list[Pin]:
    fields = Fields(value, words.PIN, ground.findings, title=f"pins of line {key}")
    spots = [("", word) for word in fields.names("start")]
    for end, node in fields.entries("ends"):
        plain_words(node, f"the pin of line {key} at {end.value!r}", ground.findings)
        spots += [(end.value, word) for word in words_in(node)]
    pins = []
    for part, word in spots:
        spot = spot_named(word, None, ground, f"line {key}")
        if spot is not None:
            pins.append(Pin(line=key, spot=spot, part=part, where=word.where))
    return pins
