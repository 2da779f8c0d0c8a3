"""Small shows of several acts, and of what stands in and goes by cable, drawn by hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import strategies as st

from tests.second.draw import Text, cell_of, key_of

_PORT = "ports: [{medium: copper, speed-mbit: 1000}]"

#: Few enough that acts often have one in common.
ROLES = ("Kick", "Vox", "Horn")
TIMES = (
    ("19:00", "20:00", "20:30", "21:00", "21:30", "22:00"),  # one after the other
    ("19:00", "20:00", "19:30", "20:30", "20:00", "21:00"),  # the second in both the others
    ("22:00", "23:30", "23:00", "00:30", "00:10", "01:00"),  # over midnight
)


def _sockets(groups: Sequence[str]) -> str:
    there = [f"{{{g}, connector: XLR 3}}" for g in groups if g]
    return f"sockets: [{', '.join(there)}], " if there else ""


@st.composite
def _box(draw: st.DrawFn, name: str) -> str:
    phantom = draw(st.sampled_from([0, 1, 2, 2]))
    plain = draw(st.integers(0 if phantom else 1, 2))
    outs = draw(st.sampled_from([0, 0, 1, 2]))
    sockets = _sockets(
        [
            f"side: in, count: {phantom}, signal: mic, phantom: yes" if phantom else "",
            f"side: in, count: {plain}, signal: mic" if plain else "",
            f"side: out, count: {outs}, signal: line" if outs else "",
        ]
    )
    return (
        f"{name}: {{does: box, {sockets}send: {{48000: {phantom + plain}}}, "
        f"receive: {{48000: {outs}}}, numbering: {{inputs: 4, outputs: 4}}, {_PORT}}}"
    )


@st.composite
def _mixer(draw: st.DrawFn, *, roomy: bool) -> str:
    ins = draw(st.sampled_from([0, 0, 0, 2]))
    sockets = _sockets([f"side: in, count: {ins}, signal: mic, phantom: yes" if ins else ""])
    receive = 12 if roomy else draw(st.sampled_from([2, 3, 4, 12]))
    strips = 12 if roomy else draw(st.sampled_from([2, 3, 8, 8]))
    return (
        f"desk-kind: {{does: mixer, {sockets}send: {{48000: 8}}, receive: {{48000: {receive}}}, "
        f"strips: {strips}, inside-patch: yes, follows-numbers: yes, {_PORT}}}"
    )


@st.composite
def acts(draw: st.DrawFn, *, one_stage: bool) -> tuple[str, ...]:
    """Give two or three acts on one or two stages, with and without times and building before."""
    names = ("first", "second", "third")[: draw(st.sampled_from([2, 2, 3]))]
    times = draw(st.sampled_from([None, None, *TIMES]))
    several = [] if one_stage else [("main", "side", "main")]
    stages = draw(st.sampled_from([("main",) * 3, ("main",) * 3, *several]))
    rows = []
    for at, name in enumerate(names):
        cells = [f"stage: {stages[at]}"]
        cells += [f"starts: '{times[2 * at]}', ends: '{times[2 * at + 1]}'"] if times else []
        cells += draw(st.sampled_from([[], [], [], ["build: before"]]))
        rows.append(f"{name}: {{{', '.join(cells)}}}")
    return tuple(rows)


@dataclass(frozen=True, kw_only=True)
class _Row:
    """What a row of an act is made of. `roomy`: what gives way has no role in another act.

    `taken`: the roles that it can't have.
    """

    act: str
    number: int
    roomy: bool
    taken: frozenset[str]

    def cells(self, draw: st.DrawFn) -> str:
        role = draw(st.sampled_from(ROLES))
        some = self.roomy and role not in self.taken and draw(st.sampled_from([True, True, False]))
        role = role if some or not self.roomy else f"Only {self.number}"
        sources = ["dynamic mic", "dynamic mic", "condenser mic"]
        source = sources[ROLES.index(role)] if some else draw(st.sampled_from(sources))
        cells = [f"number: {self.number}", f"name: {role}"]
        cells += [f"act: {self.act}"] if self.act else []
        start = draw(st.sampled_from(["stage", "stage", "stage", "wing", "keys"]))
        cells += [f"from: {start}", f"source: {source}", f"to: [{self._ends(draw, must=some)}]"]
        return ", ".join(cells + self._wishes(draw, must=some))

    def _ends(self, draw: st.DrawFn, *, must: bool) -> str:
        ends = ["desk", "desk", "desk", "rec"]
        ends += [] if must else ["desk?", "rec?"]
        ends += [] if self.roomy and self.act else ["front", "pa"]
        chosen = st.sampled_from(ends)
        to = draw(st.lists(chosen, min_size=1, max_size=2, unique_by=lambda x: x.strip("?")))
        return ", ".join(f"'{end}'" for end in to)

    def _wishes(self, draw: st.DrawFn, *, must: bool) -> list[str]:
        more = {
            "group": ["", "", "", "" if self.roomy else "g"],
            "spread": ["", "", "", "" if must else "v"],
            "need": ["", "", "", *([""] if must else ["want", "spare"])],
        }
        return [
            f"{key}: {word}"
            for key, words in more.items()
            if (word := draw(st.sampled_from(words)))
        ]


@st.composite
def act_texts(
    draw: st.DrawFn, *, most_lines: int = 6, roomy: bool = False, roles: bool = True
) -> Text:
    """Give a show of two or three acts with a few lines each, and now and then one of all acts.

    In a `roomy` one there are channels and strips for all, one stage, routes stay all night,
    nobody pins, and what a role needs is the same in every act. With `roles` off no two of its
    lines have one.
    """
    metres = draw(st.sampled_from([1, 4, 4, 20]))
    boxes = draw(st.sampled_from([1, 1, 2]))
    running = draw(acts(one_stage=roomy))
    named = [row.partition(":")[0] for row in running]
    count = draw(st.integers(3, most_lines))
    # Mostly by turns, so that few sockets serve many lines.
    turns = [
        draw(st.sampled_from([named[n % len(named)]] * 3 + ["", *named])) for n in range(count)
    ]
    lines: list[str] = []
    for n, act in enumerate(turns, start=1):
        taken = frozenset(
            cell_of(x, "name") for x in lines if not roles or cell_of(x, "act") == act
        )
        lines.append(_Row(act=act, number=n, roomy=roomy, taken=taken).cells(draw))
    lines = draw(_paired(lines, roomy=roomy))
    tracks = 8 if roomy else draw(st.integers(1, 5))
    desk_at = draw(st.sampled_from(["front", "front", "wing"]))
    return Text(
        places=_places(metres),
        kinds=(
            *(draw(_box(f"kind-{n}")) for n in range(1, boxes + 1)),
            draw(_mixer(roomy=roomy)),
            f"rec-kind: {{does: recorder, receive: {{48000: {tracks}}}, {_PORT}}}",
            f"pa-kind: {{does: loudspeaker, {_sockets(['side: in, count: 2, signal: line'])}}}",
            f"keys-kind: {{does: radio, {_sockets(['side: out, count: 2, signal: line'])}}}",
        ),
        units=(
            *(
                f"box-{n}: {{kind: kind-{n}, place: {'stage' if n == 1 else 'wing'}, number: {n}}}"
                for n in range(1, boxes + 1)
            ),
            f"desk: {{kind: desk-kind, place: {desk_at}}}",
            "rec: {kind: rec-kind, place: front}",
            "pa: {kind: pa-kind, place: stage}",
            "keys: {kind: keys-kind, place: stage}",
        ),
        lines=tuple(lines),
        pins=() if roomy else tuple(draw(_pins(lines))),
        acts=running,
        routes="" if roomy else draw(st.sampled_from(["", "", "per-act"])),
    )


def _places(metres: int) -> tuple[str, ...]:
    return (
        "stage: {at: [0, 0, 0]}",
        f"wing: {{at: [{metres}, 0, 0]}}",
        "front: {at: [0, 18, 0]}",
    )


@st.composite
def _paired(draw: st.DrawFn, lines: list[str], *, roomy: bool) -> list[str]:
    """Make a pair of the first two lines of one act, now and then."""
    if not draw(st.sampled_from([False, False, True])):
        return lines
    # In a roomy one neither half has a role in another act.
    alone = [x for x in lines if not roomy or cell_of(x, "name") not in ROLES]
    for left in alone:
        mates = [x for x in alone if x != left and cell_of(x, "act") == cell_of(left, "act")]
        if mates:
            paired = f"{left}, pair: {cell_of(mates[0], 'number')}"
            return [paired if x == left else x for x in lines]
    return lines


@st.composite
def _pins(draw: st.DrawFn, lines: Sequence[str]) -> list[str]:
    line = draw(st.sampled_from([None, None, *lines[:2]]))
    if line is None or cell_of(line, "from") == "keys":
        return []
    return [f"{key_of(line)}: {{start: [box-1:in-1]}}"]


@st.composite
def standby_texts(draw: st.DrawFn, *, most_lines: int = 3) -> Text:
    """Give a show without acts in which lines have a standby both ways, or go by cable."""
    metres = draw(st.sampled_from([1, 4, 20]))
    count = draw(st.integers(1, most_lines))
    lines = [draw(_standing(n)) for n in range(1, count + 1)]
    line_in, line_out = ("side: in, count: 2, signal: line", "side: out, count: 2, signal: line")
    mics = f"side: in, count: {draw(st.sampled_from([1, 2]))}, signal: mic, phantom: yes"
    desk = {
        "sockets": _sockets([mics, line_out]),
        "send": draw(st.integers(2, 6)),
        "receive": draw(st.sampled_from([1, 2, 3, 6])),
        "strips": draw(st.integers(1, 4)),
    }
    channels = f"send: {{48000: {desk['send']}}}, receive: {{48000: {desk['receive']}}}"
    more = f"strips: {desk['strips']}, inside-patch: yes, follows-numbers: yes, {_PORT}"
    tracks = f"receive: {{48000: {draw(st.integers(1, 6))}}}"
    return Text(
        places=_places(metres),
        kinds=(
            draw(_box("kind-1")),
            f"desk-kind: {{does: mixer, {desk['sockets']}{channels}, {more}}}",
            f"rec-kind: {{does: recorder, {_sockets([line_in])}{tracks}, {_PORT}}}",
            f"play-kind: {{does: computer, {_sockets([line_out])}send: {{48000: 4}}, {_PORT}}}",
            f"pa-kind: {{does: loudspeaker, {_sockets([line_in])}}}",
            f"keys-kind: {{does: radio, {_sockets([line_out])}}}",
        ),
        units=(
            "box-1: {kind: kind-1, place: stage, number: 1}",
            f"desk: {{kind: desk-kind, place: {draw(st.sampled_from(['front', 'wing']))}}}",
            "rec: {kind: rec-kind, place: front}",
            "play-1: {kind: play-kind, place: front}",
            "play-2: {kind: play-kind, place: wing}",
            "pa: {kind: pa-kind, place: stage}",
            "keys-1: {kind: keys-kind, place: stage}",
            "keys-2: {kind: keys-kind, place: wing}",
        ),
        lines=tuple(lines),
    )


@st.composite
def _standing(draw: st.DrawFn, number: int) -> str:
    both = ["play-1|play-2", "keys-1|keys-2", "play-1|keys-2", "stage|wing"]
    cable = draw(st.sampled_from([False, False, True]))
    # By cable a unit's own output goes to the mixer alone; to sockets elsewhere
    # one lead would do, which the planner does not know of.
    start = draw(st.sampled_from(["stage", "keys-1", "play-1"] if cable else [*both, "stage"]))
    ends = ["desk", "desk", "desk?", *([] if cable and start != "stage" else ["rec", "rec?"])]
    ends += [] if cable else ["pa", "front"]
    to = draw(
        st.lists(st.sampled_from(ends), min_size=1, max_size=2, unique_by=lambda x: x.strip("?"))
    )
    source = "playback" if "play" in start or "keys" in start else "dynamic mic"
    cells = [f"number: {number}", f"name: Line {number}", f"from: {start}", f"source: {source}"]
    cells += [f"to: [{', '.join(to)}]", *(["via: cable"] if cable else [])]
    if "|" not in start:
        cells += draw(st.sampled_from([[], ["need: want"], ["need: spare"], ["group: g"]]))
    return ", ".join(cells)
