"""A show as frozen values: every name in it is known, every quantity in its unit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property

from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.base.where import Where
from lineproof.kit.kinds import Kind, Kit, Source

_NOWHERE = Where(file="")


def _where() -> Where:
    """Give a field that says where the thing was written; two shows are equal without it."""
    return field(default=_NOWHERE, compare=False, repr=False)


class Need(Enum):
    """What a line is to its act."""

    MUST = "must"
    WANT = "want"
    SPARE = "spare"
    SAFETY = "safety"

    @property
    def can_go(self) -> bool:
        """Say whether the line gives way when channels or sockets run short."""
        return self in (Need.WANT, Need.SPARE)


@dataclass(frozen=True, kw_only=True)
class Air:
    """The air of the day."""

    temperature_c: float
    humidity_percent: float


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where equipment stands: x to the right, y away from the stage's edge, z up, in metres.

    `building`: where said, no copper joins it to a place of another one.
    """

    name: str
    at_m: tuple[float, float, float] | None = None
    building: str = ""
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class KnownPoint:
    """A point known in a picture (pixels right and down from its corner) and in the room."""

    pixel: tuple[int, int]
    at_m: tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing of the venue behind the room: its file's name, and two points that place it.

    Two points give its place, its scale and how it is turned, and no edge need be measured.
    """

    file: str
    first: KnownPoint
    second: KnownPoint
    where: Where = _where()

    @property
    def metres_a_pixel(self) -> float:
        """Give its scale."""
        return math.dist(self.first.at_m, self.second.at_m) / math.dist(
            self.first.pixel, self.second.pixel
        )


@dataclass(frozen=True, kw_only=True)
class Duct:
    """A way between two places that cables share. `installed`: what lies there is fixed cable."""

    name: str
    between: tuple[str, str]
    length_m: float
    installed: bool = False
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """A mains feed, and what feeds it."""

    name: str
    fed_by: str = ""
    supply_v: float | None = None
    limit_a: float | None = None
    phase: str = ""
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Unit:
    """One piece of equipment. `circuits`: one supply each, in order."""

    name: str
    kind: Kind
    place: str
    number: int | None = None
    circuits: tuple[str, ...] = ()
    label: str = ""
    net: str = ""
    ports: str = ""
    rate_hz: int | None = None
    rack: str = ""
    here: tuple[str, ...] = ()
    theirs: bool = False
    muted_by: str = ""
    mac: str = ""
    meeting: str = ""
    standby: str = ""
    covers: tuple[str, ...] = ()
    by: str = ""
    power: str = ""
    sockets_of: str = ""
    note: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    where: Where = _where()

    @property
    def title(self) -> str:
        """Give what papers print: the label, else the name."""
        return self.label or self.name


@dataclass(frozen=True, kw_only=True)
class Run:
    """A network cable or a multicore given by hand: its two ends as `unit:port` or a place.

    `couplers`: how many joints it has on its way.
    """

    name: str
    ends: tuple[str, str]
    along: tuple[str, ...] = ()
    cable: str = ""
    length_m: float | None = None
    couplers: int = 0
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Cables of one sort on the truck: of what, how long, how many."""

    name: str
    cable: str
    length_m: float
    count: int
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Tie:
    """A numbered set of passive lines between two places."""

    name: str
    between: tuple[str, str]
    count: int
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Act:
    """A part of the show with its own input list, in running order."""

    name: str
    stage: str = ""
    starts: str = ""
    ends: str = ""
    build: str = "between"
    content: str = ""
    label: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Target:
    """A place, or a unit and perhaps which of its spots, as a line's start or end.

    `numbers` may stand without a side (`amp-1:1-2`); the kind then tells which is meant.
    `implied`: not written in the row, but the standby of a unit that is.
    """

    name: str
    side: Side | None = None
    numbers: tuple[int, ...] = ()
    implied: bool = False

    def __str__(self) -> str:
        if not self.numbers:
            return self.name
        side = f"{self.side.value}-" if self.side else ""
        first, last = self.numbers[0], self.numbers[-1]
        return f"{self.name}:{side}{first}" + (f"-{last}" if last != first else "")


@dataclass(frozen=True, kw_only=True)
class End:
    """One place of arrival of a line: any one of its members will do, all are fed.

    `part_of` names the zone, list or range it was written as.
    """

    members: tuple[Target, ...]
    want: bool = False
    part_of: str = ""
    where: Where = _where()

    def __str__(self) -> str:
        return "|".join(str(m) for m in self.members) + ("?" if self.want else "")


