"""What stands on the pages, as data: it is what list, plan and drill say."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from lineproof.base.spot import LineKey
from lineproof.cli.main import main
from lineproof.drill.lose import lose
from lineproof.drill.verdict import State
from lineproof.graph.faults import Fault
from lineproof.show.model import Need
from lineproof.web.breaking import known
from lineproof.web.once import Once
from lineproof.web.views.broken import broken
from lineproof.web.views.drill import drill
from lineproof.web.views.line import line_page
from lineproof.web.views.lines import lines
from lineproof.web.views.nets import nets
from lineproof.web.views.papers import Wish, file_of, papers
from lineproof.web.views.ready import ready
from lineproof.web.views.revisions import revisions_page
from lineproof.web.views.room import room
from lineproof.web.worked import Worked, with_pairs

from .conftest import worked_out


def listed(folder: Path) -> list[dict[str, str]]:
    with (folder / "lines.csv").open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


# -- Ready? ----------------------------------------------------------------------------------------


def test_what_nobody_can_make_good_keeps_the_doors_shut_until_somebody_takes_it_on(
    small: Worked,
) -> None:
    # Before rescues only that is graded which none mends: here, that nothing is recorded.
    view = ready(small)
    assert (view.answer, view.stops) == ("no", ())
    assert [f.rule for f in view.drilled_stops] == ["recording-lost"]
    assert view.sentence == (
        "No: nothing is wrong as it stands, but 1 stop stands for what one fault would do."
    )


def test_with_all_stops_taken_on_it_waits_for_rescues(small: Worked) -> None:
    assert small.outcome is not None
    taken = tuple(replace(f, accepted="we know") for f in small.outcome.drilled)
    view = ready(replace(small, outcome=replace(small.outcome, drilled=taken), once=Once()))
    assert view.sentence == f"Not yet: {small.to_come}."
    assert len(view.accepted) == len(taken)


def test_a_draft_is_not_ready(folder: Path) -> None:
    (folder / "plan/issued/1.json").unlink()
    view = ready(worked_out(folder))
    assert view.sentence == "Not yet: the plan is a draft, and nobody rigs from a draft."


def test_a_show_changed_since_the_paper_is_not_ready_and_tells_the_change(folder: Path) -> None:
    table = folder / "lines.csv"
    text = table.read_text("utf-8").replace(",Kick,", ",Big drum,")
    table.write_text(text, "utf-8")
    view = ready(worked_out(folder))
    assert view.answer == "not yet"
    assert view.changes == ("line 1 changed: name",)
    assert view.changed_since == "revision 1"


def test_a_stop_keeps_the_doors_shut_and_shows_its_row_and_its_mend(folder: Path) -> None:
    table = folder / "lines.csv"
    rows = table.read_text("utf-8")
    table.write_text(rows.replace("1,Kick,stage-right", "1,Kick,stage-rihgt"), "utf-8")
    view = ready(worked_out(folder))
    assert view.sentence == f"No: {len(view.stops)} stop{'s' * (len(view.stops) > 1)} stand" + (
        "s." if len(view.stops) == 1 else "."
    )
    told = [f for f in view.stops if "stage-rihgt" in f.what]
    assert len(told) == 1
    assert told[0].where[0].place.startswith("lines.csv:2")
    assert told[0].where[0].row.startswith("1,Kick,stage-rihgt")
    assert told[0].do


def test_what_can_not_be_read_leaves_the_page_of_before_and_says_so(folder: Path) -> None:
    before = worked_out(folder)
    (folder / "show.yaml").write_text("title: [never closed\n", "utf-8")
    from lineproof.web.worked import read_folder, worked_at

    now = worked_at(folder, read_folder(folder), "figures", before)
    view = ready(now)
    assert view.answer == "no"
    assert view.head.title == "Harbour Revue"
    assert view.head.unread == "the show can't be read"
    assert [f.grade for f in view.stops] == ["stop"]
    assert now.serial == before.serial + 1


def test_a_folder_that_could_never_be_read_has_its_page_too(tmp_path: Path) -> None:
    (tmp_path / "show.yaml").write_text("- nothing of a show\n", "utf-8")
    view = ready(worked_out(tmp_path))
    assert (view.answer, view.head.status) == ("no", "NOT READ")
    assert view.stops


# -- Lines -----------------------------------------------------------------------------------------


def test_the_list_on_the_page_is_the_list_people_wrote(small: Worked) -> None:
    rows = [row for group in lines(small).groups for row in group.rows]
    wanted = [(row["number"], row["name"], row["need"]) for row in listed(small.folder)]
    assert [(row.number, row.name, row.need) for row in rows] == wanted
    assert {row.state for row in rows} == {"planned"}


def test_every_row_says_where_it_is_plugged_and_where_it_arrives(small: Worked) -> None:
    assert small.outcome is not None
    for group in lines(small).groups:
        for row in group.rows:
            decided = small.outcome.plan.line(LineKey.parse(row.key))
            assert decided is not None
            told = row.plugged + row.arrives
            for spots in decided.ends.values():
                for spot in spots:
                    assert f"{spot.side.value}-{spot.number}" in told


def spots_told(text: str) -> set[str]:
    """Give the spots that a list's words name: `amp receive-1,3; desk out-1, loop in-1`."""
    found = set()
    text = re.sub(r" \(from [^)]*\)", "", text)
    for unit, sides in re.findall(r"([\w-]+)((?: [a-z]+-[\d,]*\d)+)", text):
        for side, numbers in re.findall(r" ([a-z]+)-([\d,]*\d)", sides):
            found |= {f"{unit}:{side}-{number}" for number in numbers.split(",")}
    return found


