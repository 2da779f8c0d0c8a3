"""A sheet for every switch: how it is set, and port by port what hangs there and who may."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.kit.kinds import Does, Port
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell, Row, Sheet, Table
from lineproof.paper.sheets.net_access import Use, in_streams, use_of
from lineproof.paper.sheets.net_changes import change_of
from lineproof.paper.sheets.net_parts import (
    Plug,
    figures_by_net,
    medium_text,
    net_title,
    network_of,
    place_of,
    plugs_of,
    run_title,
    speed_text,
)
from lineproof.paper.sheets.parts import cells, columns, kind_of, title_of, unit_title
from lineproof.paper.sheets.switch_settings import settings_table
from lineproof.plan.network import NetPlan
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.poe import FeedBudget
from lineproof.show.model import Unit


@dataclass(frozen=True, kw_only=True)
class Panel:
    """One switch of a net with all that is known of its ports.

    `rescue`: names of rescue ports by number. `fed`: watts asked of a port by number.
    """

    unit: Unit
    net: str
    plan: NetPlan
    figures: NetFigures
    plugs: Mapping[tuple[str, int], Plug]
    rescue: Mapping[int, str]
    fed: Mapping[int, float]
    audio: frozenset[str]


def switch_sheets(edition: Edition) -> tuple[Sheet, ...]:
    """Give a sheet for every switch of a planned net, net by net."""
    network = network_of(edition)
    audio = in_streams(network)
    sheets = []
    for net, figures in figures_by_net(edition).items():
        plan = network.nets.get(net)
        plugs = plugs_of(edition, figures)
        for node in figures.fabric.nodes:
            unit = edition.show.units[node.name]
            if unit.kind.does is Does.SWITCH and plan is not None:
                panel = Panel(
                    unit=unit,
                    net=net,
                    plan=plan,
                    figures=figures,
                    plugs=plugs,
                    rescue=_rescue(edition, unit),
                    fed=_fed(edition, unit),
                    audio=audio,
                )
                sheets.append(_sheet(edition, panel))
    return tuple(sheets)


def _rescue(edition: Edition, unit: Unit) -> Mapping[int, str]:
    ports = network_of(edition).rescue_ports
    return {p.port.number: p.name for p in ports if p.port.unit == unit.name and p.port.number}


def _fed(edition: Edition, unit: Unit) -> Mapping[int, float]:
    return {
        fed.port.number: fed.asks_w
        for budget in _budgets(edition)
        if budget.switch == unit.name
        for fed in budget.fed
        if fed.port.number
    }


def _sheet(edition: Edition, panel: Panel) -> Sheet:
    words, unit = edition.words, panel.unit
    said = [words("for.switches"), kind_of(edition, unit)]
    said.append(words("said.stands-at", place=title_of(edition, unit.place)))
    said.append(net_title(words, panel.net))
    feeds = next((b for b in _budgets(edition) if b.switch == unit.name), None)
    settings = settings_table(edition, unit, panel.figures, panel.plan, feeds)
    return Sheet(
        name=f"switch-{unit.name}",
        title=words("sheet.switch", unit=unit_title(unit)),
        for_whom=" · ".join(said),
        blocks=(settings, _ports(edition, panel)),
        landscape=True,
    )


def _budgets(edition: Edition) -> tuple[FeedBudget, ...]:
    network = edition.outcome.network
    return network.feeds if network is not None else ()


def _ports(edition: Edition, panel: Panel) -> Table:
    """Give a row for every port in use or open; those that are shut stand together."""
    words = edition.words
    rows: list[Row] = []
    shut: list[Port] = []
    for port in sorted(panel.unit.kind.ports, key=lambda port: port.number):
        used = (panel.unit.name, port.number) in panel.plugs or port.number in panel.rescue
        if shut and (used or shut[-1].medium != port.medium):
            rows.append(_shut_row(edition, shut))
            shut = []
        if used:
            rows.append(_port_row(edition, panel, port))
        else:
            shut.append(port)
    rows += [_shut_row(edition, shut)] if shut else []
    keys = ("port", "socket-of", "hangs", "run", "speed", "vlans", "feeds", "tree", "may")
    title = words("part.switch-ports")
    head = columns(words, *keys)
    of = panel.unit.name
    return Table(name="switch-ports", of=of, title=title, columns=head, rows=tuple(rows))


def _shut_row(edition: Edition, ports: list[Port]) -> Row:
    words, first, last = edition.words, ports[0], ports[-1]
    text = f"{first.number}" if len(ports) == 1 else f"{first.number}–{last.number}"
    socket = _socket(edition, first)
    nobody = words("may.shut")
    return Row(cells=cells(text, socket, "", "", "", words("use.shut"), "", "", nobody), spare=True)


def _socket(edition: Edition, port: Port) -> str:
    return f"{medium_text(edition.words, port.medium)}, {speed_text(port.speed_mbit)}"


def _port_row(edition: Edition, panel: Panel, port: Port) -> Row:
    words = edition.words
    plug = panel.plugs.get((panel.unit.name, port.number))
    socket, name = _socket(edition, port), f"{port.number}"
    if plug is None:
        rescue = panel.rescue[port.number]
        vlans, may = _vlans(edition, panel, Use.RESCUE), words("may.rescue")
        return Row(cells=cells(name, socket, rescue, "", "", vlans, "", "", may))
    there = edition.show.units[plug.far.unit]
    use = use_of(there, panel.audio)
    watts = panel.fed.get(port.number)
    place = place_of(edition, there.name)
    return Row(
        cells=(
            *cells(name, socket, f"{plug.far} ({place})", run_title(edition, plug.run.name)),
            *cells(speed_text(plug.speed_mbit), _vlans(edition, panel, use)),
            Cell(text=f"{watts:g} W" if watts else "", figure=watts),
            Cell(text=_role(edition, panel, plug)),
            Cell(text=_may(edition, there, use)),
        ),
        change=change_of(edition, plug.run, edition.runs_then.get(plug.run.name)),
    )


def _vlans(edition: Edition, panel: Panel, use: Use) -> str:
    """Give which VLANs a port is on: one untagged, or all tagged towards another switch."""
    numbers = panel.plan.vlans
    if use is Use.TRUNK:
        every = ", ".join(f"{number}" for number in numbers.values())
        return edition.words("use.trunk", numbers=every)
    vlan = Use.AUDIO.value if use is Use.RESCUE else use.value
    return edition.words(f"use.{vlan}", number=numbers.get(vlan, "?"))


def _role(edition: Edition, panel: Panel, plug: Plug) -> str:
    """Give what the port is to the spanning tree; nothing for a port where no switch hangs."""
    role = panel.figures.tree.roles.get(plug.way)
    return edition.words(f"role.{role.value}") if role is not None else ""


def _may(edition: Edition, there: Unit, use: Use) -> str:
    """Give who may be on a port: just the unit that is planned there, by its address if known."""
    words = edition.words
    theirs = f", {words('said.theirs')}" if there.theirs else ""
    mac = f" ({there.mac})" if there.mac else ""
    return words(f"may.{use.value}", unit=f"{there.name}{mac}") + theirs
