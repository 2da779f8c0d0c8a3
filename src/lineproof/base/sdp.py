"""What an SDP file says of one stream, as frozen values (RFC 8866), and the text for it."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterator
from dataclasses import dataclass

from lineproof.base.sdp_groups import is_group

#: RTP payload of one packet at most, in bytes: AES67 7.1 (from memory; facts table 01).
MOST_PAYLOAD_BYTES = 1440
#: Bytes of one sample by encoding: RFC 3190 4 and 6, RFC 3551 4.5.11.
SAMPLE_BYTES = {"L8": 1, "L16": 2, "L20": 3, "L24": 3}

_IDENTITY = re.compile(r"[0-9A-F]{2}(-[0-9A-F]{2}){7}")
_TOKEN = re.compile(r"[A-Za-z0-9!#$%&'*+.^_`{|}~-]+")
#: Six or eight octets with dashes, colons, dots after every four digits, or nothing between.
_MACS = tuple(
    re.compile(form, re.ASCII)
    for form in (
        r"[0-9A-Fa-f]{2}(?P<mark>[:-])[0-9A-Fa-f]{2}((?P=mark)[0-9A-Fa-f]{2}){4}",
        r"[0-9A-Fa-f]{2}(?P<mark>[:-])[0-9A-Fa-f]{2}((?P=mark)[0-9A-Fa-f]{2}){6}",
        r"[0-9A-Fa-f]{4}(\.[0-9A-Fa-f]{4}){2,3}",
        r"[0-9A-Fa-f]{12}([0-9A-Fa-f]{4})?",
    )
)
#: A control mark would end a row of the file and begin another.
_CONTROL = re.compile(r"[\x00-\x1f\x7f\x85\u2028\u2029]")


class SdpError(ValueError):
    """A value that can't stand in an SDP file; the message says why."""


@dataclass(frozen=True, kw_only=True)
class Reference:
    """The reference clock of one medium (RFC 7273 4.8).

    `kind` is `ptp`, or another one of the RFC with what follows it in `rest`. `identity`: the
    grandmaster's eight octets in hex with dashes, "" for a traceable one; `domain` None where
    the file names none.

    >>> str(Reference(identity="00-00-5E-FF-FE-00-00-10", domain=0))
    'ptp=IEEE1588-2008:00-00-5E-FF-FE-00-00-10:0'
    """

    kind: str = "ptp"
    version: str = "IEEE1588-2008"
    identity: str = ""
    domain: int | None = None
    rest: str = ""

    def __post_init__(self) -> None:
        if self.kind != "ptp":
            _text(self.rest, "the clock's source")
            return
        if self.identity and not _IDENTITY.fullmatch(self.identity):
            raise SdpError(f"clock identity {self.identity!r} is not eight octets")
        if self.domain is not None and not (0 <= self.domain <= 127 and self.identity):
            raise SdpError(f"clock domain {self.domain} does not stand after an identity")

    def __str__(self) -> str:
        if self.kind != "ptp":
            return f"{self.kind}={self.rest}" if self.rest else self.kind
        domain = "" if self.domain is None else f":{self.domain}"
        return f"ptp={self.version}:{self.identity or 'traceable'}{domain}"


@dataclass(frozen=True, kw_only=True)
class Media:
    """One leg of a stream: where the packets go, and what is in them.

    `address`: a group with its time to live, or one listener's address without. `samples`: of
    each channel in a packet, None where the file doesn't say. `source`: the sender's address, to
    which listeners may hold (RFC 4570), "" for any. `clock_offset`: RTP timestamp at the clock's
    epoch (RFC 7273 5.2), None for a clock that runs free. `mid` names the leg in a group.
    """

    address: str
    ttl: int | None = None
    port: int = 5004
    payload_type: int = 97
    encoding: str = "L24"
    rate_hz: int = 48_000
    channels: int = 1
    samples: int | None = 48
    direction: str = ""
    source: str = ""
    references: tuple[Reference, ...] = ()
    clock_offset: int | None = None
    mid: str = ""
    info: str = ""

    def __post_init__(self) -> None:
        _ipv4(self.address)
        if self.source:
            _ipv4(self.source)
        _text(self.info, "the leg's information")
        if is_group(self.address) != (self.ttl is not None):
            raise SdpError(f"{self.address}: a group has a time to live, one listener none")
        _within(self.ttl or 0, 0, 255, "time to live")
        _within(self.port, 1, 65_535, "port")
        _within(self.payload_type, 0, 127, "payload type")
        _within(self.channels, 1, 1_024, "channels")
        _within(self.rate_hz, 1, 1_000_000, "rate")
        _within(1 if self.samples is None else self.samples, 1, 100_000, "samples in a packet")
        _within(self.clock_offset or 0, 0, 2**32 - 1, "media clock offset")
        if self.mid and not _TOKEN.fullmatch(self.mid):
            raise SdpError(f"{self.mid!r} can't name a leg")

    @property
    def payload_bytes(self) -> int | None:
        """Give the RTP payload of one packet in bytes, None where that can't be said."""
        size = SAMPLE_BYTES.get(self.encoding)
        if size is None or self.samples is None:
            return None
        if self.encoding == "L20":
            # Two samples of 20 bits share five bytes: RFC 3190 4.
            return (self.samples * self.channels * 20 + 7) // 8
        return self.samples * self.channels * size

    @property
    def ptime(self) -> str:
        """Give the packet time as SDP writes it, in ms with up to three decimals.

        >>> Media(address="192.0.2.1", samples=6).ptime, Media(address="192.0.2.1").ptime
        ('0.125', '1')
        """
        return "" if self.samples is None else packet_time(self.samples, self.rate_hz)


