"""What deciding finds: ends left out, labels moved, pins against wishes, no way at all."""

from __future__ import annotations

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import natural
from lineproof.base.rule import Example, Rule
from lineproof.base.spot import LineKey, Spot
from lineproof.base.where import Where
from lineproof.decide.before import before_of
from lineproof.decide.problem import Problem
from lineproof.decide.streams.packing import Told
from lineproof.plan.model import LinePlan, Plan
from lineproof.show.rules import NO_WAY

_CROWDED = "number,name,from,source,to,need\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,rec-1,{'want' if n > 32 else 'must'}\n" for n in range(1, 35)
)

_PINNED = (
    "number,name,from,source,to,socket\n"
    "1,Kick,stage,dynamic mic,desk,\n"
    "2,Voice,stage,dynamic mic,desk,box-1:in-1\n"
)
_LITTLE_BOX = ("kind: box-16-8", "kind: box-2-2")
_KICK = "1,Kick,stage,dynamic mic,desk rec-1\n2,Voice,stage,"
_IN_THE_BOX = (_KICK, "1,Kick,box-1,dynamic mic,desk rec-1\n2,Voice,box-1,")
_CALLED_OTHERWISE = (_KICK, "3,Horn,box-1,dynamic mic,desk rec-1\n2,Voice,box-1,")

#: A mixer that can send one stream.
_ONE_STREAM = (
    ("kind: mixer-32", "kind: one"),
    ("lines: lines", "kinds: {one: {like: mixer-32, streams-send: 1}}\nlines: lines"),
)

NOT_ENOUGH = Rule(
    name="not-enough",
    grade=Grade.STOP,
    why="More is asked of the equipment than it has; at doors somebody would go without.",
    do="bring more, or make some of these lines a want",
    source="Lineproof",
    fails=Example(lines=_CROWDED.replace("want", "must")),
    passes=Example(),
)
LEFT_OUT = Rule(
    name="left-out",
    grade=Grade.RISK,
    why="A wanted end was left out because there was no room; whoever wanted it must be told.",
    do="tell whoever wanted it, or bring more channels",
    source="Lineproof",
    fails=Example(lines=_CROWDED),
    passes=Example(),
)
LABEL_MOVED = Rule(
    name="label-moved",
    grade=Grade.RISK,
    why="A label hangs where the line no longer is.",
    do="move the plug and the label, or pin the line where it hangs",
    source="Lineproof",
    fails=Example(lines=_PINNED, before=Example(lines=_PINNED.replace("box-1:in-1", ""))),
    passes=Example(before=Example()),
)
FREED_REUSED = Rule(
    name="freed-reused",
    grade=Grade.NOTE,
    why="The line that held the spot can't have it back when it returns.",
    do="take the old label off",
    source="Lineproof",
    fails=Example.changed(
        _LITTLE_BOX,
        lines=_CALLED_OTHERWISE,
        before=Example.changed(_LITTLE_BOX, lines=_IN_THE_BOX),
    ),
    passes=Example(before=Example()),
)
STREAM_HEARD = Rule(
    name="stream-changes-kind",
    grade=Grade.RISK,
    why="Whoever listens to a stream that changes its kind or packet time hears a gap.",
    do="do it while nothing plays, and listen to every receiver afterwards",
    source="common practice; RFC 8866 5.2: the receiver must fetch the new description",
    fails=Example.changed(
        *_ONE_STREAM,
        lines=("41,Main,desk,main mix,pa\n", "41,Main,desk,main mix,pa rec-1\n"),
        before=Example.changed(*_ONE_STREAM),
    ),
    passes=Example(before=Example()),
)
PIN_LOST = Rule(
    name="pin-not-kept",
    grade=Grade.RISK,
    why="Somebody decided where this goes, and it goes elsewhere.",
    do="take the pin out, or let the line start or end at that unit",
    source="Lineproof",
    fails=Example.changed(
        ("lines: lines.csv\n", "lines: lines.csv\npins: {41: {ends: {pa: 'rec-1:receive-3'}}}\n")
    ),
    passes=Example(),
)

RULES: tuple[Rule, ...] = (
    NO_WAY,
    NOT_ENOUGH,
    LEFT_OUT,
    LABEL_MOVED,
    FREED_REUSED,
    PIN_LOST,
    STREAM_HEARD,
)


def no_answer(problem: Problem) -> Finding:
    """Give the *stop* for a show on which the counted work ran out before any plan was found."""
    what = f"no plan for the {len(problem.show.lines)} lines was found within the work allowed"
    do = "pin what you know, or plan fewer lines at once and add the others after issuing"
    return NOT_ENOUGH.finding(what=what, do=do)


