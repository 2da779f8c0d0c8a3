"""What our own descriptions say, when their version changes, and how their files are named."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lineproof.base.sdp import MOST_PAYLOAD_BYTES, clock_identity
from lineproof.base.sdp_read import read_session
from lineproof.decide.addresses import plan_addresses, with_versions
from lineproof.paper.sdp import session_files
from lineproof.plan.network import Network, Stream
from lineproof.reckon.sessions import mac_on, samples_in, session_of
from lineproof.show.model import Show
from tests.addresses.nets import network_of, shipped, show_of, stream

MAC = ("number: 1, circuit", "number: 1, mac: '02-00-5e-00-53-01', circuit")
MASTER = ("lines: lines.csv", "addresses: {grandmaster: box-1}\nlines: lines.csv")
STREAMS = (stream("box-1/1", "desk side"), stream("desk/1", "box-2", multicast=False))


def planned(
    show: Show, *streams: Stream, earlier: Network | None = None, **more: object
) -> Network:
    network = network_of(show, *(streams or STREAMS))
    return plan_addresses(show, network, earlier, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["small", "hall"])
def test_a_strict_reader_takes_every_file_and_misses_the_clock_alone(name: str) -> None:
    show, network = shipped(name)
    plan = plan_addresses(show, network, None)
    files = session_files(show, plan)
    assert len(files) == len(plan.streams) > 4
    assert len({file.casefold() for file in files}) == len(files)
    for file, data in files.items():
        read = read_session(data, file=file)
        assert read.session is not None
        assert [f.what for f in read.findings if "ts-refclk is missing" not in f.what] == []


def test_a_file_says_all_there_is_to_say() -> None:
    show = show_of(MAC, MASTER)
    files = session_files(show, planned(show))
    assert list(files) == ["sdp/box-1-1.sdp", "sdp/desk-1.sdp"]
    session = read_session(files["sdp/box-1-1.sdp"], file="x").session
    assert session is not None
    rows = files["sdp/box-1-1.sdp"].decode().split("\r\n")
    assert rows == [
        "v=0",
        f"o=- {session.session_id} 1 IN IP4 10.61.0.32",
        "s=box-1/1",
        "t=0 0",
        # RFC 7104 3.2, RFC 5888 5: both legs carry the same packets.
        "a=group:DUP net-a net-b",
        "m=audio 5004 RTP/AVP 97",
        "i=8 channels: send 1-8",
        # RFC 8866 5.7: a group has a time to live.
        "c=IN IP4 239.192.0.1/32",
        # RFC 4570 3.
        "a=source-filter: incl IN IP4 239.192.0.1 10.61.0.32",
        "a=rtpmap:97 L24/48000/8",
        "a=ptime:1",
        "a=recvonly",
        # RFC 7273 4.8 and 5.2; FF-FE in the middle of the grandmaster's `mac`.
        "a=ts-refclk:ptp=IEEE1588-2008:02-00-5E-FF-FE-00-53-01:0",
        "a=mediaclk:direct=0",
        "a=mid:net-a",
        "m=audio 5004 RTP/AVP 97",
        "i=8 channels: send 1-8",
        "c=IN IP4 239.193.0.1/32",
        "a=source-filter: incl IN IP4 239.193.0.1 10.62.0.32",
        "a=rtpmap:97 L24/48000/8",
        "a=ptime:1",
        "a=recvonly",
        "a=ts-refclk:ptp=IEEE1588-2008:02-00-5E-FF-FE-00-53-01:0",
        "a=mediaclk:direct=0",
        "a=mid:net-b",
        "",
    ]


def test_a_stream_to_one_listener_names_its_address_without_time_to_live() -> None:
    show = show_of()
    text = session_files(show, planned(show))["sdp/desk-1.sdp"].decode()
    assert "c=IN IP4 10.61.0.33\r\n" in text
    assert "source-filter" not in text


def test_without_the_clocks_hardware_address_its_row_is_left_out() -> None:
    show = show_of(MASTER)
    assert b"ts-refclk" not in session_files(show, planned(show))["sdp/box-1-1.sdp"]


@pytest.mark.parametrize(
    ("mac", "net", "identity"),
    [
        # PTP-015 of the facts: IEEE 1588-2008 7.5.2.2.2, no bit inverted (M).
        ("00-1A-2B-3C-4D-5E", "a", "00-1A-2B-FF-FE-3C-4D-5E"),
        ("00:1a:2b:3c:4d:5e", "b", "00-1A-2B-FF-FE-3C-4D-5E"),
        ("001a.2b3c.4d5e 001a.2b3c.4d5f", "b", "00-1A-2B-FF-FE-3C-4D-5F"),
        ("00-1A-2B-FF-FE-3C-4D-5E", "a", "00-1A-2B-FF-FE-3C-4D-5E"),
        ("00-1A-2B-3C-4D", "a", ""),
        ("00-1A:2B-3C-4D-5E", "a", ""),
        ("on the label", "a", ""),
        ("", "a", ""),
    ],
)
def test_the_clocks_identity_comes_from_its_hardware_address(
    mac: str, net: str, identity: str
) -> None:
    unit = replace(show_of().units["desk"], mac=mac)
    assert clock_identity(mac_on(unit, net)) == identity


@pytest.mark.parametrize(
    ("packet_us", "rate_hz", "samples"),
    [
        # AES67 7.2 (from memory; facts table 01): counts, the same at 44.1 as at 48 kHz.
        (125, 48_000, 6), (250, 48_000, 12), (333, 48_000, 16), (1_000, 48_000, 48),
        (4_000, 48_000, 192), (125, 96_000, 12), (250, 96_000, 24), (333, 96_000, 32),
        (1_000, 96_000, 96), (1_000, 44_100, 48), (125, 44_100, 6), (250, 44_100, 12),
        (333, 44_100, 16), (4_000, 44_100, 192), (1_000, 88_200, 96),
    ],
)  # fmt: skip
def test_a_packet_time_stands_for_a_count_of_samples(
    packet_us: int, rate_hz: int, samples: int
) -> None:
    assert samples_in(packet_us, rate_hz) == samples


def test_no_stream_of_the_shipped_shows_holds_more_than_a_packet_can() -> None:
    for name in ("small", "hall"):
        show, network = shipped(name)
        plan = plan_addresses(show, network, None)
        for made in plan.streams:
            session = session_of(show, plan, made)
            assert session is not None
            assert all((leg.payload_bytes or 0) <= MOST_PAYLOAD_BYTES for leg in session.media)


# -- versions -----------------------------------------------------------------------------------


def versions(plan: Network) -> dict[str, int]:
    return {s.name: s.changed_in for s in plan.streams}


def test_only_the_stream_that_changes_has_a_new_version() -> None:
    show = show_of()
    first = planned(show)
    assert versions(first) == {"box-1/1": 1, "desk/1": 1}
    wider = stream("box-1/1", "desk side", channels=range(1, 8))
    second = planned(show, wider, STREAMS[1], earlier=first, revision=1)
    assert versions(second) == {"box-1/1": 2, "desk/1": 1}
    assert versions(planned(show, wider, STREAMS[1], earlier=second, revision=2)) == {
        "box-1/1": 2,
        "desk/1": 1,
    }


def test_one_more_listener_of_a_group_changes_nothing_for_the_others() -> None:
    show = show_of()
    first = planned(show)
    more = stream("box-1/1", "desk side rec-1")
    second = planned(show, more, STREAMS[1], earlier=first, revision=1)
    assert versions(second) == {"box-1/1": 1, "desk/1": 1}


def test_the_clocks_address_filled_in_makes_every_description_new() -> None:
    before, after = show_of(MASTER), show_of(MAC, MASTER)
    first = planned(before)
    second = planned(after, earlier=first, revision=4)
    assert versions(second) == {"box-1/1": 5, "desk/1": 5}


def test_going_back_to_old_decisions_goes_on_to_a_new_version() -> None:
    show = show_of()
    first = planned(show)
    wider = stream("box-1/1", "desk side", channels=range(1, 8))
    second = planned(show, wider, STREAMS[1], earlier=first, revision=1)
    back = with_versions(show, first, second, revision=2)
    assert versions(back) == {"box-1/1": 3, "desk/1": 1}


def test_a_grandmaster_is_known_for_both_nets() -> None:
    show, network = shipped("hall")
    plan = plan_addresses(show, network, None)
    assert [plan.grandmaster(net) for net in ("a", "b", "c")] == ["clock", "clock", ""]
