"""Reads what is in the packets of an SDP file's medium: coding, rate, channels, packet time."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.base.sdp import SAMPLE_BYTES
from lineproof.base.sdp_rows import Found, Row, named, said

#: RFC 3551 table 4: the two payload types of linear audio that need no map.
_STATIC: Mapping[int, tuple[str, int, int]] = {10: ("L16", 44_100, 2), 11: ("L16", 44_100, 1)}


@dataclass(frozen=True, kw_only=True)
class Coding:
    """What a payload type means: linear audio of a rate and a number of channels."""

    payload_type: int
    encoding: str
    rate_hz: int
    channels: int


_MAP = re.compile(r"([0-9]{1,3}) +([^\s/]{1,32})/([0-9]{1,7})(?:/([0-9]{1,5}))?", re.ASCII)


def coding_of(rows: tuple[Row, ...], types: tuple[str, ...], found: Found) -> Coding | None:
    """Give what the first payload type means: by its map, or by RFC 3551 for two of them."""
    first = types[0]
    if not re.fullmatch(r"[0-9]{1,3}", first, re.ASCII) or int(first) > 127:
        what = f"payload type {said(first)} is not from 0 to 127 (RFC 3551 3)"
        found.stop(rows[0].number, what, "take one from 96 to 127, with its a=rtpmap")
        return None
    if len(types) > 1:
        what = f"of {len(types)} payload types only the first, {first}, is looked at"
        found.note(rows[0].number, what, "let the file name the one that is sent")
    for row in named(rows, "rtpmap"):
        match = _MAP.fullmatch(row.attribute()[1])
        if match is None:
            what = f"rtpmap holds {said(row.value)}; expected as in 'a=rtpmap:97 L24/48000/8'"
            found.stop(row.number, what, "mend the row")
            return None
        if int(match[1]) == int(first):
            return _mapped(row, match, found)
    if int(first) in _STATIC:
        encoding, rate_hz, channels = _STATIC[int(first)]
        return Coding(
            payload_type=int(first), encoding=encoding, rate_hz=rate_hz, channels=channels
        )
    what = f"payload type {first} has no a=rtpmap, so nobody can say what is in it (RFC 8866 6.6)"
    found.stop(rows[0].number, what, f"add a row such as 'a=rtpmap:{first} L24/48000/8'")
    return None


def _mapped(row: Row, match: re.Match[str], found: Found) -> Coding | None:
    number, encoding, rate, channels = match.groups()
    # RFC 4855 3: names of encodings are compared without case.
    name = encoding.upper()
    if name not in SAMPLE_BYTES:
        what = f"encoding {said(encoding)} is no linear audio (L16, L24)"
        found.stop(row.number, what, "send the stream as L24 or L16")
        return None
    if not (1 <= int(rate) <= 1_000_000 and 1 <= int(channels or 1) <= 1_024):
        what = f"rtpmap names {rate} samples a second of {channels or 1} channels"
        found.stop(row.number, what, "write the true rate and channel count")
        return None
    if channels is None:
        # RFC 8866 6.6: one channel is meant; senders of more forget it (heard with two receivers).
        found.note(row.number, "rtpmap names no channel count, so one is meant", "add it: '/1'")
    return Coding(
        payload_type=int(number),
        encoding=name,
        rate_hz=int(rate),
        channels=int(channels or 1),
    )


_PTIME = re.compile(r"[0-9]{1,6}(\.[0-9]{1,9})?", re.ASCII)


def samples_of(rows: tuple[Row, ...], coding: Coding, found: Found) -> int | None:
    """Give the samples in a packet: the packet time in ms at the rate, to the nearest whole."""
    times = named(rows, "ptime")
    if not times:
        what = "a=ptime is missing: the packet time is not known (RFC 8866 6.4)"
        found.risk(rows[0].number, what, "add a row such as 'a=ptime:1'")
        return None
    text = times[0].attribute()[1]
    if not _PTIME.fullmatch(text):
        what = f"ptime holds {said(text)}; expected milliseconds, as in 'a=ptime:0.125'"
        found.stop(times[0].number, what, "mend the row")
        return None
    whole, _, part = text.partition(".")
    thousandths = int(whole) * 10**9 + int(part.ljust(9, "0"))
    samples = (thousandths * coding.rate_hz * 2 + 10**12) // (2 * 10**12)
    if not 1 <= samples <= 100_000:
        what = f"a packet time of {text} ms is {samples} samples"
        found.stop(times[0].number, what, "write the true packet time in milliseconds")
        return None
    return samples
