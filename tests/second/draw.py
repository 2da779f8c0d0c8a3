"""Small shows as somebody would write them, drawn by hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hypothesis import strategies as st

from lineproof.plan.model import Issued, Plan
from lineproof.show.model import Show
from lineproof.show.read import read_files

_PORT = "ports: [{medium: copper, speed-mbit: 1000}]"


@dataclass(frozen=True, kw_only=True)
class Text:
    """A show's text, its rows apart so that a test can shuffle, drop and add them."""

    places: tuple[str, ...]
    ducts: tuple[str, ...] = ()
    kinds: tuple[str, ...]
    units: tuple[str, ...]
    lines: tuple[str, ...]
    pins: tuple[str, ...] = ()
    acts: tuple[str, ...] = ()
    routes: str = ""

    def yaml(self) -> str:
        """Give `show.yaml`."""
        rows = ["title: Drawn", "rate: 48 kHz"]
        rows += [f"routes: {self.routes}"] if self.routes else []
        for key in ("places", "ducts", "kinds", "units", "acts", "pins"):
            if records := getattr(self, key):
                rows += [f"{key}:", *(f"  {record}" for record in records)]
        rows += ["lines:", *(f"  - {{{line}}}" for line in self.lines)]
        return "\n".join(rows) + "\n"

    def show(self) -> Show:
        """Give the show, which must be read without a *stop*."""
        reading = read_files({"show.yaml": self.yaml()})
        stops = [str(f) for f in reading.findings if f.grade.value == "stop"]
        assert reading.show is not None
        assert not stops, "\n".join([*stops, self.yaml()])
        return reading.show

    def with_lines(self, lines: Sequence[str]) -> Text:
        """Give the same with other lines; a pin or pair of a line that isn't there goes too."""
        keys = {key_of(line) for line in lines}
        kept = [
            line if mate_of(line) in keys else line.replace(f", pair: {pair_of(line)}", "")
            for line in lines
        ]
        pins = tuple(pin for pin in self.pins if pin.partition(":")[0] in keys)
        return replace(self, lines=tuple(kept), pins=pins)


def number_of(line: str) -> str:
    """Give the number of a line's row."""
    return line.removeprefix("number: ").partition(",")[0]


def pair_of(line: str) -> str:
    """Give the number of the other half, as the row says."""
    return line.partition(", pair: ")[2].partition(",")[0]


def cell_of(line: str, column: str) -> str:
    """Give what a line's row says in one column, "" for nothing."""
    return f", {line}".partition(f", {column}: ")[2].partition(",")[0]


def key_of(line: str) -> str:
    """Give the key of a line's row: its number, and before it the act, if it has one."""
    act = cell_of(line, "act")
    return f"{act}/{number_of(line)}" if act else number_of(line)


def mate_of(line: str) -> str:
    """Give the key of the other half, which is in the same act, or "" where there is none."""
    act, mate = cell_of(line, "act"), pair_of(line)
    return f"{act}/{mate}" if act and mate else mate


def issued(plan: Plan, revision: int = 1) -> Issued:
    """Give the plan as issued."""
    return Issued(revision=revision, by="nn", at="", mark="", plan=plan, show={})


def _sockets(groups: Sequence[str]) -> str:
    return "sockets: [" + ", ".join(f"{{{g}, connector: XLR 3}}" for g in groups) + "]"


@st.composite
def _box(draw: st.DrawFn, name: str) -> tuple[str, int, int]:
    """Give a kind of box of 2 to 5 sockets, and how many inputs and outputs it has."""
    phantom = draw(st.integers(0, 3))
    plain = draw(st.integers(0 if phantom else 1, 3 - phantom))
    line_only = draw(st.sampled_from([0, 0, 0, 1]))
    ins = phantom + plain + line_only
    outs = draw(st.integers(0 if ins > 1 else 1, 5 - ins if ins > 3 else 2))
    most = draw(st.sampled_from(["", "", "", ", most-dbu: 0"]))
    groups = [
        f"side: in, count: {phantom}, signal: mic, phantom: yes" if phantom else "",
        f"side: in, count: {plain}, signal: mic{most}" if plain else "",
        f"side: in, count: {line_only}, signal: line" if line_only else "",
        f"side: out, count: {outs}, signal: line" if outs else "",
    ]
    send = draw(st.sampled_from([ins, ins, ins, max(1, ins - 1)]))
    kind = (
        f"{name}: {{does: box, {_sockets([g for g in groups if g])}, send: {{48000: {send}}}, "
        f"receive: {{48000: {outs}}}, numbering: {{inputs: 5, outputs: 5}}, {_PORT}}}"
    )
    return kind, ins, outs


