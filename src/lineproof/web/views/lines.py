"""Lines: the input list as it is planned, and one line from its source to every end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.base.finding import Grade
from lineproof.base.names import natural
from lineproof.base.part import split_part
from lineproof.base.spot import Side, Spot
from lineproof.outcome import Outcome
from lineproof.plan.model import LinePlan
from lineproof.show.model import Line, Show
from lineproof.web.views.parts import (
    Head,
    Link,
    act_title,
    count,
    head,
    line_href,
    place_title,
    unit_words,
)
from lineproof.web.worked import Worked

#: By what the list can be put together, with the words on the page.
BY = {"act": "act", "place": "place", "unit": "unit", "group": "group"}
_LAST = "\U0010ffff"


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """One line of the list. `state` says in words how it stands; `find` is what a filter reads."""

    key: str
    href: str
    number: str
    name: str
    act: str
    starts: str
    source: str
    plugged: str
    phantom: str
    arrives: str
    need: str
    group: str
    state: str
    find: str
    units: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Group:
    """The lines that belong together, under what they share."""

    title: str
    rows: tuple[LineRow, ...]


@dataclass(frozen=True, kw_only=True)
class LinesPage:
    """The list, put together by act, place, unit or group."""

    head: Head
    by: str
    choices: tuple[Link, ...]
    groups: tuple[Group, ...]
    total: int
    has_acts: bool
    find: str = ""


def lines(worked: Worked, by: str = "act", find: str = "") -> LinesPage:
    """Give the list; an unknown `by` is by act. `find` keeps the rows that hold all its words."""
    by = by if by in BY else "act"
    outcome = worked.outcome
    rows = worked.made("rows", lambda: _rows(outcome) if outcome else ())
    kept = tuple(row for row in rows if all(w in row.find for w in find.casefold().split()))
    return LinesPage(
        head=head(worked),
        by=by,
        choices=tuple(Link(text=text, href=f"/lines?by={word}") for word, text in BY.items()),
        groups=_grouped(outcome, kept, by) if outcome else (),
        total=len(rows),
        has_acts=bool(outcome and outcome.show.acts),
        find=find,
    )


def in_order(show: Show) -> tuple[Line, ...]:
    """Give the lines as people list them: acts in running order, then by number."""
    acts = {act.name: n for n, act in enumerate(show.acts)}
    return tuple(sorted(show.lines, key=lambda x: (acts.get(x.key.act, -1), x.key.sort_key())))


def _rows(outcome: Outcome) -> tuple[LineRow, ...]:
    told = states(outcome)
    return tuple(_row(outcome, line, told[str(line.key)]) for line in in_order(outcome.show))


def _row(outcome: Outcome, line: Line, state: str) -> LineRow:
    show = outcome.show
    decided = outcome.plan.line(line.key)
    fields = {
        "number": line.key.number,
        "name": line.title,
        "act": act_title(show, line.key.act),
        "starts": ", ".join(place_title(show, start.name) for start in line.starts),
        "source": line.source_text or (line.source.name if line.source else ""),
        "plugged": plugged(decided),
        "phantom": "48 V" if line.needs_phantom else "",
        "arrives": arrives(decided),
        "need": line.need.value,
        "group": line.group,
        "state": state,
    }
    key = str(line.key)
    spots = {f"{spot.side.value}-{spot.number}" for spot in decided.spots()} if decided else ()
    find = " ".join([key, *fields.values(), *sorted(spots)]).casefold()
    units = tuple(dict.fromkeys(spot.unit for spot in decided.spots())) if decided else ()
    return LineRow(key=key, href=line_href(line.key), find=find, units=units, **fields)


def plugged(decided: LinePlan | None) -> str:
    """Give where a line is plugged, or begins inside a unit, "" where it is not planned."""
    if decided is None:
        return ""
    spots = [spot for chain in decided.start.values() for spot in chain]
    sockets = [spot for spot in spots if spot.side is Side.IN] or spots[:1]
    return ", ".join(dict.fromkeys(map(str, sockets)))


def arrives(decided: LinePlan | None) -> str:
    """Give every unit it arrives at, with the spots: `desk receive-1 strip-1; amp receive-1,3`.

    A unit that hears it at several ends stands once, unless one of them is heard from a standby.
    """
    return "; ".join(
        f"{at}{_numbers(spots)}{f' (from {stands_in})' if stands_in else ''}"
        for (at, stands_in), spots in (_ends(decided) if decided else {}).items()
    )


def _ends(decided: LinePlan) -> Mapping[tuple[str, str], list[Spot]]:
    """Give the spots of all ends by the unit they are of, and by what stands in there."""
    found: dict[tuple[str, str], list[Spot]] = {}
    for part, spots in decided.ends.items():
        end, stands_in = split_part(part)
        units = list(dict.fromkeys(spot.unit for spot in spots))
        if len(units) == 1:
            found.setdefault((units[0], stands_in), []).extend(spots)
        elif units:
            # A lead leaves one unit for the other: both stand in one.
            mine = {unit: [spot for spot in spots if spot.unit == unit] for unit in units}
            told = ", ".join(f"{unit}{_numbers(mine[unit])}" for unit in units)
            found[(told, stands_in)] = []
        else:
            found[(f"{end}: inside it", stands_in)] = []
    return found


def _numbers(spots: Iterable[Spot]) -> str:
    """Give spots of one unit, side by side.

    >>> _numbers([Spot.parse("amp:receive-1"), Spot.parse("amp:receive-3")])
    ' receive-1,3'
    """
    by_side: dict[str, list[str]] = {}
    for spot in spots:
        by_side.setdefault(spot.side.value, []).append(str(spot.number))
    return "".join(f" {side}-{','.join(numbers)}" for side, numbers in by_side.items())


def states(outcome: Outcome) -> Mapping[str, str]:
    """Give, for every line, how it stands in words: its findings, or planned, or not planned."""
    found: dict[str, list[Grade]] = defaultdict(list)
    for finding in outcome.findings:
        if not finding.accepted and finding.grade is not Grade.NOTE:
            for name in finding.of:
                found[name].append(finding.grade)
    return {
        str(line.key): _state(outcome, line, found[str(line.key)]) for line in outcome.show.lines
    }


def _state(outcome: Outcome, line: Line, grades: list[Grade]) -> str:
    decided = outcome.plan.line(line.key)
    if decided is None or (not decided.start and not decided.ends):
        return "not planned"
    told = [
        count(grades.count(grade), grade.value)
        for grade in (Grade.STOP, Grade.RISK)
        if grade in grades
    ]
    told += [f"no room at {', '.join(decided.left_out)}"] if decided.left_out else []
    return ", ".join(told) or "planned"


def _grouped(outcome: Outcome, rows: tuple[LineRow, ...], by: str) -> tuple[Group, ...]:
    show = outcome.show
    found: dict[str, list[LineRow]] = {}
    for row in rows:
        for name in _names(row, by):
            found.setdefault(name, []).append(row)
    # Acts stand in running order, as the rows do; all else as people sort names.
    names = list(found) if by == "act" else sorted(found, key=lambda n: natural(n or _LAST))
    return tuple(Group(title=_title(show, name, by), rows=tuple(found[name])) for name in names)


def _names(row: LineRow, by: str) -> tuple[str, ...]:
    """Give under which headings a row stands: by unit it may be several."""
    match by:
        case "act":
            return (row.act,)
        case "place":
            return (row.starts,)
        case "group":
            return (row.group,)
        case _:
            return row.units or ("",)


def _title(show: Show, name: str, by: str) -> str:
    if not name:
        return {"unit": "not planned", "group": "no group"}.get(by, "nowhere")
    return unit_words(show, name) if by == "unit" else name
