"""Reads the clock rows of an SDP file (RFC 7273)."""

from __future__ import annotations

import re

from lineproof.base.sdp import Reference
from lineproof.base.sdp_rows import Found, Row, said

#: RFC 7273 4.8: sources other than the clock protocol; only `local` and the satellites stand bare.
_OTHERS = frozenset({"ntp", "gps", "gal", "glonass", "local", "private", "localmac"})
_VERSIONS = frozenset({"IEEE1588-2002", "IEEE1588-2008", "IEEE1588-2019", "IEEE802.1AS-2011"})
_DOMAIN = re.compile(r"(?:domain-nmbr=)?([0-9]{1,3})", re.ASCII)
_OCTETS = re.compile(r"[0-9A-Fa-f]{2}(-[0-9A-Fa-f]{2}){7}", re.ASCII)


def references_of(rows: tuple[Row, ...], found: Found) -> tuple[Reference, ...]:
    """Give the reference clocks that rows of one level name; what is wrong is found."""
    told = [row for row in rows if row.letter == "a" and row.attribute()[0] == "ts-refclk"]
    references = [(row, _reference(row, found)) for row in told]
    good = [(row, reference) for row, reference in references if reference is not None]
    clocks = [(row, r) for row, r in good if r.kind == "ptp"]
    if len({bool(r.identity) for _, r in clocks}) > 1:
        what = "traceable and other clocks are named at one level (RFC 7273 4.8)"
        found.risk(clocks[1][0].number, what, "name one clock, or several of one sort")
    return tuple(reference for _, reference in good)


def _reference(row: Row, found: Found) -> Reference | None:
    kind, _, rest = row.attribute()[1].partition("=")
    kind = kind.strip().lower()
    if kind == "ptp":
        return _ptp(row, rest.strip(), found)
    if kind not in _OTHERS:
        what = f"ts-refclk names {said(kind)}, which is no clock that RFC 7273 knows"
        found.risk(row.number, what, "write ptp=, the grandmaster's identity and the domain")
        return None
    what = f"the stream runs on {said(kind)}, not on the network's clock"
    found.risk(row.number, what, "let the sender lock to the network's clock")
    return Reference(kind=kind, version="", rest=rest.strip())


def _ptp(row: Row, text: str, found: Found) -> Reference | None:
    version, _, server = text.partition(":")
    if version not in _VERSIONS:
        what = f"ts-refclk names clock version {said(version)}, which is not known"
        found.risk(row.number, what, "write IEEE1588-2008")
        return None
    if not server or server == "traceable":
        return Reference(version=version)
    identity, _, domain = server.partition(":")
    if not _OCTETS.fullmatch(identity):
        what = f"the grandmaster reads {said(identity)}, not eight octets (RFC 7273 4.8)"
        do = "write it as in 00-00-5E-FF-FE-00-00-10: a hardware address with FF-FE in the middle"
        found.stop(row.number, what, do)
        return None
    match = _DOMAIN.fullmatch(domain) if domain else None
    if domain and (match is None or int(match[1]) > 127):
        what = f"the clock domain reads {said(domain)}; expected 0 to 127 (RFC 7273 4.8)"
        found.stop(row.number, what, "write the number of the clock's domain")
        return None
    number = int(match[1]) if match else None
    return Reference(version=version, identity=identity.upper(), domain=number)


_DIRECT = re.compile(r"direct(?:=(\S*))?(?:\s+rate=[0-9]+/[0-9]+)?", re.ASCII)


def offset_of(rows: tuple[Row, ...], found: Found) -> int | None:
    """Give the RTP timestamp at the clock's epoch (RFC 7273 5.2), None where none is named."""
    for row in rows:
        name, value = row.attribute() if row.letter == "a" else ("", "")
        if name != "mediaclk":
            continue
        # RFC 7273 5.4: an identity may stand in front of the clock.
        match = _DIRECT.fullmatch(re.sub(r"^id=\S+\s+", "", value))
        if match is None:
            what = f"mediaclk holds {said(value)}: the stream does not run on the network's clock"
            found.risk(row.number, what, "let the sender take its sound from the clock")
            continue
        digits = match[1]
        if digits is None:
            found.note(row.number, "mediaclk names no offset, so 0 is meant", "write direct=0")
            return 0
        if not re.fullmatch(r"[0-9]{1,10}", digits, re.ASCII) or int(digits) >= 2**32:
            what = f"the media clock's offset reads {said(digits)}, not digits (RFC 7273 5.4)"
            found.stop(row.number, what, "write the RTP timestamp at the clock's epoch, often 0")
            continue
        return int(digits)
    return None
