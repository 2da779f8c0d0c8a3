"""What differs between two shows, thing by thing, as people would tell it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from lineproof.base.names import natural
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing that differs: `what` it is ("line 12", "unit desk") and `how`.

    `how` is new, gone, changed (`keys` names what, in the show's words) or renamed (to `keys`).
    """

    what: str
    how: str
    keys: tuple[str, ...] = ()

    def __str__(self) -> str:
        keys = f": {', '.join(self.keys)}" if self.keys else ""
        return f"{self.what} {self.how}{keys}"


_THINGS = ("places", "ducts", "circuits", "units", "runs", "ties", "zones", "lists")


def changes(before: Show, after: Show) -> tuple[Change, ...]:
    """Give every thing that differs: settings first, then things by name, then lines."""
    found: list[Change] = []
    apart = {*_THINGS, "lines", "kit"}
    settings = [f.name for f in fields(Show) if f.compare and f.name not in apart]
    differ = tuple(n for n in settings if getattr(before, n) != getattr(after, n))
    if differ:
        found.append(Change(what="the show", how="changed", keys=differ))
    for things in _THINGS:
        found += _compared(
            things.removesuffix("s"), getattr(before, things), getattr(after, things)
        )
    old = {str(line.key): line for line in before.lines}
    new = {str(line.key): line for line in after.lines}
    return (*found, *_compared("line", old, new))


def _compared(what: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Change]:
    found = []
    for name in sorted({*old, *new}, key=natural):
        title = f"{what} {name}"
        if name not in old:
            found.append(Change(what=title, how="new"))
        elif name not in new:
            found.append(Change(what=title, how="gone"))
        elif old[name] != new[name]:
            found.append(Change(what=title, how="changed", keys=_keys(old[name], new[name])))
    return found


def _keys(old: Any, new: Any) -> tuple[str, ...]:
    if isinstance(old, tuple):
        return ()
    compared = [f.name for f in fields(old) if f.compare]
    return tuple(n.rstrip("_") for n in compared if getattr(old, n) != getattr(new, n))
