"""Label strips for sockets and strips, flags for both ends of every cable, rack fronts."""

from __future__ import annotations

import re
from collections.abc import Mapping

from lineproof.base.spot import Side, Spot
from lineproof.kit.kinds import Does
from lineproof.paper.edition import Edition, title_of_act
from lineproof.paper.fit import INSET_MM, LEAST_LABEL_PT, SLACK, shortened
from lineproof.paper.fonts import Font, bold
from lineproof.paper.sheet import Label, Strip
from lineproof.paper.sheets.net_changes import change_of
from lineproof.paper.sheets.net_parts import place_of, run_title, runs_in_order
from lineproof.paper.sheets.parts import phantom_of, title_of, unit_title
from lineproof.plan.network import PlannedRun
from lineproof.reckon.stores import Cable, Rack, cables, racks
from lineproof.show.model import Line, Run, Unit

#: Millimetres, of our own choice: eight sockets side by side on A4 and on letter.
SOCKET_MM = (24.0, 16.0)
#: Labels that hang together; a bank without a name is not printed.
BANK = 8
#: A flag: two faces of 40 mm, and 14 mm that go round the cable.
FLAG_MM = (94.0, 17.0)
FOLD_MM = 14.0
#: Of a run: room for a name on two rows, both ports and both places.
RUN_FLAG_MM = (94.0, 20.0)
#: What a face of a flag has for its words.
FACE_MM = (FLAG_MM[0] - FOLD_MM) / 2 - 2 * INSET_MM
#: With less room than this a place would be no more than dots.
LEAST_PLACE_MM = 8.0
#: A run's name that would be smaller on one row stands on two.
LEAST_NAME_PT = 11.0
RACK_MM = (180.0, 26.0)
LABELLED = frozenset([Does.BOX, Does.DROP_BOX, Does.TIE_PANEL, Does.SPLIT, Does.MIXER])


def label_strips(edition: Edition) -> tuple[Strip, ...]:
    """Give all labels of an edition; what has no label is left out."""
    strips = [
        strip
        for unit in edition.units
        if unit.kind.does in LABELLED
        for side in (Side.IN, Side.OUT, Side.STRIP)
        for strip in _unit_strips(edition, unit, side)
    ]
    if edition.for_crew:
        strips += [_flags(edition), _run_flags(edition), _rack_fronts(edition)]
    return tuple(strip for strip in strips if strip.labels)


def _unit_strips(edition: Edition, unit: Unit, side: Side) -> tuple[Strip, ...]:
    """Give a strip for one side of a unit; one for each act where the acts' names differ."""
    used = edition.spots_of(unit.name, side)
    names = [{line.title for line in edition.by_spot[spot]} for spot in used]
    if all(len(found) == 1 for found in names):
        lines = {spot: edition.by_spot[spot] for spot in used}
        return (_unit_strip(edition, unit, side, lines, ""),) if used else ()
    # What hangs in every act in a bank of its own is printed once, not again for each act.
    banks = {spot: _bank(spot) for spot in used}
    changing = {banks[s] for s in used if any(line.key.act for line in edition.by_spot[s])}
    lasting = {s: edition.by_spot[s] for s in used if banks[s] not in changing}
    strips = [_unit_strip(edition, unit, side, lasting, "")] if lasting else []
    for act in edition.show.acts:
        here = {s: _in_act(edition.by_spot[s], act.name) for s in used if banks[s] in changing}
        own = {banks[s] for s, lines in here.items() if any(line.key.act for line in lines)}
        here = {s: lines for s, lines in here.items() if banks[s] in own}
        if here:
            strips.append(_unit_strip(edition, unit, side, here, title_of_act(act)))
    return tuple(strips)


def _bank(spot: Spot) -> int:
    return (spot.number - 1) // BANK


def _in_act(lines: tuple[Line, ...], act: str) -> tuple[Line, ...]:
    return tuple(line for line in lines if line.key.act in (act, ""))


def _unit_strip(
    edition: Edition, unit: Unit, side: Side, lines: Mapping[Spot, tuple[Line, ...]], act: str
) -> Strip:
    words = edition.words
    banks = sorted({_bank(spot) for spot, found in lines.items() if found})
    spots = [
        Spot(unit=unit.name, side=side, number=bank * BANK + n)
        for bank in banks
        for n in range(1, BANK + 1)
        if bank * BANK + n <= edition.show.count(unit, side)
    ]
    part, pitch = words(f"part.{side.value}"), f"{SOCKET_MM[0]:g}"
    title = words("label.strip", unit=unit_title(unit), part=part, pitch=pitch)
    return Strip(
        title=f"{title} · {act}" if act else title,
        width_mm=SOCKET_MM[0],
        height_mm=SOCKET_MM[1],
        labels=tuple(_spot_label(edition, spot, lines.get(spot, ())) for spot in spots),
        of=unit.name,
    )


def _spot_label(edition: Edition, spot: Spot, lines: tuple[Line, ...]) -> Label:
    names = dict.fromkeys(line.title for line in lines)
    numbers = dict.fromkeys(line.key.number for line in lines)
    phantom = next((phantom_of(line) for line in lines if line.needs_phantom), "")
    changes = [change for line in lines if (change := edition.change_at(line, spot))]
    small = [", ".join(numbers), *([phantom] if phantom and spot.side is Side.IN else [])]
    return Label(
        corner=str(spot.number),
        big=" / ".join(names),
        small=" · ".join(small),
        change=changes[0] if changes else edition.left_empty(spot),
    )


