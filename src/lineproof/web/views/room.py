"""Room: the venue to scale, with places, units, ducts and runs, to look at and to break."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lineproof.base.names import natural
from lineproof.outcome import Outcome
from lineproof.plan.network import PlannedRun
from lineproof.show.model import Show
from lineproof.web.breaking import known
from lineproof.web.views.broken import Broken, broken
from lineproof.web.views.parts import Head, Link, head, place_title, room_href
from lineproof.web.views.room_picture import Backdrop, backdrop, corners, named_picture
from lineproof.web.views.room_plan import Box, Point, Sizes, free_spot, laid_out
from lineproof.web.worked import Worked

#: A letter of the drawing is about so wide, and a row so high, in the drawing's own measure.
LETTER, ROW, EDGE = 6.6, 19.0, 7.0
#: Between two rows of chips stands how many lines each misses.
BETWEEN = 12.0
#: Chips of one place stand in rows of at most this width.
WIDEST = 190.0
#: What can be broken and stands nowhere in the drawing.
NOT_DRAWN = ("circuit", "rack", "net")
_STEPS_M = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)


@dataclass(frozen=True, kw_only=True)
class Chip:
    """One unit in its place's box; `fault` is its name where it can be broken."""

    name: str
    says: str
    fault: str
    x: float
    y: float
    width: float


@dataclass(frozen=True, kw_only=True)
class PlaceBox:
    """One place: where it lies to scale, and the box with its units, which may stand aside."""

    name: str
    title: str
    fault: str
    dot: Point
    box: Box
    chips: tuple[Chip, ...]


@dataclass(frozen=True, kw_only=True)
class Strand:
    """What lies between two places: a duct, or the runs of one net.

    `names` are what can be broken of it; `width` tells the load, `tag` tells it as a number.
    """

    what: str
    says: str
    names: tuple[str, ...]
    start: Point
    end: Point
    width: float
    tag: str = ""
    tag_at: Point | None = None


@dataclass(frozen=True, kw_only=True)
class RoomPage:
    """The room, and what is broken in it.

    `metres` and `metre_px` are of the rule at its foot; `audience` says where on the page it is.
    `others` is what can be broken and stands nowhere in the drawing. `picture` lies behind it all.
    """

    head: Head
    size: Point
    places: tuple[PlaceBox, ...]
    strands: tuple[Strand, ...]
    unplaced: tuple[PlaceBox, ...]
    metres: int
    metre_px: float
    audience: str
    names: tuple[str, ...]
    others: tuple[Link, ...]
    broken: Broken
    picture: Backdrop | None = None
    find: str = ""


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """The part of the page that stays whatever is broken."""

    size: Point
    places: tuple[PlaceBox, ...]
    strands: tuple[Strand, ...]
    unplaced: tuple[PlaceBox, ...]
    metres: int
    metre_px: float
    audience: str = "below"
    picture: Backdrop | None = None


def room(
    worked: Worked, cuts: Iterable[str] = (), find: str = "", *, rescue: bool = False
) -> RoomPage:
    """Give the room with these things broken in it; `rescue`: the rescue is waited for."""
    drawn = worked.made("room", lambda: _drawn(worked))
    names = tuple(str(fault) for fault in known(worked).values())
    return RoomPage(
        head=head(worked),
        size=drawn.size,
        places=drawn.places,
        strands=drawn.strands,
        unplaced=drawn.unplaced,
        metres=drawn.metres,
        metre_px=drawn.metre_px,
        audience=drawn.audience,
        names=names,
        others=tuple(
            Link(text=name, href=room_href([name]))
            for name in names
            if name.partition(":")[0] in NOT_DRAWN and ":" in name
        ),
        broken=broken(worked, cuts, rescue=rescue),
        picture=drawn.picture,
        find=find,
    )


def _drawn(worked: Worked) -> Drawn:
    outcome = worked.outcome
    if outcome is None:
        return Drawn(size=(1, 1), places=(), strands=(), unplaced=(), metres=1, metre_px=1)
    show = outcome.show
    faults = {str(fault) for fault in known(worked).values()}
    chips = {name: _chips(show, name, faults) for name in show.places}
    used = {name for duct in show.ducts.values() for name in duct.between}
    there = [p for p in show.places.values() if chips[p.name][0] or p.name in used]
    at = {p.name: (p.at_m[0], p.at_m[1]) for p in there if p.at_m is not None}
    sizes = {p.name: chips[p.name][1] for p in there}
    behind = named_picture(worked)
    plan = laid_out(at, {name: sizes[name] for name in at}, corners(*behind) if behind else ())
    boxes = tuple(
        _place_box(show, name, faults, chips[name][0], plan.dots[name], plan.boxes[name])
        for name in at
    )
    unplaced = tuple(
        _place_box(show, name, faults, chips[name][0], (0.0, 0.0), (0.0, 0.0, *sizes[name]))
        for name in sizes
        if name not in at
    )
    metres = next((m for m in _STEPS_M if m * plan.scale >= 70), _STEPS_M[-1])
    return Drawn(
        size=plan.size,
        places=boxes,
        strands=_tagged(
            (*_ducts(show, plan.dots, faults), *_runs(outcome, plan.dots, faults)),
            list(plan.boxes.values()),
        ),
        unplaced=unplaced,
        metres=metres,
        metre_px=round(metres * plan.scale, 1),
        audience="to the right" if plan.turned else "below",
        picture=backdrop(*behind, plan) if behind and at else None,
    )


