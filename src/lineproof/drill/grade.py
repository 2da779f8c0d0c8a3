"""How bad each single fault is: findings, told once for all faults that take the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Rule
from lineproof.base.where import Where
from lineproof.drill.bearing import Arrival, Resting
from lineproof.drill.rules import (
    ACT_SILENCED,
    GROUP_SILENCED,
    MUST_LOST,
    RECORDING_LOST,
    SAFETY_SILENCED,
)
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import CIRCUIT, DUCT, PLACE, UNIT, Fault
from lineproof.kit.kinds import Does
from lineproof.show.model import Circuit, Duct, Line, Need, Place, Show, Unit

_LOUD = (Does.LOUDSPEAKER, Does.AMPLIFIER)
#: All loudspeakers of an act are heard as one.
HOUSE = "the loudspeakers"
#: Lines and faults that one finding names; the rest are counted.
_MOST_TOLD = 8
#: Until a rescue was worked out nobody knows what stays lost.
NOT_GRADED = "not yet graded: no rescue was worked out"


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

    `ends`: (line, end) that a *must* or *safety* line loses and can't do without.
    """

    faults: tuple[Fault, ...]
    ends: frozenset[tuple[int, int]]

    @property
    def lines(self) -> tuple[int, ...]:
        """Give the lines by place in the plan."""
        return tuple(sorted({line for line, _ in self.ends}))


@dataclass(frozen=True, kw_only=True)
class Grades:
    """All that grading one show's single faults looks at."""

    swept: Swept

    @property
    def show(self) -> Show:
        """Give the show."""
        return self.swept.calm.show

    @property
    def lines(self) -> tuple[Resting, ...]:
        """Give the planned lines."""
        return self.swept.calm.lines

    def taken(self) -> Iterator[Taken]:
        """Give what single faults take, those that take the same together, in the faults' order."""
        alike: dict[frozenset[tuple[int, int]], list[Fault]] = {}
        for at, lost in enumerate(self.swept.lost_alone):
            ends = frozenset(end for shape in lost for end in self._ends_of[shape])
            if ends:
                alike.setdefault(ends, []).extend(self.swept.classes.members[at])
        for ends, faults in alike.items():
            yield Taken(faults=tuple(faults), ends=ends)

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
    def spreads(self) -> Mapping[str, frozenset[int]]:
        """Give the needed lines of every group, or spread, that names a `spread`."""
        groups = {r.line.group or r.line.spread for r in self.lines if r.line.spread}
        found: dict[str, set[int]] = {}
        for at, resting in enumerate(self.lines):
            name = resting.line.group or resting.line.spread
            if name in groups and _needed(resting.line) and resting.arrivals:
                found.setdefault(name, set()).add(at)
        return {name: frozenset(lines) for name, lines in found.items() if len(lines) > 1}


def _needed(line: Line) -> bool:
    return line.need in (Need.MUST, Need.SAFETY)


def grades(swept: Swept) -> list[Finding]:
    """Give what single faults do, graded: stops by each rule, else a risk, or a note for one line.

    What depends on a rescue says that it is not yet graded.
    """
    known = Grades(swept=swept)
    recording = _recorders_lost(known)
    found: list[Finding] = []
    for taken in known.taken():
        # Where a whole act is silent, its groups are too: that is told once.
        silent = [*_acts(known, taken)] or [*_groups(known, taken)]
        found += [*silent, *_safety(known, taken)] or [_risk(known, taken)]
    found += recording
    return found


def _acts(known: Grades, taken: Taken) -> Iterator[Finding]:
    gone = [h for h in known.heard if h.ends <= taken.ends and not _own_end(h, taken)]
    if not gone:
        return
    silent = {heard.act for heard in gone}
    acts = tuple(act.name for act in known.show.acts if act.name in silent)
    ends = tuple(dict.fromkeys(heard.at for heard in gone))
    contents = sorted({heard.content for heard in gone if heard.content})
    where = f" in {_some(acts)}" if acts else ""
    what = f"no {' and no '.join(contents)}" if contents else "nothing"
    told = f"{what} at {_some(ends)}{where}"
    yield _finding(known, ACT_SILENCED, taken, told, of=(*acts, *ends))


