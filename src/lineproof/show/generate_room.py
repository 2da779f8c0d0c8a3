"""The ground of a generated show: areas of stages, their places, ducts, feeds, acts and lists."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

STAGES_IN_AREA = 8
ACTS_ON_STAGE = 3
#: A mixer has room for the inputs of so many stages; they stand in for one another.
STAGES_IN_FIELD = 4
RECORDERS_IN_FIELD = 6

# fmt: off
_STAGES = (
    "river", "orchard", "quarry", "harbour", "meadow", "tower", "mill", "lantern", "garden",
    "chapel", "foundry", "pavilion", "terrace", "cellar", "bridge", "market", "island", "barn",
    "cloister", "granary", "dockside", "arbour", "kiln", "ferry", "vineyard", "stables",
    "rotunda", "glasshouse", "ropewalk", "bandstand", "paddock", "boathouse",
)
_FIRST = (
    "amber", "brass", "copper", "cedar", "distant", "early", "frozen", "gentle", "hollow",
    "ivory", "little", "narrow",
)
_SECOND = (
    "kites", "embers", "lanterns", "sparrows", "ladders", "harbours", "windmills", "tides",
    "foxes", "clocks",
)
# fmt: on

#: Where things stand on a stage, in cm from its middle: name, x, y, z.
SPOTS = (
    ("left", -900, -300, 120),
    ("right", 900, -300, 120),
    ("rear", 0, -900, 120),
    ("wing", -1400, -400, 120),
    ("front", 0, 3000, 50),
    ("amps-left", -1500, -600, 100),
    ("amps-right", 1500, -600, 100),
    ("field", 0, 4500, 300),
)
#: The ways between them, with their length in m and how many more chance may add.
_WAYS = (
    ("left", "rear", 14, 4),
    ("right", "rear", 14, 4),
    ("left", "right", 22, 6),
    ("left", "wing", 6, 3),
    ("wing", "amps-left", 5, 3),
    ("right", "amps-right", 7, 3),
    ("wing", "front", 48, 20),
    ("right", "front", 60, 20),
    ("front", "field", 18, 8),
)


@dataclass(frozen=True, kw_only=True)
class Act:
    """One act of a stage: its name, and its span in minutes after midnight."""

    name: str
    starts: int
    ends: int


@dataclass(frozen=True, kw_only=True)
class Stage:
    """One stage: where it lies in m, the lengths of its ways in m, its acts in running order."""

    name: str
    index: int
    at: tuple[int, int]
    ways: tuple[int, ...]
    acts: tuple[Act, ...]

    def place(self, spot: str) -> str:
        """Give the name of one of its places."""
        return f"{self.name}-{spot}"


@dataclass(frozen=True, kw_only=True)
class Area:
    """Eight stages around one control room; `number` counts from 1."""

    number: int
    stages: tuple[Stage, ...]

    @property
    def control(self) -> str:
        """Give the name of the place where broadcast and recording sit."""
        return f"control-{self.number}"

    def field(self, stage: Stage) -> int:
        """Give which half of the area, 1 or 2, the stage shares its mixers with."""
        return stage.index // STAGES_IN_FIELD + 1

    def field_units(self, field: int) -> tuple[str, ...]:
        """Give the mixers and recorders that hear every input of one half."""
        name = f"{self.number}-{field}"
        mixers = [f"{at}-{s.name}" for s in self.neighbours(field) for at in ("front", "side")]
        recorders = [f"rec-{name}-{n}" for n in range(1, RECORDERS_IN_FIELD + 1)]
        return (*mixers, f"cast-{name}", *recorders)

    def neighbours(self, field: int) -> tuple[Stage, ...]:
        """Give the stages of one half."""
        return tuple(s for s in self.stages if self.field(s) == field)


def areas(count: int, chance: random.Random) -> tuple[Area, ...]:
    """Give so many areas, with names and lengths drawn."""
    names = [f"{a}-{b}" for a in _FIRST for b in _SECOND]
    chance.shuffle(names)
    acts = iter(names)
    found = []
    for number in range(count):
        stages = tuple(
            _stage(number, index, [next(acts) for _ in range(ACTS_ON_STAGE)], chance)
            for index in range(STAGES_IN_AREA)
        )
        found.append(Area(number=number + 1, stages=stages))
    return tuple(found)


def _stage(area: int, index: int, names: Sequence[str], chance: random.Random) -> Stage:
    begins = 17 * 60 + chance.randrange(0, 12) * 5
    acts = []
    for name in names:
        ends = begins + 40 + chance.randrange(0, 5) * 5
        acts.append(Act(name=name, starts=begins, ends=ends))
        begins = ends + 20
    return Stage(
        name=_STAGES[area * STAGES_IN_AREA + index],
        index=index,
        at=(area * 1500 + index % 4 * 220, index // 4 * 260),
        ways=tuple(length + chance.randrange(0, more + 1) for _, _, length, more in _WAYS),
        acts=tuple(acts),
    )


def room_yaml(site: Sequence[Area]) -> Iterator[str]:
    """Give the rows of `show.yaml` for all that is no unit and no line."""
    yield "places:"
    for area in site:
        yield from _places(area)
    yield "ducts:"
    for area in site:
        yield from _ducts(area)
    yield "circuits:  # mains is for licensed people; this only says what hangs where"
    for area in site:
        yield from _circuits(area)
    yield "acts:"
    every = [(act, stage) for area in site for stage in area.stages for act in stage.acts]
    for act, stage in sorted(every, key=lambda x: (x[0].starts, x[0].name)):
        times = f"starts: '{_clock(act.starts)}', ends: '{_clock(act.ends)}'"
        label = act.name.replace("-", " ").title()
        yield f"  {act.name}: {{stage: {stage.name}, {times}, label: {label}}}"
    yield "lists:"
    for area in site:
        yield from _lists(area)


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _metres(centimetres: int) -> str:
    sign = "-" if centimetres < 0 else ""
    whole, rest = divmod(abs(centimetres), 100)
    return f"{sign}{whole}.{rest:02d}"


def _places(area: Area) -> Iterator[str]:
    for stage in area.stages:
        for spot, x, y, z in SPOTS:
            at = ", ".join(map(_metres, (stage.at[0] * 100 + x, stage.at[1] * 100 + y, z)))
            label = f"{stage.name.title()} {spot.replace('-', ' ')}"
            yield f"  {stage.place(spot)}: {{at: [{at}], label: {label}}}"
    x = (area.number - 1) * 1500 + 330
    yield f"  {area.control}: {{at: [{x}, 130, 0], label: Control room {area.number}}}"


def _ducts(area: Area) -> Iterator[str]:
    for stage in area.stages:
        for (one, other, _, _), metres in zip(_WAYS, stage.ways, strict=True):
            between = f"[{stage.place(one)}, {stage.place(other)}]"
            yield f"  {stage.name}-{one}-{other}: {{between: {between}, length: {metres} m}}"
        # A way to the control room: straight along, then across.
        away = abs(stage.at[0] - (area.number - 1) * 1500 - 330) + 130
        between = f"[{stage.place('wing')}, {area.control}]"
        yield f"  {stage.name}-trench: {{between: {between}, length: {away} m}}"
    for stage, after in itertools.pairwise(area.stages):
        if area.field(stage) == area.field(after):
            between = f"[{stage.place('amps-right')}, {after.place('amps-left')}]"
            yield f"  {stage.name}-{after.name}: {{between: {between}, length: 205 m}}"


def _circuits(area: Area) -> Iterator[str]:
    for feed in FEEDS:
        yield f"  {feed}-{area.number}: {{supply: 230 V, limit: 63 A}}"
    for stage in area.stages:
        for feed in FEEDS:
            yield f"  {stage.name}-{feed}: {{supply: 230 V, limit: 400 A}}"
        for at, name in enumerate(STAGE_CIRCUITS):
            feed = f"{stage.name}-{FEEDS[at % 2]}"
            limit = 160 if name.startswith("amps") else 63
            yield (
                f"  {stage.name}-{name}: {{fed-by: {feed}, supply: 230 V, limit: {limit} A, "
                f"phase: {at % 3 + 1}}}"
            )


#: The circuits of a stage; of two neighbours one hangs on each feed.
STAGE_CIRCUITS = (
    *("stage-1", "stage-2", "front-1", "front-2"),
    *("amps-1", "amps-2", "amps-3", "amps-4"),
)
FEEDS = ("east", "west")


def _lists(area: Area) -> Iterator[str]:
    for field in (1, 2):
        yield f"  field-{area.number}-{field}: [{', '.join(area.field_units(field))}]"