def _chips(show: Show, place: str, faults: set[str]) -> tuple[tuple[Chip, ...], Sizes]:
    """Give the units of a place in rows, from the box's corner, and the size of that box."""
    title = LETTER * 1.12 * len(place_title(show, place)) + 2 * EDGE
    x, y, widest = EDGE, ROW + EDGE, title
    found = []
    here = (u for u in show.units.values() if u.place == place)
    for unit in sorted(here, key=lambda u: natural(u.name)):
        width = LETTER * len(unit.name) + 10
        if x > EDGE and x + width > WIDEST:
            x, y = EDGE, y + ROW + BETWEEN
        says = f"{unit.title}, {unit.kind.name}"
        fault = unit.name if unit.name in faults else ""
        found.append(Chip(name=unit.name, says=says, fault=fault, x=x, y=y, width=round(width, 1)))
        x += width + 4
        widest = max(widest, x + EDGE - 4)
    high = y + ROW + BETWEEN if found else ROW + EDGE
    return tuple(found), (round(widest, 1), round(high, 1))


def _place_box(
    show: Show, name: str, faults: set[str], chips: tuple[Chip, ...], dot: Point, box: Box
) -> PlaceBox:
    fault = f"place:{name}" if f"place:{name}" in faults else ""
    title = place_title(show, name)
    return PlaceBox(name=name, title=title, fault=fault, dot=dot, box=box, chips=chips)


def _tagged(strands: tuple[Strand, ...], taken: list[Box]) -> tuple[Strand, ...]:
    """Give the strands with their tags where these cover nothing."""
    return tuple(
        replace(s, tag_at=free_spot(s.start, s.end, taken)) if s.tag else s for s in strands
    )


def _ducts(show: Show, dots: Mapping[str, Point], faults: set[str]) -> tuple[Strand, ...]:
    return tuple(
        Strand(
            what="duct",
            says=f"duct {duct.name}, {duct.length_m:g} m",
            names=(f"duct:{duct.name}",) if f"duct:{duct.name}" in faults else (),
            start=dots[duct.between[0]],
            end=dots[duct.between[1]],
            width=11,
        )
        for duct in show.ducts.values()
        if duct.between[0] in dots and duct.between[1] in dots
    )


def _runs(outcome: Outcome, dots: Mapping[str, Point], faults: set[str]) -> tuple[Strand, ...]:
    """Give the runs between two places as one strand a net, as wide as its fullest run is full."""
    show = outcome.show
    bundles: dict[tuple[str, str, str], list[PlannedRun]] = {}
    for run in outcome.plan.network.runs:
        ends = [show.units[e.unit].place for e in run.ends if e.unit in show.units]
        if len(ends) == 2 and ends[0] != ends[1] and all(end in dots for end in ends):
            first, second = sorted(ends, key=natural)
            bundles.setdefault((run.net, first, second), []).append(run)
    shares = _shares(outcome)
    found = []
    for (net, first, second), runs in bundles.items():
        full = max(shares.get(run.name, 0.0) for run in runs)
        names = [name for run in runs if (name := f"run:{run.name}") in faults]
        many = f"{len(runs)} runs" if len(runs) > 1 else f"run {runs[0].name}"
        at = f"{100 * full:.1f} %"
        start, end = _beside(dots[first], dots[second], {"a": -4.0, "b": 4.0}.get(net, 0.0))
        found.append(
            Strand(
                what=f"net-{net}" if net else "multicore",
                says=f"{many} of net {net}, the fullest {at} full" if net else many,
                names=tuple(names),
                start=start,
                end=end,
                width=round(1.5 + 6 * min(full, 1.0), 1),
                tag=f"{net} {len(runs)}× {at}" if net else f"{len(runs)}×",
            )
        )
    return tuple(found)


def _shares(outcome: Outcome) -> Mapping[str, float]:
    found: dict[str, float] = {}
    for figures in outcome.network.nets.values() if outcome.network else ():
        for load in figures.loads:
            found[load.run] = max(found.get(load.run, 0.0), load.share)
    return found


def _beside(start: Point, end: Point, by: float) -> tuple[Point, Point]:
    """Give a line shifted to its side, so that two nets lie beside each other."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    long = max((dx * dx + dy * dy) ** 0.5, 0.001)
    ox, oy = -dy / long * by, dx / long * by
    return (
        (round(start[0] + ox, 1), round(start[1] + oy, 1)),
        (round(end[0] + ox, 1), round(end[1] + oy, 1)),
    )
