"""One line: its ways from source to every end, each hop with its figures, and what silences it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.graph.signal import By, Way, carried_by
from lineproof.outcome import Outcome
from lineproof.plan.network import Stream
from lineproof.reckon.delay import UNBOUNDED
from lineproof.reckon.delay_figures import NetFigures
from lineproof.rescue.moves import counted
from lineproof.rescue.rescue import Rescue
from lineproof.show.model import Line
from lineproof.web.views.lines import states
from lineproof.web.views.parts import (
    FindingView,
    Head,
    Link,
    Rows,
    act_title,
    finding_view,
    findings_of,
    head,
    line_href,
    place_title,
    room_href,
    unit_words,
)
from lineproof.web.worked import Worked


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One thing the list says of a line."""

    name: str
    value: str


@dataclass(frozen=True, kw_only=True)
class Step:
    """One stop of a way: a place or a unit with the spots there, and how the signal comes to it.

    `by` is "" for the first, else lead, multicore or network; `figures` tell that hop.
    """

    name: str
    title: str
    spots: str
    by: str = ""
    figures: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class WayView:
    """How the line comes to one end; `stands_in`: another way is heard while all is well."""

    end: str
    steps: tuple[Step, ...]
    stands_in: bool


@dataclass(frozen=True, kw_only=True)
class Silencer:
    """A fault that silences the line; `back` says how the line is made good, "" where unknown."""

    text: str
    href: str
    back: str


@dataclass(frozen=True, kw_only=True)
class LinePage:
    """Everything known of one line."""

    head: Head
    key: str
    title: str
    state: str
    facts: tuple[Fact, ...]
    ways: tuple[WayView, ...]
    findings: tuple[FindingView, ...]
    silenced_by: tuple[Silencer, ...]
    unknown_after: tuple[Link, ...]
    singles_known: bool
    before: Link | None
    after: Link | None


def line_page(worked: Worked, text: str) -> LinePage | None:
    """Give the page of the line whose key is `text`, or None where there is none."""
    outcome = worked.outcome
    if outcome is None:
        return None
    try:
        line = outcome.show.line(LineKey.parse(text))
    except SpotError:
        return None
    return None if line is None else _page(worked, outcome, line)


def _page(worked: Worked, outcome: Outcome, line: Line) -> LinePage:
    rows = Rows(worked.folder)
    before, after = _neighbours(outcome, line)
    return LinePage(
        head=head(worked),
        key=str(line.key),
        title=f"{line.key.number} {line.title}",
        state=states(outcome)[str(line.key)],
        facts=tuple(f for f in _facts(outcome, line) if f.value),
        ways=ways_of(outcome, line),
        findings=tuple(
            finding_view(f, outcome.show, rows) for f in findings_of(outcome, [str(line.key)])
        ),
        silenced_by=_silencers(outcome, line),
        unknown_after=tuple(
            Link(text=str(fault), href=room_href([str(fault)]))
            for fault in _faults(outcome, line, State.UNKNOWN)
        ),
        singles_known=bool(outcome.singles),
        before=before,
        after=after,
    )


def _neighbours(outcome: Outcome, line: Line) -> tuple[Link | None, Link | None]:
    """Give the lines before and after it in its act's list."""
    same = [x for x in outcome.show.lines if x.key.act == line.key.act]
    same.sort(key=lambda x: x.key.sort_key())
    at = same.index(line)
    found = [same[n] if 0 <= n < len(same) else None for n in (at - 1, at + 1)]
    first, second = (
        Link(text=f"{x.key.number} {x.title}", href=line_href(x.key)) if x else None for x in found
    )
    return first, second


def _facts(outcome: Outcome, line: Line) -> Iterator[Fact]:
    show = outcome.show
    if show.acts:
        yield Fact(name="act", value=act_title(show, line.key.act))
    yield Fact(name="from", value=", ".join(place_title(show, s.name) for s in line.starts))
    yield Fact(name="source", value=line.source_text or (line.source.name if line.source else ""))
    yield Fact(name="48 V", value="on" if line.needs_phantom else "")
    yield Fact(name="need", value=line.need.value)
    yield Fact(name="group", value=line.group)
    yield Fact(name="pair", value=str(line.pair) if line.pair else "")
    yield Fact(name="standby", value=line.standby)
    yield Fact(name="never to", value=", ".join(line.never))
    yield Fact(name="note", value=line.note)
    yield Fact(name="written in", value=str(line.where) if line.where.file else "")


def ways_of(outcome: Outcome, line: Line) -> tuple[WayView, ...]:
    """Give every way of a line, in the order of its ends; a standby's ways stand behind."""
    found: list[WayView] = []
    heard: set[str] = set()
    for way in outcome.figures.ways.get(line.key, ()):
        steps = tuple(_steps(outcome, line, way))
        end = unit_words(outcome.show, way.end)
        found.append(WayView(end=end, steps=steps, stands_in=way.end in heard))
        heard.add(way.end)
    return tuple(found)