def test_a_unit_that_hears_a_line_at_several_ends_stands_once_with_all_spots(hall: Worked) -> None:
    assert hall.outcome is not None
    several = 0
    for group in lines(hall).groups:
        for row in group.rows:
            decided = hall.outcome.plan.line(LineKey.parse(row.key))
            assert decided is not None
            planned = {str(spot) for spots in decided.ends.values() for spot in spots}
            assert spots_told(row.arrives) == planned, row.key
            units = [
                part.partition(" ")[0] for part in row.arrives.split("; ") if "from" not in part
            ]
            assert len(set(units)) == len(units), row.key
            several += len(units) < sum("|" not in end for end in decided.ends)
    assert several


def test_a_spot_is_found_though_the_list_tells_it_beside_others(hall: Worked) -> None:
    (group,) = lines(hall, find="amp-l1 receive-2").groups
    assert [row.key for row in group.rows] == ["201"]


@pytest.mark.parametrize(("by", "column"), [("group", "group"), ("place", "from")])
def test_lines_stand_together_by_what_the_list_says(small: Worked, by: str, column: str) -> None:
    assert small.outcome is not None
    places = small.outcome.show.places
    wanted: dict[str, set[str]] = {}
    for row in listed(small.folder):
        name = row[column]
        title = places[name].label if name in places else name
        wanted.setdefault(title or "no group", set()).add(row["number"])
    if by == "place":
        # A unit is told by its label.
        wanted = {
            {"play": "Playback", "desk": "Front mixer", "side": "Monitor mixer"}.get(k, k): v
            for k, v in wanted.items()
        }
    found = {g.title: {row.number for row in g.rows} for g in lines(small, by).groups}
    assert found == wanted


def test_by_unit_a_line_stands_under_every_unit_it_touches(small: Worked) -> None:
    assert small.outcome is not None
    found = {g.title: {row.key for row in g.rows} for g in lines(small, "unit").groups}
    for decided in small.outcome.plan.lines:
        for name in {spot.unit for spot in decided.spots()}:
            unit = small.outcome.show.units[name]
            title = f"{unit.label} ({name})" if unit.label else name
            assert str(decided.key) in found[title]


def test_find_keeps_rows_that_hold_all_words_in_any_case(small: Worked) -> None:
    found = [r.name for g in lines(small, find="VOICE box-1").groups for r in g.rows]
    # Of three voices only this one is sung near the box.
    assert found == ["Voice right"]


# -- one line --------------------------------------------------------------------------------------


