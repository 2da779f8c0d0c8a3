"""The drawing of each net, and what every run carries."""

from __future__ import annotations

from collections.abc import Iterable

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Cell, Picture, Row, Sheet, Table, Text
from lineproof.paper.sheets.net_parts import (
    fault_text,
    figures_by_net,
    mbit,
    most_bps,
    names_text,
    net_title,
    run_title,
    speed_text,
)
from lineproof.paper.sheets.netmap import Block as Hub
from lineproof.paper.sheets.netmap import NetMap, net_map, places_of
from lineproof.paper.sheets.netmap_draw import net_pictures
from lineproof.paper.sheets.parts import columns, title_of
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.loads import Load

#: With more switches than this on a net it is drawn place by place, and in a row each before.
MOST_SWITCHES = 50


def net_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give a sheet for each net: its drawing, then what its runs carry; large ones by place."""
    nets = figures_by_net(edition)
    maps = {net: net_map(edition, figures) for net, figures in nets.items()}
    large = any(len(it.blocks) > MOST_SWITCHES for it in maps.values())
    whole = tuple(_net(edition, it, compact=large) for it in maps.values())
    by_place = _places(edition, tuple(maps.values())) if large else ()
    return (*whole, *by_place, *_load_sheet(edition))


def _load_sheet(edition: Edition) -> tuple[Sheet, ...]:
    words = edition.words
    nets = figures_by_net(edition).items()
    tables = tuple(_loads(edition, net, figures) for net, figures in nets if figures.loads)
    if not tables:
        return ()
    sheet = Sheet(
        name="loads",
        title=words("sheet.loads"),
        for_whom=words("for.loads"),
        blocks=tables,
        landscape=True,
    )
    return (sheet,)


def _net(edition: Edition, it: NetMap, *, compact: bool) -> Sheet:
    words = edition.words
    title = net_title(words, it.net)
    says = words("picture.net", net=it.net, steps=_in_words(it.blocks, compact=compact))
    blocks: list[Block] = [Text(paragraphs=(words("map.compact" if compact else "map.legend"),))]
    blocks += net_pictures(edition, it.blocks, f"net-{it.net}", says, compact=compact)
    if it.alone:
        blocks.append(Text(paragraphs=(words("map.alone", units=names_text(it.alone)),)))
    return Sheet(
        name=f"net-{it.net}",
        title=words("sheet.net", net=title),
        for_whom=words("for.crew"),
        blocks=tuple(blocks),
    )


def _in_words(blocks: Iterable[Hub], *, compact: bool = False) -> str:
    """Give a drawing for who can't see it: what hangs on what."""
    return "; ".join(_hub_in_words(block, compact=compact) for block in blocks)


def _hub_in_words(block: Hub, *, compact: bool) -> str:
    units = ", ".join(chip.unit for chip in block.chips)
    hanging = f" ({units})" if units and not compact else ""
    return f"{block.unit}{hanging}" + (f" < {block.parent}" if block.parent else "")


def _places(edition: Edition, maps: tuple[NetMap, ...]) -> tuple[Sheet, ...]:
    """Give a sheet for every place with a switch, all nets one below the other."""
    words = edition.words
    sheets = []
    for place in places_of(maps):
        title = title_of(edition, place)
        pictures: list[Picture] = []
        for it in maps:
            name = f"net-{it.net}-{place}"
            here = it.at(place)
            says = words("picture.net", net=it.net, steps=_in_words(here))
            pictures += net_pictures(edition, here, name, says)
        sheets.append(
            Sheet(
                name=f"net-at-{place}",
                title=words("sheet.net-at", place=title),
                for_whom=words("for.crew"),
                blocks=(Text(paragraphs=(words("map.legend"),)), *pictures),
            )
        )
    return tuple(sheets)


def _loads(edition: Edition, net: str, figures: NetFigures) -> Table:
    """Give what every run carries both ways, undisturbed and at worst, fullest first."""
    words = edition.words
    pairs: dict[str, list[Load]] = {}
    for load in figures.loads:
        pairs.setdefault(load.run, []).append(load)
    order = sorted(pairs, key=lambda run: -max(load.total_bps for load in pairs[run]))
    rows = tuple(_load_row(edition, figures, run, tuple(pairs[run])) for run in order)
    keys = (
        "run-name",
        "from-unit",
        "to-unit",
        "forth",
        "back",
        "of-speed",
        "most-forth",
        "most-back",
    )
    head = columns(words, *keys, "fault")
    title = net_title(words, net)
    return Table(name="loads", of=title, title=title, columns=head, rows=rows)


def _load_row(edition: Edition, figures: NetFigures, run: str, both: tuple[Load, ...]) -> Row:
    forth = both[0]
    most = figures.swept.rate_bps
    worst = {load.way: most_bps(figures, load) for load in both}
    fuller = max(both, key=lambda load: worst[load.way])
    fault = most[fuller.way].fault if fuller.way in most else ""
    speed = speed_text(forth.speed_bps // 1_000_000)
    return Row(
        cells=(
            Cell(text=run_title(edition, run)),
            *(Cell(text=name) for name in (forth.from_unit, forth.to_unit)),
            *(_figure(load.total_bps) for load in both),
            Cell(text=speed),
            *(_figure(worst[load.way]) for load in both),
            Cell(text=fault_text(edition, fault)),
        )
    )


def _figure(bits_s: int) -> Cell:
    return Cell(text=mbit(bits_s), figure=bits_s / 1e6)
