"""What is found while reading: all of it counted, and as much told as anybody would mend."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import nearest

#: A list with more mistakes has one mistake that makes them all, or is an attack.
MOST_STOPS = 1_000


class Found(list[Finding]):
    """A list of findings that keeps the first thousand *stops* and counts the others.

    `stops` counts all that were found, `untold` is the first that was not kept.
    """

    def __init__(self, findings: Iterable[Finding] = ()) -> None:
        super().__init__()
        self.stops = 0
        self.untold: Finding | None = None
        self.extend(findings)

    @property
    def full(self) -> bool:
        """Say whether as many *stops* were found as are told."""
        return self.stops >= MOST_STOPS

    def append(self, finding: Finding, /) -> None:
        """Take one finding, or count it."""
        if finding.grade is Grade.STOP:
            if self.full:
                self.untold = self.untold or finding
                self.stops += 1
                return
            self.stops += 1
        super().append(finding)

    def extend(self, findings: Iterable[Finding], /) -> None:
        """Take several findings; what another `Found` has only counted counts here as well."""
        for finding in findings:
            self.append(finding)
        if isinstance(findings, Found) and findings.untold is not None:
            self.untold = self.untold or findings.untold
            self.stops += findings.stops - sum(f.grade is Grade.STOP for f in findings)

    def __iadd__(self, findings: Iterable[Finding], /) -> Self:  # type: ignore[override,misc]
        self.extend(findings)
        return self


def stops_in(findings: list[Finding]) -> int:
    """Give how many *stops* were found so far, told or not."""
    if isinstance(findings, Found):
        return findings.stops
    return sum(finding.grade is Grade.STOP for finding in findings)


def is_full(findings: list[Finding]) -> bool:
    """Say whether no further *stop* will be told."""
    return isinstance(findings, Found) and findings.full


def near_word(findings: list[Finding], word: str, known: Iterable[str]) -> str | None:
    """Give the nearest right word; None once no more is told, for looking takes long."""
    return None if is_full(findings) else nearest(word, known)
