"""Changeovers between acts, and what changed since the last revision."""

from __future__ import annotations

from lineproof.base.spot import LineKey, Spot
from lineproof.paper.edition import Edition, title_of_act
from lineproof.paper.sheet import Block, Row, Sheet, Table, Text
from lineproof.paper.sheets.net_changes import network_changes
from lineproof.paper.sheets.parts import (
    TICK,
    cells,
    columns,
    spots_text,
    title_of,
    unit_title,
)
from lineproof.paper.translate import Words
from lineproof.plan.model import LinePlan
from lineproof.reckon.changeover import Changeover, How, Move, changeovers
from lineproof.show.changes import Change
from lineproof.show.model import Line


def changeover_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give a sheet for every change of acts on a stage: only what moves, in walking order."""
    found = changeovers(edition.show, edition.outcome.plan)
    return tuple(_changeover(edition, change) for change in found)


#: The tables of a changeover: what by hand, what beforehand, what the acts' own settings do.
_PARTS = ("changeover", "changeover-fresh", "changeover-routes", "changeover-strips")


def _part_of(move: Move) -> str:
    inside = {How.ROUTE: "changeover-routes", How.STRIP: "changeover-strips"}
    return "changeover-fresh" if move.fresh else inside.get(move.how, "changeover")


def _changeover(edition: Edition, change: Changeover) -> Sheet:
    words = edition.words
    after, before = title_of_act(change.after), title_of_act(change.before)
    key = "said.built-before" if change.after.build == "before" else "said.built-between"
    said = (words(key, before=before, after=after), _counted(edition, change))
    blocks: list[Block] = [Text(paragraphs=said)]
    for name in _PARTS:
        moves = [move for move in change.moves if _part_of(move) == name]
        if moves:
            blocks.append(_moves(edition, change, name, moves))
    return Sheet(
        name=f"changeover-{change.after.name}",
        title=words("sheet.changeover", before=before, after=after),
        for_whom=words("for.walking"),
        blocks=tuple(blocks),
        landscape=True,
    )


def _counted(edition: Edition, change: Changeover) -> str:
    if not change.moves:
        return edition.words("said.nothing-moves")
    return edition.words("said.plugs-move", count=change.count)


def _moves(edition: Edition, change: Changeover, name: str, moves: list[Move]) -> Table:
    words = edition.words
    by_hand = name in ("changeover", "changeover-fresh")
    rows = tuple((_plug_row if by_hand else _fed_row)(edition, move) for move in moves)
    mute, phantom = (("mute",), ("phantom",)) if by_hand else ((), ())
    head = columns(words, *mute, "spot", "off", "name", "comes-from", *phantom, "done")
    title = "" if name == "changeover" else words(f"part.{name}")
    return Table(name=name, of=change.after.name, title=title, columns=head, rows=rows)


def _fed_row(edition: Edition, move: Move) -> Row:
    texts = (move.at, _off(edition, move), _line_text(move.now.line), move.now.other)
    return Row(cells=(*cells(*texts), TICK))


def _plug_row(edition: Edition, move: Move) -> Row:
    words = edition.words
    mute = words("said.mute-first") if move.mute_first else ""
    now, other = _line_text(move.now.line), title_of(edition, move.now.other)
    if move.how is How.MULTIPIN:
        drop = edition.show.units[move.on]
        now = words("said.multipin", unit=unit_title(drop))
        other = title_of(edition, drop.place)
    return Row(
        cells=(*cells(mute, move.at, _off(edition, move), now, other, _48(edition, move)), TICK)
    )


def _line_text(line: Line) -> str:
    return f"{line.key.number} {line.title}"


def _off(edition: Edition, move: Move) -> str:
    """Give what is taken off, if this reader may know the line; nothing where the plug stays."""
    if move.off:
        return edition.words("said.multipin", unit=title_of(edition, move.off))
    if move.was is None or move.how is How.PHANTOM:
        return ""
    line = move.was.line
    if edition.line(line.key) is None:
        return edition.words("said.other-line")
    return _line_text(line)


def _48(edition: Edition, move: Move) -> str:
    if move.phantom is not None:
        return edition.words("said.phantom-on" if move.phantom else "said.phantom-off")
    return "48 V" if move.now.phantom and move.how is How.PLUG else ""


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
    blocks += network_changes(edition)
    if edition.outcome.changes:
        texts = tuple(Row(cells=cells(_told(words, it))) for it in edition.outcome.changes)
        head, title = columns(words, "in-the-show"), words("sheet.in-the-show")
        blocks.append(Table(name="reworded", title=title, columns=head, rows=texts))
    if not blocks:
        blocks.append(Text(paragraphs=(words("said.nothing-changed"),)))
    title = words("sheet.changes", revision=edition.before.revision)
    sheet = Sheet(name="changes", title=title, for_whom=words("for.crew"), blocks=tuple(blocks))
    return (sheet,)


def _told(words: Words, change: Change) -> str:
    """Give a change in the papers' language; names stay as they are."""
    what, _, name = change.what.partition(" ")
    thing = "the-show" if change.what == "the show" else what
    told = words(f"thing.{thing}", name=name)
    if change.how == "renamed":
        return words("how.renamed", what=told, keys=", ".join(change.keys))
    keys = ", ".join(words.told("key", key.replace("_", "-")) for key in change.keys)
    how = "changed-whole" if change.how == "changed" and not keys else change.how
    return words(f"how.{how}", what=told, keys=keys)


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
