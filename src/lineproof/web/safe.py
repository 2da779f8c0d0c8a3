"""What keeps others out: only this computer's own names are answered, and pages run only our code.

A page on the internet can make a browser ask this server under a name of its own; such a name
stands in the Host header, and is turned away.
"""

from __future__ import annotations

import os
import traceback
from types import MappingProxyType

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

#: The names of this computer to itself.
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})

#: Nothing is run, drawn or fetched but what this server itself gives out.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = MappingProxyType(
    {
        "Content-Security-Policy": POLICY,
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "X-Frame-Options": "DENY",
    }
)


def host_of(header: str) -> str:
    """Give the name in a Host header without its port.

    >>> host_of("localhost:8461"), host_of("[::1]:80"), host_of("show.example")
    ('localhost', '::1', 'show.example')
    """
    name = header.strip().lower()
    if name.startswith("["):
        return name[1:].partition("]")[0]
    return name.partition(":")[0]


def asked_from_here(headers: Headers) -> bool:
    """Say whether a page of ours, or no page at all, asks for work to be done.

    A page on the internet may send a form here; browsers say that it comes from another site
    (Fetch Metadata, W3C), older ones at least from where (the Origin header, RFC 6454).

    >>> asked_from_here(Headers({"sec-fetch-site": "cross-site"}))
    False
    >>> asked_from_here(Headers({"host": "localhost:80", "origin": "http://localhost:80"}))
    True
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    origin = headers.get("origin")
    return origin is None or origin == f"http://{headers.get('host', '')}"


class OnlyHere:
    """Turns away every request under a name that is not this computer's own."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        hosts = Headers(scope=scope).getlist("host")
        if len(hosts) != 1 or host_of(hosts[0]) not in LOOPBACK:
            refused = PlainTextResponse("This is only for the computer it runs on.", 421)
            await refused(scope, receive, guarded)
            return
        await _answered(self.app, scope, receive, guarded)


async def _answered(app: ASGIApp, scope: Scope, receive: Receive, send: Send) -> None:
    """Let the app answer; a mistake of ours is told in one sentence, never as a traceback."""
    begun = False

    async def noted(message: Message) -> None:
        nonlocal begun
        begun = True
        await send(message)

    try:
        await app(scope, receive, noted)
    except Exception as error:
        if os.environ.get("LINEPROOF_DEBUG"):
            traceback.print_exc()
        if begun:
            raise
        what = (
            f"This is a mistake of ours ({type(error).__name__}: {error}). Your show and plans are "
            "untouched. Start with LINEPROOF_DEBUG=1 to see more."
        )
        await PlainTextResponse(what, 500)(scope, receive, send)
