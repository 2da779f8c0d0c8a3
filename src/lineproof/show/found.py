"""What is found while reading, up to as much as anybody would mend before reading again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from lineproof.base.finding import Finding, Grade

#: A list with more mistakes has one mistake that makes them all, or is an attack.
MOST_STOPS = 1_000


class TooMany(Exception):
    """More *stops* were found than are told; reading ends here."""


class Found(list[Finding]):
    """A list of findings that raises TooMany when it takes one *stop* too many."""

    def __init__(self, findings: Iterable[Finding] = ()) -> None:
        super().__init__()
        self._left = MOST_STOPS
        self.extend(findings)

    def append(self, finding: Finding, /) -> None:
        """Take one finding."""
        super().append(finding)
        if finding.grade is Grade.STOP:
            self._left -= 1
            if self._left < 0:
                raise TooMany

    def extend(self, findings: Iterable[Finding], /) -> None:
        """Take several findings."""
        for finding in findings:
            self.append(finding)

    def __iadd__(self, findings: Iterable[Finding], /) -> Self:  # type: ignore[override,misc]
        self.extend(findings)
        return self
