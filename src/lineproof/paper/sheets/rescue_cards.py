"""The rescue cards: one for each fault that hurts a needed line, to keep beside the desk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import ceil

from lineproof.base.finding import Grade
from lineproof.base.names import natural
from lineproof.graph.faults import CIRCUIT, PLACE, SUPPLY, THINGS, Fault
from lineproof.paper.fit import BODY_PT
from lineproof.paper.fonts import printable, regular
from lineproof.paper.sheet import Block, Card, Cards, Cell, Column, Look, Row, Sheet, Table, Text
from lineproof.paper.sheets.drill_facts import Facts, Toll, lines_of
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
from lineproof.paper.sheets.rescue_moves import parts_of, step_told
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.steps import Step, steps_of
from lineproof.show.model import Line, Need

#: Other faults with the same card that its head names; the index has them all.
_MOST_ALSO = 4
#: What a card of a whole page holds of steps in its smallest type, in millimetres: their height in
#: all, and the width, the height of a row, of the gap after a step, and of a place's heading. What
#: has no room stands in the workbook, and the card says so.
_ROOM_MM = 165.0
_WIDE_MM = 160.0
_ROW_MM = 4.6
_STEP_MM = 1.9
_HEAD_MM = 9.0
_INDEX_COLUMNS = 3
#: Rows of the index that stand on one page.
_INDEX_ROWS = 36


def card_sheet(facts: Facts, numbers: Mapping[Fault, int]) -> Sheet:
    """Give the index by fault, then the cards: first those with something to do."""
    words = facts.edition.words
    blocks: list[Block] = [Text(paragraphs=(words("drill.cards"), words("drill.assumed-pace")))]
    blocks += _index(facts, numbers)
    cards = tuple(_card(facts, toll, n) for n, toll in numbered(facts, numbers))
    if cards:
        blocks.append(Cards(cards=cards))
    return Sheet(
        name="drill-cards",
        title=words("sheet.drill-cards"),
        for_whom=words("for.rescue"),
        blocks=tuple(blocks),
    )


def card_numbers(facts: Facts) -> Mapping[Fault, int]:
    """Give the number of the card by fault: those with moves first, faults without a card none.

    What takes a single line, and for which there is nothing to do, is only in the index.
    """
    ways = [toll for toll in facts.tolls if toll.rescue.moves]
    lost = [toll for toll in facts.tolls if not toll.rescue.moves and worth_a_card(facts, toll)]
    return {f: n for n, toll in enumerate([*ways, *lost], start=1) for f in toll.faults}


def worth_a_card(facts: Facts, toll: Toll) -> bool:
    """Say whether somebody should know beforehand that there is nothing to do."""
    safety = any(line.need is Need.SAFETY for line in facts.lines(toll.lost))
    return safety or len(toll.lines) > 1 or toll.grade in (Grade.STOP, Grade.RISK)


def numbered(facts: Facts, numbers: Mapping[Fault, int]) -> list[tuple[int, Toll]]:
    """Give what has a card with its number, by number."""
    found = [(numbers[t.faults[0]], t) for t in facts.tolls if t.faults[0] in numbers]
    return sorted(found, key=lambda each: each[0])


# -- the index -----------------------------------------------------------------------------------


def _index(facts: Facts, numbers: Mapping[Fault, int]) -> Iterator[Table]:
    """Give which card to take for each fault, columns read from top to bottom."""
    words = facts.edition.words
    faults = [fault for toll in facts.tolls for fault in toll.faults]
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


def _card(facts: Facts, toll: Toll, n: int) -> Card:
    edition, words = facts.edition, facts.edition.words
    others = [thing(edition, fault) for fault in toll.faults[1:]]
    also = words("drill.also", names=some(edition, others, _MOST_ALSO)) if others else ""
    moves = toll.rescue.moves
    shown = _shown(facts, moves)
    parts = parts_of(edition, shown)
    return Card(
        number=n,
        title=broken(edition, toll.faults[0]),
        also=also,
        facts=tuple(_facts(facts, toll)),
        parts=parts,
        cautions=tuple(_cautions(facts, toll, cut=len(shown) < len(moves))),
    )


def _shown(facts: Facts, moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """Give the moves that a card has room for, in their order: none of it goes on elsewhere."""
    kept: list[Step] = []
    left_mm = _ROOM_MM
    places: set[str] = set()
    for step in steps_of(moves):
        place = step.first.place if step.first.do.by_hand else ""
        wide = regular().width_mm(printable(step_told(facts.edition, step)), BODY_PT)
        left_mm -= _STEP_MM + _ROW_MM * ceil(wide / _WIDE_MM)
        left_mm -= 0.0 if place in places else _HEAD_MM
        places.add(place)
        if left_mm < 0:
            break
        kept.append(step)
    chosen = {id(move) for step in kept for move in step.moves}
    return tuple(move for move in moves if id(move) in chosen)


def _facts(facts: Facts, toll: Toll) -> Iterator[tuple[str, str]]:
    edition, words = facts.edition, facts.edition.words
    lost, stays = facts.lines(toll.lost), facts.lines(toll.stays)
    told = _counted(facts, lost, toll.lost)
    others = len(lines_of(toll.rescue.lost)) - len(lost)
    if others:
        told = words("drill.besides", lines=told, count=others)
    yield words("fact.lost"), told
    if not toll.rescue.moves:
        yield words("fact.back"), words("drill.no-way-back")
        return
    time = minutes(edition, toll.rescue.seconds())
    if not stays:
        yield words("fact.back"), words("drill.all-back", time=time)
        return
    ends = len(toll.lost) - len(toll.stays)
    if not ends:
        # The moves bring back only what the act can do without.
        yield words("fact.back"), words("drill.only-wanted")
        return
    yield words("fact.back"), words("drill.some-back", ends=ends, of=len(toll.lost), time=time)
    yield words("fact.stays"), _counted(facts, stays, toll.stays)


def _counted(facts: Facts, lines: Sequence[Line], ends: Sequence[EndAt]) -> str:
    edition = facts.edition
    key = "drill.line" if len(lines) == 1 else "drill.lines"
    told = lines_told(edition, facts.lines(ends))
    at = ends_told(edition, (facts.arrival(end) for end in ends))
    return edition.words(key, count=len(lines), lines=told, ends=at)


def _cautions(facts: Facts, toll: Toll, *, cut: bool) -> Iterator[str]:
    words, moves = facts.edition.words, toll.rescue.moves
    if any(line.need is Need.SAFETY for line in facts.lines(toll.lost)):
        yield words("card.safety")
    if any(fault.what in (CIRCUIT, SUPPLY, PLACE) for fault in toll.faults):
        yield words("card.mains")
    if any(move.do is Do.PLUG for move in moves):
        yield words("card.mute")
    if any(move.do.by_hand for move in moves):
        yield words("card.height")
    if any(move.do is Do.LAY and "copper" not in move.what for move in moves):
        yield words("card.fibre")
    if moves and not toll.rescue.proven:
        yield words("card.unproven")
    if cut:
        yield words("card.cut")


# -- what is too long for paper ------------------------------------------------------------------


def faults_table(facts: Facts, numbers: Mapping[Fault, int]) -> Table:
    """Give one row for each fault: what it takes, what comes back, how soon."""
    rows = tuple(
        Row(
            cells=(
                *cells(str(fault), str(numbers.get(fault, ""))),
                *cells(facts.said(toll), facts.what(toll)),
                *(Cell(text=f"{n:g}", figure=float(n)) for n in _figures(toll)),
            )
        )
        for toll in facts.tolls
        for fault in toll.faults
    )
    head = columns(
        facts.edition.words,
        *("fault-name", "card", "grade", "what-happens", "lines-lost", "ends-lost", "ends-back"),
        *("stays-lost", "seconds", "walk", "moves"),
    )
    return Table(name="drill-cards", columns=head, rows=rows)


def _figures(toll: Toll) -> tuple[float, ...]:
    """Give lines lost, ends lost, ends back, lines that stay lost, seconds, metres, moves."""
    lost, stays, rescue = len(toll.lost), len(toll.stays), toll.rescue
    lines = (len(toll.lines), lost, lost - stays, len(toll.stay_lines))
    return (*lines, round(rescue.seconds()), rescue.walk_m, len(rescue.moves))


def moves_table(facts: Facts, numbers: Mapping[Fault, int]) -> Table:
    """Give every move of every card by itself, in the order in which to do them."""
    edition = facts.edition
    rows = []
    for n, toll in numbered(facts, numbers):
        for at, move in enumerate(toll.rescue.moves, start=1):
            (step,) = steps_of([move])
            keys = ", ".join(map(str, move.lines))
            told = step_told(edition, step)
            rows.append(Row(cells=cells(str(n), str(at), move.place, move.unit, told, keys)))
    head = columns(edition.words, "card", "step", "place", "unit", "move", "lines")
    return Table(name="drill-moves", columns=head, rows=tuple(rows))
