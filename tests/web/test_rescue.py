"""Rescues, grades and gains on the pages: what the command tells, once it is worked out."""

from __future__ import annotations

import json
import shutil
import signal
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example
from lineproof.cli.main import main
from lineproof.drill.calm import calm
from lineproof.drill.sweep import Swept
from lineproof.outcome import Outcome
from lineproof.rescue.gains import Gain, Standing, gains
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.rescue import Rescue, rescue
from lineproof.rescue.steps import steps_of
from lineproof.rescue.whole import Rescued
from lineproof.web.apart import CutShort, gains_apart, rescued_apart
from lineproof.web.breaking import known
from lineproof.web.once import Once
from lineproof.web.views.broken import broken
from lineproof.web.views.drill import drill
from lineproof.web.views.gains import gains as gains_view
from lineproof.web.views.line import line_page
from lineproof.web.views.ready import ready
from lineproof.web.views.rescue import RescueView, back_words, rescue_view, step_words
from lineproof.web.watch import Watch
from lineproof.web.worked import Worked

from .browsing import Served
from .conftest import Ask, worked_out
from .test_serve import LONGEST_S, get, opened

FIRM = {"recording-lost", "safety-silenced"}


@pytest.fixture(scope="module")
def rescued(issued_small: Path) -> Worked:
    """Give the small show with rescues and grades."""
    return worked_out(issued_small, "rescue")


def outcome_of(worked: Worked) -> Outcome:
    assert worked.outcome is not None
    return worked.outcome


def rescue_of(worked: Worked, name: str) -> Rescue | None:
    found = outcome_of(worked).rescued
    assert found is not None
    return found.of(known(worked)[name])


def steps_in(view: RescueView) -> list[str]:
    return [step for here in view.places for step in here.steps]


def standing(findings: Sequence[Finding], grade: Grade) -> list[Finding]:
    return [f for f in findings if f.grade is grade and not f.accepted]


# -- in a process of its own -----------------------------------------------------------------------


def test_rescues_worked_out_apart_are_the_same(rescued: Worked) -> None:
    outcome = outcome_of(rescued)
    assert outcome.drill is not None
    assert outcome.rescued is not None
    far: list[str] = []
    found = rescued_apart(outcome.drill.swept, lambda: True, far.append, lambda: None)
    assert list(found.by_fault) == list(outcome.rescued.by_fault)
    for fault, here in outcome.rescued.by_fault.items():
        there = found.by_fault[fault]
        assert replace(there, show=here.show, plan=here.plan) == here
    assert far
    assert all("rescues: " in each for each in far)


def test_what_nobody_wants_any_more_is_cut_short(rescued: Worked) -> None:
    outcome = outcome_of(rescued)
    assert outcome.rescued is not None
    asked = iter((True, True, False))
    with pytest.raises(CutShort):
        gains_apart(outcome.rescued, lambda: next(asked), lambda _: None)


def helpers_of(server: int) -> list[int]:
    """Give the processes that work something out for a server (proc(5))."""
    found = []
    for each in Path("/proc").glob("[0-9]*"):
        try:
            if f"PPid:\t{server}\n" in (each / "status").read_text():
                found.append(int(each.name))
        except OSError:
            continue
    return found


def runs(process: int) -> bool:
    try:
        return "State:\tZ" not in Path(f"/proc/{process}/status").read_text()
    except OSError:
        return False


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_it_ends_with_the_server_however_that_ends(folder: Path, stop: signal.Signals) -> None:
    with opened(folder, "--port", "0") as (process, port):
        ends = time.monotonic() + LONGEST_S
        helpers: list[int] = []
        get(port, "/")
        while not helpers and time.monotonic() < ends:
            helpers = helpers_of(process.pid)
        assert helpers
        process.send_signal(stop)
        process.wait(LONGEST_S)
        while any(map(runs, helpers)) and time.monotonic() < ends:
            time.sleep(0.05)
        assert not any(map(runs, helpers))


def until(watch: Watch, title: str) -> None:
    """Wait until the rescues of a show with that title are there."""
    ends = time.monotonic() + LONGEST_S
    while time.monotonic() < ends:
        now = watch.now
        if now.stage == "rescue" and outcome_of(now).show.title == title:
            return
        time.sleep(0.02)
    raise AssertionError(f"no rescues of {title}: {watch.now.stage}, {watch.now.unread}")


