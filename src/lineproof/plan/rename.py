"""A plan under new names: whoever is called otherwise keeps every decision."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from lineproof.base.errors import CannotRead
from lineproof.base.names import folded
from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import Freed, LinePlan, Plan

#: Beside the issued revisions, which are never rewritten: what was renamed since, and when.
RENAMES = Path("plan") / "renames.json"


@dataclass(frozen=True, kw_only=True)
class Rename:
    """One renaming: `what` is unit, place, act or line; `revision` was the last one then."""

    what: str
    old: str
    new: str
    revision: int = 0


def read_renames(folder: Path) -> tuple[Rename, ...]:
    """Give all renamings, oldest first."""
    try:
        data = json.loads((folder / RENAMES).read_text("utf-8"))
        return tuple(Rename(**item) for item in data)
    except FileNotFoundError:
        return ()
    except (OSError, ValueError, TypeError) as error:
        raise CannotRead(f"{RENAMES.as_posix()} is damaged ({error}): restore it") from None


def write_renames(renames: tuple[Rename, ...]) -> bytes:
    """Give the renamings as the bytes of their file."""
    data = [{"what": r.what, "old": r.old, "new": r.new, "revision": r.revision} for r in renames]
    return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()


def renamed(plan: Plan, rename: Rename) -> Plan:
    """Give the plan with the new name wherever the old one stood."""
    lines = [_line(line, rename) for line in plan.lines]
    return Plan(
        lines=tuple(sorted(lines, key=lambda x: x.key.sort_key())),
        freed=tuple(_freed(f, rename) for f in plan.freed),
    )


def _line(line: LinePlan, rename: Rename) -> LinePlan:
    return replace(
        line,
        key=_key(line.key, rename),
        starts_at="|".join(_part(p, rename) for p in line.starts_at.split("|")),
        start=_parts(line.start, rename),
        ends=_parts(line.ends, rename),
        left_out=tuple(_part(p, rename) for p in line.left_out),
    )


def _parts(parts: Mapping[str, tuple[Spot, ...]], rename: Rename) -> dict[str, tuple[Spot, ...]]:
    return {
        _part(part, rename): tuple(_spot(spot, rename) for spot in spots)
        for part, spots in parts.items()
    }


def _freed(freed: Freed, rename: Rename) -> Freed:
    which, _, part = freed.part.partition(" ")
    return replace(
        freed,
        spot=_spot(freed.spot, rename),
        line=_key(freed.line, rename),
        starts_at="|".join(_part(p, rename) for p in freed.starts_at.split("|")),
        part=f"{which} {_part(part, rename)}",
    )


def _part(part: str, rename: Rename) -> str:
    name, colon, rest = part.partition(":")
    return f"{_name(name, rename)}{colon}{rest}" if rename.what in ("unit", "place") else part


def _spot(spot: Spot, rename: Rename) -> Spot:
    return replace(spot, unit=_name(spot.unit, rename)) if rename.what == "unit" else spot


def _name(name: str, rename: Rename) -> str:
    return rename.new if folded(name) == folded(rename.old) else name


def _key(key: LineKey, rename: Rename) -> LineKey:
    if rename.what == "act" and key.act:
        return replace(key, act=_name(key.act, rename))
    if rename.what == "line" and key.same() == LineKey.parse(rename.old).same():
        return replace(key, number=LineKey.parse(rename.new).number)
    return key
