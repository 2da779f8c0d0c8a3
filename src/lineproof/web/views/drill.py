"""Drill: every fault that was tried, worst first."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from lineproof.drill.verdict import Drilled, State
from lineproof.outcome import Outcome
from lineproof.show.model import Need
from lineproof.web.views.parts import Head, head, room_href
from lineproof.web.worked import Worked


@dataclass(frozen=True, kw_only=True)
class FaultRow:
    """One fault: how many lines it silences at some end, how many of them must be heard.

    `carried` counts what is heard another way or after a gap, `by_hand` where somebody must act;
    `groups` names whose lines are lost, most first.
    """

    fault: str
    href: str
    must: int
    lost: int
    unknown: int
    carried: int
    by_hand: int
    groups: str


@dataclass(frozen=True, kw_only=True)
class DrillPage:
    """All faults tried, worst first; `harmless` counts those that no line feels."""

    head: Head
    rows: tuple[FaultRow, ...]
    harmless: int
    tried: int
    not_tried: tuple[str, ...]


def drill(worked: Worked) -> DrillPage:
    """Give the page of all faults that were tried."""
    rows = fault_rows(worked)
    felt = tuple(r for r in rows if r.lost or r.unknown or r.carried)
    return DrillPage(
        head=head(worked),
        rows=felt,
        harmless=len(rows) - len(felt),
        tried=len(rows),
        not_tried=worked.outcome.not_tried if worked.outcome else (),
    )


def fault_rows(worked: Worked) -> tuple[FaultRow, ...]:
    """Give every fault that was tried, by harm: must lines lost, lines lost, unknown, name."""
    return worked.made("faults", lambda: _rows(worked.outcome) if worked.outcome else ())


def _rows(outcome: Outcome) -> tuple[FaultRow, ...]:
    found = [_row(outcome, drilled) for drilled in outcome.singles]
    return tuple(sorted(found, key=lambda r: (-r.must, -r.lost, -r.unknown, -r.carried)))


def _row(outcome: Outcome, drilled: Drilled) -> FaultRow:
    lost = [outcome.show.line(key) for key in drilled.lines(State.LOST)]
    lines = [line for line in lost if line is not None]
    groups = Counter(line.group for line in lines if line.group)
    states = Counter(v.state for v in drilled.verdicts)
    felt = sum(v.state is not State.UNTOUCHED or bool(v.ends) for v in drilled.verdicts)
    name = str(drilled.fault)
    return FaultRow(
        fault=name,
        href=room_href([name]),
        must=sum(line.need in (Need.MUST, Need.SAFETY) for line in lines),
        lost=len(lines),
        unknown=states[State.UNKNOWN],
        carried=felt - states[State.UNKNOWN] - states[State.LOST],
        by_hand=sum(v.standing.must_act for v in drilled.verdicts),
        groups=", ".join(f"{group} {number}" for group, number in groups.most_common(6)),
    )
