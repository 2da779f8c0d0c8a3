"""One slip in a table that makes many mistakes is told once, as what it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.where import Where
from lineproof.show import rules
from lineproof.show import table_rules as slips
from lineproof.show.table_model import Row, Table
from lineproof.show.table_remarks import became_dates, too_long

_QUOTE = 'put the cell with the separator in it into quotes, as in "Keys, left"'


def explained(findings: list[Finding], tables: Iterable[Table]) -> list[Finding]:
    """Give the findings with what a slip has caused told as that slip.

    Such a slip is a separator in a cell, which moves all the cells after it, a number that
    became a date, or a misspelt heading of a column that every row needs.
    """
    for table in tables:
        findings = _dates_told(_long_rows_told(findings, table), table)
    at_headings = {f.where[0] for f in findings if f.grade is Grade.STOP and f.where}
    unknown = slips.UNKNOWN_HEADING.name
    return [f for f in findings if f.rule != unknown or f.where[0] not in at_headings]


def _row(where: Where) -> tuple[str, str, int]:
    return (where.file, where.sheet, where.row)


def _long_rows_told(findings: list[Finding], table: Table) -> list[Finding]:
    """Tell what is wrong in a row with too many cells as just that."""
    long = {_row(row.where): row for row in table.rows if row.too_long and not row.crossed_out}
    if not long:
        return findings
    caused = [f for f in findings if f.where and _row(f.where[0]) in long and _moved(f)]
    stopped = {_row(f.where[0]) for f in caused if f.grade is Grade.STOP}
    dropped = {id(f) for f in caused if _row(f.where[0]) in stopped}
    rule = slips.ROW_TOO_LONG
    kept = [f for f in findings if id(f) not in dropped and not _is_risk_in(f, rule.name, table)]
    kept += too_long([row.where for place, row in long.items() if place not in stopped])
    return [*kept, *(_too_long(long[place]) for place in long if place in stopped)]


def _moved(finding: Finding) -> bool:
    """Say whether a separator further left can have caused it; the number stands first."""
    told = (Grade.STOP, rules.UNKNOWN_SOURCE.name)
    return finding.where[0].heading != "number" and (finding.grade in told or finding.rule in told)


def _too_long(row: Row) -> Finding:
    number = row.text("number") or row.text("name")
    of = f" ({number})" if number else ""
    what = (
        f"row {row.where.row}{of} has more cells than there are headings, and what stands in them "
        "can't be read: a separator seems to stand inside a cell"
    )
    rule = slips.ROW_TOO_LONG
    return rule.finding(what=what, where=row.where, do=_QUOTE, grade=Grade.STOP)


def _is_risk_in(finding: Finding, rule: str, table: Table) -> bool:
    there = finding.where and finding.where[0]
    return bool(
        there
        and (finding.rule, finding.grade) == (rule, Grade.RISK)
        and (there.file, there.sheet) == (table.file, table.sheet)
    )


def _dates_told(findings: list[Finding], table: Table) -> list[Finding]:
    """Tell a number that can't be read because it became a date as just that."""
    cells = {row.cells[name].where: row for row in table.rows for name in row.dates}
    if not cells:
        return findings
    wrong = rules.WRONG_VALUE.name
    stopped = {f.where[0] for f in findings if f.rule == wrong and f.where[0] in cells}
    if not stopped:
        return findings
    rule = slips.NUMBER_BECAME_DATE
    kept = [
        f
        for f in findings
        if not (f.rule == wrong and f.where[0] in stopped) and not _is_risk_in(f, rule.name, table)
    ]
    for name in ("number", "pair"):
        left = [w for w in cells if w.heading == name and w not in stopped]
        kept += became_dates(name, [cells[w].where for w in left])
    return [*kept, *_dates(cells, stopped)]


def _dates(cells: dict[Where, Row], stopped: set[Where]) -> Iterator[Finding]:
    for where in (where for where in cells if where in stopped):
        text = cells[where].text(where.heading)
        what = f"the `{where.heading}` {text!r} is a date, and no line's number"
        yield slips.NUMBER_BECAME_DATE.finding(what=what, where=where, grade=Grade.STOP)
