"""How bad each single fault is: findings, told once for all faults that take the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Rule
from lineproof.base.where import Where
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import CIRCUIT, DUCT, PLACE, UNIT, Fault
from lineproof.rescue.moves import counted
from lineproof.rescue.rules import (
    ACT_SILENCED,
    BEYOND_RESCUE,
    GROUP_SILENCED,
    MUST_LOST,
    RECORDING_LOST,
    SAFETY_SILENCED,
)
from lineproof.rescue.taken import Grades, Heard, Taken
from lineproof.rescue.whole import Rescued
from lineproof.show.model import Circuit, Duct, Need, Place, Show, Unit

#: Lines and faults that one finding names; the rest are counted.
_MOST_TOLD = 8
#: Until a rescue was worked out nobody knows what stays lost.
NOT_GRADED = "not yet graded: no rescue was worked out"


def grades(swept: Swept, rescued: Rescued | None = None) -> list[Finding]:
    """Give what single faults do, graded: stops by each rule, else a risk, or a note for one line.

    A grade stands by what stays lost after the rescue; before rescues are worked out each finding
    says that it is not yet graded. Recordings and announcements to the public are graded by what
    the fault itself takes: what was missed is missed.
    """
    known = Grades(swept=swept, rescued=rescued)
    recording = _recorders_lost(known)
    found: list[Finding] = []
    alone: dict[int, list[Taken]] = {}
    for taken in known.taken():
        # Where a whole act is silent, its groups are too: that is told once.
        silent = [*_acts(known, taken)] or [*_groups(known, taken)]
        stops = [*silent, *_safety(known, taken)] or [*_beyond(known, taken)]
        found += stops
        if not stops and len(taken.lines) == 1:
            alone.setdefault(taken.lines[0], []).append(taken)
        elif not stops:
            found.append(_risk(known, taken))
    found += [_note(known, each) for each in alone.values()]
    found += recording
    return found


def _acts(known: Grades, taken: Taken) -> Iterator[Finding]:
    gone = [h for h in known.heard if h.ends <= taken.gone and not _own_end(h, taken)]
    if not gone:
        return
    silent = {heard.act for heard in gone}
    acts = tuple(act.name for act in known.show.acts if act.name in silent)
    ends = tuple(dict.fromkeys(heard.at for heard in gone))
    contents = sorted({heard.content for heard in gone if heard.content})
    where = f" in {_some(acts)}" if acts else ""
    what = f"no {' and no '.join(contents)}" if contents else "nothing"
    dark = ", and nothing is recorded" if _dark(known, taken) else ""
    told = f"{what} at {_some(ends)}{where}{dark}{_after(known, taken)}"
    yield _finding(known, ACT_SILENCED, taken, told, of=(*acts, *ends))


def _dark(known: Grades, taken: Taken) -> bool:
    """Say whether nothing is left of the show: no speech or music anywhere, and no recording."""
    lost = known.swept.lost_alone[known.class_of[taken.faults[0]]]
    recorded = {known.swept.line_shapes[line][end] for line, end in known.recordings}
    everywhere = bool(known.heard) and all(heard.ends <= taken.gone for heard in known.heard)
    return everywhere and bool(recorded) and recorded <= lost


def _own_end(heard: Heard, taken: Taken) -> bool:
    """Say whether it is that end itself that fails: what else is heard there is no matter."""
    return all(fault == Fault(what=UNIT, name=heard.at) for fault in taken.faults[:1])


def _recorders_lost(known: Grades) -> list[Finding]:
    if not known.recordings:
        return []
    shapes = {known.swept.line_shapes[line][end] for line, end in known.recordings}
    # Where nothing at all is heard there is nothing to record: that is told with the silence.
    silent = {f for taken in known.taken() if _dark(known, taken) for f in taken.faults}
    faults = [
        fault
        for at, members in enumerate(known.swept.classes.members)
        if shapes <= known.swept.lost_alone[at]
        for fault in members
        if fault not in silent
    ]
    if not faults:
        return []
    taken = Taken(faults=tuple(faults), ends=frozenset(known.recordings))
    return [_finding(known, RECORDING_LOST, taken, "nothing is recorded")]


def _groups(known: Grades, taken: Taken) -> Iterator[Finding]:
    gone = tuple(n for n, where in known.spreads.items() if any(e <= taken.gone for e in where))
    if gone:
        told = f"all of {_some(gone)} is lost at some end, though spread{_after(known, taken)}"
        yield _finding(known, GROUP_SILENCED, taken, told, of=gone)


def _safety(known: Grades, taken: Taken) -> Iterator[Finding]:
    gone = [at for at in taken.lines if known.lines[at].line.need is Need.SAFETY]
    if gone:
        told = f"announcements to the public fall silent: {_lines(known, gone)}"
        yield _finding(known, SAFETY_SILENCED, taken, told)


def _beyond(known: Grades, taken: Taken) -> Iterator[Finding]:
    """Tell of needed lines that stay lost although a second unit is near that could take them."""
    rescue = taken.rescue
    crowded = sorted({at for at, n in rescue.crowded if (at, n) in taken.gone} if rescue else ())
    if crowded:
        told = (
            f"{_lines(known, crowded)} can't be helped, though a second unit that fits is near"
            f"{_after(known, taken)}"
        )
        yield _finding(known, BEYOND_RESCUE, taken, told)


def _risk(known: Grades, taken: Taken) -> Finding:
    lost = f"{_lines(known, taken.lines)} lost at {_some(_ends(known, taken))}"
    return _finding(known, MUST_LOST, taken, f"{lost}{_after(known, taken)}")


def _after(known: Grades, taken: Taken) -> str:
    """Say what a rescue makes of it: what comes back, how soon, by what; what stays lost."""
    rescue = taken.rescue
    if rescue is None:
        return f" ({NOT_GRADED})"
    back = taken.ends - taken.gone
    if not back:
        return "; nothing at hand brings any of it back"
    minutes = max(1, round(rescue.seconds() / 60))
    how = f"in about {minutes} min ({counted(rescue.moves)})"
    stay = sorted({line for line, _ in taken.gone})
    if not stay:
        return f"; back {how}"
    ends = "1 end" if len(back) == 1 else f"{len(back)} ends"
    return f"; {ends} of {len(taken.ends)} back {how}, {_lines(known, stay)} not everywhere"


def _note(known: Grades, each: list[Taken]) -> Finding:
    """Give one note for all that takes one line alone, at one of its ends or at several."""
    faults = tuple(fault for taken in each for fault in taken.faults)
    ends = frozenset(end for taken in each for end in taken.ends)
    together = Taken(faults=faults, ends=ends)
    names = _ends(known, together)
    where = "" if len(names) == 1 else "one or other of "
    told = f"{_lines(known, together.lines)} lost at {where}{_some(names)}"
    if len(each) == 1 or each[0].rescue is None:
        told += _after(known, each[0])
    return _finding(known, MUST_LOST, together, told, grade=Grade.NOTE)


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
