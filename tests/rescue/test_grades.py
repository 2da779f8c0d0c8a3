"""Grades after the rescue: silenced is what stays silent; what was missed is missed."""

from __future__ import annotations

from lineproof.base.finding import Finding, Grade
from lineproof.decide.whole import decide_whole
from lineproof.outcome import work_out
from lineproof.show.read import read_files
from tests.rescue.evident import HEAD, TWO_BOXES, UNITS

THEIRS = TWO_BOXES.replace("number: 2, circuit", "number: 2, theirs: yes, circuit")


def graded(text: str, fault: str) -> dict[str, Finding]:
    """Give by rule what is found of one fault once its rescue is worked out."""
    reading = read_files({"show.yaml": text})
    assert reading.show is not None, reading.findings
    plan = decide_whole(reading.show).plan
    assert plan is not None
    drilled = work_out(reading, plan, upto="rescue").drilled
    return {finding.rule: finding for finding in drilled if fault in finding.of}


def test_an_act_that_comes_back_by_hand_is_not_silenced() -> None:
    found = graded(TWO_BOXES, "box-1")
    assert "act-silenced" not in found
    assert found["must-lost"].grade is Grade.RISK
    assert "2 lines (1, 2) lost at desk; back in about" in found["must-lost"].what


def test_an_act_that_stays_silent_is_a_stop() -> None:
    assert graded(THEIRS, "box-1")["act-silenced"].grade is Grade.STOP


def test_half_an_act_that_stays_lost_is_no_silence() -> None:
    """One socket is left on the second box: one of two voices comes back."""
    full = "".join(
        f"  - {{number: {n}, name: Reed {n}, from: stage, source: line, to: desk, need: want,"
        f" socket: 'box-2:in-{n - 10}'}}\n"
        for n in range(11, 18)
    )
    found = graded(TWO_BOXES + full, "box-1")
    assert "act-silenced" not in found
    assert found["beyond-rescue"].grade is Grade.STOP
    assert "1 end of 2 back" in found["beyond-rescue"].what


def test_a_recording_is_lost_though_the_recorder_comes_back() -> None:
    text = TWO_BOXES.replace(
        "  desk:", "  rec-1: {kind: computer-32, place: front, circuit: house}\n  desk:"
    ).replace("to: desk", "to: desk rec-1")
    found = graded(text, "run:rec-1-a")
    assert found["recording-lost"].grade is Grade.STOP
    assert "act-silenced" not in found


def test_announcements_fall_silent_whatever_can_be_done_after() -> None:
    found = graded(
        TWO_BOXES.replace("socket: 'box-1:in-1'", "need: safety, socket: 'box-1:in-1'"), "box-1"
    )
    assert found["safety-silenced"].grade is Grade.STOP
    assert "line 1 (Oboe)" in found["safety-silenced"].what


def test_a_loudspeaker_that_gets_another_box_is_no_silence_at_the_loudspeakers() -> None:
    text = HEAD + UNITS.replace(
        "  desk:", "  fill: {kind: analogue-loudspeaker, place: stage, circuit: house}\n  desk:"
    )
    text += (
        "lines:\n  - {number: 1, name: Host, from: front, source: dynamic mic, to: desk}\n"
        "  - {number: 41, name: Main, from: desk, source: main mix, to: fill, with: 1,"
        " socket: 'box-1:out-1'}\n"
    )
    assert "act-silenced" not in graded(text, "box-1")
    assert graded(text, "fill")["act-silenced"].grade is Grade.STOP
