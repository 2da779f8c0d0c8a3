"""Programs that nobody here wrote hear our streams from our SDP files: ffmpeg and GStreamer.

Every file of the small show and some of the hall's: channel count, rate, and each channel's
samples byte for byte. It happens in a network namespace, with the plan's own addresses.
"""

from __future__ import annotations

import json
import re
import struct
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache
from pathlib import Path

import pytest

from lineproof.base.sdp import Media, Session, write_session
from lineproof.decide.addresses import plan_addresses
from lineproof.plan.network import Network
from lineproof.reckon.sessions import session_of
from lineproof.show.model import Show
from tests.addresses.nets import network_of, shipped, show_of, stream
from tests.sdp.hearing import MOST_S, Leg, frame, sample

pytestmark = [
    pytest.mark.needs("unshare", "util-linux"),
    pytest.mark.needs("ip", "iproute2"),
]

#: Packets that a listener takes before it ends.
PACKETS = 60
#: Speaker layouts by which this GStreamer element turns round more than two channels; any other
#: count it leaves as sent (heard; its source has the layouts of RFC 3551 4.1).
BY_SPEAKER = range(3, 9)
ON_A = tuple(
    (f"circuit: {c}, net: b}}", f"circuit: {c}, net: a}}") for c in ("stage-feed", "house")
)


@cache
def namespaces() -> bool:
    return (
        subprocess.run(["unshare", "-Urn", "true"], capture_output=True, check=False).returncode
        == 0
    )


@pytest.fixture(autouse=True)
def own_namespace() -> None:
    if not namespaces():
        pytest.skip("this machine allows no user namespaces")


@cache
def described(name: str) -> tuple[Show, Network]:
    show, network = shipped(name)
    # The clock's hardware address is filled in on site; here it is, so that the row is read too.
    units = {n: replace(u, mac="02:00:5e:00:53:01") for n, u in show.units.items()}
    known = replace(show, units=units)
    return known, plan_addresses(known, network, None)


@dataclass(frozen=True, kw_only=True)
class Sent:
    """A stream's description, and from where its sender sends on each leg."""

    session: Session
    sources: tuple[str, ...]

    @property
    def media(self) -> tuple[Media, ...]:
        return self.session.media


def sent(show: Show, network: Network) -> list[Sent]:
    found = []
    for made in network.streams:
        session = session_of(show, network, made)
        assert session is not None
        sources = tuple(network.address(made.sender, net) for net in made.to)
        found.append(Sent(session=session, sources=sources))
    return found


def by_leg(of: Sent) -> list[Sent]:
    """Give each leg as a stream of its own.

    Both listeners take a port on all their addresses at once, so that on one computer they can't
    hear both legs to one listener; legs to groups they can.
    """
    found = []
    for leg, source in zip(of.media, of.sources, strict=True):
        session = replace(of.session, media=(replace(leg, mid=""),), duplicates=())
        found.append(Sent(session=session, sources=(source,)))
    return found


def one(channels: int, packet_us: int, rate: str = "48 kHz") -> Sent:
    """Give a stream of so many channels to two listeners on one net."""
    show = show_of(("rate: 48 kHz", f"rate: {rate}"), ("nets: two", "nets: one"), *ON_A)
    made = stream("desk/1", "side box-1", channels=range(1, channels + 1), packet_us=packet_us)
    return sent(show, plan_addresses(show, network_of(show, made), None))[0]


def in_namespace(folder: Path, of: Sent, command: Sequence[str]) -> str:
    """Let `command` hear the stream's packets; give what it said."""
    (folder / "x.sdp").write_bytes(write_session(of.session).encode())
    legs = [
        Leg(
            to=leg.address,
            port=leg.port,
            source=source,
            channels=leg.channels,
            samples=leg.samples or 0,
            payload_type=leg.payload_type,
        )
        for leg, source in zip(of.media, of.sources, strict=True)
    ]
    spec = json.dumps([asdict(leg) for leg in legs])
    script = Path(__file__).with_name("hearing.py")
    python = (sys.executable, str(script), str(folder), spec, "--", *command)
    done = subprocess.run(
        ["unshare", "-Urn", *python],
        capture_output=True,
        text=True,
        timeout=2 * MOST_S,
        check=False,
    )
    said = (folder / "said.txt").read_text("utf-8", errors="replace")
    assert done.returncode == 0, (done.stderr, said)
    return said


def frames(data: bytes, channels: int) -> list[bytes]:
    size = 3 * channels
    assert len(data) >= size
    return [data[at : at + size] for at in range(0, len(data) - size + 1, size)]


# -- ffmpeg -------------------------------------------------------------------------------------


def ffmpeg_hears(folder: Path, of: Sent) -> None:
    command = ["ffmpeg", "-nostdin", "-y", "-protocol_whitelist", "file,udp,rtp"]
    command += ["-probesize", "32", "-analyzeduration", "0", "-i", "x.sdp"]
    for n, leg in enumerate(of.media):
        length_s = PACKETS * (leg.samples or 0) / leg.rate_hz
        command += ["-map", f"0:{n}", "-t", f"{length_s:.4f}", "-c:a", "pcm_s24le", f"{n}.wav"]
    in_namespace(folder, of, command)
    for n, leg in enumerate(of.media):
        heard = wave(folder / f"{n}.wav")
        assert (heard.channels, heard.rate_hz, heard.bits) == (leg.channels, leg.rate_hz, 24)
        # Least significant byte first in the file, so turned round; in the order sent.
        turned = b"".join(sample(channel)[::-1] for channel in range(leg.channels))
        assert set(frames(heard.data, leg.channels)) == {turned}


