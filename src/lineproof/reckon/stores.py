"""What has to come off the truck: leads by stock length, stands, microphones, racks' weights."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from lineproof.base.names import folded, natural
from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import Plan
from lineproof.reckon.figures import Figures, Lead
from lineproof.show.model import Line, Show
from lineproof.show.words import NOTHING

#: Lengths in which leads are kept, in metres (common practice).
STOCK_M = (1, 2, 3, 5, 10, 15, 20, 30, 50)


def stock_lengths(length_m: float) -> tuple[int, ...]:
    """Give the leads off the shelf that make a length: one that reaches, else several.

    >>> stock_lengths(9.0), stock_lengths(62.0)
    ((10,), (50, 15))
    """
    longest = STOCK_M[-1]
    whole = 0
    # A hair's breadth of rounding must not take the next longer lead.
    rest = round(length_m, 6)
    while rest > longest:
        whole, rest = whole + 1, rest - longest
    last = next(stock for stock in STOCK_M if rest <= stock)
    return (*(longest for _ in range(whole)), last)


@dataclass(frozen=True, kw_only=True)
class Cable:
    """One analogue cable to lay, whatever hangs on it in which act.

    `lengths_m` are the leads it is made of, none where nobody can say how long it must be.
    `lines` are the lines it carries.
    """

    place: str
    spot: Spot
    far: Spot | None
    length_m: float | None
    lengths_m: tuple[int, ...]
    lines: tuple[LineKey, ...]


def cables(figures: Figures) -> tuple[Cable, ...]:
    """Give every analogue cable once: leads from one place to one socket are the same cable."""
    found: dict[tuple[str, Spot, Spot | None], list[Lead]] = {}
    for lead in figures.leads:
        found.setdefault((lead.place, lead.spot, lead.far), []).append(lead)
    return tuple(_cable(leads) for leads in found.values())


def _cable(leads: list[Lead]) -> Cable:
    first = leads[0]
    return Cable(
        place=first.place,
        spot=first.spot,
        far=first.far,
        length_m=first.length_m,
        lengths_m=() if first.length_m is None else stock_lengths(first.length_m),
        lines=tuple(dict.fromkeys(lead.line for lead in leads)),
    )


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """How many leads of one stock length go to one place; `length_m` None: nobody can say."""

    place: str
    length_m: int | None
    count: int


def shelves(found: Iterable[Cable]) -> tuple[Shelf, ...]:
    """Give the leads to bring to each place, longest first."""
    counts: dict[tuple[str, int | None], int] = {}
    for cable in found:
        for length in cable.lengths_m or (None,):
            counts[cable.place, length] = counts.get((cable.place, length), 0) + 1
    order = sorted(counts, key=lambda at: (natural(at[0]), -(at[1] or 0)))
    return tuple(Shelf(place=at[0], length_m=at[1], count=counts[at]) for at in order)


@dataclass(frozen=True, kw_only=True)
class Count:
    """How many of one thing are wanted: in the act that wants most, and standing all at once.

    A thing of one role at one place stays there from act to act and is counted once.
    """

    item: str
    most: int
    all_at_once: int


def role_of(line: Line) -> tuple[str, str]:
    """Give what makes a line of one act the same as one of another: its role, and where."""
    return (folded(line.role or line.name), "|".join(str(start) for start in line.starts))


def microphones(show: Show, plan: Plan) -> tuple[Count, ...]:
    """Give the microphones that planned lines want, by what the list calls them."""
    return _counts(show, plan, lambda line: _source(line, direct=False))


def direct_boxes(show: Show, plan: Plan) -> tuple[Count, ...]:
    """Give the direct boxes that planned lines want."""
    return _counts(show, plan, lambda line: _source(line, direct=True))


def stands(show: Show, plan: Plan) -> tuple[Count, ...]:
    """Give the stands that planned lines want, by the list's words for them."""
    return _counts(show, plan, lambda line: "" if folded(line.stand) in NOTHING else line.stand)


def _source(line: Line, *, direct: bool) -> str:
    source = line.source
    if source is None:
        return ""
    wanted = source.direct_box if direct else source.microphone
    return (line.source_text or source.label) if wanted else ""


def _counts(show: Show, plan: Plan, item_of: Callable[[Line], str]) -> tuple[Count, ...]:
    planned = {decided.key.same() for decided in plan.lines}
    lines = [line for line in show.lines if line.key.same() in planned]
    titles: dict[str, str] = {}
    wanted: dict[str, dict[tuple[str, str], set[str]]] = {}
    for line in lines:
        if item := item_of(line):
            titles.setdefault(folded(item), item)
            wanted.setdefault(folded(item), {}).setdefault(role_of(line), set()).add(line.key.act)
    return tuple(_count(titles[item], wanted[item], show) for item in sorted(titles, key=natural))


def _count(item: str, wanted: Mapping[tuple[str, str], set[str]], show: Show) -> Count:
    acts = [act.name for act in show.acts] or [""]
    in_act = [sum(1 for held in wanted.values() if held & {act, ""}) for act in acts]
    return Count(item=item, most=max(in_act), all_at_once=len(wanted))


@dataclass(frozen=True, kw_only=True)
class Rack:
    """What one rack holds and weighs: its units alone, without the case. `rack` "" is loose."""

    rack: str
    place: str
    units: tuple[str, ...]
    mass_kg: float
    rack_units: float


def racks(show: Show) -> tuple[Rack, ...]:
    """Give every rack of the show, then place by place what stands loose."""
    found: dict[tuple[str, str], list[str]] = {}
    for unit in show.units.values():
        found.setdefault((unit.rack, unit.place), []).append(unit.name)
    order = sorted(found, key=lambda at: (not at[0], natural(at[0]), natural(at[1])))
    return tuple(_rack(show, *at, tuple(found[at])) for at in order)


def _rack(show: Show, rack: str, place: str, units: tuple[str, ...]) -> Rack:
    kinds = [show.units[name].kind for name in units]
    return Rack(
        rack=rack,
        place=place,
        units=units,
        mass_kg=round(sum(kind.mass_kg for kind in kinds), 3),
        rack_units=sum(kind.rack_units for kind in kinds),
    )