def no_number(problem: Problem, request: str) -> Finding:
    """Give the *stop* for a line for which its unit has no number left."""
    key = request.partition(" ")[0]
    what = f"no channel or strip is left for line {request}"
    return NOT_ENOUGH.finding(what=what, where=_where(problem, LineKey.parse(key)), of=(key,))


def no_way_findings(problem: Problem) -> tuple[Finding, ...]:
    """Give a *stop* for every start or end that nothing in the show can serve."""
    found = []
    for no_way in problem.no_ways:
        what = f"line {no_way.line} can't be planned at {no_way.part}: {no_way.why}"
        unit = problem.show.units.get(no_way.part.partition(":")[0])
        where = (*_where(problem, no_way.line), *((unit.where,) if unit else ()))
        found.append(NO_WAY.finding(what=what, where=where, of=(str(no_way.line), no_way.part)))
    return tuple(found)


def told(problem: Problem, plan: Plan) -> list[Finding]:
    """Give what the planner has to say about a plan it made."""
    return [
        *_left_out(problem, plan),
        *_moved(problem, plan),
        *_reused(problem, plan),
        *_pins_lost(problem, plan),
    ]


def _where(problem: Problem, key: LineKey) -> tuple[Where, ...]:
    line = problem.show.line(key)
    return (line.where,) if line is not None else ()


def _left_out(problem: Problem, plan: Plan) -> list[Finding]:
    return [
        LEFT_OUT.finding(
            what=f"line {line.key} ({line.name}) does not reach {part}: there is no room for it",
            where=_where(problem, line.key),
            of=(str(line.key), part),
        )
        for line in plan.lines
        for part in line.left_out
    ]


def _moved(problem: Problem, plan: Plan) -> list[Finding]:
    found = []
    for job in (job for job in problem.jobs if not job.strand):
        now, then = plan.line(job.line.key), before_of(problem.earlier, job.line)
        if job.earlier is None or now is None or then is None:
            continue
        for part, before, after in moves(then, now):
            what = (
                f"line {job.line.key} ({job.line.name}) moves at {part}: "
                f"from {_spots(before)} to {_spots(after)}"
            )
            where = _where(problem, job.line.key)
            found.append(LABEL_MOVED.finding(what=what, where=where, of=(str(job.line.key), part)))
    return found


def moves(
    before: LinePlan, after: LinePlan
) -> list[tuple[str, tuple[Spot, ...], tuple[Spot, ...]]]:
    """Give (part, spots before, spots after) for each part that both have and that differs."""
    found = []
    for old, new in ((before.start, after.start), (before.ends, after.ends)):
        for part in sorted(set(old) & set(new), key=natural):
            # A new end may bring a send channel that was not there: nothing moves by that.
            gone = [s for s in old[part] if s not in new[part]]
            come = [s for s in new[part] if s not in old[part]]
            sides = {s.side for s in gone} & {s.side for s in come}
            if sides:
                lost = tuple(s for s in gone if s.side in sides)
                found.append((part, lost, tuple(s for s in come if s.side in sides)))
    return found


def _spots(spots: tuple[Spot, ...]) -> str:
    return ", ".join(map(str, spots))


def _reused(problem: Problem, plan: Plan) -> list[Finding]:
    holders = plan.by_spot()
    found = []
    for freed in problem.freed.values():
        by = [key for key in holders.get(freed.spot, ()) if key.same() != freed.line.same()]
        if by:
            owner = f"line {freed.line} ({freed.name})"
            what = f"{freed.spot} was kept for {owner}; line {by[0]} has it now"
            of = (str(freed.spot), str(freed.line))
            found.append(FREED_REUSED.finding(what=what, where=_where(problem, by[0]), of=of))
    return found


def _pins_lost(problem: Problem, plan: Plan) -> list[Finding]:
    """Tell of pins that the plan does not keep: the line has nothing there to pin."""
    found = []
    for pin in problem.show.pins:
        line = plan.line(pin.line)
        if line is None or pin.spot in line.spots() or line.left_out:
            continue
        has = ", ".join(map(str, dict.fromkeys(line.spots())))
        what = f"line {pin.line} ({line.name}) is pinned to {pin.spot}, but is on {has}"
        of = (str(pin.line), str(pin.spot))
        found.append(PIN_LOST.finding(what=what, where=pin.where, of=of))
    return found


def streams_told(told: tuple[Told, ...]) -> list[Finding]:
    """Tell of streams in use whose listeners will notice a change."""
    found = []
    for one in told:
        what = f"stream {one.stream} changes its {one.what}: its listeners will hear that"
        found.append(STREAM_HEARD.finding(what=what, of=(one.stream, one.what)))
    return found
