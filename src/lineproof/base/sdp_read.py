"""Reads an SDP file made elsewhere: a session or the reasons why it can't be used."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from ipaddress import IPv4Address

from lineproof.base.finding import Finding
from lineproof.base.sdp import Media, SdpError, Session
from lineproof.base.sdp_media import Defaults, connection, read_media
from lineproof.base.sdp_rows import Found, Row, parts_of, rows_of, said

_ASK = "ask its maker for a whole file"


@dataclass(frozen=True, kw_only=True)
class ReadSession:
    """What was read: the session, None where a *stop* stands among the findings."""

    session: Session | None
    findings: tuple[Finding, ...]


def read_session(data: bytes, *, file: str) -> ReadSession:
    """Give the stream that an SDP file describes, and every mistake in it with its row.

    `data` may be anything at all; nothing in it raises. `file` names it in findings.
    """
    found = Found(file=file)
    session = _session(rows_of(data, found), found)
    return ReadSession(session=None if found.stopped else session, findings=found.all())


@dataclass(frozen=True, kw_only=True)
class _Origin:
    username: str
    session_id: int
    version: int
    address: str


def _session(rows: tuple[Row, ...], found: Found) -> Session | None:
    if not rows:
        if not found.stopped:
            found.stop(0, "the file is empty", _ASK)
        return None
    parts = parts_of(rows, found)
    by_letter = {row.letter: row for row in reversed(parts.session)}
    _version(rows[0], found)
    origin = _origin(by_letter.get("o"), found)
    name = _name(by_letter.get("s"), found)
    if "t" not in by_letter:
        found.risk(0, "t= is missing (RFC 8866 5.9)", "write t=0 0 for a stream without end")
    defaults = Defaults.of(parts.session, connection(by_letter.get("c"), found), found)
    legs = [(part, read_media(part, defaults, found)) for part in parts.media]
    media = tuple(leg for _, leg in legs if leg is not None)
    if not media and not found.stopped:
        found.stop(0, "the file describes no audio stream", _ASK)
    groups = _duplicates(parts.session, media, found)
    if found.stopped or origin is None:
        return None
    return _built(name, origin, _info(by_letter.get("i")), media, groups, found)


def _built(
    name: str,
    origin: _Origin,
    info: str,
    media: tuple[Media, ...],
    groups: tuple[tuple[str, ...], ...],
    found: Found,
) -> Session | None:
    try:
        return Session(
            name=name,
            origin=origin.address,
            session_id=origin.session_id,
            version=origin.version,
            username=origin.username,
            info=info,
            media=media,
            duplicates=groups,
        )
    except SdpError as error:
        found.stop(0, str(error), _ASK)
        return None


def _version(row: Row, found: Found) -> None:
    if row.letter != "v":
        found.stop(row.number, "the file does not begin with v=0 (RFC 8866 5.1)", _ASK)
    elif row.value.strip() != "0":
        what = f"v= holds {said(row.value)}; only version 0 is known (RFC 8866 5.1)"
        found.stop(row.number, what, _ASK)


_ORIGIN = re.compile(r"(\S+) +([0-9]{1,20}) +([0-9]{1,20}) +IN +(IP4|IP6) +(\S+)", re.ASCII)


def _origin(row: Row | None, found: Found) -> _Origin | None:
    if row is None:
        found.stop(0, "o= is missing: nobody can say whose stream it is (RFC 8866 5.2)", _ASK)
        return None
    match = _ORIGIN.fullmatch(row.value.strip())
    if match is None:
        what = f"o= holds {said(row.value)}; expected as in 'o=- 1001 1 IN IP4 192.0.2.10'"
        found.stop(row.number, what, "mend the row")
        return None
    username, session_id, version, kind, address = match.groups()
    if kind == "IP6":
        found.stop(row.number, "the sender has an IPv6 address", "send the stream over IPv4")
        return None
    if not _is_ipv4(address):
        what = f"the sender's address reads {said(address)}; expected as in 192.0.2.10"
        found.stop(row.number, what, "write the sender's IPv4 address")
        return None
    return _Origin(
        username=username, session_id=int(session_id), version=int(version), address=address
    )


def _is_ipv4(text: str) -> bool:
    try:
        IPv4Address(text)
    except ValueError:
        return False
    return True


def _name(row: Row | None, found: Found) -> str:
    if row is None:
        found.risk(0, "s= is missing (RFC 8866 5.3)", "give the stream a name")
        return "-"
    if not row.value:
        found.risk(row.number, "s= is empty (RFC 8866 5.3)", "give the stream a name")
        return "-"
    return row.value


def _info(row: Row | None) -> str:
    return row.value if row is not None else ""


def _duplicates(
    rows: tuple[Row, ...], media: tuple[Media, ...], found: Found
) -> tuple[tuple[str, ...], ...]:
    """Give the groups of legs that carry the same packets (RFC 5888 5, RFC 7104)."""
    known = {leg.mid for leg in media if leg.mid}
    groups = []
    for row in rows:
        name, value = row.attribute() if row.letter == "a" else ("", "")
        words = value.split()
        if name != "group" or not words or words[0] != "DUP":
            continue
        lacking = sorted(set(words[1:]) - known)
        if lacking:
            what = f"the group names leg {said(lacking[0])}, which no a=mid has"
            found.stop(row.number, what, "give each leg its a=mid as the group names it")
        elif len(set(words[1:])) < 2:
            found.stop(row.number, "a group of duplicates has two legs or more", "name both legs")
        else:
            groups.append(tuple(words[1:]))
    return tuple(groups)


def same_but_version(one: Session, other: Session) -> bool:
    """Say whether two descriptions differ in nothing but the version."""
    return replace(one, version=0) == replace(other, version=0)
