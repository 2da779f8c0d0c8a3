"""The cover: which revision this is, what stands on which sheet, what an alarm mutes."""

from __future__ import annotations

from lineproof.base.finding import Grade
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import cells, columns, title_of, unit_title


def cover_sheet(edition: Edition, others: tuple[Sheet, ...]) -> Sheet:
    """Give the cover of a book that holds the other sheets."""
    blocks: list[Block] = [_facts(edition), *_warnings(edition)]
    if edition.for_crew:
        blocks += [*_muted(edition), _signatures(edition)]
    return Sheet(
        name="cover",
        title=edition.show.title,
        for_whom=_reader(edition),
        # Last, because it is the longest.
        blocks=(*blocks, _contents(edition, others)),
    )


def _reader(edition: Edition) -> str:
    return edition.words(f"for.{edition.reader.kind.value}", name=edition.reader.name)


def _facts(edition: Edition) -> Table:
    words, issued = edition.words, edition.outcome.issued
    facts = [(words("fact.status"), edition.status), (words("fact.mark"), edition.outcome.mark)]
    if issued is not None:
        last = words("said.revision-by", revision=issued.revision, by=issued.by, at=issued.at)
        facts.append((words("fact.issued"), f"{last} {issued.note}".strip()))
    if edition.before is not None:
        against = words("said.revision", revision=edition.before.revision)
        facts.append((words("fact.marked-against"), against))
    rows = tuple(Row(cells=cells(*fact)) for fact in facts)
    return Table(name="cover", columns=columns(words, "fact", "value"), rows=rows)


def _warnings(edition: Edition) -> list[Text]:
    """Give what must be seen first: a draft is no plan to rig from, and stops that stand."""
    words, outcome = edition.words, edition.outcome
    said = []
    if outcome.is_draft:
        said.append(words("said.draft-warning"))
    stops = sum(1 for f in edition.findings if f.grade is Grade.STOP and not f.accepted)
    if stops and edition.for_crew:
        said.append(words("said.stops-stand", count=stops))
    drilled = sum(1 for f in edition.drilled if f.grade is Grade.STOP and not f.accepted)
    if drilled and edition.for_crew:
        said.append(words("drill.stops", count=drilled))
    if edition.for_crew and outcome.not_tried:
        tried = [words.told("not-tried", what) for what in outcome.not_tried]
        said.append(words("said.not-tried", what=", ".join(tried)))
    return [Text(paragraphs=tuple(said), loud=True)] if said else []


def _contents(edition: Edition, others: tuple[Sheet, ...]) -> Table:
    """Give who is told what: every sheet, and for whom it is made."""
    words = edition.words
    rows = tuple(
        Row(cells=(*cells(sheet.title, sheet.for_whom), Cell(page_of=sheet.name)))
        for sheet in others
    )
    head = columns(words, "what", "for", "sheet")
    return Table(name="contents", title=words("sheet.contents"), columns=head, rows=rows)


def _muted(edition: Edition) -> list[Block]:
    """Give what an alarm mutes and room for who tests that: nothing here plans a voice alarm."""
    words = edition.words
    muted = [unit for unit in edition.show.units.values() if unit.muted_by]
    if not muted:
        return [Text(title=words("sheet.muted"), paragraphs=(words("said.nothing-muted"),))]
    rows = tuple(
        Row(
            cells=(
                *cells(unit_title(unit), title_of(edition, unit.place), unit.muted_by),
                Cell(),
                Cell(),
            )
        )
        for unit in muted
    )
    head = columns(words, "unit", "place", "muted-by", "tested-by!", "time!")
    table = Table(name="muted", title=words("sheet.muted"), columns=head, rows=rows)
    return [table, Text(paragraphs=(words("caution.alarm"),))]


def _signatures(edition: Edition) -> Table:
    words = edition.words
    rows = tuple(
        Row(cells=(Cell(text=words(f"sign.{key}")), Cell(), Cell()))
        for key in ("planned", "rigged", "line-checked")
    )
    head = columns(words, "what", "name!", "time!")
    return Table(name="signatures", title=words("sheet.signatures"), columns=head, rows=rows)
