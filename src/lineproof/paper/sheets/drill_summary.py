"""The drill on one page: what was tried, the worst, how likely, what was not tried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lineproof.base.finding import Grade
from lineproof.drill.group import PairGroup
from lineproof.drill.odds import Odds
from lineproof.graph.faults import Fault
from lineproof.paper.fit import BODY_PT, shortened
from lineproof.paper.sheet import Block, Cell, Column, Look, Row, Sheet, Table, Text
from lineproof.paper.sheets.drill_facts import Facts, Toll
from lineproof.paper.sheets.drill_names import figure, minutes, some, thing
from lineproof.paper.sheets.parts import columns

#: Rows of each list. All rows are set in one row of type, so that one page holds any show.
_TOP = 10
_CAUSES = 5
_PAIRS = 5
#: In the workbook: causes of silence, the likeliest; names in one of its cells, which are limited.
_MOST_CAUSES = 1000
_MOST_NAMES = 400


def summary_sheet(facts: Facts, numbers: Mapping[Fault, int]) -> Sheet:
    """Give the page for who has to decide whether the show can go on like this."""
    words = facts.edition.words
    blocks: list[Block] = [_verdict(facts), _tried(facts)]
    tolls = sorted(facts.tolls, key=Toll.sort_key)
    if tolls:
        blocks.append(_top(facts, tolls, numbers))
    blocks += _likely(facts)
    blocks += _pairs(facts)
    blocks.append(Text(paragraphs=tuple(_not_tried(facts))))
    return Sheet(
        name="drill-summary",
        title=words("sheet.drill-summary"),
        for_whom=words("for.drill"),
        blocks=tuple(blocks),
    )


def _verdict(facts: Facts) -> Text:
    """Give how many findings of each grade stand, and how many were taken on."""
    words, found = facts.edition.words, facts.edition.outcome.drilled
    counts = {g: sum(1 for f in found if f.grade is g and not f.accepted) for g in Grade}
    stops = counts[Grade.STOP]
    first = words("drill.stops", count=stops) if stops else words("drill.no-stops")
    accepted = sum(1 for f in found if f.accepted)
    second = words(
        "drill.grades", risks=counts[Grade.RISK], notes=counts[Grade.NOTE], accepted=accepted
    )
    return Text(paragraphs=(first, second), loud=True)


def _tried(facts: Facts) -> Table:
    words, drill = facts.edition.words, facts.drill
    singles = sum(1 for lost in drill.swept.lost_alone if lost & drill.swept.must)
    hurting = sum(
        len(members)
        for members, lost in zip(drill.swept.classes.members, drill.swept.lost_alone, strict=True)
        if lost & drill.swept.must
    )
    classes = words("drill.classes", count=len(drill.swept.classes), hurting=singles)
    rows = [(words("drill.singles"), drill.tried, str(hurting), classes)]
    if drill.pairs is not None:
        groups = facts.groups
        count = sum(group.count for group in groups)
        rows.append(
            (
                words("drill.pairs"),
                drill.pairs.tried,
                f"{count:,}",
                words("drill.pair-groups", groups=len(groups)),
            )
        )
    if drill.triples is not None:
        more = drill.triples.more
        told = words("drill.drawn", least=_percent(more.least), most=_percent(more.most))
        rows.append((words("drill.threes"), more.draws, f"{_percent(more.share)} %", told))
    return Table(
        name="drill-tried",
        columns=columns(words, "tried", "how-many", "take", "told"),
        rows=tuple(
            Row(cells=(Cell(text=what), _count(n), Cell(text=take), Cell(text=told)))
            for what, n, take, told in rows
        ),
    )


def _count(n: int) -> Cell:
    return Cell(text=f"{n:,}", figure=float(n))


def _percent(share: float) -> str:
    return f"{100 * share:.2g}"


def _short(text: str, width_mm: float) -> str:
    return shortened(text, BODY_PT, width_mm)


# -- the worst -----------------------------------------------------------------------------------


def _top(facts: Facts, tolls: Sequence[Toll], numbers: Mapping[Fault, int]) -> Table:
    words = facts.edition.words
    rows = tuple(_toll_row(facts, toll, numbers) for toll in tolls[:_TOP])
    title = words("part.drill-top", count=sum(len(toll.faults) for toll in tolls))
    head = (
        *columns(words, "without", "grade", "what-happens"),
        *(
            Column(title=words(f"column.{key}"), look=Look.FIGURE)
            for key in ("lines-lost", "stays-lost", "back-in", "card")
        ),
    )
    return Table(name="drill-worst", columns=head, rows=rows, title=title)


def _toll_row(facts: Facts, toll: Toll, numbers: Mapping[Fault, int]) -> Row:
    edition = facts.edition
    named = some(edition, [thing(edition, fault) for fault in toll.faults], 2)
    back = minutes(edition, toll.rescue.seconds()) if len(toll.stays) < len(toll.lost) else "–"
    if back != "–" and toll.stay_lines == toll.lines:
        # Every line comes back at some of its ends only.
        back = edition.words("drill.partly", time=back)
    return Row(
        cells=(
            Cell(text=_short(named, 48.0)),
            Cell(text=facts.said(toll)),
            Cell(text=_short(facts.what(toll), 42.0)),
            _count(len(toll.lines)),
            _count(len(toll.stay_lines)),
            Cell(text=back),
            Cell(text=str(numbers.get(toll.faults[0], "–"))),
        )
    )


# -- how likely ----------------------------------------------------------------------------------


def _likely(facts: Facts) -> Iterator[Block]:
    words, odds = facts.edition.words, facts.drill.odds
    if odds is None:
        return
    hours = f"{odds.assumed.hours:g}"
    title = words("part.drill-odds", minutes=figure(odds.minutes), hours=hours)
    rows = tuple(_cause_row(facts, odds, n) for n in range(min(_CAUSES, len(odds.causes))))
    if rows:
        head = (
            *columns(words, "because"),
            Column(title=words("column.minutes"), look=Look.FIGURE),
            Column(title=words("column.once-in"), look=Look.FIGURE),
        )
        yield Table(name="drill-likely", columns=head, rows=rows, title=title)
    yield Text(paragraphs=(words("drill.assumed-rates"),))


def _cause_row(facts: Facts, odds: Odds, n: int) -> Row:
    edition, cause = facts.edition, odds.causes[n]
    join = f" {edition.words('drill.with')} "
    named = join.join(thing(edition, fault) for fault in cause.faults)
    once = edition.words("drill.shows", count=figure(1 / cause.chance)) if cause.chance else "–"
    return Row(
        cells=(
            Cell(text=_short(named, 110.0)),
            Cell(text=figure(cause.minutes), figure=cause.minutes),
            Cell(text=once),
        )
    )


def _pairs(facts: Facts) -> Iterator[Table]:
    """Give what two take together that neither takes alone, those with most lines first."""
    words = facts.edition.words
    groups = facts.groups
    rows = tuple(_pair_row(facts, group) for group in groups[:_PAIRS])
    if rows:
        lines = Column(title=words("column.lines-lost"), look=Look.FIGURE)
        head = (*columns(words, "one-of", "with-one-of"), lines)
        title = words("part.drill-pairs", count=len(groups))
        yield Table(name="drill-two", columns=head, rows=rows, title=title)


def _pair_row(facts: Facts, group: PairGroup) -> Row:
    edition = facts.edition
    sides = [
        _short(some(edition, [thing(edition, fault) for fault in side], 4), 72.0)
        for side in (group.one, group.other)
    ]
    return Row(cells=(*(Cell(text=side) for side in sides), _count(len(group.lines))))


def _not_tried(facts: Facts) -> Iterator[str]:
    words = facts.edition.words
    missing = len(facts.edition.show.lines) - len(facts.drill.swept.keys)
    if missing:
        yield words("drill.not-planned", count=missing)
    yield words("drill.not-tried")


# -- what is too long for paper ------------------------------------------------------------------


def causes_table(facts: Facts) -> Table:
    """Give the causes of silence, the likeliest first, with all names."""
    words, odds = facts.edition.words, facts.drill.odds
    rows = tuple(
        Row(
            cells=(
                Cell(text=" + ".join(map(str, cause.faults))),
                Cell(text=figure(cause.minutes), figure=cause.minutes),
                _count(cause.lines),
                Cell(text=figure(1 / cause.chance) if cause.chance else ""),
            )
        )
        for cause in (odds.causes[:_MOST_CAUSES] if odds is not None else ())
    )
    head = columns(words, "because", "minutes", "lines", "once-in-shows")
    return Table(name="drill-causes", columns=head, rows=rows)


def pairs_table(facts: Facts) -> Table:
    """Give all pairs that take a line which neither takes alone, in groups, with all names."""
    edition = facts.edition
    rows = tuple(
        Row(
            cells=(
                *(
                    Cell(text=some(edition, list(map(str, names)), _MOST_NAMES))
                    for names in (group.one, group.other)
                ),
                _count(len(group.lines)),
                Cell(text=some(edition, list(map(str, group.lines)), _MOST_NAMES)),
            )
        )
        for group in facts.groups
    )
    head = columns(edition.words, "one-of", "with-one-of", "lines-lost", "lines")
    return Table(name="drill-pairs", columns=head, rows=rows)
