"""Leads: too long, or nobody knows how long."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import Example, Rule
from lineproof.check.check import Check, Facts

#: Beyond this a lead is a multicore's job, and a noise and a trip hazard besides (practice).
LONG_M = 50.0

LONG_LEAD = Rule(
    name="long-lead",
    grade=Grade.RISK,
    why="A long single lead picks up noise, is trodden on and is not on the truck.",
    do="bring a box nearer to where the line starts, or use a multicore",
    source="common practice",
    fails=Example.changed(
        ("stage: {at: [0, 0, 0]}", "stage: {at: [0, 0, 0]}\n  yard: {at: [90, 0, 0]}"),
        lines=("2,Voice,stage", "2,Voice,yard"),
    ),
    passes=Example(),
)


def long_lead(facts: Facts) -> Iterator[Finding]:
    """Find leads beyond what is carried loose."""
    for lead in facts.figures.leads:
        if lead.length_m is not None and lead.length_m > LONG_M:
            line = facts.show.line(lead.line)
            title = line.title if line else ""
            way = f"from {lead.place} to {lead.spot}"
            what = f"the lead of line {lead.line} ({title}) {way} is {lead.length_m:.0f} m long"
            where = (line.where,) if line else ()
            yield LONG_LEAD.finding(what=what, where=where, of=(str(lead.line), lead.place))


CHECKS: tuple[Check, ...] = (Check(rule=LONG_LEAD, find=long_lead),)