def test_a_line_is_drawn_from_its_source_to_every_end(small: Worked) -> None:
    view = line_page(small, "1")
    assert view is not None
    assert [way.end for way in view.ways] == [
        "Front mixer (desk)",
        "Monitor mixer (side)",
        "rec-1",
        "rec-2",
    ]
    for way in view.ways:
        assert [step.by for step in way.steps] == ["", "lead", "network"]
        assert way.steps[0].title == "Stage right"
        assert way.steps[1].spots == "in-1 send-1"
        # Plugged where it stands: 3 m, as practice has it (design, Spots).
        assert way.steps[1].figures == ("3 m",)
        assert any(figure.startswith("net a: at most ") for figure in way.steps[2].figures)


def test_what_silences_a_line_is_what_the_drill_says(small: Worked) -> None:
    assert small.outcome is not None
    view = line_page(small, "1")
    assert view is not None
    named = {link.text for link in view.silenced_by}
    # Its only box silences it; one of two recorders does not.
    assert "box-1" in named
    assert "rec-1" not in named
    for name in ("box-1", "desk", "rec-1", "loop"):
        fault = Fault(what="unit", name=name)
        verdicts = lose(small.outcome.show, small.outcome.plan, fault).verdicts
        lost = next(v.lost for v in verdicts if v.line == LineKey(act="", number="1"))
        assert (name in named) == bool(lost)


@pytest.mark.parametrize("key", ["99", "", "late/1", "../1", "a b", "1/2/3"])
def test_there_is_no_page_of_a_line_that_is_not_there(small: Worked, key: str) -> None:
    assert line_page(small, key) is None


# -- Room ------------------------------------------------------------------------------------------


def test_places_stand_to_scale(small: Worked) -> None:
    assert small.outcome is not None
    view = room(small)
    at = {p.name: p.dot for p in view.places}
    metres = {p.name: p.at_m for p in small.outcome.show.places.values()}
    assert set(at) == set(metres)
    for one, other in combinations(sorted(at), 2):
        first, second = metres[one], metres[other]
        assert first is not None
        assert second is not None
        true = math.dist(first[:2], second[:2]) * view.metre_px / view.metres
        assert math.dist(at[one], at[other]) == pytest.approx(true, abs=0.5, rel=0.01)


def test_no_box_covers_another_and_every_unit_stands_in_its_place(small: Worked) -> None:
    assert small.outcome is not None
    view = room(small)
    for one, other in combinations(view.places, 2):
        (x, y, w, h), (a, b, c, d) = one.box, other.box
        assert x + w <= a or a + c <= x or y + h <= b or b + d <= y
    for unit in small.outcome.show.units.values():
        place = next(p for p in view.places if p.name == unit.place)
        chip = next(c for c in place.chips if c.name == unit.name)
        assert chip.x >= 0
        assert chip.x + chip.width <= place.box[2]
        assert chip.y + 19 <= place.box[3]


def test_every_run_between_places_is_part_of_a_strand_on_its_net(small: Worked) -> None:
    assert small.outcome is not None
    units = small.outcome.show.units
    for net in ("a", "b"):
        wanted = {
            f"run:{run.name}"
            for run in small.outcome.plan.network.runs_on(net)
            if len({units[end.unit].place for end in run.ends}) == 2
        }
        found = [n for s in room(small).strands if s.what == f"net-{net}" for n in s.names]
        assert wanted
        assert sorted(found) == sorted(wanted)


def test_a_place_nobody_has_measured_is_told_beside_the_drawing(folder: Path) -> None:
    show = folder / "show.yaml"
    text = show.read_text("utf-8").replace(
        "balcony:     {at: [0, 14, 4], label: Balcony}", "balcony:     {label: Balcony}"
    )
    show.write_text(text, "utf-8")
    view = room(worked_out(folder, "figures"))
    assert [p.title for p in view.unplaced] == ["Balcony"]
    assert [c.name for c in view.unplaced[0].chips] == ["loop"]


# -- breaking --------------------------------------------------------------------------------------


