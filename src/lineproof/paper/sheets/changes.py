"""Changeovers between acts, and what changed since the last revision."""

from __future__ import annotations

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.paper.edition import Edition, title_of_act
from lineproof.paper.sheet import Block, Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.parts import (
    TICK,
    cells,
    columns,
    spots_text,
    title_of,
)
from lineproof.plan.model import LinePlan
from lineproof.reckon.changeover import Changeover, Hold, Move, changeovers
from lineproof.reckon.order import walking_order


def changeover_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give a sheet for every change of acts on a stage: only what moves, in walking order."""
    found = changeovers(edition.show, edition.outcome.plan)
    return tuple(_changeover(edition, change) for change in found)


def _changeover(edition: Edition, change: Changeover) -> Sheet:
    words = edition.words
    after, before = title_of_act(change.after), title_of_act(change.before)
    walk = {place: n for n, place in enumerate(walking_order(edition.show))}
    units = edition.show.units
    seen = [move for move in change.moves if edition.line(move.now.line.key) is not None]
    seen.sort(key=lambda m: (walk.get(units[m.spot.unit].place, 0), m.spot.sort_key()))
    key = "said.built-before" if change.after.build == "before" else "said.built-between"
    blocks: list[Block] = [Text(paragraphs=(words(key, before=before, after=after),))]
    plugs = [move for move in seen if move.spot.side is not Side.STRIP]
    strips = [move for move in seen if move.spot.side is Side.STRIP]
    if plugs:
        blocks.append(_moves(edition, change, "changeover", plugs))
    else:
        blocks.append(Text(paragraphs=(words("said.nothing-moves"),)))
    if strips:
        # No hand of the crew's: the mixer's own settings for the act do it.
        blocks.append(_moves(edition, change, "changeover-strips", strips))
    return Sheet(
        name=f"changeover-{change.after.name}",
        title=words("sheet.changeover", before=before, after=after),
        for_whom=words("for.walking"),
        blocks=tuple(blocks),
        landscape=True,
    )


def _moves(edition: Edition, change: Changeover, name: str, moves: list[Move]) -> Table:
    plugs = name == "changeover"
    words = edition.words
    rows = tuple((_plug_row if plugs else _strip_row)(edition, move) for move in moves)
    mute, phantom = (("mute",), ("phantom",)) if plugs else ((), ())
    head = columns(words, *mute, "spot", "off", "name", "comes-from", *phantom, "done")
    title = "" if plugs else words("part.changeover-strips")
    return Table(name=name, of=change.after.name, title=title, columns=head, rows=rows)


def _strip_row(edition: Edition, move: Move) -> Row:
    line = move.now.line
    texts = (str(move.spot), _off(edition, move.was), f"{line.key.number} {line.title}")
    return Row(cells=(*cells(*texts, move.now.other), TICK))


def _plug_row(edition: Edition, move: Move) -> Row:
    words = edition.words
    line = move.now.line
    return Row(
        cells=(
            Cell(text=words("said.mute-first") if move.mute_first else ""),
            *cells(str(move.spot), _off(edition, move.was), f"{line.key.number} {line.title}"),
            *cells(title_of(edition, move.now.other), _phantom(edition, move)),
            TICK,
        )
    )


def _off(edition: Edition, was: Hold | None) -> str:
    """Give what is taken off, if this reader may know the line."""
    if was is None:
        return ""
    line = was.line
    if edition.line(line.key) is None:
        return edition.words("said.other-line")
    return f"{line.key.number} {line.title}"


def _phantom(edition: Edition, move: Move) -> str:
    if move.phantom_changes:
        return edition.words("said.phantom-on" if move.now.phantom else "said.phantom-off")
    return "48 V" if move.now.phantom else ""


# -- since the last revision -------------------------------------------------------------------


def change_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give what moved since the revision that rows are marked against, and what reads otherwise."""
    if edition.before is None or not edition.for_crew:
        return ()
    words = edition.words
    blocks: list[Block] = []
    if rows := _moved(edition):
        head = columns(words, "line", "name", "was-on", "is-on")
        title = words("sheet.moved")
        blocks.append(Table(name="moved", title=title, columns=head, rows=rows))
    if edition.outcome.changes:
        texts = tuple(Row(cells=cells(str(change))) for change in edition.outcome.changes)
        head, title = columns(words, "in-the-show"), words("sheet.in-the-show")
        blocks.append(Table(name="reworded", title=title, columns=head, rows=texts))
    if not blocks:
        blocks.append(Text(paragraphs=(words("said.nothing-changed"),)))
    title = words("sheet.changes", revision=edition.before.revision)
    sheet = Sheet(name="changes", title=title, for_whom=words("for.crew"), blocks=tuple(blocks))
    return (sheet,)


def _moved(edition: Edition) -> tuple[Row, ...]:
    assert edition.before is not None
    then = {line.key.same(): line for line in edition.before.plan.lines}
    now = {line.key.same(): line for line in edition.outcome.plan.lines}
    keys: dict[tuple[str, str], LineKey] = {k: line.key for k, line in {**then, **now}.items()}
    rows = []
    for same in sorted(keys, key=lambda k: keys[k].sort_key()):
        old, new = _spots(then.get(same)), _spots(now.get(same))
        if set(old) != set(new):
            rows.append(_moved_row(edition, then.get(same), now.get(same)))
    return tuple(rows)


def _spots(decided: LinePlan | None) -> tuple[Spot, ...]:
    return tuple(decided.spots()) if decided else ()


def _moved_row(edition: Edition, old: LinePlan | None, new: LinePlan | None) -> Row:
    either = new or old
    assert either is not None
    line = edition.line(either.key)
    was, now = _spots(old), _spots(new)
    words = edition.words
    change = "change.new" if old is None else "change.gone" if new is None else "change.moved"
    gone = spots_text(spot for spot in was if spot not in now)
    come = spots_text(spot for spot in now if spot not in was)
    title = line.title if line else either.name
    return Row(cells=cells(str(either.key), title, gone, come), change=words(change))
