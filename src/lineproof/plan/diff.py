"""What differs between two plans: line by line, part by part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lineproof.base.names import natural
from lineproof.base.spot import LineKey, Spot
from lineproof.plan.model import LinePlan, Plan


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One part of a line that is decided otherwise; no spots where it was or is not planned."""

    line: LineKey
    name: str
    part: str
    before: tuple[Spot, ...]
    after: tuple[Spot, ...]

    @property
    def how(self) -> str:
        """Say in a word what happens: new, gone or moved."""
        if not self.before:
            return "new"
        return "moved" if self.after else "gone"

    def __str__(self) -> str:
        before = " ".join(map(str, self.before)) or "-"
        after = " ".join(map(str, self.after)) or "-"
        head = f"{self.how:<6}{self.line!s:<10}{self.name:<20}{self.part:<14}"
        return f"{head}{before} -> {after}"


def differences(before: Plan, after: Plan) -> tuple[Difference, ...]:
    """Give every part that differs, in the order of the lines."""
    old = {line.key.same(): line for line in before.lines}
    new = {line.key.same(): line for line in after.lines}
    keys = {**{k: v.key for k, v in old.items()}, **{k: v.key for k, v in new.items()}}
    in_order = sorted(keys.items(), key=lambda item: item[1].sort_key())
    return tuple(d for same, key in in_order for d in _of_line(key, old.get(same), new.get(same)))


def _of_line(key: LineKey, old: LinePlan | None, new: LinePlan | None) -> Iterator[Difference]:
    name = new.name if new else old.name if old else ""
    for before, after in (
        (old.start if old else {}, new.start if new else {}),
        (old.ends if old else {}, new.ends if new else {}),
    ):
        yield from _of_parts(key, name, before, after)


def _of_parts(
    key: LineKey,
    name: str,
    before: Mapping[str, tuple[Spot, ...]],
    after: Mapping[str, tuple[Spot, ...]],
) -> Iterator[Difference]:
    for part in sorted({*before, *after}, key=natural):
        was, now = before.get(part, ()), after.get(part, ())
        if was != now:
            yield Difference(line=key, name=name, part=part, before=was, after=now)


def difference_data(difference: Difference) -> dict[str, Any]:
    """Give a difference as JSON."""
    return {
        "line": str(difference.line),
        "name": difference.name,
        "part": difference.part,
        "how": difference.how,
        "before": [str(s) for s in difference.before],
        "after": [str(s) for s in difference.after],
    }
