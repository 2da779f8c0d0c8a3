"""Every unit has its address, and keeps it; checked with Python's own `ipaddress`."""

from __future__ import annotations

import ipaddress
import random
from collections.abc import Mapping
from dataclasses import replace

import pytest

from lineproof.decide.addresses import plan_addresses
from lineproof.plan.network import Network
from lineproof.show.model import Show
from tests.addresses.nets import network_of, on_nets, shipped, show_of, stream

STREAMS = (
    stream("box-1/1", "desk side rec-1"),
    stream("box-1/2", "desk side", channels=range(9, 17)),
    stream("box-2/1", "desk side"),
    stream("desk/1", "box-1", multicast=False),
    stream("desk/2", "box-1", channels=(9, 10), multicast=False),
    stream("side/1", "box-1", multicast=False),
    stream("side/2", "box-2", multicast=False),
)


def planned(show: Show, earlier: Network | None = None, **more: object) -> Network:
    return plan_addresses(show, network_of(show, *STREAMS), earlier, **more)  # type: ignore[arg-type]


def ips(network: Network) -> Mapping[tuple[str, str], str]:
    return {(a.unit, a.net): a.ip for a in network.addresses}


@pytest.mark.parametrize("name", ["small", "hall"])
def test_every_unit_on_a_net_has_one_address_in_its_range_and_alone(name: str) -> None:
    show, network = shipped(name)
    plan = plan_addresses(show, network, None)
    assert sorted(ips(plan)) == sorted(on_nets(show, network))
    for net, of_net in plan.nets.items():
        span = ipaddress.ip_network(of_net.range)
        mine = [ipaddress.ip_address(a.ip) for a in plan.addresses if a.net == net]
        assert span.is_private
        assert len(set(mine)) == len(mine)
        assert set(mine) <= set(span.hosts())
        assert span.num_addresses >= 2 * len(mine)
    spans = [ipaddress.ip_network(p.range) for p in plan.nets.values()]
    assert not any(a.overlaps(b) for a in spans for b in spans if a is not b)


def test_a_unit_on_two_nets_has_one_ending_on_both() -> None:
    show, network = shipped("hall")
    plan = plan_addresses(show, network, None)
    both = [u for u, net in ips(plan) if net == "b" and (u, "a") in ips(plan)]
    assert len(both) > 20
    for unit in both:
        a, b = (plan.address(unit, net).rpartition(".")[2] for net in "ab")
        assert a == b


def test_the_same_show_gives_the_same_network_however_it_is_ordered() -> None:
    show = show_of()
    first = planned(show)
    for seed in range(5):
        names = list(show.units)
        random.Random(seed).shuffle(names)
        units = {name: show.units[name] for name in names}
        network = network_of(show, *STREAMS)
        network = replace(network, streams=network.streams)
        assert plan_addresses(replace(show, units=units), network, None) == first


def test_planning_again_changes_nothing() -> None:
    show = show_of()
    first = planned(show)
    assert planned(show, first, revision=1) == first


# -- stability ----------------------------------------------------------------------------------

NEWCOMER = ("  desk: {", "  amp-1: {kind: amplifier-4, place: stage}\n  desk: {")


def test_a_new_unit_moves_no_other() -> None:
    first = planned(show_of())
    second = planned(show_of(NEWCOMER), first, revision=1)
    assert ips(first).items() <= ips(second).items()
    assert ("amp-1", "a") in ips(second)


def gone(show: Show, name: str) -> Show:
    return replace(show, units={n: u for n, u in show.units.items() if n != name})


def test_a_unit_that_is_gone_leaves_its_address_to_nobody_and_gets_it_back() -> None:
    first = planned(show_of())
    without = replace(network_of(show_of(), *STREAMS[:4]), streams=())
    second = plan_addresses(gone(show_of(NEWCOMER), "side"), without, first, revision=1)
    held = {first.address("side", net) for net in "ab"}
    assert {r.value for r in second.retired if r.of == "side"} >= held
    assert not held & set(ips(second).values())
    third = planned(show_of(NEWCOMER), second, revision=2)
    assert [third.address("side", net) for net in "ab"] == [
        first.address("side", net) for net in "ab"
    ]
    assert not any(r.of == "side" and r.what == "address" for r in third.retired)


def test_what_a_unit_left_is_free_again_once_renewed() -> None:
    first = planned(show_of())
    empty = replace(network_of(show_of()), streams=())
    second = plan_addresses(gone(show_of(), "box-1"), empty, first, revision=1)
    third = plan_addresses(gone(show_of(), "box-1"), empty, second, revision=2, renew=True)
    assert third.retired == ()
    # The lowest number is box-1's no longer.
    assert first.address("box-1", "a") in ips(third).values()
    one = plan_addresses(
        gone(show_of(NEWCOMER), "box-1"),
        empty,
        second,
        revision=2,
        renew_of=frozenset({"box-1"}),
    )
    assert one.address("amp-1", "a") == first.address("box-1", "a")
    assert one.address("desk", "a") == first.address("desk", "a")


def test_a_full_range_of_ours_grows_and_nobody_moves() -> None:
    many = "".join(f"  wedge-{n}: {{kind: powered-monitor, place: stage}}\n" for n in range(1, 251))
    first = planned(show_of())
    second = planned(show_of(("  desk: {", f"{many}  desk: {{")), first, revision=1)
    before, after = (ipaddress.ip_network(p.nets["a"].range) for p in (first, second))
    assert before.prefixlen == 24
    assert before.subnet_of(after)
    assert before.network_address == after.network_address
    assert ips(first).items() <= ips(second).items()
    assert len(set(ips(second).values())) == len(ips(second))


