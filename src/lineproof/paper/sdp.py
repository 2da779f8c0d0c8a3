"""The description of every stream as a file, one each."""

from __future__ import annotations

from lineproof.base.sdp import write_session
from lineproof.plan.network import Network, Stream
from lineproof.reckon.sessions import session_of
from lineproof.show.model import Show


def session_files(show: Show, network: Network) -> dict[str, bytes]:
    """Give the SDP files by name in the papers' folder, streams in the plan's order."""
    files = {}
    for stream in network.streams:
        session = session_of(show, network, stream)
        if session is not None:
            files[f"sdp/{file_name(stream)}"] = write_session(session).encode("utf-8")
    return files


def file_name(stream: Stream) -> str:
    """Give the file's name: the stream's, with a dash before its number.

    >>> file_name(
    ...     Stream(name="box-1/2", sender="box-1", channels=(1,), receivers=("desk",),
    ...            multicast=False, packet_us=1000, depth_bits=24)
    ... )
    'box-1-2.sdp'
    """
    return f"{stream.name.replace('/', '-')}.sdp"
