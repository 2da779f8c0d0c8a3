"""The rescue cards: one for each fault that hurts a needed line, to keep beside the desk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lineproof.base.finding import Grade
from lineproof.base.names import natural
from lineproof.graph.faults import CIRCUIT, PLACE, SUPPLY, THINGS, Fault
from lineproof.paper.sheet import Block, Card, Cards, Cell, Column, Look, Row, Sheet, Table, Text
from lineproof.paper.sheets.drill_facts import Facts, Harm
from lineproof.paper.sheets.drill_names import (
    broken,
    ends_told,
    lines_told,
    lots,
    minutes,
    some,
    thing,
)
from lineproof.paper.sheets.parts import cells, columns
from lineproof.paper.sheets.rescue_moves import parts_of, step_told, steps_of
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.moves import Do, Move
from lineproof.show.model import Line, Need

#: Other faults with the same card that its head names; the index has them all.
_MOST_ALSO = 4
#: Steps on a card; what is longer stands in the tables, and the card says so.
_MOST_STEPS = 40
_INDEX_COLUMNS = 3
#: Rows of the index that stand on one page.
_INDEX_ROWS = 36


def card_sheet(facts: Facts, numbers: Mapping[Fault, int]) -> Sheet:
    """Give the index by fault, then the cards: first those with something to do."""
    words = facts.edition.words
    blocks: list[Block] = [Text(paragraphs=(words("drill.cards"), words("drill.assumed-pace")))]
    blocks += _index(facts, numbers)
    cards = tuple(_card(facts, harm, n) for n, harm in numbered(facts, numbers))
    if cards:
        blocks.append(Cards(cards=cards))
    return Sheet(
        name="drill-cards",
        title=words("sheet.drill-cards"),
        for_whom=words("for.rescue"),
        blocks=tuple(blocks),
        more=(_faults_table(facts, numbers), *_moves_table(facts, numbers)),
    )


def card_numbers(facts: Facts) -> Mapping[Fault, int]:
    """Give the number of the card by fault: those with moves first, faults without a card none.

    What takes a single line, and for which there is nothing to do, is only in the index.
    """
    ways = [harm for harm in facts.harms if harm.rescue.moves]
    lost = [harm for harm in facts.harms if not harm.rescue.moves and worth_a_card(facts, harm)]
    return {f: n for n, harm in enumerate([*ways, *lost], start=1) for f in harm.faults}


def worth_a_card(facts: Facts, harm: Harm) -> bool:
    """Say whether somebody should know beforehand that there is nothing to do."""
    safety = any(line.need is Need.SAFETY for line in facts.lines(harm.lost))
    return safety or len(harm.lines) > 1 or harm.grade in (Grade.STOP, Grade.RISK)


def numbered(facts: Facts, numbers: Mapping[Fault, int]) -> list[tuple[int, Harm]]:
    """Give what has a card with its number, by number."""
    found = [(numbers[h.faults[0]], h) for h in facts.harms if h.faults[0] in numbers]
    return sorted(found, key=lambda each: each[0])


# -- the index -----------------------------------------------------------------------------------


def _index(facts: Facts, numbers: Mapping[Fault, int]) -> Iterator[Table]:
    """Give which card to take for each fault, columns read from top to bottom."""
    words = facts.edition.words
    faults = [fault for harm in facts.harms for fault in harm.faults]
    faults.sort(key=lambda fault: (THINGS.index(fault.what), natural(fault.name)))
    told = [(thing(facts.edition, f, short=False), str(numbers.get(f, "–"))) for f in faults]
    head = (
        Column(title=words("column.without"), least_mm=34.0),
        Column(title=words("column.card"), look=Look.FIGURE),
    )
    for some_told in lots(told, _INDEX_COLUMNS * _INDEX_ROWS):
        high = -(-len(some_told) // _INDEX_COLUMNS)
        # What is missing in the last column.
        full = [*some_told, *[("", "")] * (high * _INDEX_COLUMNS - len(some_told))]
        rows = tuple(
            Row(
                cells=cells(
                    *(text for column in range(_INDEX_COLUMNS) for text in full[n + column * high])
                )
            )
            for n in range(high)
        )
        yield Table(name="drill-index", columns=head * _INDEX_COLUMNS, rows=rows)


# -- one card ------------------------------------------------------------------------------------


def _card(facts: Facts, harm: Harm, n: int) -> Card:
    edition, words = facts.edition, facts.edition.words
    others = [thing(edition, fault) for fault in harm.faults[1:]]
    also = words("drill.also", names=some(edition, others, _MOST_ALSO)) if others else ""
    moves = harm.rescue.moves
    shown = _shown(moves)
    parts = parts_of(edition, shown)
    return Card(
        number=n,
        title=broken(edition, harm.faults[0]),
        also=also,
        facts=tuple(_facts(facts, harm)),
        parts=parts,
        cautions=tuple(_cautions(facts, harm, cut=len(shown) < len(moves))),
    )


def _shown(moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """Give the moves that a card has room for, in their order."""
    kept = {id(move) for step in steps_of(moves)[:_MOST_STEPS] for move in step.moves}
    return tuple(move for move in moves if id(move) in kept)


def _facts(facts: Facts, harm: Harm) -> Iterator[tuple[str, str]]:
    edition, words = facts.edition, facts.edition.words
    lost, stays = facts.lines(harm.lost), facts.lines(harm.stays)
    yield words("fact.lost"), _counted(facts, lost, harm.lost)
    if not harm.rescue.moves:
        yield words("fact.back"), words("drill.no-way-back")
        return
    time = minutes(edition, harm.rescue.seconds())
    if not stays:
        yield words("fact.back"), words("drill.all-back", time=time)
        return
    ends = len(harm.lost) - len(harm.stays)
    yield words("fact.back"), words("drill.some-back", ends=ends, of=len(harm.lost), time=time)
    yield words("fact.stays"), _counted(facts, stays, harm.stays)


def _counted(facts: Facts, lines: Sequence[Line], ends: Sequence[EndAt]) -> str:
    edition = facts.edition
    key = "drill.line" if len(lines) == 1 else "drill.lines"
    told = lines_told(edition, facts.lines(ends))
    at = ends_told(edition, (facts.arrival(end) for end in ends))
    return edition.words(key, count=len(lines), lines=told, ends=at)


def _cautions(facts: Facts, harm: Harm, *, cut: bool) -> Iterator[str]:
    words, moves = facts.edition.words, harm.rescue.moves
    if any(line.need is Need.SAFETY for line in facts.lines(harm.lost)):
        yield words("card.safety")
    if any(fault.what in (CIRCUIT, SUPPLY, PLACE) for fault in harm.faults):
        yield words("card.mains")
    if any(move.do is Do.PLUG for move in moves):
        yield words("card.mute")
    if any(move.do.by_hand for move in moves):
        yield words("card.height")
    if any(move.do is Do.LAY and "copper" not in move.what for move in moves):
        yield words("card.fibre")
    if cut:
        yield words("card.cut", count=_MOST_STEPS)


# -- what is too long for paper ------------------------------------------------------------------


def _faults_table(facts: Facts, numbers: Mapping[Fault, int]) -> Table:
    """Give one row for each fault: what it takes, what comes back, how soon."""
    rows = tuple(
        Row(
            cells=(
                *cells(str(fault), str(numbers.get(fault, ""))),
                *cells(facts.said(harm), facts.what(harm)),
                *(Cell(text=f"{n:g}", figure=float(n)) for n in _figures(harm)),
            )
        )
        for harm in facts.harms
        for fault in harm.faults
    )
    head = columns(
        facts.edition.words,
        *("fault-name", "card", "grade", "what-happens", "lines-lost", "ends-lost", "ends-back"),
        *("stays-lost", "seconds", "walk", "moves"),
    )
    return Table(name="drill-cards", columns=head, rows=rows)


def _figures(harm: Harm) -> tuple[float, ...]:
    """Give lines lost, ends lost, ends back, lines that stay lost, seconds, metres, moves."""
    lost, stays, rescue = len(harm.lost), len(harm.stays), harm.rescue
    lines = (len(harm.lines), lost, lost - stays, len(harm.stay_lines))
    return (*lines, round(rescue.seconds()), rescue.walk_m, len(rescue.moves))


def _moves_table(facts: Facts, numbers: Mapping[Fault, int]) -> list[Table]:
    """Give every move of every card by itself, in the order in which to do them."""
    edition = facts.edition
    rows = []
    for n, harm in numbered(facts, numbers):
        for at, move in enumerate(harm.rescue.moves, start=1):
            (step,) = steps_of([move])
            keys = ", ".join(map(str, move.lines))
            told = step_told(edition, step)
            rows.append(Row(cells=cells(str(n), str(at), move.place, move.unit, told, keys)))
    head = columns(edition.words, "card", "step", "place", "unit", "move", "lines")
    return [Table(name="drill-moves", columns=head, rows=tuple(rows))] if rows else []
