"""Who keeps the time on each net and who follows; how long every receiver must wait."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Block, Cell, Row, Sheet, Table, Text
from lineproof.paper.sheets.net_changes import change_of
from lineproof.paper.sheets.net_parts import (
    fault_text,
    figures_by_net,
    milliseconds,
    name_ranges,
    names_text,
    net_title,
    network_of,
    place_of,
)
from lineproof.paper.sheets.parts import EMPTY, cells, columns, number, unit_title
from lineproof.plan.network import ClockRank
from lineproof.reckon.clock import HandOver, RateIsland, Reign
from lineproof.reckon.delay_buffers import Buffer
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures

#: More names than this in one row would be higher than a sheet.
MOST_NAMES = 30


def timing_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the clock sheet and the buffer table, where the network is worked out."""
    network = edition.outcome.network
    if network is None or not network.nets:
        return ()
    words = edition.words
    clock = Sheet(
        name="clock",
        title=words("sheet.clock"),
        for_whom=words("for.settings"),
        blocks=(
            _facts(edition, network),
            *_nets(edition),
            _rates(edition, network),
            *_crossings(edition, network),
        ),
    )
    return (clock, *_buffer_sheet(edition, network))


# -- the clock -----------------------------------------------------------------------------------


def _facts(edition: Edition, network: NetworkFigures) -> Text:
    """Give the domain and whether all nets keep one time."""
    words = edition.words
    said = [words("said.domain", domain=network_of(edition).clock_domain)]
    firsts = {net: _first(figures) for net, figures in network.nets.items()}
    names = list(dict.fromkeys(firsts.values()))
    lacking = [net for net, name in firsts.items() if not name]
    if lacking:
        said.append(words("said.no-grandmaster", nets=", ".join(lacking)))
    elif len(names) == 1:
        said.append(words("said.one-grandmaster", unit=names[0]))
    else:
        key = "said.one-source" if network.clock.one else "said.two-times"
        said.append(words(key, units=", ".join(names)))
    return Text(paragraphs=tuple(said))


def _first(figures: NetFigures) -> str:
    """Give the grandmaster of the largest part of a net, "" where nobody can be."""
    return figures.hand_over.gone if figures.hand_over is not None else ""


def _nets(edition: Edition) -> list[Block]:
    blocks: list[Block] = []
    for net, figures in figures_by_net(edition).items():
        many = len([reign for reign in figures.reigns if reign.order or reign.follow]) > 1
        for reign in figures.reigns:
            if reign.order or reign.follow:
                blocks += _reign(edition, net, reign, many=many)
        if figures.hand_over is not None:
            blocks.append(Text(paragraphs=_hand_over(edition, figures.hand_over)))
    return blocks


def _reign(edition: Edition, net: str, reign: Reign, *, many: bool) -> list[Block]:
    """Give the clocks of one part of a net in the order in which they win."""
    words = edition.words
    title = net_title(words, net)
    if many:
        title = words("said.part-of", net=title, unit=(*reign.order, *reign.follow)[0])
    ranks = _ranks(edition, net)
    rows = tuple(
        _clock_row(edition, place, name, ranks.get(name), reign)
        for place, name in enumerate(reign.order, start=1)
    )
    said = [words("said.follow", units=names_text(n for n in reign.follow if n not in reign.order))]
    if reign.by_name:
        said.append(words("said.by-name", units=", ".join(reign.by_name)))
    head = columns(words, "order", "unit", "place", "priority1", "priority2", "class", "clock-does")
    table = Table(name="clock", of=title, title=title, columns=head, rows=rows)
    if not reign.order:
        units = names_text(reign.follow)
        return [Text(title=title, paragraphs=(words("said.no-clock-here", units=units),))]
    followers = set(reign.follow) - set(reign.order)
    text = said if followers else said[1:]
    return [table, *([Text(paragraphs=tuple(text))] if text else [])]


def _ranks(edition: Edition, net: str) -> Mapping[str, ClockRank]:
    return {rank.unit: rank for rank in network_of(edition).clock if rank.net == net}


def _clock_row(
    edition: Edition, place: int, name: str, rank: ClockRank | None, reign: Reign
) -> Row:
    words = edition.words
    unit = edition.show.units[name]
    facts = unit.kind.clock
    does = "passive" if name in reign.passive else "follows"
    key = {1: "grandmaster", 2: "second"}.get(place, does)
    then = edition.clock_then.get((name, reign.net))
    said = words(f"clock.{key}")
    if place == 2 and name in reign.passive:
        said = f"{said}; {words('clock.passive')}"
    return Row(
        cells=(
            number(place),
            *cells(unit_title(unit), place_of(edition, name)),
            number(rank.priority1 if rank else facts.priority1 if facts else 0),
            number(rank.priority2 if rank else facts.priority2 if facts else 0),
            number(facts.clock_class if facts else 0),
            Cell(text=said),
        ),
        change=change_of(edition, rank, then),
    )


