"""What single faults take of each act, end, group and recorder: what grades are given by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.drill.bearing import Arrival, Resting
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import Fault
from lineproof.kit.kinds import Does
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.whole import Rescued
from lineproof.show.model import Line, Need, Show

_LOUD = (Does.LOUDSPEAKER, Does.AMPLIFIER)
#: All loudspeakers of an act are heard as one.
HOUSE = "the loudspeakers"


#: Lines with ends, by place in the plan and among the line's ends.
Ends = frozenset[tuple[int, int]]


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What must be heard at one end in one act: of one content ("": nobody says), all its ends."""

    act: str
    content: str
    at: str
    ends: frozenset[tuple[int, int]]


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Faults that take the same: by place in the plan the lines, with the ends they lose.

    `ends`: (line, end) that a *must* or *safety* line loses and can't do without. `stays`: those of
    them that no rescue brings back, None where none was worked out; `rescue`: the slowest of the
    faults' rescues.
    """

    faults: tuple[Fault, ...]
    ends: frozenset[tuple[int, int]]
    stays: frozenset[tuple[int, int]] | None = None
    rescue: Rescue | None = None

    @property
    def gone(self) -> frozenset[tuple[int, int]]:
        """Give the ends that stay lost, all of them where no rescue was worked out."""
        return self.ends if self.stays is None else self.stays

    @property
    def lines(self) -> tuple[int, ...]:
        """Give the lines by place in the plan."""
        return tuple(sorted({line for line, _ in self.ends}))


@dataclass(frozen=True, kw_only=True)
class Grades:
    """All that grading one show's single faults looks at; `rescued`: None before rescues."""

    swept: Swept
    rescued: Rescued | None = None

    @property
    def show(self) -> Show:
        """Give the show."""
        return self.swept.calm.show

    @property
    def lines(self) -> tuple[Resting, ...]:
        """Give the planned lines."""
        return self.swept.calm.lines

    def taken(self) -> Iterator[Taken]:
        """Give what single faults take, in the faults' order.

        Those that take the same, of which the same stays lost, are together.
        """
        alike: dict[tuple[Ends, Ends | None], list[Fault]] = {}
        for at, lost in enumerate(self.swept.lost_alone):
            ends = frozenset(end for shape in lost for end in self._ends_of[shape])
            for fault in self.swept.classes.members[at] if ends else ():
                alike.setdefault((ends, self._stays(fault, ends)), []).append(fault)
        for (ends, stays), faults in alike.items():
            slowest = self._slowest(faults)
            yield Taken(faults=tuple(faults), ends=ends, stays=stays, rescue=slowest)

    def _stays(self, fault: Fault, ends: Ends) -> Ends | None:
        if self.rescued is None:
            return None
        return ends.intersection(self.rescued.by_fault[fault].stays)

    def _slowest(self, faults: list[Fault]) -> Rescue | None:
        if self.rescued is None:
            return None
        return max((self.rescued.by_fault[fault] for fault in faults), key=Rescue.seconds)

    @cached_property
    def _ends_of(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """Give by shape the needed (line, end) that have it."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.swept.shapes]
        for line, shapes in enumerate(self.swept.line_shapes):
            resting = self.lines[line]
            for end, shape in enumerate(shapes):
                if _needed(resting.line) and not resting.arrivals[end].end.want:
                    found[shape].append((line, end))
        return tuple(map(tuple, found))

    def arrival(self, end: tuple[int, int]) -> Arrival:
        """Give an end by its line and its place among the line's ends."""
        return self.lines[end[0]].arrivals[end[1]]

    @cached_property
    def all_ends(self) -> tuple[tuple[int, int], ...]:
        """Give every needed end."""
        return tuple(sorted(end for ends in self._ends_of for end in ends))

    @cached_property
    def class_of(self) -> Mapping[Fault, int]:
        """Give the class of every fault."""
        members = self.swept.classes.members
        return {fault: at for at, faults in enumerate(members) for fault in faults}

    @cached_property
    def heard(self) -> tuple[Heard, ...]:
        """Give what every act must hear of speech and of music, end by end; recorders apart.

        A line of which nobody knows what it brings may bring either: while it arrives neither is
        gone.
        """
        found: dict[tuple[str, str], dict[str, set[tuple[int, int]]]] = {}
        for end in self.all_ends:
            line = self.lines[end[0]].line
            for name in (m.name.partition(":")[0] for m in self.arrival(end).members):
                at = self._heard_at(name)
                for act in self._acts(line) if at else ():
                    by_content = found.setdefault((act, at), {})
                    for content in self._contents(line, act) or ("",):
                        by_content.setdefault(content, set()).add(end)
        return tuple(
            Heard(act=act, content=content, at=at, ends=frozenset(ends | by_content.get("", set())))
            for (act, at), by_content in found.items()
            for content, ends in by_content.items()
            if content or len(by_content) == 1
        )

    def _acts(self, line: Line) -> list[str]:
        if line.act_name:
            return [line.act_name]
        return [act.name for act in self.show.acts] or [""]

    def _heard_at(self, name: str) -> str:
        unit = self.show.units.get(name)
        if unit is None or self._records(name):
            return "" if unit is not None else name
        return HOUSE if unit.kind.does in _LOUD else name

    def _records(self, name: str) -> bool:
        unit = self.show.units.get(name)
        return unit is not None and (unit.kind.does is Does.RECORDER or unit.kind.disk_gbyte > 0)

    def _contents(self, line: Line, act: str) -> tuple[str, ...]:
        """Give what a line brings: its own word, its source's, its act's; a mix all there is."""
        if line.content or (line.source is not None and line.source.content):
            told = line.content or (line.source.content if line.source else "")
            return (told,) if told in ("speech", "music") else ()
        if line.source is not None and line.source.mix:
            return self._in_act(act)
        told = next((each.content for each in self.show.acts if each.name == act), "")
        return (told,) if told in ("speech", "music") else ()

    def _in_act(self, act: str) -> tuple[str, ...]:
        """Give what the act's own lines bring, as far as anybody knows."""
        return self._acts_content.get(act, ())

    @cached_property
    def _acts_content(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, dict[str, None]] = {}
        for resting in self.lines:
            line = resting.line
            if _needed(line) and not (line.source is not None and line.source.mix):
                acts = (
                    [line.act_name] if line.act_name else [a.name for a in self.show.acts] or [""]
                )
                for act in acts:
                    for content in self._contents(line, act):
                        found.setdefault(act, {})[content] = None
        return {act: tuple(sorted(contents)) for act, contents in found.items()}

    @cached_property
    def recordings(self) -> frozenset[tuple[int, int]]:
        """Give the ends at recorders, of all lines: wanted ones too."""
        return frozenset(
            (at, n)
            for at, resting in enumerate(self.lines)
            for n, arrival in enumerate(resting.arrivals)
            if any(self._records(member.name.partition(":")[0]) for member in arrival.members)
        )

    @cached_property
    def spreads(self) -> Mapping[str, tuple[frozenset[tuple[int, int]], ...]]:
        """Give by group, or spread, that names a `spread` its needed ends: where it is heard.

        Each set is one place where two lines of the group or more must be heard; recorders apart.
        """
        groups = {r.line.group or r.line.spread for r in self.lines if r.line.spread}
        found: dict[str, dict[str, set[tuple[int, int]]]] = {}
        for line, n in self.all_ends:
            named = self.lines[line].line
            name = named.group or named.spread
            for member in self.arrival((line, n)).members if name in groups else ():
                if at := self._heard_at(member.name.partition(":")[0]):
                    found.setdefault(name, {}).setdefault(at, set()).add((line, n))
        several = {
            name: [ends for ends in by_place.values() if len({line for line, _ in ends}) > 1]
            for name, by_place in found.items()
        }
        return {name: tuple(map(frozenset, some)) for name, some in several.items() if some}


def _needed(line: Line) -> bool:
    return line.need in (Need.MUST, Need.SAFETY)
