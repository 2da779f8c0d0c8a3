"""Whatever a session holds is read back from its file; whatever a file holds, nothing breaks."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineproof.base.sdp import Media, Reference, SdpError, Session, packet_time, write_session
from lineproof.base.sdp_groups import is_group, wrong_with_group
from lineproof.base.sdp_read import read_session
from lineproof.base.sdp_rows import MOST_BYTES, MOST_MEDIA, MOST_ROW_BYTES, MOST_ROWS, MOST_TOLD

WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=40)
HOSTS = st.integers(0x01000000, 0xDFFFFFFF).map(
    lambda n: ".".join(str(n >> shift & 255) for shift in (24, 16, 8, 0))
)
GROUPS = st.integers(0xE8000000, 0xEFFFFFFF).map(
    lambda n: ".".join(str(n >> shift & 255) for shift in (24, 16, 8, 0))
)
OCTETS = st.binary(min_size=8, max_size=8).map(lambda b: b.hex("-").upper())
REFERENCES = st.one_of(
    st.builds(
        Reference,
        version=st.sampled_from(["IEEE1588-2002", "IEEE1588-2008", "IEEE1588-2019"]),
        identity=OCTETS,
        domain=st.none() | st.integers(0, 127),
    ),
    st.just(Reference()),
)


@st.composite
def media(draw: st.DrawFn, *, mid: str = "") -> Media:
    grouped = draw(st.booleans())
    address = draw(GROUPS.filter(lambda ip: not wrong_with_group(ip)) if grouped else HOSTS)
    size = {"L16": 2, "L24": 3}
    encoding = draw(st.sampled_from(sorted(size)))
    channels = draw(st.integers(1, 64))
    most = 1_440 // (size[encoding] * channels)
    return Media(
        address=address,
        ttl=draw(st.integers(0, 255)) if grouped else None,
        port=2 * draw(st.integers(1, 32_767)),
        payload_type=draw(st.integers(96, 127)),
        encoding=encoding,
        rate_hz=draw(st.sampled_from([32_000, 44_100, 48_000, 88_200, 96_000, 192_000])),
        channels=channels,
        samples=draw(st.integers(1, most)),
        direction=draw(st.sampled_from(["", "recvonly", "sendonly", "sendrecv"])),
        source=draw(st.just("") | HOSTS),
        references=(draw(REFERENCES),),
        clock_offset=draw(st.integers(0, 2**32 - 1)),
        mid=mid,
        info=draw(st.just("") | WORDS),
    )


@st.composite
def sessions(draw: st.DrawFn) -> Session:
    legs = draw(st.sampled_from([("",), ("one", "two")]))
    return Session(
        name=draw(WORDS),
        origin=draw(HOSTS),
        session_id=draw(st.integers(0, 2**64 - 1)),
        version=draw(st.integers(0, 2**64 - 1)),
        info=draw(st.just("") | WORDS),
        media=tuple(draw(media(mid=mid)) for mid in legs),
        duplicates=(legs,) if len(legs) > 1 else (),
    )


@given(sessions())
def test_a_written_session_reads_the_same(session: Session) -> None:
    read = read_session(write_session(session).encode(), file="x.sdp")
    assert (read.session, read.findings) == (session, ())


@pytest.mark.parametrize("rate_hz", [32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000])
def test_three_decimals_of_a_packet_time_tell_the_samples_at_every_rate(rate_hz: int) -> None:
    for samples in range(1, 481):
        assert round(float(packet_time(samples, rate_hz)) * rate_hz / 1_000) == samples


@pytest.mark.parametrize("text", ["two\nrows", "a\rb", "nul\x00", "next\x85row", "sep\u2028row"])
def test_a_text_that_would_begin_another_row_can_not_be_written(text: str) -> None:
    with pytest.raises(SdpError):
        Session(name=text, origin="192.0.2.1", session_id=1, version=1, media=())
    with pytest.raises(SdpError):
        Media(address="192.0.2.1", info=text)


# -- files made by somebody who means no good ---------------------------------------------------


@given(st.binary(max_size=600))
def test_any_bytes_give_findings_not_a_fault_of_ours(data: bytes) -> None:
    read = read_session(data, file="x.sdp")
    assert read.session is not None or read.findings


TEXT = (Path(__file__).with_name("two-nets.sdp")).read_bytes()
SPLINTERS = (
    b"\x00", b"\xff", b"=", b"/", b":", b" ", b"\r\n", b"\n\n", b"m=audio 5004 RTP/AVP 97\r\n",
    b"999999999999999999999999", b"-1", b"\xd9\xa1", b"a=rtpmap:", b"c=IN IP6 ff02::1\r\n", b"*",
    b"1e9", b"/0", b"a=group:DUP x y\r\n", b"\xe2\x80\xa8", b"a=ptime:0\r\n", b"%n", b"::",
)  # fmt: skip


@pytest.mark.parametrize("first", range(0, 2_000, 250))
def test_mangled_files_give_findings_not_a_fault_of_ours(first: int, seed: int) -> None:
    for number in range(first, first + 250):
        rng = random.Random(f"{seed}/{number}")
        data = bytearray(TEXT)
        for _ in range(rng.randint(1, 6)):
            at = rng.randrange(len(data) + 1)
            match rng.randrange(4):
                case 0:
                    data[at:at] = rng.choice(SPLINTERS)
                case 1:
                    del data[at : at + rng.randint(1, 40)]
                case 2:
                    data[at : at + 1] = bytes([rng.randrange(256)])
                case 3:
                    data[at:at] = data[rng.randrange(len(data) + 1) :][:60]
        read = read_session(bytes(data), file="x.sdp")
        if read.session is not None:
            # Whatever it takes for a session is one it would read again.
            again = read_session(write_session(read.session).encode(), file="y.sdp")
            assert again.session == read.session, (number, bytes(data))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"v=0\r\n" + b"a=x\r\n" * 100_000, f"at most {MOST_BYTES:,} are read"),
        (b"v=0\n" + b"a=\n" * MOST_ROWS, f"at most {MOST_ROWS} are read"),
        (b"v=0\r\ns=" + b"x" * MOST_ROW_BYTES, f"at most {MOST_ROW_BYTES:,} are read"),
        (TEXT + b"m=audio 5004 RTP/AVP 97\r\n" * MOST_MEDIA, f"at most {MOST_MEDIA} are read"),
        (b"", "the file is empty"),
        (b"\xff\xfe=0\r\n", "the row is no UTF-8 text"),
        (b"v=0\r\ns=\x1b[2J\r\n", "holds a control mark"),
    ],
)
def test_a_file_beyond_the_limits_is_refused_and_says_which(data: bytes, words: str) -> None:
    read = read_session(data, file="x.sdp")
    assert read.session is None
    assert any(words in finding.what for finding in read.findings)


def test_of_many_mistakes_the_first_are_told_and_the_rest_counted() -> None:
    read = read_session(b"v=0\r\n" + b"nonsense\r\n" * 100, file="x.sdp")
    assert len(read.findings) == MOST_TOLD + 1
    assert read.findings[-1].what.startswith("83 more mistakes")


@pytest.mark.parametrize(
    ("old", "new", "row", "words"),
    [
        (b"v=0", b"v=1", 1, "only version 0"),
        (b"IN IP4 10.61.0.36\r\ns", b"IN IP6 ::1\r\ns", 2, "IPv6"),
        (b"o=-", b"o=", 2, "expected as in 'o="),
        (b"DUP net-a", b"DUP net-c", 5, "no a=mid has"),
        (b"5004 RTP/AVP 97\r\ni=8 channels: send 1-8\r\nc=IN IP4 239.192", (b"x RTP/AVP 97\r\n"
         b"i=\r\nc=IN IP4 239.192"), 6, "expected as in 'm="),
        (b"239.192.0.1/32\r", b"239.192.0.1/300\r", 8, "time to live 300"),
        (b"239.192.0.1/32\r", b"239.192.0.1/32/2\r", 8, "2 groups"),
        (b"239.192.0.1/32\r", b"239.192.0.999/32\r", 8, "expected as in 239.192.1.1"),
        (b"239.192.0.1/32\r", b"239.128.0.9/32\r", 8, "224.0.0.9"),
        (b"239.192.0.1 10.61.0.36\r", b"239.192.0.1 nobody\r", 9, "expected as in 192.0.2.10"),
        ((b"L24/48000/8\r\na=ptime:1\r\na=recvonly\r\na=ts-refclk:ptp=IEEE1588-2008:"
         b"02-00-5E-FF-FE-00-53-01:0\r\na=mediaclk:direct=0\r\na=mid:net-a"),
         b"opus/48000/2\r\na=mid:net-a", 10, "no linear audio"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_row(old: bytes, new: bytes, row: int, words: str) -> None:
    assert TEXT.count(old) == 1
    found = read_session(TEXT.replace(old, new), file="x.sdp").findings
    assert [f.where[0].row for f in found if words in f.what] == [row], found


@pytest.mark.parametrize(
    ("row", "number", "words"),
    [
        ("s=another", 4, "s= stands here a second time"),
        ("v=0", 4, "v= stands after s="),
        ("m2=x", 4, "expected a letter and '='"),
        ("w=x", 4, "w= has no meaning here"),
        ("", 4, "the row is empty"),
        ("a=group:DUP net-a", 4, "two legs or more"),
        (("a=ts-refclk:ptp=IEEE1588-2008:traceable\r\n"
         "a=ts-refclk:ptp=IEEE1588-2008:02-00-5E-FF-FE-00-53-01:0"), 5, "traceable and other"),
        ("a=ts-refclk:ptp=IEEE1588-2008:02-00-5E-FF-FE-00-53-01:128", 4, "clock domain"),
        ("a=ts-refclk:ntp=192.0.2.1", 4, "not on the network's clock"),
        ("a=ts-refclk:sundial", 4, "no clock that RFC 7273 knows"),
        ("a=mediaclk:sender", 4, "does not run on the network's clock"),
    ],
)  # fmt: skip
def test_a_row_that_should_not_be_there_is_told(row: str, number: int, words: str) -> None:
    after = b"s=box-1/1\r\n"
    assert TEXT.count(after) == 1
    found = read_session(TEXT.replace(after, after + row.encode() + b"\r\n"), file="x").findings
    assert number in [f.where[0].row for f in found if words in f.what], found


def test_a_group_is_known_by_its_address() -> None:
    assert [is_group(ip) for ip in ("223.255.255.255", "224.0.0.0", "239.255.255.255", "240.0.0.1")
            ] == [False, True, True, False]  # fmt: skip
