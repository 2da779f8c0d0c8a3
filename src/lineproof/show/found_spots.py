"""What the crew has really done: `found.csv`, whose rows are pins that win over the list's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded, nearest
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.base.where import Where
from lineproof.kit.kinds import Does
from lineproof.show.build_ends import starts_inside
from lineproof.show.headings import Column
from lineproof.show.model import Line, Pin, Unit
from lineproof.show.table import Row, read_table

FOUND_FILE = "found.csv"
_BEGINNING = Where(file=FOUND_FILE)

#: The columns in the order in which a new file is begun. `name` knows the line again. A table's
#: key is its `number`, and so is ours, though people read and write `line`.
FOUND_COLUMNS: tuple[Column, ...] = (
    Column(name="number", synonyms=("line", "no")),
    Column(name="spot", synonyms=("socket",)),
    Column(name="at", synonyms=("time", "when")),
    Column(name="by", synonyms=("initials", "who")),
    Column(name="note"),
    Column(name="name"),
)

_PINNED = Example(
    lines="number,name,from,source,to,socket\n1,Kick,stage,dynamic mic,desk,box-1:in-3\n",
    found="line,spot,by\n1,box-1:in-3,ab\n",
)
FOUND_NOT_USED = Rule(
    name="found-not-used",
    grade=Grade.RISK,
    why="Somebody said where a line really is, and the plan can't follow.",
    do="look where the line is and say it again with `lineproof found`, or take the row out",
    source="Lineproof",
    fails=Example(found="line,spot,by\n7,box-1:in-3,ab\n"),
    passes=Example(found="line,spot,by\n1,box-1:in-3,ab\n"),
)
FOUND_OTHERWISE = Rule(
    name="found-otherwise",
    grade=Grade.NOTE,
    why="The list says what is no longer so; whoever reads only the list plugs it back.",
    do="correct the pin in the list, or move the plug and take the row out of found.csv",
    source="Lineproof",
    fails=Example(lines=_PINNED.lines, found="line,spot,by\n1,box-1:in-4,ab\n"),
    passes=_PINNED,
)
RULES: tuple[Rule, ...] = (FOUND_NOT_USED, FOUND_OTHERWISE)


@dataclass(frozen=True, kw_only=True)
class FoundRow:
    """One row as written: which line is really where, when and by whom."""

    line: str
    spot: str
    at: str = ""
    by: str = ""
    note: str = ""
    name: str = ""
    where: Where = _BEGINNING


@dataclass(frozen=True, kw_only=True)
class FoundPin:
    """A row that the plan follows, as a pin."""

    row: FoundRow
    pin: Pin


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """What spots there are: the units by name, at the show's rate."""

    units: Mapping[str, Unit]
    rate_hz: int

    def unit(self, name: str) -> Unit | None:
        """Give the unit of that name, without regard to case."""
        return next((u for n, u in self.units.items() if folded(n) == folded(name)), None)

    def count(self, unit: Unit, side: Side) -> int:
        """Give how many spots a unit has on a side."""
        return unit.kind.count(side, unit.rate_hz or self.rate_hz)

    def spots_of(self, unit: Unit) -> str:
        """Say in words which spots a unit has.

        As in "in-1 to in-16, out-1 to out-8".
        """
        counts = {side: self.count(unit, side) for side in Side}
        return ", ".join(f"{s.value}-1 to {s.value}-{n}" for s, n in counts.items() if n) or "none"


def read_found(folder: Path) -> tuple[tuple[FoundRow, ...], list[Finding]]:
    """Give the rows of `found.csv`, oldest first, none if there is no such file; and findings."""
    path = folder / FOUND_FILE
    if not path.is_file() or not path.resolve().is_relative_to(folder.resolve()):
        return (), []
    table, findings = read_table(path, file=FOUND_FILE, columns=FOUND_COLUMNS)
    rows = table.rows if table is not None else ()
    return tuple(_row(row) for row in rows if not row.crossed_out), findings


def _row(row: Row) -> FoundRow:
    return FoundRow(
        line=row.text("number"),
        spot=row.text("spot"),
        at=row.text("at"),
        by=row.text("by"),
        note=row.text("note"),
        name=row.text("name"),
        where=row.where,
    )


# -- what a row says -------------------------------------------------------------------------------