@dataclass(frozen=True, kw_only=True)
class Session:
    """One stream: who sends it, which version of the description this is, and its legs.

    `origin`: the sender's address. `duplicates`: groups of legs that carry the same packets, by
    `mid` (RFC 7104).
    """

    name: str
    origin: str
    session_id: int
    version: int
    media: tuple[Media, ...]
    username: str = "-"
    info: str = ""
    duplicates: tuple[tuple[str, ...], ...] = ()

    def __post_init__(self) -> None:
        _ipv4(self.origin)
        _text(self.name, "the name")
        _text(self.info, "the information")
        # RFC 8866 5.3: s= must not be empty; a name not given is one blank or one dash.
        if not self.name:
            raise SdpError("a session has a name")
        if not re.fullmatch(r"\S+", self.username) or _CONTROL.search(self.username):
            raise SdpError(f"{self.username!r} is no user name")
        _within(self.session_id, 0, 2**64 - 1, "session id")
        _within(self.version, 0, 2**64 - 1, "session version")
        mids = [m.mid for m in self.media if m.mid]
        if len(set(mids)) != len(mids):
            raise SdpError("two legs have one name")
        for group in self.duplicates:
            if len(group) < 2 or not set(group) <= set(mids):
                raise SdpError(f"legs {' '.join(group)!r} can't be duplicates")


def packet_time(samples: int, rate_hz: int) -> str:
    """Give the packet time in ms, to the third decimal (RFC 8866 6.4 allows a decimal).

    Rounded to fewer, 6 samples at 44.1 kHz would be read back as 5 or 7.

    >>> packet_time(48, 44_100), packet_time(16, 48_000), packet_time(192, 48_000)
    ('1.088', '0.333', '4')
    """
    thousandths = (samples * 2_000_000 // rate_hz + 1) // 2
    whole, part = divmod(thousandths, 1_000)
    return f"{whole}.{part:03d}".rstrip("0").rstrip(".")


def clock_identity(mac: str) -> str:
    """Give the clock identity of a hardware address, "" where it is none.

    Six octets get FF-FE in the middle and no bit is changed (IEEE 1588-2008 7.5.2.2.2, from
    memory); eight octets are an identity already.

    >>> clock_identity("00:1a:2b:3c:4d:5e"), clock_identity("later")
    ('00-1A-2B-FF-FE-3C-4D-5E', '')
    """
    digits = mac_digits(mac)
    if len(digits) == 12:
        digits = f"{digits[:6]}FFFE{digits[6:]}"
    if len(digits) != 16:
        return ""
    return "-".join(digits[n : n + 2] for n in range(0, 16, 2))


def mac_digits(text: str) -> str:
    """Give the hex digits of a hardware address however it is written, "" where it is none.

    >>> mac_digits("0000.5e00.5301"), mac_digits("00-00-5E-00-53-1")
    ('00005E005301', '')
    """
    if not any(form.fullmatch(text.strip()) for form in _MACS):
        return ""
    return re.sub(r"[^0-9A-Fa-f]", "", text).upper()


def write_session(session: Session) -> str:
    """Give the file's text, with CR LF at the end of every row (RFC 8866 5)."""
    return "".join(f"{row}\r\n" for row in _rows(session))


def _rows(session: Session) -> Iterator[str]:
    owner = f"{session.username} {session.session_id} {session.version}"
    yield "v=0"
    yield f"o={owner} IN IP4 {session.origin}"
    yield f"s={session.name}"
    if session.info:
        yield f"i={session.info}"
    yield "t=0 0"
    for group in session.duplicates:
        yield f"a=group:DUP {' '.join(group)}"
    for media in session.media:
        yield from _media_rows(media)


def _media_rows(media: Media) -> Iterator[str]:
    yield f"m=audio {media.port} RTP/AVP {media.payload_type}"
    if media.info:
        yield f"i={media.info}"
    yield f"c=IN IP4 {media.address}" + ("" if media.ttl is None else f"/{media.ttl}")
    if media.source:
        yield f"a=source-filter: incl IN IP4 {media.address} {media.source}"
    coding = f"{media.encoding}/{media.rate_hz}/{media.channels}"
    # The count stands there even for one: some receivers read one channel where it is missing.
    yield f"a=rtpmap:{media.payload_type} {coding}"
    if media.samples is not None:
        yield f"a=ptime:{media.ptime}"
    if media.direction:
        yield f"a={media.direction}"
    for reference in media.references:
        yield f"a=ts-refclk:{reference}"
    if media.clock_offset is not None:
        yield f"a=mediaclk:direct={media.clock_offset}"
    if media.mid:
        yield f"a=mid:{media.mid}"


def _text(text: str, what: str) -> None:
    if _CONTROL.search(text):
        raise SdpError(f"{what} holds a control mark: {text!r}")


def _within(value: int, least: int, most: int, what: str) -> None:
    if not least <= value <= most:
        raise SdpError(f"{what} {value} is not from {least} to {most}")


def _ipv4(text: str) -> None:
    try:
        ipaddress.IPv4Address(text)
    except ValueError:
        raise SdpError(f"{text!r} is no IPv4 address") from None
