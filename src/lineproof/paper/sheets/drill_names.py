"""How the sheets of the drill name things: faults, lines in ranges, ends, how long it takes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TypeVar

from lineproof.base.names import natural
from lineproof.base.spot import LineKey
from lineproof.drill.bearing import Arrival
from lineproof.graph.faults import CIRCUIT, DUCT, PLACE, RUN, SUPPLY, UNIT, Fault
from lineproof.paper.edition import Edition, title_of_act
from lineproof.paper.sheets.parts import title_of, unit_title
from lineproof.show.model import Line

T = TypeVar("T")


def broken(edition: Edition, fault: Fault) -> str:
    """Give what has happened, as on a card: "Box left (box-1) dead", "circuit stage off"."""
    return edition.words(f"fault.{fault.what}", **_parts(edition, fault))


def thing(edition: Edition, fault: Fault, *, short: bool = True) -> str:
    """Give what fails: "box-1", "circuit stage"; with its label where it need not be short."""
    if fault.what == UNIT:
        return fault.name if short else _titled(edition, UNIT, fault.name)
    what = "cable" if fault.what == RUN else fault.what
    return edition.words(f"thing.{what}", **_parts(edition, fault, short=short))


def _parts(edition: Edition, fault: Fault, *, short: bool = False) -> dict[str, str]:
    name, _, number = fault.name.partition("/") if fault.what == SUPPLY else (fault.name, "", "")
    return {"name": name if short else _titled(edition, fault.what, name), "number": number}


def _titled(edition: Edition, what: str, name: str) -> str:
    show = edition.show
    if what in (UNIT, SUPPLY):
        unit = show.units.get(name)
        return unit_title(unit) if unit is not None else name
    if what == PLACE:
        return title_of(edition, name)
    circuit = show.circuits.get(name) if what == CIRCUIT else None
    duct = show.ducts.get(name) if what == DUCT else None
    label = (circuit.label if circuit else "") or (duct.label if duct else "")
    return f"{label} ({name})" if label else name


def some(edition: Edition, names: Sequence[str], most: int) -> str:
    """Give the first names, and how many more there are."""
    more = len(names) - most
    told = ", ".join(names[:most])
    return told + (edition.words("drill.and-more", count=more) if more > 0 else "")


def line_title(edition: Edition, key: LineKey) -> str:
    """Give a line by act, number and name."""
    line = edition.line(key)
    return f"{key} {line.title}" if line is not None else str(key)


def lines_told(edition: Edition, lines: Sequence[Line], *, most: int = 12) -> str:
    """Give lines in few words: act by act, or group by group, numbers that run on as ranges.

    Up to three are told by name. Of ranges at most so many stand there; the rest are counted.
    """
    if len(lines) <= 3:
        return ", ".join(line_title(edition, line.key) for line in lines)
    told: list[str] = []
    left = most
    shown = 0
    for title, some_lines in _parted(edition, lines):
        ranges = numbers_told(line.key.number for line in some_lines)[: max(left, 0)]
        if not ranges:
            break
        left -= len(ranges)
        shown += sum(count for _, count in ranges)
        told.append(f"{title} {', '.join(text for text, _ in ranges)}".strip())
    more = len(lines) - shown
    return "; ".join(told) + (edition.words("drill.and-more", count=more) if more else "")


def _parted(edition: Edition, lines: Sequence[Line]) -> list[tuple[str, list[Line]]]:
    found: dict[str, list[Line]] = {}
    titles = {act.name: title_of_act(act) for act in edition.show.acts}
    for line in lines:
        act = titles.get(line.act_name, line.act_name) or edition.words("drill.every-act")
        found.setdefault(act if edition.has_acts else line.group, []).append(line)
    return list(found.items())


def numbers_told(numbers: Iterable[str]) -> list[tuple[str, int]]:
    """Give numbers of lines as ranges, each with how many lines it holds.

    >>> numbers_told(["1", "2", "3", "12", "17L", "17R"])
    [('1–3', 3), ('12', 1), ('17L', 1), ('17R', 1)]
    """
    runs: list[list[str]] = []
    for number in sorted(numbers, key=natural):
        if runs and _follows(runs[-1][-1], number):
            runs[-1].append(number)
        else:
            runs.append([number])
    told: list[tuple[str, int]] = []
    for run in runs:
        if len(run) > 2:
            told.append((f"{run[0]}–{run[-1]}", len(run)))
        else:
            told += [(number, 1) for number in run]
    return told


def _follows(one: str, other: str) -> bool:
    return one.isdecimal() and other.isdecimal() and int(other) == int(one) + 1


def ends_told(edition: Edition, arrivals: Iterable[Arrival], most: int = 4) -> str:
    """Give the ends by their units, each once; those with two members as they are written."""
    told = dict.fromkeys(
        "|".join(title_of(edition, member.name) for member in arrival.end.members)
        for arrival in arrivals
    )
    return some(edition, list(told), most)


def minutes(edition: Edition, seconds: float) -> str:
    """Give about how long something takes, in whole minutes, at least one."""
    return edition.words("drill.about", count=max(1, math.ceil(seconds / 60)))


def figure(value: float) -> str:
    """Give a figure with two digits that count, as people write it.

    >>> figure(0.013711), figure(3.04), figure(1234)
    ('0.014', '3', '1,200')
    """
    if value >= 100:
        return f"{round(value, 1 - math.floor(math.log10(value))):,.0f}"
    return f"{value:.2g}"


def lots(items: Sequence[T], size: int) -> list[Sequence[T]]:
    """Give items in lots of so many, the last one shorter.

    >>> lots("abcde", 2)
    ['ab', 'cd', 'e']
    """
    return [items[start : start + size] for start in range(0, len(items), size)]
