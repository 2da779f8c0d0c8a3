"""Reads one medium of an SDP file: where its packets go, what is in them, on which clock."""

from __future__ import annotations

import re
from dataclasses import dataclass
from ipaddress import IPv4Address

from lineproof.base.sdp import MOST_PAYLOAD_BYTES, Media, Reference, SdpError
from lineproof.base.sdp_clock import offset_of, references_of
from lineproof.base.sdp_coding import Coding, coding_of, samples_of
from lineproof.base.sdp_groups import is_group, wrong_with_group
from lineproof.base.sdp_rows import Found, Row, named, said

_DIRECTIONS = ("sendrecv", "sendonly", "recvonly", "inactive")


@dataclass(frozen=True, kw_only=True)
class Connection:
    """Where packets go: an address, and for a group its time to live."""

    address: str
    ttl: int | None
    row: int


@dataclass(frozen=True, kw_only=True)
class Defaults:
    """What the session says for every medium that does not say it itself."""

    connection: Connection | None
    references: tuple[Reference, ...] = ()
    offset: int | None = None
    filters: tuple[Row, ...] = ()
    direction: str = ""

    @classmethod
    def of(cls, rows: tuple[Row, ...], where: Connection | None, found: Found) -> Defaults:
        """Give what the session's rows say."""
        return cls(
            connection=where,
            references=references_of(rows, found),
            offset=offset_of(rows, found),
            filters=named(rows, "source-filter"),
            direction=_direction(rows, found),
        )


_CONNECTION = re.compile(r"IN +(IP4|IP6) +([^\s/]+)(?:/([0-9]{1,9}))?(?:/([0-9]{1,9}))?", re.ASCII)


def connection(row: Row | None, found: Found) -> Connection | None:
    """Give what a `c=` row says (RFC 8866 5.7), None where there is none to use."""
    if row is None:
        return None
    match = _CONNECTION.fullmatch(row.value.strip())
    if match is None:
        what = f"c= holds {said(row.value)}; expected as in 'c=IN IP4 239.192.1.1/32'"
        found.stop(row.number, what, "mend the row")
        return None
    kind, address, ttl, count = match.groups()
    if kind == "IP6":
        found.stop(row.number, "the packets go to an IPv6 address", "send the stream over IPv4")
        return None
    try:
        IPv4Address(address)
    except ValueError:
        what = f"the address reads {said(address)}; expected as in 239.192.1.1"
        found.stop(row.number, what, "write where the packets go")
        return None
    if not is_group(address):
        return _to_one(row, address, ttl, found)
    return _to_group(row, address, ttl, count, found)


def _to_one(row: Row, address: str, ttl: str | None, found: Found) -> Connection:
    if ttl is not None:
        what = f"{address} is one listener and has a time to live (RFC 8866 5.7)"
        found.risk(row.number, what, f"write c=IN IP4 {address}")
    return Connection(address=address, ttl=None, row=row.number)


def _to_group(
    row: Row, address: str, ttl: str | None, count: str | None, found: Found
) -> Connection | None:
    if ttl is None:
        what = f"{address} is a group and has no time to live (RFC 8866 5.7)"
        found.stop(row.number, what, f"write c=IN IP4 {address}/32")
        return None
    if not 0 <= int(ttl) <= 255:
        what = f"time to live {ttl} is not from 0 to 255 (RFC 8866 5.7)"
        found.stop(row.number, what, f"write c=IN IP4 {address}/32")
        return None
    if count is not None and int(count) != 1:
        what = f"the stream is spread over {count} groups, which audio has no use for"
        found.stop(row.number, what, "send it to one group")
        return None
    if wrong := wrong_with_group(address):
        what = f"group {address} can't be used: {wrong}"
        found.stop(row.number, what, "take a group in 239.192.0.0/14")
        return None
    return Connection(address=address, ttl=int(ttl), row=row.number)


def read_media(rows: tuple[Row, ...], defaults: Defaults, found: Found) -> Media | None:
    """Give one leg, None where it can't be read or is no audio; that is found."""
    port = _port(rows[0], found)
    if port is None:
        return None
    where = _connection_of(rows, defaults, found)
    coding = coding_of(rows, port.payload_types, found)
    if where is None or coding is None:
        return None
    return _built(rows, port, where, coding, defaults, found)


def _built(
    rows: tuple[Row, ...],
    port: _Port,
    where: Connection,
    coding: Coding,
    defaults: Defaults,
    found: Found,
) -> Media | None:
    filters = (*named(rows, "source-filter"), *defaults.filters)
    offset = offset_of(rows, found)
    mids = named(rows, "mid")
    try:
        media = Media(
            address=where.address,
            ttl=where.ttl,
            port=port.number,
            payload_type=coding.payload_type,
            encoding=coding.encoding,
            rate_hz=coding.rate_hz,
            channels=coding.channels,
            samples=samples_of(rows, coding, found),
            direction=_direction(rows, found) or defaults.direction,
            source=_source(filters, where.address, found),
            references=references_of(rows, found) or defaults.references,
            clock_offset=defaults.offset if offset is None else offset,
            mid=mids[0].attribute()[1] if mids else "",
            info=next((row.value for row in rows if row.letter == "i"), ""),
        )
    except SdpError as error:
        found.stop(rows[0].number, str(error), "mend the medium's rows")
        return None
    _doubts(rows, media, found)
    return media


