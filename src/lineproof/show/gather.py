"""Notes that say the same of many things are told once, with all their places."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from lineproof.base.finding import Finding
from lineproof.show import rules

#: Places named in one gathered note; the rest are counted in its words.
MOST_PLACES = 10


def gathered(findings: Iterable[Finding]) -> list[Finding]:
    """Give the findings with the notes on one unused word of several things made one.

    Such a note is about (the thing, the word): `of` of its finding.
    """
    kept: list[Finding] = []
    notes: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        if finding.rule == rules.NOT_YET_USED.name:
            notes.setdefault(finding.of, []).append(finding)
        else:
            kept.append(finding)
    return [*kept, *(_one(same) for same in notes.values())]


def _one(same: list[Finding]) -> Finding:
    if len(same) == 1:
        return same[0]
    first = min(same, key=Finding.sort_key)
    thing, key = first.of
    where = tuple(sorted({w for f in same for w in f.where}))[:MOST_PLACES]
    what = f"{key!r} of {len(same)} {thing}s is kept, but not yet used"
    return replace(first, what=what, where=where)
