"""The input lists of a generated show: 62 lines for every stage, four for every area."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lineproof.show.generate_room import Area, Stage
from lineproof.show.generate_units import amplifiers, boxes, loudspeakers

LINE_HEADING = (
    *("number", "act", "name", "from", "source", "to"),
    *("pair", "group", "spread", "need"),
)
Row = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Part:
    """What somebody plays: one line, or a left and a right; where it stands."""

    name: str
    source: str
    group: str
    spot: str
    stereo: bool = False
    spread: str = ""


def _p(name: str, source: str, group: str, spot: str, **more: bool | str) -> _Part:
    return _Part(name=name, source=source, group=group, spot=spot, **more)  # type: ignore[arg-type]


#: What every act has: the same microphone stays for all of them.
_CORE = (
    _p("Kick", "dynamic mic", "drums", "rear"),
    _p("Snare", "dynamic mic", "drums", "rear"),
    _p("Bass", "active DI", "bass", "right"),
    _p("Voice 1", "dynamic mic", "voices", "left", spread="voices"),
    _p("Voice 2", "dynamic mic", "voices", "right", spread="voices"),
)
#: What acts choose from; what one act has chosen the others of its stage leave alone.
_CHOICE = (
    _p("Overhead", "condenser mic", "drums", "rear", stereo=True),
    _p("Keys", "passive DI", "keys", "left", stereo=True),
    _p("Synth", "passive DI", "keys", "left", stereo=True),
    _p("Piano", "condenser mic", "keys", "right", stereo=True),
    _p("Choir", "condenser mic", "choir", "rear", stereo=True),
    _p("Organ", "dynamic mic", "keys", "right", stereo=True),
    _p("Hat", "condenser mic", "drums", "rear"),
    _p("Tom", "dynamic mic", "drums", "rear"),
    _p("Guitar 1", "dynamic mic", "guitars", "left"),
    _p("Guitar 2", "dynamic mic", "guitars", "right"),
    _p("Acoustic", "active DI", "guitars", "left"),
    _p("Trumpet", "dynamic mic", "horns", "right"),
    _p("Trombone", "dynamic mic", "horns", "right"),
    _p("Sax", "dynamic mic", "horns", "right"),
    _p("Fiddle", "condenser mic", "strings", "left"),
    _p("Cello", "condenser mic", "strings", "right"),
    _p("Harp", "condenser mic", "strings", "left"),
    _p("Accordion", "condenser mic", "strings", "left"),
    _p("Congas", "dynamic mic", "percussion", "rear"),
    _p("Shaker", "condenser mic", "percussion", "rear"),
    _p("Timpani", "condenser mic", "percussion", "rear"),
    _p("Lute", "active DI", "strings", "right"),
    _p("Bagpipe", "dynamic mic", "horns", "left"),
    _p("Vibraphone", "condenser mic", "percussion", "left"),
)
#: What some acts have besides, and share.
_SHARED_CHOICE = (_p("Hand drum", "dynamic mic", "percussion", "left"),)
_LINES_IN_ACT = 12

#: Mixes to the loudspeakers: number, name, the other half's number.
_MIXES = (
    (201, "Main left", "202"),
    (202, "Main right", "201"),
    (203, "Sub", ""),
    (204, "Fill left", "205"),
    (205, "Fill right", "204"),
    (206, "Field left", "207"),
    (207, "Field right", "206"),
)
_RETURNS = 16
#: From here on returns are stereo pairs, for in-ear packs.
_FIRST_STEREO_RETURN = 9


def stage_rows(area: Area, stage: Stage, chance: random.Random) -> Iterator[Row]:
    """Give the rows of one stage: its acts', the house's, its mixes and its returns."""
    left = list(_CHOICE)
    for act in stage.acts:
        yield from _act_rows(area, stage, act.name, _chosen(left, chance))
    base = 1000 * ((area.number - 1) * len(area.stages) + stage.index + 1)
    yield from _house_rows(area, stage, base)
    yield from _mix_rows(area, stage, base)
    yield from _return_rows(stage, base)


def _chosen(left: list[_Part], chance: random.Random) -> list[_Part]:
    """Give the parts of an act, and take them from what is left for the next."""
    chosen = [*_CORE, *(_SHARED_CHOICE if chance.randrange(2) else ())]
    stereo = [p for p in left if p.stereo]
    chance.shuffle(stereo)
    chosen += stereo[:2]
    single = [p for p in left if not p.stereo]
    chance.shuffle(single)
    size = sum(2 if p.stereo else 1 for p in chosen)
    chosen += single[: _LINES_IN_ACT - size]
    left[:] = [p for p in left if p not in chosen]
    order = [*_CORE, *_CHOICE, *_SHARED_CHOICE]
    return sorted(chosen, key=order.index)


def _act_rows(area: Area, stage: Stage, act: str, parts: Sequence[_Part]) -> Iterator[Row]:
    number = 1
    ends = _field(area, stage)
    for part in parts:
        at, source = stage.place(part.spot), part.source
        for side in ("L", "R") if part.stereo else ("",):
            pair = "" if not side else str(number + 1 if side == "L" else number - 1)
            name = f"{part.name} {side}".rstrip()
            group = f"{stage.name} {part.group}"
            spread = f"{stage.name} {part.spread}" if part.spread else ""
            yield _row(number, act, name, at, source, ends, pair, group, spread)
            number += 1


def _field(area: Area, stage: Stage) -> str:
    return f"field-{area.number}-{area.field(stage)}"


def _row(number: int, act: str, *cells: str, need: str = "must") -> Row:
    filled = [*cells, *[""] * (7 - len(cells))]
    return (str(number), act, *filled, need)


def _house_rows(area: Area, stage: Stage, base: int) -> Iterator[Row]:
    ends = _field(area, stage)
    wing, group = stage.place("wing"), f"{stage.name} speech"
    title = stage.name.title()
    yield _row(base + 101, "", f"{title} host", wing, "wireless receiver", ends, "", group)
    name = f"{title} host spare"
    left = stage.place("left")
    yield _row(base + 102, "", name, left, "dynamic mic", ends, "", group, need="spare")
    front = stage.place("front")
    yield _row(base + 103, "", f"{title} caller", front, "dynamic mic", ends, "", group)


def _mix_rows(area: Area, stage: Stage, base: int) -> Iterator[Row]:
    ends = _mix_ends(stage)
    mixer = f"front-{stage.name}"
    # The mains are heard wherever somebody may have to take over.
    every = area.field_units(area.field(stage))
    also = " ".join(unit for unit in every if unit != mixer)
    for number, name, pair in _MIXES:
        title = f"{stage.name.title()} {name.lower()}"
        to = " ".join(ends[number])
        if number <= 202:
            to = f"{to} {also}"
        other = str(base + int(pair)) if pair else ""
        yield _row(base + number, "", title, mixer, "main mix", to, other)


def _mix_ends(stage: Stage) -> dict[int, list[str]]:
    """Give where each mix goes: every input of an amplifier, every powered loudspeaker."""
    ends: dict[int, list[str]] = {number: [] for number, _, _ in _MIXES}
    for name, side, inputs in amplifiers(stage):
        if inputs > 4:
            ends[201 if side == "left" else 202].append(f"{name}:1-{inputs}")
        else:
            ends[203].append(f"{name}:1-{inputs}")
    for n, name in enumerate(loudspeakers(stage)):
        ends[(204 if n < 4 else 206) + n % 2].append(name)
    return ends


def _return_rows(stage: Stage, base: int) -> Iterator[Row]:
    to = " ".join(boxes(stage))
    for n in range(1, _RETURNS + 1):
        pair = ""
        if n >= _FIRST_STEREO_RETURN:
            pair = str(base + 300 + (n + 1 if n % 2 else n - 1))
        name = f"{stage.name.title()} return {n}"
        yield _row(base + 300 + n, "", name, f"side-{stage.name}", "monitor mix", to, pair)


def area_rows(area: Area) -> Iterator[Row]:
    """Give the four lines of an area: what its broadcast mixers make, to all who may need it."""
    for field in (1, 2):
        cast = f"cast-{area.number}-{field}"
        other = f"cast-{area.number}-{3 - field}"
        to = " ".join([other, *(u for u in area.field_units(field) if u != cast)])
        for at, side in enumerate(("left", "right")):
            number = 90_000 + area.number * 100 + field * 10 + at
            pair = str(number + 1 if at == 0 else number - 1)
            name = f"Programme {area.number}-{field} {side}"
            yield _row(number, "", name, cast, "main mix", to, pair)