@st.composite
def _mixer(draw: st.DrawFn, *, tight: bool) -> tuple[str, bool]:
    """Give the kind of the mixer, and whether it has inputs of its own."""
    ins, outs = draw(st.sampled_from([(0, 2), (0, 1), (2, 1), (0, 0)]))
    groups = [
        f"side: in, count: {ins}, signal: mic, phantom: yes" if ins else "",
        f"side: out, count: {outs}, signal: line" if outs else "",
    ]
    sockets = _sockets([g for g in groups if g]) + ", " if ins or outs else ""
    receive = draw(st.integers(1, 3 if tight else 12))
    strips = draw(st.integers(1, 2 if tight else 6))
    follows = draw(st.sampled_from(["yes", "yes", "no"]))
    kind = (
        f"desk-kind: {{does: mixer, {sockets}send: {{48000: {draw(st.integers(1, 4))}}}, "
        f"receive: {{48000: {receive}}}, strips: {strips}, inside-patch: yes, "
        f"follows-numbers: {follows}, {_PORT}}}"
    )
    return kind, ins > 0


_ENDS = ["desk", "desk", "desk", "desk", "desk?", "rec", "rec", "rec?", "desk|rec", "pa", "front"]


@st.composite
def _line(draw: st.DrawFn, number: int, starts: Sequence[str], ends: Sequence[str]) -> str:
    start = draw(st.sampled_from(starts))
    source = "main mix"
    if start != "desk":
        source = draw(st.sampled_from(["dynamic mic", "condenser mic", "playback", ""]))
    # A signal that starts in the mixer need not go to it.
    there = [e for e in ends if not (start == "desk" and e.startswith("desk"))]
    to = draw(st.lists(st.sampled_from(there), min_size=1, max_size=2, unique=True))
    cells = [f"number: {number}", f"name: Line {number}", f"from: {start}"]
    cells += [f"source: {source}"] if source else []
    cells += ["to: [" + ", ".join(to) + "]"]
    more = {
        "group": ["", "", "g", "h"],
        "spread": ["", "", "v"],
        "need": ["", "", "", "want", "spare"],
        "content": ["", "", "speech"],
    }
    cells += [
        f"{key}: {word}" for key, words in more.items() if (word := draw(st.sampled_from(words)))
    ]
    return ", ".join(cells)