def test_breaking_a_thing_tells_which_lines_are_silent_where(small: Worked) -> None:
    view = broken(small, ["BOX-1"])
    assert [cut.name for cut in view.cuts] == ["box-1"]
    assert view.dead == ("box-1",)
    silent = next(f for f in view.felt if f.state == "silent")
    keys = {line.key for alike in silent.alike for line in alike.lines}
    # All that is plugged into it, and what comes out of it for the fills.
    assert small.outcome is not None
    on_box = {
        str(x.key) for x in small.outcome.plan.lines if any(s.unit == "box-1" for s in x.spots())
    }
    assert keys == on_box
    assert silent.count == len(on_box)
    assert view.sentence.startswith(f"With 1 thing broken: {len(on_box)} lines of 24 silent")


@pytest.mark.parametrize(
    "name", ["box-1", "rec-1", "sw-front", "circuit:house", "duct:floor", "net:a"]
)
def test_what_is_shown_at_once_says_the_same_of_every_line(small: Worked, name: str) -> None:
    def told(soon: bool) -> dict[str, tuple[str, str]]:
        view = broken(small, [name], soon=soon)
        return {
            line.key: (f.state, alike.where)
            for f in view.felt
            if f.state != "cut short"
            for alike in f.alike
            for line in alike.lines
        }

    assert told(soon=True) == told(soon=False)


def test_two_recorders_together_do_what_neither_does_alone(small: Worked) -> None:
    for alone in ("rec-1", "rec-2"):
        assert "silent" not in [f.state for f in broken(small, [alone]).felt]
    both = broken(small, ["rec-1", "rec-2"])
    assert {e.end: e.lines for e in both.ends}["rec-1|rec-2?"] == sum(
        "rec-1" in row["to"] for row in listed(small.folder)
    )


def test_each_broken_thing_has_a_way_to_put_it_right(small: Worked) -> None:
    view = broken(small, ["box-1", "circuit:front", "box-1", " "])
    assert [(cut.name, cut.mend) for cut in view.cuts] == [
        ("box-1", "/room?cut=circuit%3Afront"),
        ("circuit:front", "/room?cut=box-1"),
    ]


def test_an_unknown_name_is_told_with_the_nearest(small: Worked) -> None:
    view = broken(small, ["bx-1"])
    assert view.cuts == ()
    assert view.wrong == ("nothing that can be broken is called 'bx-1'; did you mean box-1?",)
    assert view.sentence == "Nothing is broken."


def test_with_nothing_broken_nothing_is_felt(small: Worked) -> None:
    assert broken(small, []).felt == ()


@pytest.mark.parametrize("show", ["small", "hall"])
def test_a_fault_is_told_with_the_lines_that_the_plain_method_loses(
    request: pytest.FixtureRequest, show: str
) -> None:
    worked = request.getfixturevalue(show)
    outcome = worked.outcome
    needs = {line.key: line.need for line in outcome.show.lines}
    musts = 0
    for row in drill(worked).rows[:40]:
        lost = [
            verdict
            for verdict in lose(outcome.show, outcome.plan, [known(worked)[row.fault]]).verdicts
            if verdict.state is State.LOST
        ]
        must = [
            verdict.line
            for verdict in lost
            if needs[verdict.line] in (Need.MUST, Need.SAFETY)
            and any(e.standing.state is State.LOST and not e.want for e in verdict.ends)
        ]
        assert (row.must, row.lost) == (len(must), len(lost)), row.fault
        musts += len(must)
    assert musts


def test_faults_stand_by_harm(small: Worked) -> None:
    rows = drill(small).rows
    assert rows
    assert [(r.must, r.lost) for r in rows] == sorted(
        ((r.must, r.lost) for r in rows), reverse=True
    )
    assert ready(small).worst == rows[0]


def test_pairs_are_told_with_what_neither_does_alone(small: Worked) -> None:
    view = drill(with_pairs(small))
    assert small.outcome is not None
    count = drill(small).tried
    assert view.pairs_tried == count * (count - 1) // 2
    assert [p for p in view.pairs if {"net:a", "net:b"} <= {*p.one, *p.other}]
    for row in view.pairs[:5]:
        both = broken(small, [row.one[0], row.other[0]])
        silent = {
            line.key for f in both.felt if f.state == "silent" for a in f.alike for line in a.lines
        }
        assert {link.text for link in row.lines} <= silent
    assert "assumed, not measured" in view.assumed


