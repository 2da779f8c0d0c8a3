"""The network on paper: every run, port, address and stream once, as planned and worked out."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace

import pytest

from lineproof.outcome import Outcome
from lineproof.paper.book import book
from lineproof.paper.bundle import bundle
from lineproof.paper.edition import Edition
from lineproof.paper.fit import INSET_MM, LEAST_LABEL_PT, on_label
from lineproof.paper.fonts import bold
from lineproof.paper.pdf import PAPERS
from lineproof.paper.readers import For, Reader
from lineproof.paper.sheet import Sheet, Table
from lineproof.paper.sheets import netmaps
from lineproof.paper.sheets.labels import FLAG_MM, FOLD_MM, label_strips, on_rows
from lineproof.paper.sheets.net_access import Use, in_streams, use_of
from lineproof.plan.model import Issued
from lineproof.plan.network import PlannedRun
from lineproof.show.read import read_show
from tests.paper.press import (
    ROOT,
    WIRED,
    WIRED_LINES,
    all_text,
    edition_of,
    outcome_of,
    planned_whole,
    reading_of,
    rows_of,
    sheet_named,
    small,
    wired,
)

BOTH = pytest.mark.parametrize("outcome", [small(), wired()], ids=["small", "wired"])
#: Names of all sheets that are about the network.
NETWORK = ("network-cables", "pull-list", "net-", "loads", "switch-", "addresses", "streams")


def tables(sheets: tuple[Sheet, ...], name: str) -> list[Table]:
    return [table for sheet in sheets for table in sheet.tables if table.name == name]


def names(outcome: Outcome) -> Counter[str]:
    """Give every run as papers call it."""
    shown = outcome.show.runs
    return Counter(
        (shown[run.name].label or run.name) if run.name in shown else run.name
        for run in outcome.plan.network.runs
    )


# -- cables --------------------------------------------------------------------------------------


@BOTH
def test_every_run_stands_once_on_the_schedule_with_both_its_ends(outcome: Outcome) -> None:
    rows = [row for t in tables(book(edition_of(outcome)), "network-cables") for row in t.rows]
    assert Counter(row.cells[0].text for row in rows) == names(outcome)
    said = {(row.cells[1].text, row.cells[3].text) for row in rows}
    assert said == {(str(r.ends[0]), str(r.ends[1])) for r in outcome.plan.network.runs}
    for row in rows:
        unit = row.cells[1].text.partition(":")[0]
        place = outcome.show.places[outcome.show.units[unit].place]
        assert row.cells[2].text == (place.label or place.name)


@BOTH
def test_a_duct_lists_exactly_the_runs_that_lie_in_it(outcome: Outcome) -> None:
    ducts, runs = outcome.show.ducts, outcome.plan.network.runs
    found = {t.of: t for t in tables(book(edition_of(outcome)), "pull-list")}
    for duct in ducts.values():
        wanted = sum(duct.name in run.ducts for run in runs)
        table = found.pop(duct.label or duct.name, None)
        assert (len(table.rows) if table else 0) == wanted
        assert table is None or f"{duct.length_m:g} m" in table.title
    (rest,) = found.values()
    assert len(rest.rows) == sum(not run.ducts for run in runs)


def test_a_row_of_the_schedule_says_all_a_crew_asks() -> None:
    (net_a, _) = tables(book(edition_of(wired())), "network-cables")
    assert "Long one | sw-a-1:24 | Wing | sw-a-2:8 | front | floor | copper | 40 m" in rows_of(
        net_a
    )


def test_cables_of_the_shows_stock_are_named_and_others_are_told_by_length() -> None:
    def shelf(show: str) -> list[str]:
        outcome = planned_whole(reading_of(show, WIRED_LINES))
        return rows_of(tables(book(edition_of(outcome)), "network-stores")[0])

    assert sum(int(row.split(" | ")[2]) for row in shelf(WIRED)) == len(names(wired()))
    stock = "stock:\n  drum: {cable: copper, length: 65 m, count: 9, label: Long drum}\n"
    rows = shelf(WIRED + stock)
    assert "copper | Long drum | 65 m | 9" in rows
    assert sum(int(row.split(" | ")[3] if "drum" in row else row.split()[-1]) for row in rows) == (
        len(names(wired()))
    )


def test_fibre_brings_its_caution_and_copper_does_not() -> None:
    copper = sheet_named(book(edition_of(wired())), "network-cables")
    assert not isinstance(copper.blocks[0], Table) or copper.blocks[0].name == "network-stores"
    show = WIRED.replace("along: [floor], cable: copper", "along: [floor], cable: single-mode")
    show = show.replace(
        "switch-8, place: front, circuit: house, net: a",
        "switch-24-fibre, place: front, circuit: house, net: a",
    )
    show = show.replace("'sw-a-1:24', to: 'sw-a-2:8'", "'sw-a-1:25', to: 'sw-a-2:25'")
    fibre = sheet_named(
        book(edition_of(planned_whole(reading_of(show, WIRED_LINES)))), "network-cables"
    )
    text = getattr(fibre.blocks[0], "paragraphs", ())
    assert len(text) == 1
    assert text[0].startswith("Fibre")


def test_both_ends_of_a_run_get_the_same_flag_with_both_places() -> None:
    strips = label_strips(edition_of(wired()))
    (flags,) = [strip for strip in strips if strip.of == "runs"]
    said = Counter((x.big, x.small, x.below) for x in flags.labels)
    assert said["Long one", "sw-a-1:24 Wing", "sw-a-2:8 front"] == 2
    assert set(said.values()) == {2}
    assert len(said) == len(wired().plan.network.runs)


# -- switches ------------------------------------------------------------------------------------


def ports(edition: Edition, switch: str) -> dict[int, tuple[str, ...]]:
    """Give the cells of every port of a switch, those that stand together one by one."""
    (table,) = [t for t in tables(book(edition), "switch-ports") if t.of == switch]
    found: dict[int, tuple[str, ...]] = {}
    for row in table.rows:
        first, _, last = row.cells[0].text.partition("–")
        for number in range(int(first), int(last or first) + 1):
            assert number not in found
            found[number] = row.texts[1:]
    return found


@BOTH
def test_every_port_of_every_switch_stands_once_and_is_shut_or_in_use(outcome: Outcome) -> None:
    edition, network = edition_of(outcome), outcome.plan.network
    used = {(e.unit, e.number) for run in network.runs for e in run.ends}
    rescue = {(p.port.unit, p.port.number) for p in network.rescue_ports}
    for switch in network.switch_nets:
        found = ports(edition, switch)
        assert set(found) == {p.number for p in outcome.show.units[switch].kind.ports}
        for number, cells in found.items():
            shut = cells[-1] == "nobody: shut"
            assert shut == ((switch, number) not in used | rescue)
            assert (cells[-1] == "the crew, for a rescue only") == ((switch, number) in rescue)


def test_a_port_says_run_speed_vlan_watts_tree_and_who_may() -> None:
    edition = edition_of(wired())
    first, second = ports(edition, "sw-a-1"), ports(edition, "sw-a-2")
    assert first[1][1:] == (
        *("talk:1 (Wing)", "talk-a", "100 Mbit/s", "audio 110"),
        *("15.4 W", "", "talk"),
    )
    assert first[23][-2:] == ("towards the root", "switch sw-a-2")
    assert first[24][-2:] == ("blocked", "switch sw-a-2")
    assert first[24][4] == "all, tagged: 110, 120, 130"
    assert second[2][-1] == "desk (02:00:00:00:00:0a)"


def test_guests_and_control_stay_off_the_audio_vlan_but_for_guests_with_streams() -> None:
    outcome = wired()
    audio = in_streams(outcome.plan.network)
    units = outcome.show.units
    assert use_of(units["visit"], audio) is Use.AUDIO
    assert use_of(units["visit-2"], audio) is Use.GUESTS
    assert use_of(units["uplink"], audio) is Use.CONTROL
    assert use_of(units["sw-a-1"], audio) is Use.TRUNK
    said = ports(edition_of(outcome), "sw-a-2")
    assert said[3][-1] == "visit, brought by a guest"
    assert (said[4][4], said[4][-1]) == (
        "guests 130",
        "visit-2, off audio and control, brought by a guest",
    )


def test_settings_are_told_in_the_standards_words() -> None:
    found = {t.of: t for t in tables(book(edition_of(wired())), "switch-settings")}
    assert rows_of(found["sw-a-1"]) == [
        "Address | 10.61.0.3/24 (255.255.255.0)",
        "Spanning tree | rapid (IEEE 802.1Q), bridge priority 8192, takes over as root",
        "Multicast querier | on: takes over as querier",
        "Multicast snooping | on; groups here: 0",
        "VLANs | audio 110, control 120, guests 130",
        "Queues | strict priority, first served first, by DSCP: clock 46, audio 34, the rest 0",
        "Shut | all ports that nothing hangs on, but for rescue ports",
        "Power over the cable | 15.4 W asked for, 370 W there",
    ]


def test_a_switch_that_cant_be_set_up_says_so_and_nothing_else() -> None:
    show = WIRED.replace("sw-b-2: {kind: switch-8-fibre", "sw-b-2: {kind: switch-8-plain")
    outcome = planned_whole(reading_of(show, WIRED_LINES))
    found = {t.of: t for t in tables(book(edition_of(outcome)), "switch-settings")}
    assert len(found["sw-b-2"].rows) == 1
    assert "can't be set up" in found["sw-b-2"].rows[0].cells[1].text


# -- addresses and streams -----------------------------------------------------------------------


@BOTH
def test_every_address_stands_once_in_the_row_of_its_unit(outcome: Outcome) -> None:
    (table,) = tables(book(edition_of(outcome)), "addresses")
    nets = list(outcome.plan.network.nets)
    said = {
        (re.sub(r".*\((.+)\)", r"\1", row.cells[0].text), net, row.cells[2 + n].text)
        for row in table.rows
        for n, net in enumerate(nets)
        if row.cells[2 + n].text
    }
    assert said == {(a.unit, a.net, a.ip) for a in outcome.plan.network.addresses}
    assert len(table.rows) == len({a.unit for a in outcome.plan.network.addresses})


@BOTH
def test_every_stream_tells_its_channels_in_order_and_has_its_file(outcome: Outcome) -> None:
    edition = edition_of(outcome)
    (table,) = tables(book(edition), "streams")
    files = bundle(edition, PAPERS["a4"], without=("ways", "labels"))
    for row, stream in zip(table.rows, outcome.plan.network.streams, strict=True):
        name, channels, receivers, *_, file = row.texts
        assert name == stream.name
        assert [int(part.split()[0]) for part in channels.split(", ")] == list(stream.channels)
        assert receivers == ", ".join(stream.receivers)
        for net, ip in stream.to.items():
            assert f"{net} {ip}:{stream.udp_port}" in row.cells[4].text.replace("\u00a0", " ")
        assert files[f"sdp/{file}"].startswith(b"v=0\r\n")
    assert sum(name.startswith("sdp/") for name in files) == len(table.rows)


def test_a_channel_has_the_names_of_its_lines() -> None:
    (table,) = tables(book(edition_of(wired())), "streams")
    channels = {row.cells[0].text: row.cells[1].text for row in table.rows}
    assert channels["box-1/1"] == "1 Kick, 2 Lute"
    assert channels["talk/1"] == "1 Call"


# -- clock and buffers ---------------------------------------------------------------------------


@BOTH
def test_the_clocks_stand_in_the_order_in_which_they_win(outcome: Outcome) -> None:
    assert outcome.network is not None
    found = tables(book(edition_of(outcome)), "clock")
    orders = [r.order for net in outcome.network.nets.values() for r in net.reigns]
    for table, order in zip(found, (o for o in orders if o), strict=True):
        said = [re.sub(r".*\((.+)\)", r"\1", row.cells[1].text) for row in table.rows]
        assert said == list(order)
        assert table.rows[0].cells[-1].text == "grandmaster"


@BOTH
def test_units_heard_together_have_one_value_and_a_margin_that_is_not_too_good(
    outcome: Outcome,
) -> None:
    assert outcome.network is not None
    (table,) = tables(book(edition_of(outcome)), "buffers")
    for row, buffer in zip(table.rows, outcome.network.buffers, strict=True):
        assert row.cells[0].text == ", ".join(buffer.units)
        assert row.cells[1].text == f"{buffer.offset_ms:g} ms"
        need_ms = float(row.cells[3].text.removesuffix(" ms"))
        margin_ms = float(row.cells[5].text.removesuffix(" ms"))
        assert buffer.need.ns is not None
        assert 0 <= need_ms - buffer.need.ns / 1e6 < 0.011
        assert buffer.margin_ns is not None
        assert 0 <= buffer.margin_ns / 1e6 - margin_ms < 0.011


# -- the drawing ---------------------------------------------------------------------------------


def maps(outcome: Outcome) -> dict[str, netmaps.NetMap]:
    assert outcome.network is not None
    edition = edition_of(outcome)
    return {n: netmaps.net_map(edition, f) for n, f in outcome.network.nets.items()}


@BOTH
def test_every_unit_and_every_run_of_a_net_is_drawn_once(outcome: Outcome) -> None:
    assert outcome.network is not None
    for net, it in maps(outcome).items():
        fabric = outcome.network.nets[net].fabric
        drawn = [b.unit for b in it.blocks] + [c.unit for b in it.blocks for c in b.chips]
        assert Counter([*drawn, *it.alone]) == Counter(node.name for node in fabric.nodes)
        across = [j.run.name for b in it.blocks for j in b.across]
        runs = [b.up.run.name for b in it.blocks if b.up]
        runs += [c.run for b in it.blocks for c in b.chips] + list(dict.fromkeys(across))
        assert Counter(runs) == Counter(run.name for run in fabric.runs)
        assert set(Counter(across).values()) <= {2}


@BOTH
def test_numbers_on_the_drawing_are_the_loads_both_ways(outcome: Outcome) -> None:
    assert outcome.network is not None
    for net, it in maps(outcome).items():
        loads = {(x.run, x.from_unit): x.total_bps for x in outcome.network.nets[net].loads}
        for block in it.blocks:
            for chip in block.chips:
                # Chained units hang on one another, not on the switch.
                into = loads[chip.run, chip.through or block.unit]
                assert (chip.carried.into, chip.carried.out) == (into, loads[chip.run, chip.unit])
            if block.up is not None:
                name = block.up.run.name
                assert block.up.carried.into == loads[name, block.up.far]
                assert block.up.carried.out == loads[name, block.unit]


def test_blocked_runs_are_dashed_and_told_at_both_their_ends() -> None:
    sheet = sheet_named(book(edition_of(wired())), "net-a")
    svg = sheet.pictures[0].svg
    assert svg.count("blocked: port 24 to sw-a-2:8") == 1
    assert svg.count("blocked: port 8 to sw-a-1:24") == 1
    assert "stroke-dasharray" in svg


def test_only_black_white_and_a_pale_grey_are_drawn() -> None:
    for sheet in book(edition_of(wired())):
        for picture in sheet.pictures:
            colours = set(re.findall(r"#[0-9a-fA-F]{6}", picture.svg))
            assert colours <= {"#000000", "#ffffff", "#e6e6e6"}


def test_a_large_net_is_drawn_place_by_place_behind_an_overview(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(netmaps, "MOST_SWITCHES", 1)
    sheets = book(edition_of(wired()))
    found = [sheet.name for sheet in sheets if sheet.name.startswith("net-")]
    assert found == ["net-a", "net-b", "net-at-front", "net-at-wing"]
    (overview,) = sheet_named(sheets, "net-a").pictures
    assert "sw-a-1" in overview.svg
    assert "box-1" not in overview.svg
    at_wing = sheet_named(sheets, "net-at-wing")
    assert [picture.name for picture in at_wing.pictures] == ["net-a-wing", "net-b-wing"]
    assert "amp-1" in at_wing.pictures[1].svg


# -- who gets it, and what is new ----------------------------------------------------------------


@pytest.mark.parametrize(
    "reader",
    [Reader(kind=For.GUEST), Reader(kind=For.PERFORMER, name="drums")],
    ids=["guest", "performer"],
)
def test_nothing_of_the_network_is_for_others_than_the_crew(reader: Reader) -> None:
    edition = edition_of(wired(), reader=reader)
    sheets = book(edition)
    assert [s.name for s in sheets if s.name.startswith((*NETWORK, "clock", "buffers"))] == []
    files = bundle(edition, PAPERS["a4"])
    assert [name for name in files if name.startswith("sdp/")] == []
    text = all_text(sheets)
    assert re.findall(r"10\.6[12]\.|239\.19|sw-a-1|sw-b-1", text) == []


def before(outcome: Outcome) -> Issued:
    """Give the revision in which the run `box-1-a` lay elsewhere and `talk-a` was not yet."""
    network = outcome.plan.network

    def then(run: PlannedRun) -> PlannedRun:
        return replace(run, ducts=("floor",)) if run.name == "box-1-a" else run

    runs = tuple(then(run) for run in network.runs if run.name != "talk-a")
    plan = replace(outcome.plan, network=replace(network, runs=runs))
    files = {"show.yaml": WIRED, "lines.csv": WIRED_LINES}
    return Issued(revision=1, by="Mo", at="2031-05-04T18:00", mark="AAAA", plan=plan, show=files)


def test_runs_that_are_new_or_lie_elsewhere_are_marked_on_paper_and_on_flags() -> None:
    issued = before(wired())
    edition = edition_of(replace(wired(), issued=issued), before=issued)
    sheets = book(edition)
    rows = [row for t in tables(sheets, "network-cables") for row in t.rows]
    marked = {row.cells[0].text: row.change for row in rows if row.change}
    assert marked == {"box-1-a": "moved", "talk-a": "new"}
    (flags,) = [strip for strip in label_strips(edition) if strip.of == "runs"]
    assert {label.big for label in flags.labels if label.change} == set(marked)
    (changes,) = tables(sheets, "network-changes")
    assert rows_of(changes) == [
        "run | box-1-a | box-1:1 – sw-a-2:1, floor | box-1:1 – sw-a-2:1, wall",
        "run | talk-a |  | talk:1 – sw-a-1:1",
    ]


def test_a_plan_without_a_network_has_no_sheet_of_it() -> None:
    sheets = book(edition_of(outcome_of()))
    assert [s.name for s in sheets if s.name.startswith((*NETWORK, "clock", "buffers"))] == []


def test_the_hall_fills_its_sheets_on_both_nets() -> None:
    outcome = planned_whole(read_show(ROOT / "shows" / "hall"))
    sheets = book(edition_of(outcome))
    switches = [s.name for s in sheets if s.name.startswith("switch-")]
    assert len(switches) == len(outcome.plan.network.switch_nets)
    assert Counter(
        row.cells[0].text for t in tables(sheets, "network-cables") for row in t.rows
    ) == names(outcome)


@pytest.mark.parametrize(
    ("name", "rows"),
    [
        ("desk-a", 1),
        ("sw-harbour-amps-left-b-sw-harbour-core-b-b", 2),
        ("a-switch-with-a-long-name-that-goes-on-sw-b-1-b-2", 3),
    ],
)
def test_a_long_name_of_a_run_stands_on_its_flag_whole(name: str, rows: int) -> None:
    made = on_rows(name)
    assert made.replace("\n", "") == name
    assert len(made.split("\n")) == rows
    for row in made.split("\n"):
        assert bold().width_mm(row, LEAST_LABEL_PT) < (FLAG_MM[0] - FOLD_MM) / 2 - 2 * INSET_MM


def test_very_many_units_in_one_set_go_on_in_further_rows() -> None:
    outcome = wired()
    assert outcome.network is not None
    buffer = replace(outcome.network.buffers[0], units=tuple(f"odd-{n}" for n in range(1, 200, 2)))
    many = replace(outcome, network=replace(outcome.network, buffers=(buffer,)))
    (table,) = tables(book(edition_of(many)), "buffers")
    said = " ".join(row.cells[0].text for row in table.rows).replace(",", "").split()
    assert said == list(buffer.units)
    assert [bool(row.cells[1].text) for row in table.rows] == [True, False, False, False]


def test_a_number_of_a_port_is_never_cut_off_a_flag() -> None:
    show = WIRED.replace("sw-b-2", "a-switch-with-a-long-name")
    outcome = planned_whole(reading_of(show, WIRED_LINES))
    (flags,) = [s for s in label_strips(edition_of(outcome)) if s.of == "runs"]
    room = (FLAG_MM[0] - FOLD_MM) / 2 - 2 * INSET_MM
    ends = {str(end) for run in outcome.plan.network.runs for end in run.ends}
    for label in flags.labels:
        for text in (label.small, label.below):
            made, _ = on_label(text, 10.0, room, bold=False)
            assert any(made.split()[0].endswith(end.rpartition(":")[2]) for end in ends)
            assert ":" in made.split()[0]
