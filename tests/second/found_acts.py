"""The smallest shows of acts and standbys on which trying everything found a better plan."""

from __future__ import annotations

PORT = "ports: [{medium: copper, speed-mbit: 1000}]"
MIC = "signal: mic, connector: XLR 3"
ROOM = f"""\
title: Found
rate: 48 kHz
places:
  stage: {{at: [0, 0, 0]}}
  wing: {{at: [4, 0, 0]}}
  front: {{at: [0, 18, 0]}}
kinds:
  mixed: {{does: box, send: {{48000: 2}}, receive: {{48000: 1}}, {PORT}, sockets: [
    {{side: in, count: 1, phantom: yes, {MIC}}}, {{side: in, count: 1, {MIC}}},
    {{side: out, count: 1, signal: line, connector: XLR 3}}]}}
  one: {{does: box, send: {{48000: 1}}, {PORT}, sockets: [{{side: in, count: 1, {MIC}}}]}}
  two: {{does: box, send: {{48000: 2}}, {PORT}, numbering: {{inputs: 4, outputs: 4}}, sockets: [
    {{side: in, count: 2, {MIC}}}]}}
  three: {{does: box, send: {{48000: 3}}, {PORT}, sockets: [{{side: in, count: 3, {MIC}}}]}}
  track: {{does: recorder, receive: {{48000: 1}}, {PORT}}}
  tracks: {{does: recorder, receive: {{48000: 8}}, {PORT}}}
  plain: {{does: mixer, send: {{48000: 8}}, receive: {{48000: 8}}, strips: 8, inside-patch: yes,
    follows-numbers: yes, {PORT}}}
  narrow: {{does: mixer, send: {{48000: 1}}, receive: {{48000: 3}}, strips: 2, inside-patch: yes,
    {PORT}, sockets: [{{side: in, count: 2, {MIC}}}]}}
  pa-kind: {{does: loudspeaker, sockets: [
    {{side: in, count: 2, signal: line, connector: XLR 3}}]}}
"""
ACTS = "acts: {first: {stage: main}, second: {stage: main}}\n"
DESK = "desk: {kind: plain, place: front}"
REC = "rec: {kind: track, place: front}"
TAPE = "rec: {kind: tracks, place: front}"
DYNAMIC, CONDENSER = "source: dynamic mic", "source: condenser mic"


def box(kind: str) -> str:
    return f"box: {{kind: {kind}, place: stage}}"


def line(key: str, name: str, to: str, more: str = DYNAMIC, start: str = "stage") -> str:
    act, _, number = key.rpartition("/")
    cells = [f"number: {number}", f"name: {name}", f"from: {start}", f"to: {to}", more]
    return ", ".join([*cells, *([f"act: {act}"] if act else [])])


