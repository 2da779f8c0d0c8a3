"""The name of a part of a line: its start, an end, or an end as one start alone feeds it."""

from __future__ import annotations

from collections.abc import Callable

#: Between an end and the start that feeds it alone: `desk from play-2`.
FROM = " from "

#: Before a further socket of a split, in the name of a start: `also side:in-3`.
ALSO = "also "


def split_part(part: str) -> tuple[str, str]:
    """Give the end that a part names, and the start that feeds it alone ("": all is well).

    >>> split_part("desk from play-2"), split_part("desk")
    (('desk', 'play-2'), ('desk', ''))
    """
    end, _, start = part.partition(FROM)
    return end, start


def part_with(part: str, new: Callable[[str], str]) -> str:
    """Give the part with `new` applied to every name of a place or unit in it.

    >>> part_with("desk:strip-2", str.upper), part_with("also side:in-3", str.upper)
    ('DESK:strip-2', 'also SIDE:in-3')
    """
    if part.startswith(ALSO):
        return ALSO + part_with(part.removeprefix(ALSO), new)
    end, start = split_part(part)
    if start:
        return f"{part_with(end, new)}{FROM}{part_with(start, new)}"
    name, colon, rest = part.partition(":")
    return f"{new(name)}{colon}{rest}"
