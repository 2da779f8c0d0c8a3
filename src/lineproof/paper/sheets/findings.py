"""What was found wrong or risky, what was accepted by whom, and the cautions."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.base.finding import Finding
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import cells, columns
from lineproof.paper.translate import OWN

CAUTIONS = ("mains", "rigging", "hearing", "fibre", "alarm", "test-signals")


def finding_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the findings that stand, worst first, then those that somebody took on."""
    words = edition.words
    standing = [f for f in edition.findings if not f.accepted]
    drilled = [f for f in edition.drilled if not f.accepted]
    accepted = [f for f in (*edition.findings, *edition.drilled) if f.accepted]
    blocks: list[Block] = []
    if (standing or drilled or accepted) and words.language != OWN:
        blocks.append(Text(paragraphs=(words("said.in-english"),)))
    if standing:
        blocks.append(_table(edition, "findings", standing))
    else:
        blocks.append(Text(paragraphs=(words("said.no-findings"),)))
    if drilled:
        blocks.append(_table(edition, "drill-findings", drilled))
    if accepted:
        blocks.append(_table(edition, "accepted", accepted))
    sheet = Sheet(
        name="findings",
        title=words("sheet.findings"),
        for_whom=words("for.planner"),
        blocks=tuple(blocks),
        landscape=True,
    )
    return (sheet,)


def _table(edition: Edition, name: str, findings: Iterable[Finding]) -> Table:
    words = edition.words
    accepted = name == "accepted"
    rows = tuple(_row(edition, finding, accepted=accepted) for finding in findings)
    last = "accepted" if accepted else "do"
    head = columns(words, "grade", "finding", "where", last, "rule")
    return Table(name=name, title=words(f"part.{name}"), columns=head, rows=rows)


def _row(edition: Edition, finding: Finding, *, accepted: bool) -> Row:
    where = "; ".join(str(w) for w in finding.where)
    grade = edition.words(f"grade.{finding.grade.value}")
    last = finding.accepted if accepted else finding.do
    return Row(cells=cells(grade, finding.what, where, last, finding.rule))


def caution_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give what paper can't decide: local codes and licensed people do."""
    words = edition.words
    paragraphs = tuple(words(f"caution.{key}") for key in CAUTIONS)
    sheet = Sheet(
        name="cautions",
        title=words("sheet.cautions"),
        for_whom=words("for.everybody"),
        blocks=(Text(paragraphs=paragraphs, loud=True),),
    )
    return (sheet,)
