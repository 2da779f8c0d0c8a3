"""Serving one folder on this computer until somebody stops it."""

from __future__ import annotations

import errno
import socket
import sys
from collections.abc import Callable
from pathlib import Path

import uvicorn

from lineproof.base.collecting import NOW_AND_THEN, seldom_collecting, share_heaps
from lineproof.base.errors import WrongCommand
from lineproof.web.app import app
from lineproof.web.kept import keep, kept
from lineproof.web.watch import Watch, print_of

LOOPBACK = "127.0.0.1"
#: Any port would do; the same one each time keeps bookmarks true.
PORT = 8461
#: Answers wait so long for their turn while a show is worked out beside them. With Python's own
#: 5 ms, of which a page takes many, the first page of a large show took twice as long.
TURN_S = 0.0005


def bound(port: int | None) -> socket.socket:
    """Give a socket that listens on this computer only: on `port`, or on the usual or any free one.

    Raises WrongCommand where the port that was asked for is taken.
    """
    for wanted in (port,) if port is not None else (PORT, 0):
        made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind((LOOPBACK, wanted))
        except OSError as error:
            made.close()
            if port is not None:
                taken = error.errno == errno.EADDRINUSE
                why = "is taken: choose another" if taken else f"can't be used: {error.strerror}"
                raise WrongCommand(f"port {port} {why}") from None
        else:
            return made
    raise WrongCommand("no port is free on this computer")


def serve(folder: Path, *, port: int | None, draft: bool, ready: Callable[[str], None]) -> None:
    """Serve the folder until interrupted; `ready` gets the address as soon as it answers."""
    listening = bound(port)
    # What is kept is of the plan that is shown when nobody asks for the draft.
    pages, done = ({}, None) if draft else (kept(folder, print_of(folder)), keep)
    watch = Watch(folder, draft=draft, kept=pages, done=done)
    share_heaps()
    sys.setswitchinterval(TURN_S)
    try:
        with seldom_collecting(NOW_AND_THEN):
            watch.start()
            # An open page holds a stream, and would keep the server from stopping (seen: 8 s and
            # more).
            config = uvicorn.Config(
                app(watch), log_level="critical", access_log=False, timeout_graceful_shutdown=1
            )
            listening.listen(128)
            ready(f"http://{LOOPBACK}:{listening.getsockname()[1]}/")
            uvicorn.Server(config).run(sockets=[listening])
    except KeyboardInterrupt:
        # Ctrl+C is how it is closed; nothing was cut off.
        pass
    finally:
        watch.stop()
        listening.close()
