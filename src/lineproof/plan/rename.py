"""A plan under new names: whoever is called otherwise keeps every decision."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from lineproof.base.errors import CannotRead
from lineproof.base.names import folded
from lineproof.base.part import ALSO, part_with, split_part
from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import Freed, LinePlan, Plan
from lineproof.plan.network import Network
from lineproof.plan.network_rename import unit_names, with_units_renamed
from lineproof.show.naming import Naming

#: Beside the issued revisions, which are never rewritten: what was renamed since, and when.
RENAMES = Path("plan") / "renames.json"


@dataclass(frozen=True, kw_only=True)
class Rename(Naming):
    """One renaming in a show: `revision` was the last one issued then, 0 before the first."""

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


def added(renames: tuple[Rename, ...], rename: Rename) -> tuple[Rename, ...]:
    """Give the renamings with one more; one that undoes the last leaves neither."""
    if renames and renames[-1] == replace(rename, old=rename.new, new=rename.old):
        return renames[:-1]
    return (*renames, rename)


def since(renames: tuple[Rename, ...], revision: int) -> tuple[Rename, ...]:
    """Give what was renamed since the revision was issued, oldest first."""
    return tuple(r for r in renames if r.revision >= revision)


def names_in(plan: Plan, what: str) -> frozenset[str]:
    """Give the folded names of that sort that stand in the plan, in what is freed too."""
    keys = [*(x.key for x in plan.lines), *(f.line for f in plan.freed)]
    if what == "line":
        return frozenset(folded(str(key)) for key in keys)
    if what == "act":
        return frozenset(folded(key.act) for key in keys if key.act)
    spots = [*(s for x in plan.lines for s in x.spots()), *(f.spot for f in plan.freed)]
    starts = [*(x.starts_at for x in plan.lines), *(f.starts_at for f in plan.freed)]
    parts = [*(p for x in plan.lines for p in (*x.start, *x.ends, *x.left_out))]
    parts += [f.part.partition(" ")[2] for f in plan.freed]
    parts = [name for part in parts for name in split_part(part.removeprefix(ALSO)) if name]
    parts += [start for text in starts for start in text.split("|")]
    found = {folded(part.partition(":")[0]) for part in parts}
    found |= {folded(name) for name in unit_names(plan.network)}
    return frozenset(found | {folded(spot.unit) for spot in spots})


def renamed(plan: Plan, naming: Naming) -> Plan:
    """Give the plan with the new name wherever the old one stood.

    Where something else has that name already (in an old revision), the plan stays as it is: two
    things must not become one.
    """
    if folded(naming.old) != folded(naming.new) and folded(naming.new) in names_in(
        plan, naming.what
    ):
        return plan
    lines = [_line(line, naming) for line in plan.lines]
    freed = [_freed(f, naming) for f in plan.freed]
    return Plan(
        lines=tuple(sorted(lines, key=lambda x: x.key.sort_key())),
        freed=tuple(sorted(freed, key=lambda f: f.spot.sort_key())),
        network=_network(plan.network, naming),
    )


def _network(network: Network, naming: Naming) -> Network:
    return with_units_renamed(network, naming.name) if naming.what == "unit" else network


def _line(line: LinePlan, naming: Naming) -> LinePlan:
    key = naming.key(line.key)
    return replace(
        line,
        key=key,
        name=_title(line.name, line.key, key),
        starts_at=_starts(line.starts_at, naming),
        start=_parts(line.start, naming),
        ends=_parts(line.ends, naming),
        left_out=tuple(_part(p, naming) for p in line.left_out),
        ties={_part(part, naming): tie for part, tie in line.ties.items()},
    )


def _freed(freed: Freed, naming: Naming) -> Freed:
    key = naming.key(freed.line)
    which, _, part = freed.part.partition(" ")
    return replace(
        freed,
        spot=_spot(freed.spot, naming),
        line=key,
        name=_title(freed.name, freed.line, key),
        starts_at=_starts(freed.starts_at, naming),
        part=f"{which} {_part(part, naming)}",
    )


def _title(name: str, old: LineKey, new: LineKey) -> str:
    """Give a line's name; one without is called by its number."""
    return f"line {new.number}" if name == f"line {old.number}" else name


def _starts(starts_at: str, naming: Naming) -> str:
    return "|".join(_part(part, naming) for part in starts_at.split("|"))


def _parts(parts: Mapping[str, tuple[Spot, ...]], naming: Naming) -> dict[str, tuple[Spot, ...]]:
    return {
        _part(part, naming): tuple(_spot(spot, naming) for spot in spots)
        for part, spots in parts.items()
    }


def _part(part: str, naming: Naming) -> str:
    """Give a part's name with the new name: `desk`, `desk from play-2`, `also side:in-3`."""
    return part_with(part, naming.name) if naming.what in ("unit", "place") else part


def _spot(spot: Spot, naming: Naming) -> Spot:
    return replace(spot, unit=naming.name(spot.unit)) if naming.what == "unit" else spot