BOTH_ACTS = ("first", "second")
#: By what is true: units, lines, and what else the show says.
FOUND: dict[str, tuple[list[str], list[str], str]] = {
    "a group shares a socket between acts": (
        [box("mixed"), TAPE],
        [
            line("first/1", "A", "rec", f"group: g, {DYNAMIC}"),
            line("first/2", "B", "rec", f"group: g, {DYNAMIC}"),
            line("second/1", "C", "rec", f"group: g, {DYNAMIC}"),
        ],
        ACTS,
    ),
    "an end that is left out is heard by nobody": (
        [box("three"), REC, DESK],
        [line("first/1", "A", "[desk, 'rec?']"), line("first/2", "B", "[desk, 'rec?']")],
        ACTS,
    ),
    "two acts in one socket take one channel": (
        [box("two"), REC],
        [line("first/1", "Vox", "rec"), line("second/1", "Kick", "rec")],
        ACTS,
    ),
    "a pin holds its socket in its own act": (
        [box("mixed"), DESK],
        [line("first/1", "A", "desk"), line("second/1", "B", "desk", CONDENSER)],
        f"{ACTS}pins: {{first/1: {{start: [box:in-1]}}}}\n",
    ),
    "a role that can not be one plug is two": (
        [box("mixed"), DESK],
        [
            line("first/1", "Vox", "desk"),
            line("first/2", "Kick", "desk", CONDENSER),
            line("second/1", "Kick", "desk"),
            line("second/2", "Vox", "desk", CONDENSER),
        ],
        ACTS,
    ),
    "a want does not go for a role that is left out in another act": (
        [box("two"), DESK],
        [
            line("first/1", "A", "desk"),
            line("first/2", "B", "desk"),
            line("first/3", "C", "desk", f"need: spare, {DYNAMIC}"),
            line("second/1", "C", "'desk?'"),
        ],
        ACTS,
    ),
    "a role is in one pair in one act, in another in the next": (
        [box("three"), DESK],
        [
            line("first/1", "A", "desk", f"pair: 2, {DYNAMIC}"),
            line("first/2", "B", "desk"),
            line("second/1", "A", "desk", f"pair: 2, {DYNAMIC}"),
            line("second/2", "C", "desk"),
        ],
        ACTS,
    ),
    "a mixer sends as many as it has channels": (
        ["desk: {kind: narrow, place: stage}", TAPE],
        [line("first/1", "A", "rec"), line("first/2", "B", "'rec?'")],
        ACTS,
    ),
    "an output of a box hears one start all night": (
        [box("mixed"), DESK, "play: {kind: computer-16, place: front}"],
        [
            line("first/1", "Mon", "stage", "source: main mix", "desk"),
            line("second/1", "Click", "stage", "source: playback", "play"),
        ],
        ACTS,
    ),
    "a receive channel off its number is off once": (
        ["box: {kind: two, place: stage, number: 20}", DESK],
        [line(f"{act}/{n}", f"{act} {n}", "desk") for n in (1, 2) for act in BOTH_ACTS],
        ACTS,
    ),
    "with routes per act no channel is fed from elsewhere without need": (
        [box("two"), TAPE],
        [line("first/1", "Vox", "rec"), line("second/1", "Kick", "rec")],
        f"routes: per-act\n{ACTS}",
    ),
    "one role alone is not bunched": (
        [box("two"), "more: {kind: two, place: wing}", DESK],
        [line(f"{act}/1", "Kick", "desk", f"spread: v, {DYNAMIC}") for act in BOTH_ACTS],
        ACTS,
    ),
    "nothing is plugged for an end that is left out": (
        [box("mixed"), DESK],
        [
            line("first/1", "Vox", "desk"),
            line("first/2", "Horn", "front", f"need: want, {CONDENSER}"),
            line("second/1", "Horn", "desk", CONDENSER),
        ],
        ACTS,
    ),
    "a standby of a group is left out": (
        [box("one"), "more: {kind: one, place: wing}", DESK],
        [line(n, n, "desk", f"group: g, {DYNAMIC}", "stage|wing") for n in ("1", "2")],
        "",
    ),
    "a standby of a line that is left out is not plugged": (
        [box("two"), DESK, "pa: {kind: pa-kind, place: stage}"],
        [line("1", "A", "pa", f"need: spare, {DYNAMIC}", "stage|wing")],
        "",
    ),
    "an act of another stage was in the socket too": (
        [box("mixed"), "more: {kind: one, place: stage}", DESK],
        [
            line("second/1", "Kick", "desk"),
            line("first/2", "Kick", "desk"),
            line("third/3", "Only", "desk"),
            line("second/4", "Other", "desk", CONDENSER),
        ],
        "acts: {first: {stage: main}, second: {stage: side}, third: {stage: main}}\n",
    ),
    "acts make room on the strips for what is there all night": (
        [box("three"), "desk: {kind: narrow, place: front}"],
        [
            line("first/1", "Horn", "desk"),
            line("second/2", "Kick", "desk"),
            line("3", "Vox", "desk"),
        ],
        ACTS,
    ),
    "each half of a pair is there in its own acts": (
        [box("two"), DESK],
        [
            line("first/1", "Horn", "desk", f"pair: 3, {DYNAMIC}"),
            line("second/2", "Horn", "desk"),
            line("first/3", "Vox", "desk"),
            line("second/4", "Other", "desk"),
        ],
        ACTS,
    ),
}


def text_of(what: str) -> str:
    """Give `show.yaml` of one of them."""
    units, lines, more = FOUND[what]
    rows = [*(f"  {unit}\n" for unit in units), "lines:\n", *(f"  - {{{x}}}\n" for x in lines)]
    return f"{ROOM}{more}units:\n{''.join(rows)}"