@st.composite
def texts(
    draw: st.DrawFn, *, most_lines: int = 5, pins: bool | None = None, tight: bool = False
) -> Text:
    """Give a show of two boxes, a mixer, a recorder and a loudspeaker at two or three places.

    A `tight` one asks for more than there is, more often than not; `pins` says whether somebody
    pinned something (None: now and then).
    """
    metres = draw(st.integers(1, 20))
    places = (
        "stage: {at: [0, 0, 0]}",
        f"wing: {{at: [{metres}, 0, 0]}}",
        "front: {at: [0, 18, 0]}",
    )
    duct = f"floor: {{between: [stage, wing], length: {draw(st.integers(1, 30))} m}}"
    (one, ins, outs), (two, ins_2, _) = draw(_box("one")), draw(_box("two"))
    desk, own_inputs = draw(_mixer(tight=tight))
    numbered = draw(st.sampled_from([("1", "2"), ("2", "1"), ("1", ""), ("", "")]))
    units = [
        *(
            f"{name}: {{kind: {kind}, place: {draw(st.sampled_from(['stage', 'wing']))}"
            + (f", number: {n}}}" if n else "}")
            for name, kind, n in zip(("box-a", "box-b"), ("one", "two"), numbered, strict=True)
        ),
        f"desk: {{kind: desk-kind, place: {draw(st.sampled_from(['front', 'front', 'wing']))}}}",
        "rec: {kind: rec-kind, place: front}",
        f"pa: {{kind: pa-kind, place: {draw(st.sampled_from(['stage', 'wing']))}}}",
        "keys: {kind: keys-kind, place: stage}",
    ]
    kinds = (
        one,
        two,
        desk,
        f"rec-kind: {{does: recorder, receive: {{48000: {draw(st.integers(1, 5))}}}, {_PORT}}}",
        f"pa-kind: {{does: loudspeaker, {_sockets(['side: in, count: 2, signal: line'])}}}",
        f"keys-kind: {{does: radio, {_sockets(['side: out, count: 2, signal: line'])}}}",
    )
    starts = ["stage", "stage", "wing", "wing", "box-b", "keys", "desk"]
    count = draw(st.integers(3 if tight else 1, most_lines))
    ends = [*_ENDS, *(["box-a"] if outs else [])]
    lines = [draw(_line(n, starts, ends)) for n in range(1, count + 1)]
    if count > 1 and draw(st.booleans()):
        lines[0] += ", pair: 2"
    pinned: list[str] = []
    if draw(st.sampled_from([False, False, True])) if pins is None else pins:
        pinned = draw(_pins(lines, min(ins, 2), own_inputs=own_inputs, second=min(ins_2, 2)))
    return Text(
        places=places,
        ducts=(duct,) if draw(st.booleans()) else (),
        kinds=kinds,
        units=tuple(units),
        lines=tuple(lines),
        pins=tuple(pinned),
    )


@st.composite
def _pins(
    draw: st.DrawFn, lines: Sequence[str], first: int, *, own_inputs: bool, second: int
) -> list[str]:
    """Give a pin for one line: the socket it is plugged into, or its channel on the mixer."""
    line = draw(st.sampled_from(lines))
    start = line.partition("from: ")[2].partition(",")[0]
    number = number_of(line)
    if start == "desk":
        return []
    arrives = "to: [desk," in line or "to: [desk]" in line
    if arrives and not own_inputs and draw(st.booleans()):
        return [f"{number}: {{ends: {{desk: desk:receive-1}}}}"]
    unit, most = ("box-b", second) if start == "box-b" else ("box-a", first)
    socket = draw(st.integers(1, max(1, most - 1)))
    return [f"{number}: {{start: [{unit}:in-{socket}]}}"]


@st.composite
def roomy_texts(draw: st.DrawFn, *, least_lines: int = 1) -> Text:
    """Give a show with sockets and channels to spare, so that nothing ever has to give way."""
    places = ("stage: {at: [0, 0, 0]}", "wing: {at: [7, 0, 0]}", "front: {at: [0, 18, 0]}")
    numbers = draw(st.sampled_from([("1", "2"), ("2", "1"), ("1", "")]))
    units = [
        *(
            f"{name}: {{kind: box-16-8, place: {place}" + (f", number: {n}}}" if n else "}")
            for name, place, n in zip(
                ("box-a", "box-b"), draw(st.permutations(["stage", "wing"])), numbers, strict=True
            )
        ),
        "desk: {kind: mixer-64, place: front}",
        "rec: {kind: computer-32, place: front}",
        "pa: {kind: pa-kind, place: wing}",
    ]
    eight = _sockets(["side: in, count: 8, signal: line"])
    count = draw(st.integers(least_lines, 7))
    starts = ["stage", "stage", "wing", "wing", "desk", "front"]
    ends = ["desk", "desk", "rec", "desk|rec", "pa", "front", "box-a"]
    lines = [draw(_line(n, starts, ends)) for n in range(1, count + 1)]
    if count > 1 and draw(st.booleans()):
        lines[0] += ", pair: 2"
    return Text(
        places=places,
        kinds=(f"pa-kind: {{does: loudspeaker, {eight}}}",),
        units=tuple(units),
        lines=tuple(lines),
    )
