"""A rule: what can be wrong, why it matters on site, who says so, and how to mend it."""

from __future__ import annotations

from dataclasses import dataclass

from lineproof.base.finding import Finding, Grade
from lineproof.base.where import Where

#: The little show that rule examples change: one stage, one box, one mixer, one recorder.
EXAMPLE_SHOW = """\
title: Example
rate: 48 kHz
packet: 1 ms
nets: one
places:
  stage: {at: [0, 0, 0]}
  front: {at: [0, 20, 0]}
ducts:
  floor: {between: [stage, front], length: 25 m}
circuits:
  house: {supply: 230 V, limit: 16 A}
units:
  box-1: {kind: box-16-8, place: stage, number: 1, circuit: house}
  desk: {kind: mixer-32, place: front, circuit: house}
  rec-1: {kind: computer-32, place: front, circuit: house}
  pa: {kind: powered-loudspeaker, place: stage, circuit: house}
  sw-1: {kind: switch-8, place: front, circuit: house}
lines: lines.csv
"""

EXAMPLE_LINES = """\
number,name,from,source,to
1,Kick,stage,dynamic mic,desk rec-1
2,Voice,stage,dynamic mic,desk rec-1
41,Main,desk,main mix,pa
"""


@dataclass(frozen=True, kw_only=True)
class Example:
    """A show in two texts. What is left out is the little show's.

    `before`: the show for which a plan was issued before people changed it to this one. `found`:
    what the crew has found, as `found.csv`.
    """

    show: str = EXAMPLE_SHOW
    lines: str = EXAMPLE_LINES
    before: Example | None = None
    found: str = ""

    def files(self) -> dict[str, str]:
        """Give the show's files by name."""
        found = {"found.csv": self.found} if self.found else {}
        return {"show.yaml": self.show, "lines.csv": self.lines, **found}

    @classmethod
    def changed(
        cls,
        *changes: tuple[str, str],
        lines: tuple[str, str] | None = None,
        before: Example | None = None,
    ) -> Example:
        """Give the little show with each (old, new) text changed; each old text must be there."""
        show, table = EXAMPLE_SHOW, EXAMPLE_LINES
        for old, new in changes:
            show = _replaced(show, old, new)
        if lines is not None:
            table = _replaced(table, *lines)
        return cls(show=show, lines=table, before=before)


def _replaced(text: str, old: str, new: str) -> str:
    if text.count(old) != 1:
        raise ValueError(f"{old!r} stands {text.count(old)} times in the example, not once")
    return text.replace(old, new)


@dataclass(frozen=True, kw_only=True)
class Rule:
    """What can be wrong, told once, with a show that fails and one that passes.

    `name` lasts for ever: people accept findings by it. `why` says what it does to a show on
    site. `source` is the standard, or "common practice", or "Lineproof" for a matter of reading.
    """

    name: str
    grade: Grade
    why: str
    do: str
    source: str
    fails: Example
    passes: Example

    def finding(
        self,
        *,
        what: str,
        where: Where | tuple[Where, ...] = (),
        of: tuple[str, ...] = (),
        do: str | None = None,
        grade: Grade | None = None,
    ) -> Finding:
        """Give a finding of this rule; `do` and `grade` only where the case differs."""
        return Finding(
            rule=self.name,
            grade=self.grade if grade is None else grade,
            what=what,
            do=self.do if do is None else do,
            where=(where,) if isinstance(where, Where) else where,
            of=of,
        )
