"""Which network cable goes from where to where, and what is pulled through every duct."""

from __future__ import annotations

from collections import Counter

from lineproof.base.names import natural
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.net_changes import change_of
from lineproof.paper.sheets.net_parts import (
    duct_title,
    ducts_text,
    medium_text,
    metres,
    net_title,
    place_of,
    port_text,
    run_title,
    runs_in_order,
    stock_text,
)
from lineproof.paper.sheets.parts import TICK, cells, columns, number, title_of
from lineproof.plan.network import PlannedRun

FIBRE = frozenset(["multi-mode", "single-mode"])


def cabling_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the cable schedule and the pull list by duct, where runs are planned."""
    runs = runs_in_order(edition)
    if not runs:
        return ()
    caution = _caution(edition, runs)
    parts = (
        ("network-cables", [_stores(edition, runs), *_schedule(edition, runs)], "for.stores"),
        ("pull-list", list(_pulls(edition, runs)), "for.pull"),
    )
    return tuple(
        Sheet(
            name=name,
            title=edition.words(f"sheet.{name}"),
            for_whom=edition.words(who),
            blocks=(*caution, *tables),
            landscape=True,
        )
        for name, tables, who in parts
    )


def _caution(edition: Edition, runs: tuple[PlannedRun, ...]) -> list[Block]:
    """Give the caution about light where a run is of fibre."""
    if not any(run.medium in FIBRE for run in runs):
        return []
    return [Text(paragraphs=(edition.words("caution.fibre"),), loud=True)]


def _stores(edition: Edition, runs: tuple[PlannedRun, ...]) -> Table:
    """Give how many cables of each sort are wanted, longest first."""
    words = edition.words
    sorts = Counter(
        (medium_text(words, run.medium), stock_text(edition, run), _brought(edition, run))
        for run in runs
    )
    order = sorted(sorts, key=lambda it: (it[0], -(it[2].figure or 0), it[1]))
    rows = tuple(
        Row(
            cells=(
                *cells(medium, *([stock] if edition.show.stock else [])),
                length,
                number(sorts[medium, stock, length]),
                TICK,
            )
        )
        for medium, stock, length in order
    )
    head = columns(words, "medium", *_stock_column(edition), "length", "count", "done")
    title = words("part.network-stores")
    return Table(name="network-stores", title=title, columns=head, rows=rows)


def _brought(edition: Edition, run: PlannedRun) -> Cell:
    """Give the length that comes off the truck: the stock's own, else what the run needs."""
    stock = edition.show.stock.get(run.stock)
    return metres(stock.length_m if stock is not None else run.length_m)


def _stock_column(edition: Edition) -> tuple[str, ...]:
    """Give the column of the show's own cables, none where it names none."""
    return ("stock",) if edition.show.stock else ()


def _schedule(edition: Edition, runs: tuple[PlannedRun, ...]) -> tuple[Table, ...]:
    """Give every run with both its ends, a table for each net and one for multicores."""
    keys = ("run", "from-port", "from-place", "to-port", "to-place", "ducts", "medium", "length")
    head = columns(edition.words, *keys, *_stock_column(edition), "done")
    then = edition.runs_then
    tables = []
    for net in dict.fromkeys(run.net for run in runs):
        title = net_title(edition.words, net)
        rows = tuple(_run_row(edition, run, then.get(run.name)) for run in runs if run.net == net)
        table = Table(name="network-cables", of=title, title=title, columns=head, rows=rows)
        tables.append(table)
    return tuple(tables)


def _run_row(edition: Edition, run: PlannedRun, then: PlannedRun | None) -> Row:
    ends = [text for end in run.ends for text in (str(end), place_of(edition, end.unit))]
    return Row(
        cells=(
            *cells(run_title(edition, run.name), *ends, ducts_text(edition, run)),
            Cell(text=medium_text(edition.words, run.medium)),
            metres(run.length_m),
            *cells(*([stock_text(edition, run)] if edition.show.stock else [])),
            TICK,
        ),
        change=change_of(edition, run, then),
    )


def _pulls(edition: Edition, runs: tuple[PlannedRun, ...]) -> tuple[Table, ...]:
    """Give a table for every duct with all that lies in it, then what needs no duct."""
    found: dict[str, list[PlannedRun]] = {}
    for run in runs:
        for duct in run.ducts or ("",):
            found.setdefault(duct, []).append(run)
    order = sorted(found, key=lambda name: (not name, natural(name)))
    return tuple(_pull(edition, name, found[name]) for name in order)


def _pull(edition: Edition, name: str, runs: list[PlannedRun]) -> Table:
    words = edition.words
    then = edition.runs_then
    head = columns(words, "run", "net", "from-end", "to-end", "ducts", "medium", "length", "done")
    rows = tuple(
        Row(
            cells=(
                *cells(run_title(edition, run.name), run.net),
                *cells(*(port_text(edition, end) for end in run.ends)),
                *cells(ducts_text(edition, run), medium_text(words, run.medium)),
                metres(run.length_m),
                TICK,
            ),
            change=change_of(edition, run, then.get(run.name)),
        )
        for run in runs
    )
    of = duct_title(edition, name) if name else words("part.no-duct")
    return Table(
        name="pull-list", of=of, title=_title(edition, name, runs), columns=head, rows=rows
    )


def _title(edition: Edition, name: str, runs: list[PlannedRun]) -> str:
    """Give a duct's name, its two places, its length and how many cables lie in it."""
    words = edition.words
    duct = edition.show.ducts.get(name)
    if duct is None:
        return name or words("part.no-duct")
    a, b = (title_of(edition, place) for place in duct.between)
    key = "said.duct-installed" if duct.installed else "said.duct"
    length = f"{duct.length_m:g} m"
    return words(key, duct=duct_title(edition, name), a=a, b=b, length=length, count=len(runs))
