"""Server-sent events: an open page is told when the show was worked out anew."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator

from lineproof.web.watch import Watch

#: How often a new value is looked for; and how often a page hears that the line is not dead.
LOOK_S = 0.05
BEAT_S = 4.0


async def events(watch: Watch, since: str) -> AsyncIterator[str]:
    """Give an event for every value newer than `since` ("boot-serial"), and a beat between them.

    Between values it is told how far the work is that takes minutes. A page of another run of the
    server is told to load again.
    """
    boot, _, serial = since.partition("-")
    known = int(serial) if boot == watch.boot and serial.isdecimal() else -1
    last = asyncio.get_running_loop().time()
    far = ""
    yield "retry: 500\n\n"
    while True:
        now = asyncio.get_running_loop().time()
        worked = watch.now
        if worked.serial != known:
            known = worked.serial
            data = json.dumps({"serial": known, "stage": worked.stage})
            yield f"event: worked\nid: {watch.boot}-{known}\ndata: {data}\n\n"
            last = now
        elif watch.progress != far:
            far = watch.progress
            yield f"event: far\nid: {watch.boot}-{known}\ndata: {json.dumps(far)}\n\n"
            last = now
        elif now - last > BEAT_S:
            yield f"event: beat\nid: {watch.boot}-{known}\ndata: \n\n"
            last = now
        await asyncio.sleep(LOOK_S)
