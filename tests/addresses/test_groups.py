"""Groups, ports and session ids of streams; the tables come from RFC 1112, RFC 5771, RFC 4541."""

from __future__ import annotations

import csv
import ipaddress
import json
from dataclasses import replace
from pathlib import Path

import pytest

from lineproof.base.sdp_groups import mac_of_group, wrong_with_group
from lineproof.decide import addresses_streams
from lineproof.decide.addresses import plan_addresses
from lineproof.plan.network import Network
from tests.addresses.nets import network_of, shipped, show_of, stream
from tests.addresses.test_addresses import STREAMS, planned, with_addresses

HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(newline="", encoding="utf-8") as text:
        return list(csv.DictReader(text))


CHECKS = {row["id"]: row for row in rows("multicast_checks.csv")}


@pytest.mark.parametrize("row", rows("multicast_mac.csv"), ids=lambda row: row["group"])
def test_a_groups_hardware_address_and_who_shares_it(row: dict[str, str]) -> None:
    assert mac_of_group(row["group"]) == row["mac"]
    for other in row["groups_in_239_with_the_same_mac"].split("; "):
        assert mac_of_group(other) == row["mac"]
    if row["mac_shared_with_224_0_0_x"] == "1":
        assert wrong_with_group(row["group"])


@pytest.mark.parametrize("name", [f"MC-{n:03}" for n in range(49, 60)])
def test_no_group_of_a_reserved_block_may_be_used(name: str) -> None:
    group = json.loads(CHECKS[name]["inputs"])["group"]
    if CHECKS[name]["expected"] == "Source-Specific":
        # Only with a source given, and IGMPv3 all the way: left to who gives it by hand, save
        # for those that share a hardware address with 224.0.0.x, as this one does.
        assert "224.0.0.1" in wrong_with_group(group)
        assert wrong_with_group("232.1.2.3") == ""
    else:
        assert wrong_with_group(group)


@pytest.mark.parametrize(
    ("group", "words"),
    [
        # RFC 2974 3: SAP's own group, and what shares its hardware address (MC-006 of the facts).
        ("239.2.127.254", "224.2.127.254"),
        ("239.130.127.254", "224.2.127.254"),
        # RFC 2365 9: the highest 256 of the organisation's and of the local scope.
        ("239.195.255.7", "RFC 2365 9"),
        ("239.255.255.255", "RFC 2365 9"),
        ("239.192.0.1", ""),
        ("239.255.254.255", ""),
    ],
)
def test_services_groups_are_left_to_them(group: str, words: str) -> None:
    assert words in wrong_with_group(group)
    assert bool(words) == bool(wrong_with_group(group))


def groups(plan: Network) -> list[str]:
    return [ip for s in plan.streams if s.multicast for ip in s.to.values()]


@pytest.mark.parametrize("name", ["small", "hall"])
def test_groups_lie_in_the_organisations_scope_and_no_two_share_a_hardware_address(
    name: str,
) -> None:
    found = groups(plan_addresses(*shipped(name), None))
    assert found
    scope = ipaddress.ip_network("239.192.0.0/14")
    assert all(ipaddress.ip_address(ip) in scope for ip in found)
    assert len({mac_of_group(ip) for ip in found}) == len(found)
    assert not [ip for ip in found if wrong_with_group(ip)]


def test_a_whole_half_of_239_never_gives_a_group_that_switches_flood() -> None:
    show = with_addresses("groups-a: 239.128.0.0/9")
    many = [stream(f"desk/{n}", "side box-1") for n in range(1, 600)]
    found = groups(plan_addresses(show, network_of(show, *many), None))
    assert len(found) == 2 * 599
    assert len({mac_of_group(ip) for ip in found}) == len(found)
    # RFC 4541 2.1.2: 224.0.0.x floods whatever shares its hardware address; 224.0.1.129 is the
    # clock's (IEEE 1588 Annex D, from memory).
    low = {mac_of_group(ip)[9:14] for ip in found}
    assert not low & {"00-00", "00-01"}


def test_a_stream_has_one_group_a_net_alike_and_a_single_listener_its_address() -> None:
    plan = planned(show_of())
    to = {s.name: dict(s.to) for s in plan.streams}
    assert to["box-1/1"] == {"a": "239.192.0.1", "b": "239.193.0.1"}
    assert to["desk/1"] == {net: plan.address("box-1", net) for net in "ab"}