@dataclass(frozen=True, kw_only=True)
class Wave:
    channels: int
    rate_hz: int
    bits: int
    data: bytes


def wave(path: Path) -> Wave:
    """Give what a WAV file holds (RIFF: a chunk of four letters, its length, its content)."""
    text, at, chunks = path.read_bytes(), 12, {}
    while at + 8 <= len(text):
        name, length = struct.unpack_from("<4sI", text, at)
        chunks[name] = text[at + 8 : at + 8 + length]
        at += 8 + length + length % 2
    _, channels, rate_hz, _, _, bits = struct.unpack_from("<HHIIHH", chunks[b"fmt "])
    return Wave(channels=channels, rate_hz=rate_hz, bits=bits, data=chunks[b"data"])


# -- GStreamer ----------------------------------------------------------------------------------


@cache
def reads_sdp() -> bool:
    done = subprocess.run(["gst-inspect-1.0", "sdpdemux"], capture_output=True, check=False)
    return done.returncode == 0


def gstreamer_hears(folder: Path, of: Sent) -> None:
    if not reads_sdp():
        pytest.skip("sdpdemux (gstreamer1.0-plugins-bad)")
    if len(of.media) > 1:
        # gst-launch links what appears later, and gives up once the first leg says it is the last.
        for leg in by_leg(of):
            gstreamer_hears(folder, leg)
        return
    command = ["gst-launch-1.0", "-v", "filesrc", "location=x.sdp", "!"]
    command += ["sdpdemux", "name=d", "latency=20"]
    for n in range(len(of.media)):
        command += [f"d.stream_{n}", "!", "rtpL24depay", f"name=depay{n}", "!"]
        command += ["identity", f"eos-after={PACKETS}", "!", "filesink", f"location={n}.raw"]
    said = in_namespace(folder, of, command)
    for n, leg in enumerate(of.media):
        caps = re.search(rf"depay{n}\.GstPad:src: caps = audio/x-raw, (.*)", said)
        assert caps is not None, said
        for words in ("format=(string)S24BE", f"rate=(int){leg.rate_hz}"):
            assert words in caps[1]
        assert f"channels=(int){leg.channels}" in caps[1]
        heard = set(frames((folder / f"{n}.raw").read_bytes(), leg.channels))
        if leg.channels in BY_SPEAKER:
            heard = {b"".join(sorted(three_bytes(one))) for one in heard}
            assert heard == {b"".join(sorted(three_bytes(frame(leg.channels))))}
        else:
            assert heard == {frame(leg.channels)}


def three_bytes(data: bytes) -> list[bytes]:
    return [data[at : at + 3] for at in range(0, len(data), 3)]


# -- the tests ----------------------------------------------------------------------------------

HEAR = [
    pytest.param(ffmpeg_hears, marks=pytest.mark.needs("ffmpeg", "ffmpeg")),
    pytest.param(gstreamer_hears, marks=pytest.mark.needs("gst-launch-1.0", "gstreamer1.0-tools")),
]


@pytest.mark.parametrize("hear", HEAR)
def test_every_stream_of_the_small_show_is_heard(
    tmp_path: Path, hear: Callable[[Path, Sent], None]
) -> None:
    for of in sent(*described("small")):
        hear(tmp_path, of)


@pytest.mark.parametrize("hear", HEAR)
def test_both_legs_of_some_streams_of_the_hall_are_heard(
    tmp_path: Path, hear: Callable[[Path, Sent], None]
) -> None:
    found = [of for of in sent(*described("hall")) if len(of.media) == 2]
    groups = [of for of in found if of.media[0].ttl is not None]
    assert len(groups) > 10
    for of in (groups[0], groups[-1]):
        hear(tmp_path, of)


@pytest.mark.parametrize("hear", HEAR)
def test_a_stream_to_one_listener_is_heard_on_both_nets(
    tmp_path: Path, hear: Callable[[Path, Sent], None]
) -> None:
    show = show_of()
    # The second of two, so that its port is not the one that everybody expects.
    made = [stream(f"desk/{n}", "box-1", channels=(n,), multicast=False) for n in (1, 2)]
    for of in by_leg(sent(show, plan_addresses(show, network_of(show, *made), None))[1]):
        hear(tmp_path, of)


@pytest.mark.parametrize("hear", HEAR)
@pytest.mark.parametrize(
    ("channels", "packet_us", "rate"),
    [
        (1, 1_000, "48 kHz"),
        (5, 1_000, "96 kHz"),
        (8, 1_000, "44.1 kHz"),
        (64, 125, "48 kHz"),
    ],
)
def test_other_counts_rates_and_packet_times_are_heard(
    tmp_path: Path, hear: Callable[[Path, Sent], None], channels: int, packet_us: int, rate: str
) -> None:
    hear(tmp_path, one(channels, packet_us, rate))
