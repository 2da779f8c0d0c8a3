"""Fifteen descriptions composed from RFC 8866, 7273, 5771, 7104 and AES67, each read as they say.

`examples.json` was written by nobody who wrote the reader; its sources stand in it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from lineproof.base.finding import Grade
from lineproof.base.sdp import Session, write_session
from lineproof.base.sdp_read import read_session

EXAMPLES = {
    example["name"]: example
    for example in json.loads(Path(__file__).with_name("examples.json").read_text("utf-8"))[
        "examples"
    ]
}
GOOD = sorted(name for name, example in EXAMPLES.items() if not example["faults"])
BAD = sorted(name for name, example in EXAMPLES.items() if example["faults"])

#: What a reader of the findings is told, and on which row: 0 for no row of its own.
TOLD: Mapping[str, tuple[Grade, int, str]] = {
    "no time to live on an IPv4 group": (Grade.STOP, 4, "no time to live"),
    "more than one frame per packet time": (Grade.STOP, 6, "2304 bytes"),
    "odd RTP port": (Grade.RISK, 6, "port 5005 is odd"),
    "payload type without a map": (Grade.STOP, 6, "97 has no a=rtpmap"),
    "no reference clock": (Grade.RISK, 6, "ts-refclk is missing"),
    "media clock offset not a number": (Grade.STOP, 12, "offset reads 'x'"),
    "link-local group": (Grade.STOP, 4, "Local Network Control Block"),
    "clock identity too short": (Grade.STOP, 11, "not eight octets"),
}


def seen(session: Session) -> dict[str, Any]:
    """Give what was read under the names that the examples use."""
    media = session.media[0]
    reference = media.references[0]
    return {
        "name": session.name,
        "origin": session.origin,
        "group": media.address,
        "ttl": media.ttl,
        "port": media.port,
        "payload_type": media.payload_type,
        "encoding": media.encoding,
        "rate_hz": media.rate_hz,
        "channels": media.channels,
        "ptime_ms": float(media.ptime),
        "samples_per_packet": media.samples,
        "payload_bytes": media.payload_bytes,
        "ptp_version": reference.version,
        "grandmaster": reference.identity,
        "domain": reference.domain,
        "mediaclk_offset": media.clock_offset,
        "source": media.source,
        "legs": [leg.address for leg in session.media],
    }


def test_there_are_seven_good_ones_and_eight_bad_ones() -> None:
    assert (len(GOOD), len(BAD), set(BAD)) == (7, 8, set(TOLD))


@pytest.mark.parametrize("name", GOOD)
def test_a_good_one_is_read_as_it_says_and_nothing_is_found(name: str) -> None:
    example = EXAMPLES[name]
    read = read_session(example["sdp"].encode(), file="stream.sdp")
    assert read.findings == ()
    assert read.session is not None
    found = seen(read.session)
    expected = example["parsed"]
    if "ptime_ms" in expected:
        # Written with three decimals from the samples; theirs may have fewer.
        assert found.pop("ptime_ms") == pytest.approx(expected.pop("ptime_ms"), abs=0.005)
    assert {key: found[key] for key in expected} == expected


@pytest.mark.parametrize("name", BAD)
def test_a_bad_one_has_one_finding_with_its_row_and_what_to_do(name: str) -> None:
    read = read_session(EXAMPLES[name]["sdp"].encode(), file="stream.sdp")
    grade, row, words = TOLD[name]
    assert [(f.grade, f.where[0].row, f.where[0].file) for f in read.findings] == [
        (grade, row, "stream.sdp")
    ]
    assert words in read.findings[0].what
    assert read.findings[0].do
    assert (read.session is None) == (grade is Grade.STOP)


@pytest.mark.parametrize("name", GOOD)
def test_what_was_read_is_written_so_that_it_reads_the_same(name: str) -> None:
    session = read_session(EXAMPLES[name]["sdp"].encode(), file="stream.sdp").session
    assert session is not None
    again = read_session(write_session(session).encode(), file="again.sdp")
    assert (again.session, again.findings) == (session, ())


def test_rows_may_end_with_a_bare_line_feed() -> None:
    text = EXAMPLES[GOOD[0]]["sdp"]
    with_feed = read_session(text.replace("\r\n", "\n").encode(), file="x")
    assert with_feed == read_session(text.encode(), file="x")