def test_a_retired_address_is_given_on_only_when_no_other_is_left() -> None:
    small = ("lines: lines.csv", "addresses: {a: 10.20.0.0/28}\nlines: lines.csv")
    wedges = [f"  wedge-{n}: {{kind: powered-monitor, place: stage}}\n" for n in range(1, 8)]
    empty = replace(network_of(show_of()), streams=())
    first = plan_addresses(show_of(small), empty, None)
    # 13 numbers, 7 units, of which one is gone and six come; the seventh must take its place.
    without = gone(show_of(small), "rec-1")
    for count, reused in ((6, False), (7, True)):
        new = {
            u.name: u for u in show_of(("  desk: {", "".join(wedges) + "  desk: {")).units.values()
        }
        units = {**without.units, **{f"wedge-{n}": new[f"wedge-{n}"] for n in range(1, count + 1)}}
        second = plan_addresses(replace(without, units=units), empty, first, revision=1)
        on_a = {a.unit: a.ip for a in second.addresses if a.net == "a"}
        assert len(set(on_a.values())) == len(on_a) == 6 + count
        assert (first.address("rec-1", "a") in on_a.values()) == reused


# -- given by hand ------------------------------------------------------------------------------


def with_addresses(text: str, *changes: tuple[str, str]) -> Show:
    return show_of(("lines: lines.csv", f"addresses: {{{text}}}\nlines: lines.csv"), *changes)


def test_what_is_given_by_hand_is_kept_and_whoever_had_it_moves() -> None:
    first = planned(show_of())
    wanted = first.address("side", "a")
    second = planned(with_addresses(f"rec-1: {wanted}"), first, revision=1)
    assert second.address("rec-1", "a") == wanted
    assert [a.given for a in second.addresses if a.unit == "rec-1"] == [True]
    assert second.address("side", "a") not in {wanted, ""}
    moved = {key for key, ip in ips(first).items() if ips(second)[key] != ip}
    assert moved == {("rec-1", "a"), ("side", "a")}


def test_two_addresses_are_one_for_each_net_and_one_may_be_named_by_net() -> None:
    plan = planned(with_addresses("desk: 10.61.0.200 10.62.0.201, 'side:b': 10.62.0.77"))
    assert [plan.address("desk", net) for net in "ab"] == ["10.61.0.200", "10.62.0.201"]
    assert plan.address("side", "b") == "10.62.0.77"
    # What is left to us ends alike where it can.
    assert plan.address("side", "a") == "10.61.0.77"


def test_a_range_given_later_moves_everyone_into_it_with_the_same_endings() -> None:
    first = planned(show_of())
    second = planned(with_addresses("a: 192.168.40.0/24"), first, revision=1)
    span = ipaddress.ip_network("192.168.40.0/24")
    on_a = [a for a in second.addresses if a.net == "a"]
    assert on_a
    assert all(ipaddress.ip_address(a.ip) in span for a in on_a)
    assert [a for a in second.addresses if a.net == "b"] == [
        a for a in first.addresses if a.net == "b"
    ]


def test_our_own_range_keeps_clear_of_one_given_to_the_other_net() -> None:
    plan = planned(with_addresses("a: 10.62.0.0/16"))
    a, b = (ipaddress.ip_network(plan.nets[net].range) for net in "ab")
    assert str(a) == "10.62.0.0/16"
    assert not a.overlaps(b)
    assert b.is_private


def test_a_net_that_is_gone_for_a_while_comes_back_with_the_same_addresses() -> None:
    first = planned(show_of())
    on_b = {key: ip for key, ip in ips(first).items() if key[1] == "b"}
    single = planned(show_of(("nets: two", "nets: one")), first, revision=1)
    assert {key[1] for key in ips(single)} == {"a"}
    again = planned(show_of(), single, revision=2)
    assert {key: ip for key, ip in ips(again).items() if key[1] == "b"} == on_b


def test_marks_vlans_and_the_clocks_domain_may_be_given() -> None:
    plan = planned(with_addresses("dscp-clock: 56, vlan-audio-b: 77, clock-domain: 5"))
    assert dict(plan.dscp) == {"clock": 56, "audio": 34, "rest": 0}
    assert dict(plan.nets["b"].vlans) == {"audio": 77, "control": 220, "guests": 230}
    assert plan.clock_domain == 5
    kept = planned(show_of(), plan, revision=1)
    assert (kept.dscp, kept.clock_domain) == (plan.dscp, 5)


def test_marks_are_those_of_the_media_profile() -> None:
    # AES67 6.2 (from memory): clock EF, media AF41, the rest best effort; codes RFC 3246, RFC 2597.
    assert dict(planned(show_of()).dscp) == {"clock": 46, "audio": 34, "rest": 0}


def test_vlans_are_numbers_that_frames_can_carry_and_no_two_alike() -> None:
    numbers = [n for p in planned(show_of()).nets.values() for n in p.vlans.values()]
    assert len(set(numbers)) == len(numbers) == 6
    assert all(2 <= n <= 4094 for n in numbers)


def test_a_switch_that_can_not_be_set_up_has_no_address() -> None:
    plain = ("sw-a1: {kind: switch-8,", "sw-a1: {kind: switch-8-plain,")
    assert ("sw-a1", "a") not in ips(planned(show_of(plain)))


def test_the_first_querier_has_the_lowest_address_of_all() -> None:
    for name in ("small", "hall"):
        plan = plan_addresses(*shipped(name), None)
        for net, of_net in plan.nets.items():
            numbers = {
                a.unit: int(ipaddress.ip_address(a.ip)) for a in plan.addresses if a.net == net
            }
            lowest = sorted(numbers, key=lambda u: numbers[u])
            assert tuple(lowest[: len(of_net.queriers)]) == of_net.queriers
            assert of_net.queriers
