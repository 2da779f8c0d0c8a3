"""Names as people give them: what may be one, how two compare, how many sort."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

#: Names a file system keeps for itself (Windows); a show folder must open everywhere.
RESERVED = frozenset(
    ["con", "prn", "aux", "nul"]
    + [f"com{n}" for n in range(1, 10)]
    + [f"lpt{n}" for n in range(1, 10)]
)

LONGEST_NAME = 64


def normal(text: str) -> str:
    """Give `text` in NFC without surrounding blanks: the form in which names are kept."""
    return unicodedata.normalize("NFC", text.strip())


@lru_cache(maxsize=65_536)
def folded(text: str) -> str:
    """Give the form in which two names are compared: NFC, without case.

    >>> folded("Box-1") == folded("BOX-1")
    True
    """
    return unicodedata.normalize("NFC", normal(text).casefold())


@lru_cache(maxsize=65_536)
def wrong_with_name(text: str) -> str | None:
    """Say what keeps `text` from being a name, or None if it may be one.

    A name is letters, digits, `-` and `_` of any script, no reserved file name.

    >>> wrong_with_name("stage-left") is None
    True
    >>> wrong_with_name("stage left")
    "a name can't hold ' '"
    """
    name = normal(text)
    if not name:
        return "a name can't be empty"
    if len(name) > LONGEST_NAME:
        return f"a name has at most {LONGEST_NAME} characters"
    for mark in name:
        category = unicodedata.category(mark)
        if not (category[0] in "LM" or category == "Nd" or mark in "-_"):
            return f"a name can't hold {mark!r}"
    if name[0] in "-_" or unicodedata.category(name[0])[0] == "M":
        return "a name begins with a letter or a digit"
    if folded(name) in RESERVED:
        return f"{name!r} is kept by some file systems for themselves"
    return None


def allowed(text: str) -> str:
    """Give `text` without the marks that can't stand in a name.

    >>> allowed("play!")
    'play'
    """
    return "".join(m for m in normal(text) if m in "-_" or unicodedata.category(m)[0] in "LMN")


_DIGITS = re.compile(r"(\d+)")


@lru_cache(maxsize=65_536)
def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Give a key that sorts names and line numbers as people do.

    >>> sorted(["12a", "2", "17L", "12", "box-10", "box-2"], key=natural)
    ['2', '12', '12a', '17L', 'box-2', 'box-10']
    """
    parts: list[tuple[int, int, str]] = []
    for part in _DIGITS.split(folded(text)):
        if part.isdecimal():
            # The text itself settles "07" against "7", so that the order is total.
            parts.append((0, int(part), part))
        elif part:
            parts.append((1, 0, part))
    return tuple(parts)


def nearest(word: str, known: Iterable[str], *, closeness: float = 0.6) -> str | None:
    """Give the known word that `word` was most likely meant to be, or None.

    `closeness` from 0 to 1 says how like it must be; the beginning of just one word will do.

    >>> nearest("kidn", ["kind", "place"]), nearest("temp", ["temperature", "humidity"])
    ('kind', 'temperature')
    """
    by_fold = {folded(k): k for k in sorted(known, key=natural)}
    longer = [k for k in by_fold if len(word) > 2 and k.startswith(folded(word))]
    if len(longer) == 1:
        return by_fold[longer[0]]
    close = difflib.get_close_matches(folded(word), list(by_fold), n=1, cutoff=closeness)
    return by_fold[close[0]] if close else None
