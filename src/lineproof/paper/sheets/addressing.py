"""Which address every unit has on each net, and which streams go where."""

from __future__ import annotations

from ipaddress import IPv4Network

from lineproof.base.names import natural
from lineproof.base.spot import Side, Spot
from lineproof.paper.edition import Edition
from lineproof.paper.fit import NO_BREAK
from lineproof.paper.sdp import file_name
from lineproof.paper.sheet import Cell, Row, Sheet, Table
from lineproof.paper.sheets.net_changes import change_of
from lineproof.paper.sheets.net_parts import names_text, net_title, network_of
from lineproof.paper.sheets.parts import cells, columns, number, title_of, unit_title
from lineproof.plan.network import NetPlan, Stream
from lineproof.reckon.sessions import session_of


def address_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give the ranges of the nets, and the addresses of all units."""
    network = network_of(edition)
    if not network.addresses:
        return ()
    sheet = Sheet(
        name="addresses",
        title=edition.words("sheet.addresses"),
        for_whom=edition.words("for.settings"),
        blocks=(_ranges(edition), _addresses(edition)),
        landscape=True,
    )
    return (sheet,)


def _ranges(edition: Edition) -> Table:
    words = edition.words
    rows = tuple(_range_row(plan) for plan in network_of(edition).nets.values())
    keys = ("net", "range", "mask", "groups", "vlan-audio", "vlan-control", "vlan-guests")
    title = words("part.ranges")
    return Table(name="ranges", title=title, columns=columns(words, *keys), rows=rows)


def _range_row(plan: NetPlan) -> Row:
    vlans = [str(plan.vlans.get(use, "")) for use in ("audio", "control", "guests")]
    mask = str(IPv4Network(plan.range).netmask)
    return Row(cells=cells(plan.name, plan.range, mask, plan.groups, *vlans))


def _addresses(edition: Edition) -> Table:
    """Give a row for each unit, with a column for each net."""
    words, network = edition.words, network_of(edition)
    nets = tuple(network.nets)
    names = sorted({a.unit for a in network.addresses}, key=natural)
    given = {(a.unit, a.net) for a in network.addresses if a.given}
    rows = tuple(_address_row(edition, name, nets, given) for name in names)
    unit, place, *rest = columns(words, "unit", "place", "mac", "note")
    address = columns(words, "ip")[0]
    head = tuple(
        type(address)(title=f"{address.title}, {net_title(words, net)}", look=address.look)
        for net in nets
    )
    title = words("part.addresses")
    return Table(name="addresses", title=title, columns=(unit, place, *head, *rest), rows=rows)


def _address_row(
    edition: Edition, name: str, nets: tuple[str, ...], given: set[tuple[str, str]]
) -> Row:
    network, words = network_of(edition), edition.words
    unit = edition.show.units.get(name)
    notes = [words("said.given")] if any((name, net) in given for net in nets) else []
    notes += [words("said.theirs")] if unit is not None and unit.theirs else []
    then = edition.addresses_then
    was = [then[name, net] for net in nets if (name, net) in then]
    now = [ip for net in nets if (ip := network.address(name, net))]
    return Row(
        cells=(
            *cells(unit_title(unit) if unit else name),
            *cells(title_of(edition, unit.place) if unit else words("said.gone")),
            *cells(*(network.address(name, net) for net in nets)),
            *cells(unit.mac if unit else "", "; ".join(notes)),
        ),
        change=change_of(edition, now, was or None),
    )


def stream_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give every stream: what is in it, who hears it, where it goes and how."""
    network = network_of(edition)
    if not network.streams:
        return ()
    words = edition.words
    keys = ("stream", "channels", "receivers", "cast", "to", "packet", "depth", "mark", "file")
    then = edition.streams_then
    rows = tuple(_stream_row(edition, s, then.get(s.name)) for s in network.streams)
    table = Table(name="streams", columns=columns(words, *keys), rows=rows)
    sheet = Sheet(
        name="streams",
        title=words("sheet.streams"),
        for_whom=words("for.settings"),
        blocks=(table,),
        landscape=True,
    )
    return (sheet,)


def _stream_row(edition: Edition, stream: Stream, then: Stream | None) -> Row:
    words, network = edition.words, network_of(edition)
    to = [f"{net}{NO_BREAK}{ip}:{stream.udp_port}" for net, ip in stream.to.items()]
    described = session_of(edition.show, network, stream) is not None
    packet_ms = stream.packet_us / 1000
    return Row(
        cells=(
            *cells(stream.name, channels_text(edition, stream), names_text(stream.receivers)),
            *cells(words("said.multicast" if stream.multicast else "said.unicast")),
            *cells(", ".join(to)),
            Cell(text=f"{packet_ms:g} ms", figure=packet_ms),
            Cell(text=f"{stream.depth_bits} bit", figure=float(stream.depth_bits)),
            number(network.dscp.get("audio", 0)),
            Cell(text=file_name(stream) if described else words("said.no-file")),
        ),
        change=change_of(edition, stream, then),
    )


def channels_text(edition: Edition, stream: Stream) -> str:
    """Give the channels in the order of the packet, each with its lines: `3 Kick`.

    What carries another line in another act has both names.
    """
    return ", ".join(
        f"{channel} {_lines_on(edition, stream.sender, channel)}".rstrip()
        for channel in stream.channels
    )


def _lines_on(edition: Edition, sender: str, channel: int) -> str:
    spot = Spot(unit=sender, side=Side.SEND, number=channel)
    lines = [line for key in edition.sent.get(spot, ()) if (line := edition.line(key)) is not None]
    return " / ".join(dict.fromkeys(line.title for line in lines))
