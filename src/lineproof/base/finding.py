"""A finding: one thing wrong or risky, said so that somebody can mend it."""

from __future__ import annotations

import enum
from dataclasses import dataclass

from lineproof.base.where import Where


class Grade(enum.Enum):
    """How bad a finding is."""

    STOP = "stop"
    RISK = "risk"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """Give 0 for the worst grade, so that findings sort worst first."""
        return list(Grade).index(self)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing wrong or risky.

    `rule` is the lasting name of the rule that found it; `what` says in one sentence what was
    read or reckoned; `do` what to do; `where` the rows it comes from, the one to mend first;
    `of` the names it is about (lines, units, groups …), by which it can be accepted.
    `accepted` says who took it on and why, if somebody did.
    """

    rule: str
    grade: Grade
    what: str
    do: str = ""
    where: tuple[Where, ...] = ()
    of: tuple[str, ...] = ()
    accepted: str = ""

    def sort_key(self) -> tuple[int, int, tuple[Where, ...], str, str]:
        """Order findings: standing ones first, worst first, then as they stand in the files."""
        return (bool(self.accepted), self.grade.rank, self.where, self.rule, self.what)

    def __str__(self) -> str:
        place = f"{self.where[0]}: " if self.where else ""
        more = "".join(f"\n    see {w}" for w in self.where[1:])
        do = f"\n    do: {self.do}" if self.do else ""
        accepted = f"\n    accepted: {self.accepted}" if self.accepted else ""
        return f"{self.grade.value}: {place}{self.what} [{self.rule}]{do}{more}{accepted}"


def in_order(findings: list[Finding] | tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Give the findings in the order of `Finding.sort_key`, each once."""
    return tuple(sorted(dict.fromkeys(findings), key=Finding.sort_key))
