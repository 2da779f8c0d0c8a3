"""Who leads: root bridges, queriers and grandmasters, the second apart from the first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.decide.addresses import plan_addresses
from lineproof.graph.faults import Fault, dead_units
from lineproof.plan.network import Network
from lineproof.show.model import Show
from tests.addresses.nets import network_of, run, shipped, show_of, stream
from tests.addresses.test_addresses import planned, with_addresses

#: Five switches of net a in a row, one more of net b; all on circuits of their own.
ROW = """\
title: Row of switches
rate: 48 kHz
nets: one
places:
  hall: {at: [0, 0, 0]}
circuits:
  house: {supply: 230 V, limit: 63 A}
  c1: {fed-by: house, supply: 230 V, limit: 16 A}
  c2: {fed-by: house, supply: 230 V, limit: 16 A}
  c3: {fed-by: house, supply: 230 V, limit: 16 A}
units:
  desk: {kind: mixer-32, place: hall, circuit: c1}
  box-1: {kind: box-32-16, place: hall, circuit: c2}
  sw-1: {kind: switch-8, place: hall, circuit: c1}
  sw-2: {kind: switch-8, place: hall, circuit: c2, rack: left}
  sw-3: {kind: switch-8, place: hall, circuit: c1, rack: right}
  sw-4: {kind: switch-8, place: hall, circuit: c3, rack: right}
  sw-5: {kind: switch-8, place: hall, circuit: c2}
lines: lines.csv
"""
TRUNKS = tuple(run("a", f"sw-{n}:8", f"sw-{n + 1}:7") for n in range(1, 5))


def row(*changes: tuple[str, str], trunks: int = 4, earlier: Network | None = None) -> Network:
    show = show_of(*changes, text=ROW)
    network = network_of(show, stream("box-1/1", "desk"), runs=TRUNKS[:trunks])
    return plan_addresses(show, network, earlier, revision=1)


def test_the_root_is_in_the_middle_and_the_second_is_near_it_and_apart() -> None:
    leading = row().nets["a"]
    # sw-3 is the middle of the row; sw-4 beside it hangs in its rack, sw-2 shares nothing.
    assert leading.roots == ("sw-3", "sw-2")
    assert leading.queriers == ("sw-3", "sw-2")


def test_a_switch_at_the_end_of_everything_is_not_root_because_more_hangs_on_it_nearby() -> None:
    show = show_of(text=ROW)
    hanging = [run("a", f"sw-1:{n}", f"amp-{n}:1") for n in range(1, 7)]
    network = network_of(show, stream("box-1/1", "desk"), runs=(*TRUNKS, *hanging))
    # Six units at one end draw the root towards them: fewest hops in sum.
    assert plan_addresses(show, network, None).nets["a"].roots[0] == "sw-1"


def test_a_better_fed_switch_wins_between_two_alike() -> None:
    two = row(("  sw-2: {kind: switch-8,", "  sw-2: {kind: switch-24-fibre,"), trunks=1)
    # Without this, sw-1 and sw-2 stand alike; with two supplies on two circuits sw-2 stays on.
    fed = row(
        ("  sw-2: {kind: switch-8, place: hall, circuit: c2,",
         "  sw-2: {kind: switch-24-fibre, place: hall, circuit: [c2, c3],"),
        trunks=1,
    )  # fmt: skip
    assert fed.nets["a"].roots[0] == "sw-2"
    assert two.nets["a"].roots[0] == "sw-2"


def test_who_was_root_stays_root_while_it_can() -> None:
    first = row(trunks=2)
    assert first.nets["a"].roots[0] == "sw-2"
    # The row grows, and another would now be the middle.
    assert row(earlier=first).nets["a"].roots[0] == "sw-2"
    gone = ("  sw-2: {kind: switch-8, place: hall, circuit: c2, rack: left}\n", "")
    show = show_of(gone, text=ROW)
    runs = (run("a", "sw-1:8", "sw-3:6"), *TRUNKS[2:])
    network = network_of(show, stream("box-1/1", "desk"), runs=runs)
    again = plan_addresses(show, network, first, revision=1)
    # The second took over: it goes on.
    assert again.nets["a"].roots[0] == first.nets["a"].roots[1]
    assert len(again.nets["a"].roots) == 2


def test_the_second_goes_on_leading_when_the_first_becomes_somebody_elses() -> None:
    first = row(trunks=2)
    theirs = ("circuit: c2, rack: left}", "circuit: c2, rack: left, theirs: yes}")
    assert row(theirs, earlier=first).nets["a"].roots[0] == first.nets["a"].roots[1] == "sw-1"
    # Planned afresh it would be another.
    assert row(theirs).nets["a"].roots[0] == "sw-3"


def test_roots_and_queriers_may_be_named() -> None:
    ask = ("lines: lines.csv", "addresses: {root-a: sw-5 sw-1, querier-a: sw-4}\nlines: lines.csv")
    leading = row(ask).nets["a"]
    assert leading.roots == ("sw-5", "sw-1")
    assert leading.queriers[0] == "sw-4"
    assert len(leading.queriers) == 2


def test_a_switch_that_can_not_be_set_up_or_is_somebody_elses_never_leads() -> None:
    plain = [(f"sw-{n}: {{kind: switch-8,", f"sw-{n}: {{kind: switch-8-plain,") for n in (1, 2, 3)]
    theirs = ("circuit: c3, rack: right}", "circuit: c3, rack: right, theirs: yes}")
    assert row(*plain, theirs).nets["a"].roots == ("sw-5",)


def test_each_net_of_the_hall_has_a_second_root_on_another_circuit_than_the_first() -> None:
    show, network = shipped("hall")
    plan = plan_addresses(show, network, None)
    for net in plan.nets.values():
        assert len(net.roots) == 2
        one, other = (set(show.units[name].circuits) for name in net.roots)
        assert not one & other
    # On net a even the house feeds differ; on b all switches hang on one.
    for circuit in show.circuits:
        dead = dead_units(show, Fault(what="circuit", name=circuit))
        assert not set(plan.nets["a"].roots) <= dead


# -- the clock ----------------------------------------------------------------------------------


def ranks(plan: Network) -> Mapping[tuple[str, int], str]:
    return {(c.net, c.rank): c.unit for c in plan.clock if c.rank}


def elected(show: Show, plan: Network, net: str, without: str = "") -> str:
    """Give who wins the election on a net by IEEE 1588's comparison (facts, section 4, M)."""

    def announced(unit: str) -> tuple[int, int, int, int, str]:
        facts = show.units[unit].kind.clock
        assert facts is not None
        rank = next(c for c in plan.clock if (c.unit, c.net) == (unit, net))
        accuracy = int(facts.accuracy, 16)
        return (rank.priority1, facts.clock_class, accuracy, rank.priority2, unit)

    return min((c.unit for c in plan.clock if c.net == net and c.unit != without), key=announced)