def line_named(text: str, lines: Iterable[Line]) -> Line | str:
    """Give the line of that number, or say why not; a number that only one act has will do."""
    by_key = {line.key.same(): line for line in lines}
    try:
        key = LineKey.parse(text)
    except SpotError as error:
        return str(error)
    alike = [line for line in by_key.values() if line.key.same()[1] == folded(key.number)]
    if key.same() in by_key:
        return by_key[key.same()]
    if not key.act and len(alike) == 1:
        return alike[0]
    if not key.act and alike:
        return f"line {text} is in several acts: say {' or '.join(str(x.key) for x in alike)}"
    near = nearest(text, [str(line.key) for line in by_key.values()])
    return f"there is no line {text!r}" + (f"; did you mean {near!r}?" if near else "")


def spot_named(text: str, line: Line, equipment: Equipment) -> Spot | str:
    """Give the spot as its unit spells it, or say why the line can't be there."""
    name = text.partition(":")[0]
    unit = equipment.unit(name)
    if unit is None:
        near = nearest(name, equipment.units)
        hint = f"; did you mean {near!r}?" if near else ""
        return f"there is no unit {name!r}{hint}"
    try:
        spot = Spot.parse(text, sole=_sole_side(line, unit, equipment))
    except SpotError as error:
        return f"{error}; {unit.name} has {equipment.spots_of(unit)}"
    if spot.number > equipment.count(unit, spot.side):
        return f"there is no {text}: {unit.name} has {equipment.spots_of(unit)}"
    return _can_be(line, Spot(unit=unit.name, side=spot.side, number=spot.number), equipment)


def _sole_side(line: Line, unit: Unit, equipment: Equipment) -> Side | None:
    """Give the side that a bare number means on the unit, None where it may be several."""
    inside = starts_in(line, equipment)
    if _ends_at(line, unit.name):
        hears = (Side.IN, Side.RECEIVE, Side.STRIP)
        sides = [side for side in hears if equipment.count(unit, side)]
        return sides[0] if len(sides) == 1 else None
    if not inside:
        return Side.IN
    if unit.name not in inside:
        return Side.OUT
    return Side.SEND if equipment.count(unit, Side.SEND) else Side.OUT


def starts_in(line: Line, equipment: Equipment) -> frozenset[str]:
    """Give the units inside which the line starts, none where it is plugged in."""
    units = [equipment.units[t.name] for t in line.starts if t.name in equipment.units]
    return frozenset(unit.name for unit in units if starts_inside(unit.kind))


def _ends_at(line: Line, name: str) -> bool:
    return any(member.name == name for _, member in line.end_members())


def _can_be(line: Line, spot: Spot, equipment: Equipment) -> Spot | str:
    unit = equipment.units[spot.unit]
    match spot.side:
        case Side.RECEIVE | Side.STRIP:
            why = _not_heard(line, unit)
        case Side.SEND:
            inside = starts_in(line, equipment)
            why = "" if unit.name in inside else f"doesn't start in {unit.name}"
        case Side.IN:
            why = _not_plugged_in(line, unit, equipment)
        case Side.OUT:
            why = _not_coming_out(line, unit, equipment)
    return f"line {line.key} ({line.title}) {why}" if why else spot


def _not_heard(line: Line, unit: Unit) -> str:
    if _ends_at(line, unit.name):
        return ""
    ends = " ".join(dict.fromkeys(member.name for _, member in line.end_members()))
    return f"doesn't go to {unit.name}, only to: {ends}"


def _not_plugged_in(line: Line, unit: Unit, equipment: Equipment) -> str:
    inside = starts_in(line, equipment)
    if _ends_at(line, unit.name):
        return ""
    if inside and not _by_cable(line, inside, equipment):
        return f"starts inside {' and '.join(sorted(inside))}"
    takes_in = equipment.count(unit, Side.SEND)
    return "" if takes_in else f"would end in {unit.name}, which sends nothing to the network"


def _not_coming_out(line: Line, unit: Unit, equipment: Equipment) -> str:
    if unit.name in starts_in(line, equipment):
        return ""
    if not equipment.count(unit, Side.RECEIVE):
        return f"can't come out of {unit.name}, which hears nothing from the network"
    return "" if _needs_lead(line, equipment) else "goes over the network only, out of no socket"


def _by_cable(line: Line, inside: frozenset[str], equipment: Equipment) -> bool:
    """Say whether a lead may go out of a unit in which the line starts, and into another."""
    sends = all(equipment.count(equipment.units[name], Side.SEND) for name in inside)
    return line.via == "cable" or not sends