def _flags(edition: Edition) -> Strip:
    found = sorted(cables(edition.outcome.figures), key=lambda cable: cable.spot.sort_key())
    # Over a tie there are two leads with two ends each.
    labels = [
        label
        for cable in found
        for label in (_flag(edition, cable),) * (4 if _tie_of(edition, cable) else 2)
    ]
    return _flag_strip("flags", edition.words("label.flags"), labels, FLAG_MM)


def _flag_strip(of: str, title: str, labels: list[Label], size_mm: tuple[float, float]) -> Strip:
    return Strip(
        title=title,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        fold_mm=FOLD_MM,
        labels=tuple(labels),
        of=of,
    )


def _tie_of(edition: Edition, cable: Cable) -> str:
    return edition.tie_text(edition.leads_between.get((cable.place, cable.spot, cable.far)))


def _flag(edition: Edition, cable: Cable) -> Label:
    """Give the flag of one cable: the same name and both places at both of its ends."""
    lines = [line for key in cable.lines if (line := edition.line(key)) is not None]
    there = _end(edition, cable.far) if cable.far else title_of(edition, cable.place)
    if tie := _tie_of(edition, cable):
        there = edition.words("said.over-tie", what=there, tie=tie)
    changes = [change for line in lines if (change := edition.change_at(line, cable.spot))]
    return Label(
        big=_flag_name(lines, cable),
        small=there,
        below=_end(edition, cable.spot),
        change=changes[0] if changes else "",
    )


def _end(edition: Edition, spot: Spot) -> str:
    """Give one end of a cable: the socket first, so that a long place is cut and no socket."""
    return _with_place(str(spot), place_of(edition, spot.unit))


def _flag_name(lines: list[Line], cable: Cable) -> str:
    """Give the name on a flag: a name that would be cut is no name to go by.

    Lines of one name have their numbers before it; then names alone; at last the socket.
    """
    numbers: dict[str, list[str]] = {}
    for line in lines:
        numbers.setdefault(line.title, []).append(line.key.number)
    each = [f"{', '.join(dict.fromkeys(found))} {name}" for name, found in numbers.items()]
    wishes = [" / ".join(each), " / ".join(numbers)]
    if len(numbers) == 1:
        return wishes[0]
    fits = (wish for wish in wishes if _fits(wish, LEAST_LABEL_PT, bold()))
    return next(fits, str(cable.spot))


def _run_flags(edition: Edition) -> Strip:
    """Give two flags for each run of the plan, and for those of the show it doesn't hold yet."""
    planned = runs_in_order(edition)
    names = {run.name for run in planned}
    given = [run for run in edition.show.runs.values() if run.name not in names]
    flags = [*(_run_flag(edition, run) for run in planned), *(_given(r) for r in given)]
    labels = [label for flag in flags for label in (flag, flag)]
    return _flag_strip("runs", edition.words("label.runs"), labels, RUN_FLAG_MM)


def _run_flag(edition: Edition, run: PlannedRun) -> Label:
    """Give the flag of one run: its name, and each end with its place; the same at both ends."""
    a, b = (_with_place(str(end), place_of(edition, end.unit)) for end in run.ends)
    return Label(
        big=on_rows(run_title(edition, run.name)),
        small=a,
        below=b,
        change=change_of(edition, run, edition.runs_then.get(run.name)),
    )


def _given(run: Run) -> Label:
    a, b = run.ends
    return Label(big=on_rows(run.label or run.name), small=a, below=b)


def on_rows(name: str) -> str:
    """Give a long name on two rows, at last on three: one that is cut is none to go by."""
    pieces = re.findall(r"[^- ]+[- ]*|[- ]+", name)
    rows = [name]
    for size_pt, most in ((LEAST_NAME_PT, 1), (LEAST_NAME_PT, 2), (LEAST_LABEL_PT, 3)):
        rows = [""]
        for piece in pieces:
            if rows[-1] and not _fits(f"{rows[-1]}{piece}".rstrip(), size_pt, bold()):
                rows.append("")
            rows[-1] += piece
        if len(rows) <= most:
            break
    return "\n".join(row.rstrip() for row in rows[:3] if row)


def _fits(text: str, size_pt: float, font: Font) -> bool:
    return font.width_mm(text, size_pt) * SLACK <= FACE_MM


def _with_place(end: str, place: str) -> str:
    """Give an end and as much of its place as there is room for: no socket's number is cut."""
    end = _whole_end(end)
    whole = f"{end} {place}".strip()
    if _fits(whole, LEAST_LABEL_PT, bold()):
        return whole
    room = FACE_MM - bold().width_mm(f"{end} ", LEAST_LABEL_PT) * SLACK
    return f"{end} {shortened(place, LEAST_LABEL_PT, room)}" if room > LEAST_PLACE_MM else end


def _whole_end(end: str) -> str:
    """Give `unit:8` with as much of the unit's name as there is room for, and all of the rest."""
    if _fits(end, LEAST_LABEL_PT, bold()):
        return end
    unit, colon, rest = end.partition(":")
    tail = bold().width_mm(f"{colon}{rest}", LEAST_LABEL_PT) * SLACK
    return f"{shortened(unit, LEAST_LABEL_PT, FACE_MM - tail)}{colon}{rest}"


def _rack_fronts(edition: Edition) -> Strip:
    labels = [_rack_front(edition, rack) for rack in racks(edition.show) if rack.rack]
    return Strip(
        title=edition.words("label.racks"),
        width_mm=RACK_MM[0],
        height_mm=RACK_MM[1],
        labels=tuple(labels),
        of="racks",
    )


def _rack_front(edition: Edition, rack: Rack) -> Label:
    units = ", ".join(title_of(edition, name) for name in rack.units)
    place = title_of(edition, rack.place)
    return Label(corner=rack.rack, big=place, small=f"{units} · {rack.mass_kg:g} kg")
