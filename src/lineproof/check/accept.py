"""Findings that somebody takes on stay on paper, with the name; idle acceptances are found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from lineproof.base.finding import Finding, Grade
from lineproof.base.names import folded
from lineproof.base.rule import Example, Rule
from lineproof.show.model import Accepted, Show

IDLE = Rule(
    name="accepted-for-nothing",
    grade=Grade.RISK,
    why="An acceptance that matches nothing hides that the thing it was for has changed.",
    do="take the acceptance out, or correct the finding's name and what it is of",
    source="Lineproof",
    fails=Example.changed(
        (
            "lines: lines.csv",
            "lines: lines.csv\naccept: [{finding: long-lead, of: [1], reason: short, by: us}]",
        )
    ),
    passes=Example(),
)


#: Rules of the paper: looked for when sheets are made, so nobody can say here that they are idle.
FOUND_ON_PAPER = frozenset({"name-not-printable"})


def with_accepted(show: Show, findings: Iterable[Finding]) -> list[Finding]:
    """Give the findings with who took which on, and one more for every idle acceptance.

    An acceptance matches every finding of its rule that is about all the names it gives.
    """
    used: set[int] = set()
    marked = []
    for finding in findings:
        taken = [at for at, one in enumerate(show.accepted) if matches(one, finding)]
        used.update(taken)
        by = show.accepted[taken[0]] if taken else None
        words = f"by {by.by}: {by.reason}" if by else ""
        marked.append(replace(finding, accepted=words))
    for at, accepted in enumerate(show.accepted):
        if at not in used and accepted.finding and accepted.finding not in FOUND_ON_PAPER:
            names = f" of {', '.join(accepted.of)}" if accepted.of else ""
            what = f"{accepted.finding!r}{names} is accepted, but nothing of the kind is found"
            marked.append(IDLE.finding(what=what, where=accepted.where, of=(accepted.finding,)))
    return marked


def matches(accepted: Accepted, finding: Finding) -> bool:
    """Say whether the acceptance is for the finding."""
    names = {folded(name) for name in finding.of}
    return accepted.finding == finding.rule and all(folded(n) in names for n in accepted.of)
