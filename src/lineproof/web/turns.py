"""Answers that take seconds: one after the other, and none that nobody waits for any more."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TypeVar

from anyio import CapacityLimiter, to_thread
from starlette.requests import Request

Made = TypeVar("Made")
#: Such an answer has no place among those that are made side by side: pages come first.
_APART = 1


class Gone(Exception):
    """Who asked has gone on to something else."""


class Turns:
    """Lets one answer be made at a time, in the order in which they were asked for."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._limiter: CapacityLimiter | None = None

    async def made(self, request: Request, make: Callable[[], Made]) -> Made:
        """Give what `make` gives, made in a thread; raises Gone where nobody waits for it."""
        async with self._turn:
            if await request.is_disconnected():
                raise Gone
            self._limiter = self._limiter or CapacityLimiter(_APART)
            return await to_thread.run_sync(make, limiter=self._limiter)
