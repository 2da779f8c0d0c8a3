"""How often Python looks for values that hold on to each other in circles."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import sys
from collections.abc import Iterator

#: A server lets go of every answer; what it leaves in circles goes before it adds up (measured: a
#: large show's server grew by 7 MB each time that ten pages followed a change).
NOW_AND_THEN = 5_000
_M_ARENA_MAX = -8
#: So many new values between two looks, instead of Python's 700. A plan of an arena makes some
#: millions, hardly any in circles, and was looked through seven hundred times.
SELDOM = 200_000


@contextlib.contextmanager
def seldom_collecting(threshold: int = SELDOM) -> Iterator[None]:
    """Look for circles less often meanwhile: a command makes much and lets little of it go.

    >>> before = gc.get_threshold()
    >>> with seldom_collecting():
    ...     gc.get_threshold()[0]
    200000
    >>> gc.get_threshold() == before
    True
    """
    before = gc.get_threshold()
    gc.set_threshold(threshold, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


def let_go() -> None:
    """Let go of what hangs together in circles, and give back to the system what is free.

    The C library keeps what was freed for later (glibc; malloc_trim(3)): of a large show, which is
    worked out at once and then only looked at, sixty megabytes.
    """
    gc.collect()
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL("libc.so.6").malloc_trim(0)


def share_heaps() -> None:
    """Let threads take memory from two heaps instead of one each (glibc; mallopt(3), M_ARENA_MAX).

    What one thread has let go of another can take then; only one of them runs at a time anyway.
    """
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL("libc.so.6").mallopt(_M_ARENA_MAX, 2)