def _doubts(rows: tuple[Row, ...], media: Media, found: Found) -> None:
    size, row = media.payload_bytes, rows[0].number
    if size is not None and size > MOST_PAYLOAD_BYTES:
        what = f"a packet holds {size} bytes of sound; at most {MOST_PAYLOAD_BYTES} fit (AES67 7.1)"
        found.stop(row, what, "send fewer channels in the stream, or shorter packets")
    # AES67 8 asks for both (from memory); without them a receiver can't play in step with others.
    if not media.references and not named(rows, "ts-refclk"):
        what = "a=ts-refclk is missing: nobody can say on which clock the stream runs (RFC 7273)"
        found.risk(row, what, "add the grandmaster's identity, or let the sender lock to the clock")
    if media.clock_offset is None and not named(rows, "mediaclk"):
        what = "a=mediaclk is missing: the stream may run free of the clock (RFC 7273 5)"
        found.risk(row, what, "let the sender take its sound from the clock (mediaclk:direct)")


@dataclass(frozen=True, kw_only=True)
class _Port:
    number: int
    payload_types: tuple[str, ...]


_MEDIUM = re.compile(r"(\S+) +([0-9]{1,9})(?:/([0-9]{1,9}))? +(\S+) +(.+)", re.ASCII)


def _port(row: Row, found: Found) -> _Port | None:
    match = _MEDIUM.fullmatch(row.value.strip())
    if match is None:
        what = f"m= holds {said(row.value)}; expected as in 'm=audio 5004 RTP/AVP 97'"
        found.stop(row.number, what, "mend the row")
        return None
    kind, number, count, protocol, types = match.groups()
    if kind != "audio":
        found.note(row.number, f"a medium of kind {said(kind)} is left out", "nothing")
        return None
    if protocol not in {"RTP/AVP", "RTP/AVPF"}:
        what = f"the medium goes by {said(protocol)}, not by RTP/AVP"
        found.stop(row.number, what, "send it as RTP/AVP")
        return None
    if int(number) == 0:
        # RFC 8866 5.14 and RFC 3264: port 0 says that the medium is not there.
        found.note(row.number, "a medium with port 0 is left out: it is not sent", "nothing")
        return None
    return _checked_port(row, int(number), count, tuple(types.split()), found)


def _checked_port(
    row: Row, number: int, count: str | None, types: tuple[str, ...], found: Found
) -> _Port | None:
    if number > 65_535:
        found.stop(row.number, f"port {number} is above 65535", "take an even port, as 5004")
        return None
    if count is not None and int(count) != 1:
        found.stop(row.number, f"the medium takes {count} ports", "send it to one port")
        return None
    if number % 2:
        what = f"port {number} is odd; RTP asks for an even one, RTCP for the next (RFC 3550 11)"
        found.risk(row.number, what, "take an even port, as 5004")
    return _Port(number=number, payload_types=types)


def _connection_of(rows: tuple[Row, ...], defaults: Defaults, found: Found) -> Connection | None:
    own = [row for row in rows if row.letter == "c"]
    if len(own) > 1:
        what = "the medium has several c= rows; audio goes to one address"
        found.stop(own[1].number, what, "send it to one group")
    if own:
        return connection(own[0], found)
    if defaults.connection is None and not found.stopped:
        what = "c= is missing: nobody can say where the packets go (RFC 8866 5.7)"
        found.stop(rows[0].number, what, "add a row such as 'c=IN IP4 239.192.1.1/32'")
    return defaults.connection


def _direction(rows: tuple[Row, ...], found: Found) -> str:
    told = [row for row in rows if row.letter == "a" and row.value.strip() in _DIRECTIONS]
    if len({row.value.strip() for row in told}) > 1:
        found.risk(told[1].number, "two directions are said at once", "take one of them out")
    if told and told[0].value.strip() == "inactive":
        found.risk(told[0].number, "the stream is said not to be sent", "ask its maker")
    return told[0].value.strip() if told else ""


_FILTER = re.compile(r"(incl|excl) +IN +(IP4|IP6|\*) +(\S+) +(.+)", re.ASCII)


def _source(rows: tuple[Row, ...], address: str, found: Found) -> str:
    """Give the sender's address that a source filter names for this one (RFC 4570 3)."""
    for row in rows:
        match = _FILTER.fullmatch(row.attribute()[1])
        if match is None:
            what = f"source-filter holds {said(row.value)}, which can't be read (RFC 4570 3)"
            found.stop(row.number, what, "mend the row, or take it out")
            continue
        mode, _, for_address, sources = match.groups()
        if for_address not in {address, "*"}:
            continue
        if mode == "excl" or len(sources.split()) > 1:
            found.note(row.number, "only a filter for one sender is looked at", "nothing")
            continue
        try:
            return str(IPv4Address(sources.strip()))
        except ValueError:
            what = f"the sender's address reads {said(sources)}; expected as in 192.0.2.10"
            found.stop(row.number, what, "write the sender's IPv4 address")
    return ""