@dataclass(frozen=True, kw_only=True)
class Line:
    """One signal, from where it starts to every end where it must arrive.

    `starts` has two members for a standby both ways. `pair` is the other half's key and
    `left` says which half this is. `phantom` is what the list says, None where it doesn't.
    """

    key: LineKey
    name: str
    starts: tuple[Target, ...]
    ends: tuple[End, ...]
    label: str = ""
    source: Source | None = None
    source_text: str = ""
    phantom: bool | None = None
    pair: LineKey | None = None
    left: bool = False
    group: str = ""
    need: Need = Need.MUST
    via: str = ""
    minus: tuple[str, ...] = ()
    contains: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    private: bool = False
    standby: str = ""
    by: str = ""
    back_to: str = ""
    also: tuple[str, ...] = ()
    role: str = ""
    spread: str = ""
    content: str = ""
    stand: str = ""
    colour: str = ""
    note: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    where: Where = _where()

    @property
    def title(self) -> str:
        """Give what papers print: the label, else the name."""
        return self.label or self.name

    @property
    def act_name(self) -> str:
        """Give the act it belongs to, "" for every act."""
        return self.key.act

    @property
    def needs_phantom(self) -> bool:
        """Say whether the source wants 48 V: the list's word, else the source's habit."""
        if self.phantom is not None:
            return self.phantom
        return self.source is not None and self.source.phantom

    def end_members(self) -> tuple[tuple[End, Target], ...]:
        """Give every (end, member), in the list's order."""
        return tuple((end, member) for end in self.ends for member in end.members)


@dataclass(frozen=True, kw_only=True)
class Pin:
    """A decision made by hand: `line` uses `spot`, at its end `part` ("": wherever it fits)."""

    line: LineKey
    spot: Spot
    part: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """A finding that somebody takes on: by rule and names, with reason and name."""

    finding: str
    of: tuple[str, ...] = ()
    reason: str = ""
    by: str = ""
    where: Where = _where()


@dataclass(frozen=True, kw_only=True)
class Weights:
    """What the wishes weigh, in metres of lead; design values are common practice.

    `drop_m`: what a run needs at each end; `slack_percent`: how much more than its way it is.
    """

    group_m: float = 8.0
    move_m: float = 5.0
    off_number_m: float = 3.0
    spread_within_m: float = 15.0
    drop_m: float = 3.0
    slack_percent: float = 10.0


@dataclass(frozen=True, kw_only=True)
class Show:
    """The event as people describe it. Mappings go by name, in sorted order; acts and lines too.

    `unread` holds the keys of rows that could not be read: they keep the decisions they had.
    `later` holds what was written under keys whose meaning comes later, as written.
    """

    title: str
    rate_hz: int
    kit: Kit = field(repr=False)
    packet_ms: float = 1.0
    nets: str = "one"
    air: Air | None = None
    routes: str = "all-night"
    weights: Weights = Weights()
    places: Mapping[str, Place] = field(default_factory=dict)
    ducts: Mapping[str, Duct] = field(default_factory=dict)
    circuits: Mapping[str, Circuit] = field(default_factory=dict)
    units: Mapping[str, Unit] = field(default_factory=dict)
    runs: Mapping[str, Run] = field(default_factory=dict)
    stock: Mapping[str, Stock] = field(default_factory=dict)
    ties: Mapping[str, Tie] = field(default_factory=dict)
    zones: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    acts: tuple[Act, ...] = ()
    arrangements: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lines: tuple[Line, ...] = ()
    pins: tuple[Pin, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    other_mbit: float | None = None
    addresses: Mapping[str, str] = field(default_factory=dict)
    unread: tuple[LineKey, ...] = field(default=(), compare=False)
    # The picture decides nothing and is on no paper: neither it nor its file's bytes count for the
    # mark, so that papers stay what they were when somebody puts a drawing behind the room.
    picture: Picture | None = field(default=None, compare=False)

    def line(self, key: LineKey) -> Line | None:
        """Give the line of that key, without regard to case, or None."""
        return self._by_key.get(key.same())

    @cached_property
    def _by_key(self) -> Mapping[tuple[str, str], Line]:
        # The first of two with one key, as they are told of elsewhere.
        return {line.key.same(): line for line in reversed(self.lines)}

    def unit_rate_hz(self, unit: Unit) -> int:
        """Give the sample rate at which `unit` works: its own, else the show's."""
        return unit.rate_hz or self.rate_hz

    def count(self, unit: Unit, side: Side) -> int:
        """Give how many spots `unit` has on `side` at its rate."""
        return unit.kind.count(side, self.unit_rate_hz(unit))

    def find_unit(self, name: str) -> Unit | None:
        """Give the unit of that name, without regard to case, or None."""
        if name in self.units:
            return self.units[name]
        return next((u for n, u in self.units.items() if folded(n) == folded(name)), None)
