"""Starts and ends as written in a cell: `desk side rec-1|rec-2`, `amp-01..amp-24`, `pa?`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.base.names import folded, normal
from lineproof.base.spot import Side
from lineproof.show.model import Target
from lineproof.show.tree import Text

_TARGET = re.compile(
    r"([^\s:|?]+?)(?::(?:(in|out|send|receive|strip)-)?([1-9]\d{0,3})(?:-([1-9]\d{0,3}))?)?",
    re.IGNORECASE,
)
_NUMBERED = re.compile(r"(.*[^0-9])?([0-9]{1,6})")
MOST_IN_RANGE = 2_000


class EndError(ValueError):
    """A text that is no start and no end; the message says why."""


@dataclass(frozen=True, kw_only=True)
class Written:
    """One end as written: its members, whether it is a want."""

    members: tuple[Target, ...]
    want: bool
    text: str


def read_target(text: str) -> Target:
    """Give the target a word names.

    >>> str(read_target("amp-1:1-2")), str(read_target("box-1:out-3"))
    ('amp-1:1-2', 'box-1:out-3')
    """
    match = _TARGET.fullmatch(text)
    if match is None:
        raise EndError(f"{text!r} is no place and no unit, as in 'desk' or 'amp-1:1-2'")
    name, side, first, last = match.groups()
    if first is None:
        return Target(name=normal(name))
    low, high = int(first), int(last or first)
    if high < low or high - low > MOST_IN_RANGE:
        raise EndError(f"{text!r} counts backwards or too far")
    numbers = tuple(range(low, high + 1))
    return Target(name=normal(name), side=Side(side.lower()) if side else None, numbers=numbers)


def expand_range(text: str) -> tuple[str, ...]:
    """Give the names of a range, `text` itself if it is none.

    >>> expand_range("amp-08..amp-10")
    ('amp-08', 'amp-09', 'amp-10')
    """
    if ".." not in text:
        return (text,)
    begin, _, end = text.partition("..")
    from_, to = _NUMBERED.fullmatch(begin), _NUMBERED.fullmatch(end)
    if from_ is None or to is None:
        raise EndError(f"{text!r} is no range, as in 'amp-01..amp-24'")
    (stem, first), (stem_again, last) = from_.groups(""), to.groups("")
    if stem_again and folded(stem_again) != folded(stem):
        raise EndError(f"{text!r} is no range: {stem!r} and {stem_again!r} differ")
    low, high = int(first), int(last)
    if high < low or high - low >= MOST_IN_RANGE:
        raise EndError(f"{text!r} counts backwards or too far")
    width = len(first) if first.startswith("0") else 0
    return tuple(f"{stem}{n:0{width}d}" for n in range(low, high + 1))


def read_end(word: Text, groups: Mapping[str, tuple[str, ...]]) -> tuple[Written, ...]:
    """Give the ends one word stands for.

    A zone, list (`groups`, by folded name) or range stands for one end each; `x|y` is one end
    with two members; a `?` behind makes each a want.
    """
    text = word.value
    want = text.endswith("?")
    bare = text.rstrip("?")
    if not bare:
        raise EndError(f"{text!r} names nothing")
    items = groups.get(folded(bare), (bare,))
    found: list[Written] = []
    for item in items:
        found += _ends_in(item, text=text)
        if len(found) > MOST_IN_RANGE:
            raise EndError(f"{text!r} names more than {MOST_IN_RANGE:,} ends")
    return tuple(Written(members=f.members, want=f.want or want, text=text) for f in found)


def _ends_in(item: str, *, text: str) -> list[Written]:
    """Give the ends of one word that is no group: `x|y` is one, a range one for each name."""
    want = item.endswith("?")
    bare = item.rstrip("?")
    if "|" in bare:
        members = tuple(read_target(part) for part in bare.split("|"))
        return [Written(members=members, want=want, text=text)]
    names = expand_range(bare)
    return [Written(members=(read_target(n),), want=want, text=text) for n in names]