def test_rescues_of_what_has_changed_are_not_waited_for(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = threading.Event()
    cut: list[str] = []

    def endless(swept: Swept, wanted: Callable[[], bool], *more: Any) -> Rescued:
        title = swept.calm.show.title
        if title != "Harbour Revue":
            return rescued_apart(swept, wanted, *more)
        begun.set()
        while wanted():
            time.sleep(0.01)
        cut.append(title)
        raise CutShort

    monkeypatch.setattr("lineproof.web.watch.rescued_apart", endless)
    watch = Watch(folder)
    watch.start()
    assert begun.wait(LONGEST_S)
    show = folder / "show.yaml"
    show.write_text(show.read_text("utf-8").replace("Harbour Revue", "Quay Revue"), "utf-8")
    until(watch, "Quay Revue")
    watch.stop()
    assert cut == ["Harbour Revue"]


def test_a_file_that_comes_and_goes_ends_no_rescues(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    times: list[int] = []

    def cut_once(swept: Swept, wanted: Callable[[], bool], *more: Any) -> Rescued:
        times.append(1)
        if len(times) == 1:
            raise CutShort
        return rescued_apart(swept, wanted, *more)

    monkeypatch.setattr("lineproof.web.watch.rescued_apart", cut_once)
    watch = Watch(folder)
    watch.start()
    until(watch, "Harbour Revue")
    watch.stop()
    assert len(times) == 2


def test_a_show_without_a_plan_has_no_rescues_and_no_trouble(folder: Path) -> None:
    shutil.rmtree(folder / "plan")
    watch = Watch(folder)
    watch.start()
    until(watch, "Harbour Revue")
    watch.stop()
    assert watch.now.unread == ""
    assert ready(watch.now).sentence.startswith("No: ")


# -- Ready? ----------------------------------------------------------------------------------------


def test_the_first_page_says_what_the_command_says(
    rescued: Worked, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["drill", str(rescued.folder), "--json", "--quiet"])
    told = json.loads(capsys.readouterr().out)["findings"]
    view = ready(rescued)
    for grade, shown in (("stop", view.drilled_stops), ("risk", view.drilled_risks)):
        wanted = [f["what"] for f in told if f["grade"] == grade and not f["accepted"]]
        assert [f.what for f in shown] == wanted
    assert view.answer == ("no" if code else "yes")
    assert (view.ungraded, view.not_tried) == ((), ())


def test_before_rescues_no_finding_stands_that_a_rescue_may_change(small: Worked) -> None:
    outcome = outcome_of(small)
    milder = [f for f in outcome.drilled if f.rule not in FIRM]
    risks = standing(milder, Grade.RISK)
    # What a first look calls a stop, and a rescue may well bring back.
    first = replace(risks[0], rule="group-silenced", grade=Grade.STOP)
    milder[milder.index(risks[0])] = first
    view = ready(replace(small, outcome=replace(outcome, drilled=tuple(milder)), once=Once()))
    assert view.sentence == (
        f"Not yet: {small.to_come}, and 1 finding of single faults may be a stop."
    )
    assert (view.drilled_stops, view.drilled_risks) == ((), ())
    assert {f.what for f in view.ungraded} == {f.what for f in risks}
    assert {f.grade for f in view.ungraded} == {"ungraded"}


def test_with_all_stops_taken_on_it_is_ready(rescued: Worked) -> None:
    outcome = outcome_of(rescued)
    taken = tuple(replace(f, accepted="we know") for f in outcome.drilled)
    view = ready(replace(rescued, outcome=replace(outcome, drilled=taken), once=Once()))
    assert view.sentence == "Yes, and no risk is known."
    assert len(view.accepted) == len(taken)


# -- Room ------------------------------------------------------------------------------------------


def test_the_room_tells_the_rescue_move_by_move(rescued: Worked) -> None:
    found = rescue_of(rescued, "desk")
    assert found is not None
    view = broken(rescued, ["desk"]).rescue
    assert view.state == "known"
    # Two main lines, mixed by the stand-in and heard from it at six channels (the show's rows).
    assert "2 starts, 6 routes" in view.sentence
    assert steps_in(view) == [step_words(s) for s in steps_of(found.moves)]
    stays = {(s.end, link.text) for s in view.stays for link in s.lines}
    calm_ = outcome_of(rescued).drill.calm  # type: ignore[union-attr]
    assert stays == {
        (str(calm_.lines[at].arrivals[n].end), str(calm_.lines[at].line.key))
        for at, n in found.stays
    }


def test_of_several_things_it_is_worked_out_when_asked_for(rescued: Worked) -> None:
    names = ["box-1", "desk"]
    assert broken(rescued, names).rescue.state == "waiting"
    view = rescue_view(rescued, names)
    outcome = outcome_of(rescued)
    ready_ = calm(outcome.show, outcome.plan, outcome.network)
    found = rescue(ready_, [known(rescued)[name] for name in names])
    assert view.sentence.casefold() == f"{back_words(found)}.".casefold()
    assert steps_in(view) == [step_words(s) for s in steps_of(found.moves)]
    # First the places one walks to, numbered in that order, then the screens.
    walked = list(dict.fromkeys(move.place for move in found.moves if move.do.by_hand))
    assert [(s.number, s.place) for s in view.places if s.place] == [*enumerate(walked, start=1)]
    assert [s.place for s in view.places][len(walked) :] in ([], [""])


def test_before_rescues_are_worked_out_one_can_be_asked_for(small: Worked, rescued: Worked) -> None:
    assert broken(small, ["desk"]).rescue.state == "waiting"
    assert rescue_view(small, ["desk"]) == broken(rescued, ["desk"]).rescue


@pytest.mark.parametrize(
    ("name", "state", "says"),
    [
        ("rec-1", "none", "No line is lost"),
        ("mistake:querier-off:a", "mistake", "whoever made it undoes it"),
    ],
)
def test_what_needs_no_rescue_says_so(rescued: Worked, name: str, state: str, says: str) -> None:
    view = rescue_view(rescued, [name])
    assert view.state == state
    assert says in view.sentence


def test_with_nothing_broken_there_is_nothing_to_bring_back(rescued: Worked) -> None:
    assert broken(rescued, []).rescue == RescueView(state="none", sentence="Nothing is broken.")


def plug(n: int, into: int) -> Move:
    """Give one lead moved from one box to another beside it."""
    what, new = f"lead of line {n}", f"box-2:in-{into}"
    return Move(do=Do.PLUG, place="left", unit="box-2", what=what, old=f"box-1:in-{n}", new=new)


def test_many_leads_and_routes_between_the_same_are_one_step() -> None:
    leads = [plug(n, n + 8) for n in (1, 2, 3)]
    heard = [
        Move(
            do=Do.ROUTE,
            place="front",
            unit="desk",
            what=f"box-2:send-{n + 8}",
            old=f"box-1:send-{n}",
            new=f"desk:receive-{n}",
        )
        for n in (1, 2, 3)
    ]
    assert [step_words(step) for step in steps_of([*leads, *heard])] == [
        "3 leads out of box-1:in, into box-2:in: 1–3 to 9–11",
        "desk: receive hears box-2:send: 1–3 from 9–11",
    ]
    assert [step_words(step) for step in steps_of(leads[:1])] == [leads[0].words]


# -- Drill and lines -------------------------------------------------------------------------------


def test_every_fault_says_how_it_is_made_good(rescued: Worked) -> None:
    view = drill(rescued)
    assert view.rescues_known
    told = {name: row for row in view.rows for name in (row.fault, *row.same)}
    found = outcome_of(rescued).rescued
    assert found is not None
    assert found.by_fault
    for fault, each in found.by_fault.items():
        assert told[str(fault)].back == back_words(each)
    hurt = {str(fault) for fault in found.by_fault}
    assert {row.back for name, row in told.items() if name not in hurt} == {""}


def test_every_fault_has_the_worst_grade_of_what_is_found_of_it(rescued: Worked) -> None:
    told = {name: row.grade for row in drill(rescued).rows for name in (row.fault, *row.same)}
    of_one = 0
    for finding in outcome_of(rescued).drilled:
        # `without desk: …`, `without any of sw-1, net:a: …`: the finding's own words.
        names, _, _ = finding.what.removeprefix("without ").removeprefix("any of ").partition(": ")
        for name in names.split(" and ")[0].split(", "):
            of_one += 1
            grade = "accepted" if finding.accepted else finding.grade.value
            order = ["stop", "risk", "note", "accepted"]
            assert order.index(told[name]) <= order.index(grade), name
    assert of_one
    worst = {f.grade.value for f in outcome_of(rescued).drilled if not f.accepted}
    assert worst <= set(told.values())


def test_a_line_says_of_every_fault_how_it_comes_back(rescued: Worked) -> None:
    view = line_page(rescued, "41")
    assert view is not None
    told = {each.text: each.back for each in view.silenced_by}
    found = rescue_of(rescued, "desk")
    assert found is not None
    minutes = max(1, round(found.seconds() / 60))
    assert f"in about {minutes} min (2 starts, 6 routes)" in told["desk"]
    assert told["circuit:house"] == "stays silent: nothing at hand"


def test_before_rescues_pages_say_nothing_of_them(small: Worked) -> None:
    view = drill(small)
    assert not view.rescues_known
    assert {(row.back, row.grade) for row in view.rows} == {("", "")}
    page = line_page(small, "41")
    assert page is not None
    assert {each.back for each in page.silenced_by} == {""}


# -- what would help -------------------------------------------------------------------------------


@pytest.fixture
def little(tmp_path: Path) -> Path:
    """Give a show of five units, planned and issued."""
    for name, text in Example().files().items():
        (tmp_path / name).write_text(text, "utf-8")
    assert main(["plan", str(tmp_path), "--quiet"]) in (0, 1)
    assert main(["issue", str(tmp_path), "--by", "Test"]) in (0, 1)
    return tmp_path


def test_what_would_help_is_worked_out_when_somebody_asks(little: Path) -> None:
    with Served(little, upto="rescue") as server:
        assert gains_view(server.watch.now).state == "unasked"
        assert server.watch.want_gains()
        assert gains_view(server.watch.now).state == "waiting"
        ends = time.monotonic() + LONGEST_S
        while server.watch.now.gaining and time.monotonic() < ends:
            time.sleep(0.05)
        now = server.watch.now
    found = outcome_of(now).rescued
    assert found is not None
    assert now.unread == ""
    assert now.gains == gains(found)
    view = gains_view(now)
    assert view.state == "known"
    assert [row.words for row in view.rows] == [gain.words for gain in gains(found)]


def test_what_helps_stands_beside_what_is(rescued: Worked, ask: Ask) -> None:
    now = Standing(stops=2, risks=3, minutes=0.5)
    better = Standing(stops=0, risks=4, minutes=0.25)
    made = (
        Gain(words="a second desk", needs="a desk", before=now, after=better),
        Gain(words="a longer day", needs="", before=now, after=None, why_not="there is none"),
    )
    view = gains_view(replace(rescued, gains=made))
    assert [row.less for row in view.rows] == ["50% less", ""]
    page = ask(replace(rescued, gains=made, once=Once())).get("/drill").text
    for words in ("a second desk", "2 → 0", "3 → 4", "0.5 → 0.25", "there is none"):
        assert words in page


def test_no_gains_before_rescues(small: Worked, rescued: Worked) -> None:
    assert gains_view(small).state == "early"
    assert gains_view(rescued).state == "unasked"


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://show.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
    ],
)
@pytest.mark.parametrize("path", ["/drill/gains", "/api/gains"])
def test_a_page_of_another_site_can_not_have_it_worked_out(
    rescued: Worked, ask: Ask, headers: dict[str, str], path: str
) -> None:
    client = ask(rescued)
    assert client.post(path, headers=headers).status_code == 403
    assert client.get("/api/gains").json()["state"] == "unasked"


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "same-origin", "Origin": "null"}, {}])
def test_a_page_of_its_own_can(rescued: Worked, ask: Ask, headers: dict[str, str]) -> None:
    client = ask(rescued)
    answer = client.post("/drill/gains", headers=headers, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/drill#gains")
    assert client.get("/api/gains").json()["state"] == "waiting"
    assert client.post("/api/gains", headers=headers).json()["state"] == "waiting"