def test_the_planned_grandmasters_are_those_that_the_units_elect() -> None:
    for name in ("small", "hall"):
        show, network = shipped(name)
        plan = plan_addresses(show, network, None)
        for net in plan.nets:
            first, second = (ranks(plan)[net, rank] for rank in (1, 2))
            assert elected(show, plan, net) == first
            assert elected(show, plan, net, without=first) == second


def test_the_halls_clock_leads_both_nets_and_one_unit_on_both_follows_it() -> None:
    plan = plan_addresses(*shipped("hall"), None)
    assert {ranks(plan)[net, 1] for net in "ab"} == {"clock"}
    assert len({ranks(plan)[net, 2] for net in "ab"}) == 1


def test_on_two_nets_one_unit_on_both_wins_over_a_better_one_on_one() -> None:
    extra = ("  rec-1:", "  house-clock: {kind: house-clock, place: front, net: a}\n  rec-1:")
    plan = planned(show_of(extra))
    assert ranks(plan)["a", 1] == ranks(plan)["b", 1] != "house-clock"


def test_two_clocks_that_both_hear_satellites_may_lead_one_net_each() -> None:
    extra = (
        "  rec-1:",
        (
            "  gps-a: {kind: grandmaster-clock, place: front, net: a}\n"
            "  gps-b: {kind: grandmaster-clock, place: stage, net: b}\n  rec-1:"
        ),
    )
    plan = planned(show_of(extra))
    assert (ranks(plan)["a", 1], ranks(plan)["b", 1]) == ("gps-a", "gps-b")


def test_a_guests_unit_is_never_planned_for_it_and_keeps_what_it_announces() -> None:
    extra = ("  rec-1:", "  gps: {kind: grandmaster-clock, place: front, theirs: yes}\n  rec-1:")
    plan = planned(show_of(extra))
    assert "gps" not in ranks(plan).values()
    assert {c.priority1 for c in plan.clock if c.unit == "gps"} == {128}


def test_a_unit_that_comes_and_goes_is_not_planned_for_it() -> None:
    show = show_of(("  rec-1:", "  gps: {kind: grandmaster-clock, place: front}\n  rec-1:"))
    assert ranks(planned(show))["a", 1] == "gps"
    guest = replace(show.units["gps"], here=("act-2",))
    units = {**show.units, "gps": guest}
    assert "gps" not in ranks(planned(replace(show, units=units))).values()


def test_who_leads_the_clock_stays_until_a_better_class_comes() -> None:
    named = with_addresses("grandmaster: side")
    first = planned(named)
    assert ranks(first)["a", 1] == "side"
    assert ranks(planned(show_of(), first, revision=1)) == ranks(first)
    better = ("  rec-1:", "  clock: {kind: house-clock, place: front}\n  rec-1:")
    assert ranks(planned(show_of(better), first, revision=1))["a", 1] == "clock"


def test_the_second_grandmaster_hangs_on_another_circuit_where_it_can() -> None:
    fed = "place: stage, circuit: {}}}\n  rec-1"
    show = show_of((fed.format("stage-feed"), fed.format("house")))
    units = {n: u for n, u in show.units.items() if n != "desk"}
    plan = plan_addresses(replace(show, units=units), network_of(show), None)
    both = {ranks(plan)["a", 1], ranks(plan)["a", 2]}
    for circuit in show.circuits:
        assert not both <= dead_units(show, Fault(what="circuit", name=circuit))