def test_a_listener_on_one_net_only_is_sent_to_on_that_net() -> None:
    show = show_of()
    plan = plan_addresses(show, network_of(show, stream("desk/1", "rec-1", multicast=False)), None)
    assert dict(plan.streams[0].to) == {"a": plan.address("rec-1", "a")}


def test_streams_to_one_listener_have_even_ports_of_their_own() -> None:
    plan = planned(show_of())
    for listener in ("box-1", "box-2"):
        ports = [s.udp_port for s in plan.streams if s.receivers == (listener,)]
        assert len(set(ports)) == len(ports)
        # RFC 3550 11: RTP on an even port, RTCP on the next.
        assert all(port % 2 == 0 and 5_004 < port < 65_535 for port in ports)
    assert {s.udp_port for s in plan.streams if s.multicast} == {5_004}


def test_a_new_stream_changes_no_other_and_a_gone_one_leaves_its_group_to_nobody() -> None:
    show = show_of()
    first = planned(show)
    fewer = plan_addresses(show, network_of(show, *STREAMS[1:]), first, revision=1)
    new = stream("box-2/2", "desk side", channels=range(9, 17))
    second = plan_addresses(show, network_of(show, *STREAMS[1:], new), fewer, revision=2)
    by_name = {s.name: s for s in first.streams}
    for made in second.streams:
        if made.name in by_name:
            assert made == by_name[made.name]
    lost = {by_name["box-1/1"].to[net] for net in "ab"}
    assert not lost & set(groups(second))
    third = plan_addresses(show, network_of(show, *STREAMS, new), second, revision=3)
    back = next(s for s in third.streams if s.name == "box-1/1")
    assert dict(back.to) == dict(by_name["box-1/1"].to)
    assert back.session == by_name["box-1/1"].session


def test_a_group_given_by_hand_is_kept_and_nobody_gets_one_that_shares_its_address() -> None:
    plan = planned(with_addresses("'box-2/1:a': 239.64.0.1"))
    to = {s.name: dict(s.to) for s in plan.streams}
    assert to["box-2/1"]["a"] == "239.64.0.1"
    # 239.192.0.1 would be the first of our own; it shares 01-00-5E-40-00-01 with the one given.
    assert to["box-1/1"]["a"] == "239.192.0.2"


def test_two_nets_with_one_range_of_groups_still_share_none() -> None:
    found = groups(planned(with_addresses("groups-a: 239.192.8.0/24, groups-b: 239.192.8.0/24")))
    assert len(set(found)) == len(found) == 6


def test_a_stream_gives_way_to_one_whose_group_is_given_by_hand() -> None:
    first = planned(show_of())
    plan = planned(with_addresses("'box-2/1:a': 239.192.0.1"), first, revision=1)
    to = {s.name: dict(s.to) for s in plan.streams}
    assert first.streams[0].to["a"] == to["box-2/1"]["a"] == "239.192.0.1"
    assert to["box-1/1"]["a"] not in {"239.192.0.1", ""}
    # On the other net nobody is in its way.
    assert to["box-1/1"]["b"] == first.streams[0].to["b"]


def test_a_range_that_is_too_small_leaves_the_rest_without_a_group() -> None:
    show = with_addresses("groups-a: 239.192.8.0/31, groups-b: 239.193.8.0/31")
    found = planned(show)
    assert [dict(s.to) for s in found.streams if s.multicast] == [
        {"a": "239.192.8.1", "b": "239.193.8.1"},
        {},
        {},
    ]


def test_two_session_ids_that_fall_on_one_number_are_told_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(addresses_streams, "_drawn", lambda text: 2**31 - 1)
    sessions = [s.session for s in planned(show_of()).streams]
    assert sorted(sessions) == [*range(1, len(STREAMS)), 2**31 - 1]


def test_session_ids_are_given_once_and_two_shows_have_others() -> None:
    plan = planned(show_of())
    mine = {s.session for s in plan.streams}
    assert len(mine) == len(STREAMS)
    assert all(0 < n < 2**31 for n in mine)
    other = planned(replace(show_of(), title="Quay Waltzes"))
    assert not mine & {s.session for s in other.streams}
    # The title may change later: receivers must still know the stream.
    again = planned(replace(show_of(), title="Quay Waltzes"), plan, revision=1)
    assert [s.session for s in again.streams] == [s.session for s in plan.streams]