def _hand_over(edition: Edition, hand_over: HandOver) -> tuple[str, ...]:
    """Give what happens when the grandmaster goes."""
    words = edition.words
    if not hand_over.next:
        return (words("said.nobody-follows", gone=hand_over.gone),)
    said = words(
        "said.hand-over",
        gone=hand_over.gone,
        next=hand_over.next,
        noticed=f"{hand_over.noticed_s:g}",
        locked=f"{hand_over.locked_s:g}",
    )
    return (f"{said} {words('said.worse')}" if hand_over.worse else said,)


def _rates(edition: Edition, network: NetworkFigures) -> Block:
    """Give which units work at which rate; one sentence where all work at one."""
    words = edition.words
    first = network.islands[:1]
    if len(network.islands) == 1 and not first[0].converters:
        return Text(paragraphs=(words("said.one-rate", rate=f"{first[0].rate_hz / 1000:g}"),))
    rows = tuple(_rate_row(island) for island in network.islands)
    head = columns(words, "rate", "units", "converters")
    return Table(name="rates", title=words("part.rates"), columns=head, rows=rows)


def _crossings(edition: Edition, network: NetworkFigures) -> list[Block]:
    """Give what goes from one rate to another though no converter is there."""
    if not network.crossings:
        return []
    said = ", ".join(f"{stream} – {receiver}" for stream, receiver in network.crossings)
    return [Text(paragraphs=(edition.words("said.crossings", streams=said),), loud=True)]


def _rate_row(island: RateIsland) -> Row:
    rate_khz = island.rate_hz / 1000
    return Row(
        cells=(
            Cell(text=f"{rate_khz:g} kHz", figure=rate_khz),
            *cells(names_text(island.units), names_text(island.converters)),
        )
    )


# -- buffers -------------------------------------------------------------------------------------


def _buffer_sheet(edition: Edition, network: NetworkFigures) -> tuple[Sheet, ...]:
    if not network.buffers:
        return ()
    words = edition.words
    keys = ("units", "set-to", "undisturbed", "after-fault", "fault", "margin", "by-stream")
    rows = tuple(row for buffer in network.buffers for row in _buffer_rows(edition, buffer))
    head = columns(words, *keys, "offered")
    sheet = Sheet(
        name="buffers",
        title=words("sheet.buffers"),
        for_whom=words("for.settings"),
        blocks=(
            Text(paragraphs=(words("said.buffers"),)),
            Table(name="buffers", columns=head, rows=rows),
        ),
        landscape=True,
    )
    return (sheet,)


def _buffer_rows(edition: Edition, buffer: Buffer) -> Iterator[Row]:
    """Give the row of units that are heard together; very many go on in rows of their own."""
    names = name_ranges(buffer.units)
    first = ", ".join(names[:MOST_NAMES])
    yield _buffer_row(edition, buffer, first + ("," if names[MOST_NAMES:] else ""))
    for start in range(MOST_NAMES, len(names), MOST_NAMES):
        more = ", ".join(names[start : start + MOST_NAMES])
        yield Row(cells=(Cell(text=more), *[EMPTY] * 7))


def _buffer_row(edition: Edition, buffer: Buffer, units: str) -> Row:
    words, need = edition.words, buffer.need
    setting = words("said.no-setting")
    if buffer.offset_ms is not None:
        setting = f"{buffer.offset_ms:g} ms"
    # Rounded down: a margin must not look larger than it is.
    margin_ms = "" if buffer.margin_ns is None else f"{buffer.margin_ns // 10_000 / 100:.2f} ms"
    if buffer.unknown:
        units += f" ({words('said.says-no-values', units=names_text(buffer.unknown))})"
    offered = ", ".join(f"{ms:g}" for ms in buffer.offered_ms)
    return Row(
        cells=(
            Cell(text=units),
            Cell(text=setting, figure=buffer.offset_ms),
            Cell(text=milliseconds(words, need.undisturbed_ns)),
            Cell(text=milliseconds(words, need.ns)),
            Cell(text=fault_text(edition, need.fault)),
            Cell(text=margin_ms),
            *cells(f"{need.stream}, {net_title(words, need.net)}"),
            Cell(text=f"{offered} ms" if offered else ""),
        )
    )
