"""How often Python looks for values that hold on to each other in circles."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Iterator

#: So many new values between two looks, instead of Python's 700. A plan of an arena makes some
#: millions, hardly any in circles, and was looked through seven hundred times.
SELDOM = 200_000


@contextlib.contextmanager
def seldom_collecting() -> Iterator[None]:
    """Look for circles less often meanwhile: a command makes much and lets little of it go.

    >>> before = gc.get_threshold()
    >>> with seldom_collecting():
    ...     gc.get_threshold()[0]
    200000
    >>> gc.get_threshold() == before
    True
    """
    before = gc.get_threshold()
    gc.set_threshold(SELDOM, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)