def _own_end(heard: Heard, taken: Taken) -> bool:
    """Say whether it is that end itself that fails: what else is heard there is no matter."""
    return all(fault == Fault(what=UNIT, name=heard.at) for fault in taken.faults[:1])


def _recorders_lost(known: Grades) -> list[Finding]:
    if not known.recordings:
        return []
    shapes = {known.swept.line_shapes[line][end] for line, end in known.recordings}
    alike = [
        members
        for at, members in enumerate(known.swept.classes.members)
        if shapes <= known.swept.lost_alone[at]
    ]
    ends = frozenset(known.recordings)
    taken = [Taken(faults=members, ends=ends) for members in alike]
    return [_finding(known, RECORDING_LOST, each, "nothing is recorded") for each in taken]


def _groups(known: Grades, taken: Taken) -> Iterator[Finding]:
    lines = set(taken.lines)
    gone = tuple(name for name, members in known.spreads.items() if members <= lines)
    if gone:
        told = f"all of {_some(gone)} is lost at some end, though spread"
        yield _finding(known, GROUP_SILENCED, taken, told, of=gone)


def _safety(known: Grades, taken: Taken) -> Iterator[Finding]:
    gone = [at for at in taken.lines if known.lines[at].line.need is Need.SAFETY]
    if gone:
        told = f"announcements to the public fall silent: {_lines(known, gone)}"
        yield _finding(known, SAFETY_SILENCED, taken, told)


def _risk(known: Grades, taken: Taken) -> Finding:
    told = f"{_lines(known, taken.lines)} lost at {_some(_ends(known, taken))}"
    if len(taken.lines) == 1:
        return _finding(known, MUST_LOST, taken, told, grade=Grade.NOTE)
    return _finding(known, MUST_LOST, taken, f"{told} ({NOT_GRADED})")


def _ends(known: Grades, taken: Taken) -> list[str]:
    """Give the ends by their units, those with two members as they are written."""
    ends = (known.arrival(end).end for end in sorted(taken.ends))
    return list(dict.fromkeys(e.members[0].name if len(e.members) == 1 else str(e) for e in ends))


def _finding(
    known: Grades,
    rule: Rule,
    taken: Taken,
    told: str,
    *,
    of: tuple[str, ...] = (),
    grade: Grade | None = None,
) -> Finding:
    names = [str(fault) for fault in taken.faults]
    keys = tuple(str(known.lines[at].line.key) for at in taken.lines)
    any_of = "without" if len(names) == 1 else "without any of"
    first = known.lines[taken.lines[0]].line.where
    where = _where(known.show, taken.faults[0])
    return rule.finding(
        what=f"{any_of} {_some(names)}: {told}",
        where=(where, first) if where is not None else first,
        of=(*names, *of, *keys),
        grade=grade,
    )


def _where(show: Show, fault: Fault) -> Where | None:
    """Give where the thing that fails is written, None for what is written nowhere."""
    thing: Unit | Circuit | Duct | Place | None = None
    if fault.what == UNIT:
        thing = show.units.get(fault.name)
    elif fault.what == CIRCUIT:
        thing = show.circuits.get(fault.name)
    elif fault.what == DUCT:
        thing = show.ducts.get(fault.name)
    elif fault.what == PLACE:
        thing = show.places.get(fault.name)
    return thing.where if thing is not None else None


def _lines(known: Grades, lines: Iterable[int]) -> str:
    keys = [known.lines[at].line for at in lines]
    if len(keys) == 1:
        return f"line {keys[0].key} ({keys[0].title})"
    return f"{len(keys)} lines ({_some([str(line.key) for line in keys])})"


def _some(names: Iterable[str]) -> str:
    told = list(names)
    more = f" and {len(told) - _MOST_TOLD} more" if len(told) > _MOST_TOLD else ""
    return ", ".join(told[:_MOST_TOLD]) + more
