"""How commands talk: data to standard output, talk to standard error, JSON when asked."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from lineproof.base.finding import Finding, Grade
from lineproof.base.where import Where

#: The number written into every JSON answer; it grows when an answer loses or changes a key.
JSON_FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class Tell:
    """Where a command's words go. `as_json`: one JSON value to standard output, at the end."""

    as_json: bool = False
    quiet: bool = False

    def line(self, text: str = "") -> None:
        """Print a row of the answer, unless JSON was asked for."""
        if not self.as_json:
            print(text)

    def aside(self, text: str) -> None:
        """Say something that is not the answer."""
        if not self.quiet:
            print(text, file=sys.stderr, flush=True)

    def answer(self, command: str, data: dict[str, Any]) -> None:
        """Print the answer as JSON, if that was asked for."""
        if self.as_json:
            whole = {"format": JSON_FORMAT, "command": command, **data}
            print(json.dumps(whole, ensure_ascii=False, indent=1))


class Progress:
    """Says what a long step does, each step once, with the seconds gone."""

    def __init__(self, tell: Tell) -> None:
        self.tell = tell
        self.began = time.monotonic()
        self.last = ""

    def __call__(self, text: str) -> None:
        """Say that `text` has begun, once."""
        if text != self.last:
            self.last = text
            self.tell.aside(f"{time.monotonic() - self.began:5.1f} s  {text}")


def where_data(where: Where) -> dict[str, Any]:
    """Give a position as JSON: only the keys that say something."""
    data = {
        "file": where.file,
        "sheet": where.sheet,
        "row": where.row,
        "column": where.column,
        "heading": where.heading,
    }
    return {k: v for k, v in data.items() if v}


def finding_data(finding: Finding) -> dict[str, Any]:
    """Give a finding as JSON."""
    return {
        "rule": finding.rule,
        "grade": finding.grade.value,
        "what": finding.what,
        "do": finding.do,
        "where": [where_data(w) for w in finding.where],
        "of": list(finding.of),
        "accepted": finding.accepted,
    }


def findings_data(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Give findings as JSON, in their order."""
    return [finding_data(f) for f in findings]


def tell_findings(tell: Tell, findings: Iterable[Finding], *, notes: bool = True) -> None:
    """Print findings, worst first; notes that say the same of many things are gathered."""
    kept = [f for f in findings if notes or f.grade is not Grade.NOTE]
    for finding in kept:
        tell.line(str(finding))
    if kept:
        tell.line()
    tell.line(counted(findings))


def counted(findings: Iterable[Finding]) -> str:
    """Give how many findings stand, in words.

    >>> counted([])
    'no findings'
    """
    standing = [f for f in findings if not f.accepted]
    accepted = len(list(findings)) - len(standing)
    parts = []
    for grade in Grade:
        count = sum(1 for f in standing if f.grade is grade)
        if count:
            parts.append(f"{count} {grade.value}{'s' if count > 1 else ''}")
    if accepted:
        parts.append(f"{accepted} accepted")
    return ", ".join(parts) or "no findings"


def standing_stops(findings: Iterable[Finding]) -> bool:
    """Say whether a *stop* stands that nobody took on."""
    return any(f.grade is Grade.STOP and not f.accepted for f in findings)
