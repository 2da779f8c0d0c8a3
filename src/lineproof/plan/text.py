"""Plans as JSON text and back: sorted, one spot list a row, the same bytes for the same plan."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from lineproof.base.errors import CannotRead
from lineproof.base.spot import LineKey, Side, Spot, SpotError
from lineproof.plan.model import FORMAT, Freed, Issued, LinePlan, Plan
from lineproof.plan.network_text import network_data, read_network


def write_plan(plan: Plan) -> str:
    """Give the JSON text of a draft."""
    return _dump({"format": FORMAT, **_plan_data(plan)})


def write_issued(issued: Issued) -> str:
    """Give the JSON text of an issued revision."""
    data = {
        "format": FORMAT,
        "revision": issued.revision,
        "by": issued.by,
        "at": issued.at,
        "mark": issued.mark,
        "note": issued.note,
        **_plan_data(issued.plan),
        "show": dict(issued.show),
    }
    return _dump(data)


def _dump(data: dict[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _plan_data(plan: Plan) -> dict[str, Any]:
    data: dict[str, Any] = {
        "lines": [_line_data(line) for line in plan.lines],
        "freed": [_freed_data(freed) for freed in plan.freed],
    }
    network = network_data(plan.network)
    return {**data, "network": network} if network else data


def _line_data(line: LinePlan) -> dict[str, Any]:
    data: dict[str, Any] = {
        "line": str(line.key),
        "name": line.name,
        "from": line.starts_at,
        "start": _spots_data(line.start),
        "ends": _spots_data(line.ends),
    }
    if line.ties:
        data["ties"] = {part: f"{tie.unit}:{tie.number}" for part, tie in line.ties.items()}
    if line.left_out:
        data["left-out"] = list(line.left_out)
    return data


def _spots_data(spots: Mapping[str, tuple[Spot, ...]]) -> dict[str, str]:
    return {part: " ".join(str(s) for s in found) for part, found in spots.items()}


def _freed_data(freed: Freed) -> dict[str, Any]:
    return {
        "spot": str(freed.spot),
        "line": str(freed.line),
        "name": freed.name,
        "from": freed.starts_at,
        "part": freed.part,
        "revision": freed.revision,
    }


def read_plan(text: str, *, file: str) -> Plan:
    """Give the plan in a draft's text; CannotRead names the file and what is wrong in it."""
    return _plan(_load(text, file), file)


def read_issued(text: str, *, file: str) -> Issued:
    """Give the issued revision in a file's text; CannotRead says what is wrong in it."""
    data = _load(text, file)
    try:
        return Issued(
            revision=int(data["revision"]),
            by=str(data["by"]),
            at=str(data["at"]),
            mark=str(data["mark"]),
            plan=_plan(data, file),
            show={str(k): str(v) for k, v in data["show"].items()},
            note=str(data.get("note", "")),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _broken(file, error) from None


def _load(text: str, file: str) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise _broken(file, error) from None
    if not isinstance(data, dict):
        raise CannotRead(f"{file} is no plan")
    form = data.get("format")
    if not isinstance(form, int) or form < 1:
        raise CannotRead(f"{file} is no plan: it has no format number")
    if form > FORMAT:
        what = f"{file} has plan format {form}; this Lineproof reads up to {FORMAT}. Update it."
        raise CannotRead(what)
    return data


def _broken(file: str, error: Exception) -> CannotRead:
    what = f"{file} is damaged ({error}). Restore it from a copy; nothing was changed."
    return CannotRead(what)


def _plan(data: Mapping[str, Any], file: str) -> Plan:
    try:
        lines = tuple(_line(item) for item in data["lines"])
        freed = tuple(_freed(item) for item in data["freed"])
        network = read_network(data.get("network", {}))
    except (KeyError, TypeError, ValueError, AttributeError, SpotError) as error:
        raise _broken(file, error) from None
    return Plan(lines=lines, freed=freed, network=network)


def _line(item: Mapping[str, Any]) -> LinePlan:
    return LinePlan(
        key=LineKey.parse(item["line"]),
        name=str(item["name"]),
        starts_at=str(item["from"]),
        start=_spots(item["start"]),
        ends=_spots(item["ends"]),
        left_out=tuple(str(x) for x in item.get("left-out", ())),
        ties={
            str(part): Spot.parse(text, sole=Side.IN) for part, text in item.get("ties", {}).items()
        },
    )


def _spots(item: Mapping[str, str]) -> dict[str, tuple[Spot, ...]]:
    return {
        str(part): tuple(Spot.parse(word) for word in text.split()) for part, text in item.items()
    }


def _freed(item: Mapping[str, Any]) -> Freed:
    return Freed(
        spot=Spot.parse(item["spot"]),
        line=LineKey.parse(item["line"]),
        name=str(item["name"]),
        starts_at=str(item["from"]),
        part=str(item["part"]),
        revision=int(item["revision"]),
    )
