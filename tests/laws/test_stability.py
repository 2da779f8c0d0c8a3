"""What hangs stays: added, removed and returning lines, and a show that did not change."""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lineproof.base.spot import LineKey
from lineproof.decide.decide import decide
from lineproof.plan.model import LinePlan, Plan
from lineproof.plan.text import write_plan
from tests.second.draw import Text, issued, number_of, roomy_texts, texts


def planned(text: Text, earlier: Plan | None = None, revision: int = 1) -> Plan:
    decision = decide(text.show(), issued(earlier, revision) if earlier else None)
    assert decision.plan is not None, [str(f) for f in decision.findings]
    return decision.plan


def line_of(plan: Plan, number: str) -> LinePlan:
    line = plan.line(LineKey(act="", number=number))
    assert line is not None
    return line


@settings(max_examples=60)
@given(text=texts())
def test_an_unchanged_show_keeps_its_plan(text: Text) -> None:
    show = text.show()
    first = decide(show).plan
    assume(first is not None)
    assert first is not None
    again = decide(show, issued(first))
    assert again.plan is not None
    assert write_plan(again.plan) == write_plan(first)
    assert not [f for f in again.findings if f.rule == "label-moved"]


@settings(max_examples=40)
@given(text=roomy_texts(least_lines=2), data=st.data())
def test_an_added_line_moves_no_other(text: Text, data: st.DataObject) -> None:
    added = data.draw(st.sampled_from(text.lines))
    others = text.with_lines([line for line in text.lines if line != added])
    first = planned(others)
    # The row that names the new line as its pair is changed by that; all others are not.
    rows = [line for line in text.lines if line != added]
    changed = [number_of(a) for a, b in zip(rows, others.lines, strict=True) if a != b]
    second = planned(text, first)
    for line in first.lines:
        if line.key.number in changed:
            assert line_of(second, line.key.number).start == line.start
        else:
            assert line_of(second, line.key.number) == line


@settings(max_examples=40)
@given(text=roomy_texts(least_lines=2), data=st.data())
def test_what_a_removed_line_held_is_kept_for_it(text: Text, data: st.DataObject) -> None:
    removed = data.draw(st.sampled_from(text.lines))
    with_all = text.with_lines([line.partition(", pair: ")[0] for line in text.lines])
    rest = [line for line in with_all.lines if number_of(line) != number_of(removed)]
    first = planned(with_all)
    held = set(line_of(first, number_of(removed)).spots())

    second = planned(with_all.with_lines(rest), first)
    freed = {f.spot: f for f in second.freed}
    assert set(freed) == held
    assert {f.line.number for f in freed.values()} <= {number_of(removed)}
    assert all(f.revision == 1 for f in freed.values())

    # Another line, alike in all but its number and name, does not take what is kept …
    other = _row(with_all, number_of(removed)).replace(
        f"number: {number_of(removed)}, name: Line {number_of(removed)}",
        "number: 99, name: Another",
    )
    third = planned(with_all.with_lines([*rest, other]), second, 2)
    assert not held & set(line_of(third, "99").spots())
    assert {f.spot for f in third.freed} == held

    # … and the line that went gets all of it back when it returns.
    back = planned(
        with_all.with_lines([*rest, other, _row(with_all, number_of(removed))]), third, 3
    )
    assert set(line_of(back, number_of(removed)).spots()) == held
    assert not back.freed
    assert line_of(back, "99") == line_of(third, "99")


def _row(text: Text, number: str) -> str:
    return next(line for line in text.lines if number_of(line) == number)


SHOW = Text(
    places=("stage: {at: [0, 0, 0]}", "front: {at: [0, 18, 0]}"),
    kinds=("one-track: {like: computer-32, receive: {48000: 1}}",),
    units=(
        "box: {kind: box-16-8, place: stage, number: 1}",
        "desk: {kind: mixer-32, place: front}",
        "rec: {kind: computer-32, place: front}",
        "tape: {kind: one-track, place: front}",
    ),
    lines=(
        "number: 1, name: Kick, from: stage, to: desk",
        "number: 2, name: Snare, from: stage, to: [desk, rec]",
    ),
)


def test_nobody_else_gets_the_channel_kept_for_a_line_that_went() -> None:
    second = planned(SHOW.with_lines(SHOW.lines[1:]), planned(SHOW))
    # Its socket is given away by hand; its channel and strip stay kept.
    other = "number: 3, name: Hat, from: stage, to: desk, socket: 'box:1'"
    show = SHOW.with_lines([SHOW.lines[1], other]).show()
    decision = decide(show, issued(second, 2))
    assert decision.plan is not None
    assert line_of(decision.plan, "3").ends["desk"][0].number > 16
    assert {str(f.spot) for f in decision.plan.freed} == {"desk:receive-1", "desk:strip-1"}
    assert next(t.value for t in decision.terms if t.name == "off number") == 3


def test_an_end_that_returns_gets_its_channel_back() -> None:
    without = SHOW.with_lines([SHOW.lines[0], "number: 2, name: Snare, from: stage, to: desk"])
    first = planned(SHOW)
    second = planned(without, first)
    assert {str(f.spot) for f in second.freed} == {"rec:receive-2"}
    third = planned(SHOW, second, 2)
    assert line_of(third, "2") == line_of(first, "2")
    assert not third.freed


def test_a_line_that_moves_back_to_its_old_place_gets_its_old_socket() -> None:
    away = SHOW.with_lines([SHOW.lines[0], "number: 2, name: Snare, from: front, to: [desk, rec]"])
    first = planned(SHOW)
    third = planned(SHOW, planned(away, first), 2)
    assert line_of(third, "2") == line_of(first, "2")


def test_a_want_that_has_its_channel_keeps_it_before_another_want() -> None:
    alone = SHOW.with_lines(["number: 2, name: Snare, from: stage, to: [tape?, desk]"])
    more = alone.with_lines(
        [
            "number: 1, name: Kick, from: stage, to: [tape?, desk]",
            *alone.lines,
            "number: 3, name: Hat, from: stage, to: [tape?, desk]",
        ]
    )
    assert line_of(planned(more, planned(alone)), "2") == line_of(planned(alone), "2")
    # Planned afresh, the earlier line has it.
    assert [line.left_out for line in planned(more).lines] == [(), ("tape",), ("tape",)]