def _steps(outcome: Outcome, line: Line, way: Way) -> Iterator[Step]:
    show = outcome.show
    start = way.start.partition(":")[0]
    elsewhere = not way.spots or way.spots[0].unit != start
    if elsewhere:
        yield Step(name=start, title=place_title(show, start), spots="")
    before: Spot | None = None
    for spots in _by_unit(way.spots):
        by = ""
        figures: tuple[str, ...] = ()
        if before is not None:
            hop = carried_by(before, spots[0])
            by, figures = hop.value, tuple(_figures(outcome, line, hop, (before, spots[0])))
        elif elsewhere:
            by, figures = By.LEAD.value, tuple(_lead(outcome, line, spots[0]))
        numbers = " ".join(f"{spot.side.value}-{spot.number}" for spot in spots)
        yield Step(
            name=spots[0].unit,
            title=unit_words(show, spots[0].unit),
            spots=numbers,
            by=by,
            figures=figures,
        )
        before = spots[-1]


def _by_unit(spots: tuple[Spot, ...]) -> list[list[Spot]]:
    found: list[list[Spot]] = []
    for spot in spots:
        if found and found[-1][-1].unit == spot.unit:
            found[-1].append(spot)
        else:
            found.append([spot])
    return found


def _figures(outcome: Outcome, line: Line, hop: By, spots: tuple[Spot, Spot]) -> Iterator[str]:
    if hop is By.LEAD:
        yield from _lead(outcome, line, spots[1])
    elif hop is By.NETWORK:
        yield from _network(outcome, spots)


def _lead(outcome: Outcome, line: Line, spot: Spot) -> Iterator[str]:
    for lead in outcome.figures.leads_of(line.key):
        if spot in (lead.spot, lead.far):
            yield "length unknown" if lead.length_m is None else f"{lead.length_m:.0f} m"
            if lead.over is not None:
                yield f"over {lead.over}"
            return


def _network(outcome: Outcome, spots: tuple[Spot, Spot]) -> Iterator[str]:
    """Tell the stream that carries a channel, and net by net its longest delay."""
    send, receive = spots
    for stream in outcome.plan.network.streams_of(send.unit):
        fits = send.side is Side.SEND and send.number in stream.channels
        if fits and receive.unit in stream.receivers:
            yield f"stream {stream.name}"
            for figures in outcome.network.nets.values() if outcome.network else ():
                yield from _delay(figures, stream, receive.unit)
            break
    for buffer in outcome.network.buffers if outcome.network else ():
        if receive.unit in buffer.units and buffer.offset_ms is not None:
            yield f"link offset {buffer.offset_ms:g} ms"


def _delay(figures: NetFigures, stream: Stream, receiver: str) -> Iterator[str]:
    swept = figures.swept
    index = figures.fabric.index.get(receiver)
    for n, flow in enumerate(swept.flows):
        worst = swept.delay_ns.get((n, index)) if index is not None else None
        if flow.name == stream.name and worst is not None:
            told = ms(worst.worst)
            yield f"net {figures.fabric.net}: at most {told}"


def ms(nanoseconds: int | None) -> str:
    """Give a time in milliseconds, in words where there is no bound.

    >>> ms(1158428), ms(None)
    ('1.16 ms', 'not reached')
    """
    if nanoseconds is None:
        return "not reached"
    return "no bound" if nanoseconds == UNBOUNDED else f"{nanoseconds / 1e6:.2f} ms"


def _silencers(outcome: Outcome, line: Line) -> tuple[Silencer, ...]:
    """Give the single faults that silence the line at some end, each with its rescue."""
    at = _place_in_drill(outcome, line)
    found = []
    for fault in _faults(outcome, line, State.LOST):
        rescue = outcome.rescued.of(fault) if outcome.rescued else None
        back = _back(rescue, at) if rescue is not None else ""
        name = str(fault)
        found.append(Silencer(text=name, href=room_href([name]), back=back))
    return tuple(found)


def _place_in_drill(outcome: Outcome, line: Line) -> int:
    """Give where the line stands among those that were drilled, -1 for nowhere."""
    keys = outcome.drill.swept.keys if outcome.drill else ()
    return next((n for n, key in enumerate(keys) if key == line.key), -1)


def _back(rescue: Rescue, at: int) -> str:
    """Give in a few words what a rescue does for one line.

    Others may be brought back by the same walk; the time is until all of it is done.
    """
    mine = {end for end in rescue.lost if end[0] == at}
    back = mine & set(rescue.back)
    if not back:
        return "stays silent: nothing at hand"
    minutes = max(1, round(rescue.seconds() / 60))
    part = "" if back == mine else f"at {len(back)} of {len(mine)} ends "
    return f"back {part}in about {minutes} min ({counted(rescue.moves)})"


def _faults(outcome: Outcome, line: Line, state: State) -> Iterator[Fault]:
    """Give the single faults after which the line is in that state."""
    for drilled in outcome.singles:
        if any(v.line == line.key and v.state is state for v in drilled.verdicts):
            yield drilled.fault
