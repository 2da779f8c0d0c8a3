"""Drill: every fault tried, worst first; pairs that do more than each alone; likelihood."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from lineproof.drill.group import pair_groups
from lineproof.drill.verdict import Drilled, State, Verdict
from lineproof.graph.faults import Fault
from lineproof.outcome import Outcome
from lineproof.rescue.harm import needed
from lineproof.show.model import Line
from lineproof.web.views.gains import GainsView, gains
from lineproof.web.views.parts import Head, Link, count, head, line_href, room_href
from lineproof.web.views.rescue import back_words, fault_grades
from lineproof.web.worked import Worked

#: So many pairs, causes and lines of one pair are told; the command line tells all.
MOST_PAIRS, MOST_CAUSES, MOST_LINES = 60, 20, 12


@dataclass(frozen=True, kw_only=True)
class FaultRow:
    """Faults that do the same: how many lines they silence at some end, how many must be heard.

    `fault` stands for all, `same` are the others. `carried` counts lines that are heard another
    way; `groups` names whose lines are lost, most first.
    """

    fault: str
    href: str
    same: tuple[str, ...]
    must: int
    lost: int
    unknown: int
    carried: int
    groups: str
    grade: str
    back: str


@dataclass(frozen=True, kw_only=True)
class PairRow:
    """Any of the one side with any of the other silences these lines, and neither does alone."""

    one: tuple[str, ...]
    other: tuple[str, ...]
    href: str
    lines: tuple[Link, ...]
    more_lines: int


@dataclass(frozen=True, kw_only=True)
class CauseRow:
    """A cause of silence, and the minutes a show it costs on average."""

    cause: str
    href: str
    minutes: float
    lines: int


@dataclass(frozen=True, kw_only=True)
class DrillPage:
    """All faults tried, worst first; `harmless` counts those that no line feels.

    `assumed` says what the likelihoods rest on; "" where pairs were not worked out.
    `rescues_known`: rows say how faults are made good.
    """

    head: Head
    rows: tuple[FaultRow, ...]
    harmless: int
    tried: int
    pairs: tuple[PairRow, ...]
    more_pairs: int
    pairs_tried: int
    causes: tuple[CauseRow, ...]
    assumed: str
    rescues_known: bool
    gains: GainsView
    not_tried: tuple[str, ...]


def drill(worked: Worked) -> DrillPage:
    """Give the page of all faults that were tried."""
    return worked.made("drill", lambda: _page(worked))


def _page(worked: Worked) -> DrillPage:
    rows = fault_rows(worked)
    felt = tuple(r for r in rows if r.lost or r.unknown or r.carried)
    outcome = worked.outcome
    whole = outcome.drill if outcome else None
    pairs = _pairs(outcome) if outcome else ()
    return DrillPage(
        head=head(worked),
        rows=felt,
        harmless=sum(1 + len(r.same) for r in rows) - sum(1 + len(r.same) for r in felt),
        tried=whole.tried if whole else 0,
        pairs=pairs[:MOST_PAIRS],
        more_pairs=max(0, len(pairs) - MOST_PAIRS),
        pairs_tried=whole.pairs.tried if whole and whole.pairs else 0,
        causes=_causes(outcome) if outcome else (),
        assumed=_assumed(outcome) if outcome else "",
        rescues_known=bool(outcome and outcome.rescued),
        gains=gains(worked),
        not_tried=outcome.not_tried if outcome else (),
    )


def fault_rows(worked: Worked) -> tuple[FaultRow, ...]:
    """Give every fault that was tried, by harm: must lines lost, lines lost, unknown, the rest."""
    return worked.made("faults", lambda: _rows(worked, worked.outcome) if worked.outcome else ())


def _rows(worked: Worked, outcome: Outcome) -> tuple[FaultRow, ...]:
    graded = fault_grades(worked)
    alike: dict[tuple[int, str, str], list[Drilled]] = {}
    for drilled in outcome.singles:
        # Faults that strike the same share one list of verdicts; a dead port may want another cable
        # than a cut one.
        grade, back = graded.get(drilled.fault, ""), _back(outcome, drilled.fault)
        alike.setdefault((id(drilled.verdicts), grade, back), []).append(drilled)
    found = [_row(outcome, same, grade, back) for (_, grade, back), same in alike.items()]
    return tuple(sorted(found, key=lambda r: (-r.must, -r.lost, -r.unknown, -r.carried)))


def _back(outcome: Outcome, fault: Fault) -> str:
    rescue = outcome.rescued.of(fault) if outcome.rescued else None
    return back_words(rescue) if rescue and rescue.lost else ""


def _row(outcome: Outcome, alike: list[Drilled], grade: str, back: str) -> FaultRow:
    drilled = alike[0]
    touched = [v for v in drilled.verdicts if v.state is not State.UNTOUCHED]
    lost = [
        (line, verdict)
        for verdict in touched
        if verdict.state is State.LOST and (line := outcome.show.line(verdict.line)) is not None
    ]
    lines = [line for line, _ in lost]
    unknown = sum(v.state is State.UNKNOWN for v in touched)
    groups = Counter(line.group for line in lines if line.group)
    name, *same = (str(each.fault) for each in alike)
    return FaultRow(
        fault=name,
        href=room_href([name]),
        same=tuple(same),
        must=sum(_must(line, verdict) for line, verdict in lost),
        lost=len(lines),
        unknown=unknown,
        carried=len(touched) - unknown - len(lines),
        groups=", ".join(f"{group} {number}" for group, number in groups.most_common(6)),
        grade=grade,
        back=back,
    )


def _must(line: Line, verdict: Verdict) -> bool:
    """Say whether the act can't go on without a line at one of the ends where it is lost."""
    # The sweep tells lost ends by their names alone; those of a want end in a question mark.
    return needed(line) and any(not end.endswith("?") for end in verdict.lost)


def _pairs(outcome: Outcome) -> tuple[PairRow, ...]:
    whole = outcome.drill
    if whole is None or whole.pairs is None:
        return ()
    return tuple(
        PairRow(
            one=_names(group.one),
            other=_names(group.other),
            href=room_href([str(group.one[0]), str(group.other[0])]),
            lines=tuple(Link(text=str(k), href=line_href(k)) for k in group.lines[:MOST_LINES]),
            more_lines=max(0, len(group.lines) - MOST_LINES),
        )
        for group in pair_groups(whole.swept, whole.pairs)
    )


def _names(faults: Iterable[Fault]) -> tuple[str, ...]:
    return tuple(str(fault) for fault in faults)


def _causes(outcome: Outcome) -> tuple[CauseRow, ...]:
    odds = outcome.drill.odds if outcome.drill else None
    return tuple(
        CauseRow(
            cause=" and ".join(_names(cause.faults)),
            href=room_href(_names(cause.faults)),
            minutes=cause.minutes,
            lines=cause.lines,
        )
        for cause in (odds.causes[:MOST_CAUSES] if odds else ())
    )


def _assumed(outcome: Outcome) -> str:
    odds = outcome.drill.odds if outcome.drill else None
    if odds is None:
        return ""
    hours = count(round(odds.assumed.hours), "hour")
    return (
        f"On average {odds.minutes:.2f} minutes of a show of {hours} some line that must be heard "
        f"is silent, {odds.singles_minutes:.2f} of them by one fault. This rests on failure rates "
        "and repair times that are assumed, not measured: it tells what to mend first, and no more."
    )