def _needs_lead(line: Line, equipment: Equipment) -> bool:
    """Say whether the line comes out of a socket somewhere."""
    units = [equipment.units.get(member.name) for _, member in line.end_members()]
    hearing = [u for u in units if u and u.kind.does is not Does.BOX]
    networked = [u for u in hearing if equipment.count(u, Side.RECEIVE)]
    return line.via == "cable" or len(networked) < len(units)


def seat(line: Line, spot: Spot, equipment: Equipment) -> tuple[Side, str]:
    """Give what the line has only one of: a plug on that side, or what it has at that unit."""
    unit = equipment.units[spot.unit]
    if spot.side is Side.IN:
        # Where nothing goes on from, it is the far end's own socket, not the plug at the start.
        at_unit = not equipment.count(unit, Side.SEND)
    elif spot.side is Side.OUT:
        at_unit = spot.unit in starts_in(line, equipment) or _ends_at(line, spot.unit)
    else:
        at_unit = True
    return spot.side, spot.unit if at_unit else ""


def share(one: LineKey, other: LineKey) -> bool:
    """Say whether two lines may have one spot: those of two acts may, one after the other."""
    return bool(one.act and other.act and folded(one.act) != folded(other.act))


# -- what counts -----------------------------------------------------------------------------------


def found_pins(
    rows: Sequence[FoundRow], lines: Sequence[Line], equipment: Equipment
) -> tuple[tuple[FoundPin, ...], list[Finding]]:
    """Give the rows that count, newest first; and what was found about the others.

    The newest row of a line wins for each plug and channel, and the newest of a spot over others'.
    """
    by_key = {line.key.same(): line for line in lines}
    counts: dict[tuple[tuple[str, str], Side, str], FoundPin] = {}
    findings = []
    for row in reversed(rows):
        read = _read(row, by_key, equipment)
        if isinstance(read, str):
            findings.append(_not_used(row, read))
            continue
        place = (read.line.same(), *seat(by_key[read.line.same()], read.spot, equipment))
        if place in counts:
            continue
        taken = next((f for f in counts.values() if _clash(f.pin, read)), None)
        if taken is not None:
            findings.append(_not_used(row, f"line {taken.pin.line} was found there later"))
            continue
        counts[place] = FoundPin(row=row, pin=read)
    return tuple(counts.values()), findings


def _read(row: FoundRow, by_key: Mapping[tuple[str, str], Line], equipment: Equipment) -> Pin | str:
    line = line_named(row.line, by_key.values())
    if isinstance(line, str):
        return line
    if row.name and folded(row.name) != folded(line.name):
        return f"it was line {row.line} {row.name!r} then, and is {line.name!r} now"
    spot = spot_named(row.spot, line, equipment)
    if isinstance(spot, str):
        return spot
    return Pin(line=line.key, spot=spot, where=row.where)


def _clash(one: Pin, other: Pin) -> bool:
    return one.spot == other.spot and one.line != other.line and not share(one.line, other.line)


def _not_used(row: FoundRow, why: str) -> Finding:
    what = f"line {row.line} was found on {row.spot}, which the plan doesn't follow: {why}"
    return FOUND_NOT_USED.finding(what=what, where=row.where, of=(row.line, row.spot))


def over_the_list(
    pins: Sequence[Pin], found: Sequence[FoundPin], lines: Sequence[Line], equipment: Equipment
) -> tuple[list[Pin], list[Finding]]:
    """Give all pins that count, the crew's before the list's; and the list's that don't."""
    by_key = {line.key: line for line in lines}
    kept, findings = [f.pin for f in found], []
    for pin in pins:
        beaten = next((f for f in found if _beats(f.pin, pin, by_key[pin.line], equipment)), None)
        if beaten is None:
            kept.append(pin)
        elif beaten.pin.spot != pin.spot or beaten.pin.line != pin.line:
            findings.append(_otherwise(beaten, pin))
    return kept, findings


def _beats(found: Pin, pin: Pin, line: Line, equipment: Equipment) -> bool:
    if found.line == pin.line:
        return seat(line, found.spot, equipment) == seat(line, pin.spot, equipment)
    return _clash(found, pin)


def _otherwise(found: FoundPin, pin: Pin) -> Finding:
    by = f" ({found.row.by})" if found.row.by else ""
    what = f"line {found.pin.line} was found on {found.pin.spot}{by}; the list pins "
    what += f"line {pin.line} to {pin.spot}. What was found counts"
    where = (found.pin.where, pin.where)
    of = (str(found.pin.line), str(pin.spot))
    return FOUND_OTHERWISE.finding(what=what, where=where, of=of)
