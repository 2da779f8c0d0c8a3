"""The equipment of a generated show: 400 units and 120 switches for every area."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineproof.show.generate_room import RECORDERS_IN_FIELD, STAGES_IN_FIELD, Area, Stage

UNIT_HEADING = ("name", "kind", "place", "number", "circuit", "rack", "net")
Row = tuple[str, ...]

#: Where the five boxes of a stage stand, and on which circuit they hang.
_BOXES = (
    ("left", "stage-1"),
    ("right", "stage-2"),
    ("rear", "stage-1"),
    ("wing", "stage-2"),
    ("rear", "stage-2"),
)
#: The switches of a stage on each net: a place, a rack, a kind.
_SWITCHES = (
    ("wing", "core", "switch-24-fibre"),
    ("left", "left", "switch-8-fibre"),
    ("right", "right", "switch-8-fibre"),
    ("front", "front", "switch-24-fibre"),
    ("amps-left", "amps-left", "switch-24-fibre"),
    ("amps-right", "amps-right", "switch-24-fibre"),
    ("field", "field", "switch-12-fibre"),
)
#: The switches of the control room on each net.
_CONTROL_SWITCHES = 4
#: Kinds of amplifiers behind each side of a stage, and powered loudspeakers in the field.
_EIGHTS, _FOURS = 22, 6
_LOUDSPEAKERS = 12
_MORE_AMPLIFIERS, _MORE_LOUDSPEAKERS = 4, 4


def amplifiers(stage: Stage) -> tuple[tuple[str, str, int], ...]:
    """Give name, side and inputs of the amplifiers of a stage, in order."""
    more = 1 if stage.index < _MORE_AMPLIFIERS else 0
    found = []
    for n in range(_EIGHTS + _FOURS + more):
        side = ("left", "right")[n % 2]
        found.append((f"amp-{stage.name}-{n + 1:02d}", side, 8 if n < _EIGHTS else 4))
    return tuple(found)


def loudspeakers(stage: Stage) -> tuple[str, ...]:
    """Give the powered loudspeakers of a stage: fills first, then those out in the field."""
    more = 1 if stage.index < _MORE_LOUDSPEAKERS else 0
    return tuple(f"speaker-{stage.name}-{n + 1:02d}" for n in range(_LOUDSPEAKERS + more))


def boxes(stage: Stage) -> tuple[str, ...]:
    """Give the stage boxes of a stage."""
    return tuple(f"box-{stage.name}-{n}" for n in range(1, len(_BOXES) + 1))


def unit_rows(site: Sequence[Area]) -> Iterator[Row]:
    """Give the rows of the table of units."""
    for area in site:
        for stage in area.stages:
            yield from _stage_rows(area, stage)
        yield from _control_rows(area)


def _stage_rows(area: Area, stage: Stage) -> Iterator[Row]:
    at, on = stage.place, f"{stage.name}-"
    for n, (name, (spot, circuit)) in enumerate(zip(boxes(stage), _BOXES, strict=True)):
        # Only the first boxes of the first stages land on channels by their number: a mixer
        # has no room for more.
        first = area.number == 1 and stage.index < STAGES_IN_FIELD and n == 0
        number = str(stage.index + 1) if first else ""
        yield (name, "box-32-16", at(spot), number, on + circuit, at(spot), "")
    yield (f"front-{stage.name}", "mixer-128", at("front"), "", f"{on}front-1 {on}front-2", "", "")
    yield (f"side-{stage.name}", "mixer-128", at("wing"), "", f"{on}stage-1 {on}stage-2", "", "")
    for n, (name, side, inputs) in enumerate(amplifiers(stage)):
        rack = at(f"amps-{side}")
        circuit = f"{on}amps-{1 + n // 2 % 4}"
        yield (name, f"amplifier-{inputs}", rack, "", circuit, f"{rack}-{n // 8 + 1}", "")
    for n, name in enumerate(loudspeakers(stage)):
        spot = ("left", "right")[n % 2] if n < 4 else "field"
        circuit = on + (f"stage-{n % 2 + 1}" if n < 4 else "front-2")
        yield (name, "powered-loudspeaker", at(spot), "", circuit, "", "a" if n % 4 > 1 else "")
    for net in ("a", "b"):
        for spot, rack, kind in _SWITCHES:
            supply = "front" if spot in ("front", "field") else "stage"
            circuit = f"{on}{supply}-{1 if net == 'a' else 2}"
            yield (f"sw-{stage.name}-{rack}-{net}", kind, at(spot), "", circuit, at(spot), net)


def _control_rows(area: Area) -> Iterator[Row]:
    place, both = area.control, f"east-{area.number} west-{area.number}"
    feeds = both.split()
    for field in (1, 2):
        name = f"{area.number}-{field}"
        yield (f"cast-{name}", "mixer-128", place, "", both, "", "")
        for n in range(1, RECORDERS_IN_FIELD + 1):
            yield (f"rec-{name}-{n}", "computer-128", place, "", feeds[n % 2], f"{place}-{n}", "")
        yield (f"clock-{name}", "grandmaster-clock", place, "", both, "", "")
    for net, feed in zip(("a", "b"), feeds, strict=True):
        for n in range(1, _CONTROL_SWITCHES + 1):
            name = f"sw-control-{area.number}-{n}-{net}"
            yield (name, "switch-24-fibre", place, "", feed, f"{place}-{n}", net)