def test_a_mistake_is_tried_by_itself(small: Worked) -> None:
    name = "mistake:querier-off:a"
    assert [cut.name for cut in broken(small, [name]).cuts] == [name]
    both = broken(small, ["box-1", name])
    assert [cut.name for cut in both.cuts] == ["box-1"]
    assert both.wrong == (f"a mistake is tried by itself: put all else right to try {name}",)


# -- Nets ------------------------------------------------------------------------------------------


def test_nets_tell_every_port_stream_and_address_of_the_plan(small: Worked) -> None:
    assert small.outcome is not None
    network = small.outcome.plan.network
    each = nets(small).nets
    assert [net.name for net in each] == ["a", "b"]
    assert {s.name for net in each for s in net.streams} == {s.name for s in network.streams}
    assert sorted((a.unit, a.ip) for net in each for a in net.addresses) == sorted(
        (a.unit, a.ip) for a in network.addresses
    )
    for net in each:
        ports = {p.run for s in net.switches for p in s.ports}
        assert ports == {run.name for run in network.runs_on(net.name)}
    assert nets(small).clock == "desk keeps the time of all"


def test_loads_are_the_streams_bits_on_the_wire(small: Worked) -> None:
    assert small.outcome is not None
    net = nets(small).nets[0]
    port = next(p for s in net.switches for p in s.ports if p.run == "box-1-a")
    stream = next(s for s in small.outcome.plan.network.streams if s.sender == "box-1")
    # 48 frames of 3 bytes a channel each ms; 12 RTP, 8 UDP, 20 IP, 18 Ethernet (and 4 for a VLAN's
    # tag), 8 preamble, 12 gap (IEEE 802.3, 802.1Q; RFC 3550, 768, 791).
    bits = 8 * (48 * 3 * len(stream.channels) + 12 + 8 + 20 + 18 + 4 + 8 + 12) * 1000
    assert port.in_share * 1e9 == pytest.approx(bits, rel=0.02)


# -- Papers and revisions --------------------------------------------------------------------------


def test_papers_can_be_looked_at_and_taken_away(small: Worked) -> None:
    view = papers(small, Wish())
    assert view.warning == ""
    assert view.shown is not None
    assert view.shown.name == view.sheets[0].name
    assert [f.name for f in view.files] == ["patch-book.pdf", "labels.pdf", "tables.xlsx"]
    assert (file_of(small, Wish(), "patch-book.pdf") or b"")[:5] == b"%PDF-"
    assert file_of(small, Wish(), "../show.yaml") is None


def test_a_performer_gets_fewer_sheets_than_the_crew(small: Worked) -> None:
    crew, drums = papers(small, Wish()), papers(small, Wish(reader="performer", name="drums"))
    assert len(drums.sheets) < len(crew.sheets)
    assert any(sheet.title == "For drums" for sheet in drums.sheets)


def test_wishes_nobody_knows_are_replaced_by_the_usual(small: Worked) -> None:
    view = papers(small, Wish(reader="x", name="y", paper="z", language="q"))
    assert view.wish == Wish()


def test_revisions_are_listed_and_compared(folder: Path) -> None:
    table = folder / "lines.csv"
    rows = table.read_text("utf-8").splitlines(keepends=True)
    table.write_text("".join(row for row in rows if not row.startswith("16,")), "utf-8")
    assert main(["plan", str(folder), "--quiet"]) in (0, 1)
    assert main(["issue", str(folder), "--by", "Test"]) in (0, 1)
    view = revisions_page(worked_out(folder, "figures"), "1", "2")
    assert [r.number for r in view.revisions] == [2, 1]
    assert {(row.line, row.how) for row in view.rows} == {("16", "gone")}
    assert view.sentence.startswith("From revision 1 to revision 2: 1 line")


def test_a_revision_that_is_not_there_is_told(small: Worked) -> None:
    view = revisions_page(small, "7", "1")
    assert view.wrong == "there is no plan called '7'"
    assert view.rows == ()
