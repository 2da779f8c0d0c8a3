"""`lineproof stream FILE…`: read streams that others describe (SDP), and tell what is in them."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from lineproof.base.errors import CannotRead
from lineproof.base.finding import in_order
from lineproof.base.sdp import Media, Session, packet_time
from lineproof.base.sdp_read import ReadSession, read_session
from lineproof.cli.tell import Tell, findings_data, standing_stops, tell_findings

#: A description is a page of text; who points at a disk image should not wait for it.
MOST_BYTES = 1 << 20


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("files", nargs="+", metavar="FILE", help="SDP files (RFC 8866)")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Tell each stream's name, where it goes, what is in a packet, and every mistake."""
    found = [(file, _read(file)) for file in args.files]
    for file, read in found:
        if read.session is None:
            tell.line(f"{file}: can't be used")
        else:
            _tell_session(tell, file, read.session)
    findings = in_order([f for _, read in found for f in read.findings])
    tell.line()
    tell_findings(tell, findings)
    streams = [_data(file, read) for file, read in found]
    tell.answer("stream", {"streams": streams, "findings": findings_data(findings)})
    return 1 if standing_stops(findings) else 0


def _read(file: str) -> ReadSession:
    try:
        with Path(file).open("rb") as handle:
            data = handle.read(MOST_BYTES)
    except OSError as error:
        raise CannotRead(f"{file} can't be read: {error.strerror}") from None
    return read_session(data, file=file)


def _tell_session(tell: Tell, file: str, session: Session) -> None:
    origin = f"{session.origin}, session {session.session_id}, version {session.version}"
    tell.line(f"{file}: {session.name}, from {origin}")
    for media in session.media:
        tell.line(f"  {_words(media)}")


def _words(media: Media) -> str:
    """Give one leg in words: where to, what, how long a packet, by which clock."""
    to = f"{media.address}:{media.port}"
    packet = ""
    if media.samples is not None:
        packet = f", {packet_time(media.samples, media.rate_hz)} ms packets"
    clocks = ", ".join(map(str, media.references)) or "no clock named"
    leg = f" (leg {media.mid})" if media.mid else ""
    coded = f"{media.encoding}, {media.rate_hz / 1000:g} kHz, {media.channels} channels"
    return f"{to}{leg}: {coded}{packet}; {clocks}"


def _data(file: str, read: ReadSession) -> dict[str, Any]:
    session = read.session
    if session is None:
        return {"file": file, "name": "", "legs": []}
    legs = [
        {
            "address": media.address,
            "port": media.port,
            "encoding": media.encoding,
            "rate-hz": media.rate_hz,
            "channels": media.channels,
            "samples": media.samples,
            "source": media.source,
            "clocks": [str(reference) for reference in media.references],
            "leg": media.mid,
        }
        for media in session.media
    ]
    return {
        "file": file,
        "name": session.name,
        "origin": session.origin,
        "session": session.session_id,
        "version": session.version,
        "legs": legs,
    }
