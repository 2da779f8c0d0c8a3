"""Which network port of a unit is on which net."""

from __future__ import annotations

from collections.abc import Mapping

from lineproof.kit.kinds import Does
from lineproof.plan.network import Network
from lineproof.show.model import Show, Unit

#: The nets of a show, in order.
NETS = ("a", "b")


def nets_of(show: Show) -> tuple[str, ...]:
    """Give the nets that the show has: a, or a and b."""
    return NETS if show.nets == "two" else NETS[:1]


def port_mode(show: Show, unit: Unit) -> str:
    """Say how a unit uses its ports: `pair` (one a net), `chain` (a bridge on one), or `single`.

    What the show says wins; else a pair where the show has two nets and the kind can do it, a
    chain where the kind can do only that. With one net and nothing said, a unit hangs by its
    first port.
    """
    modes = unit.kind.port_modes
    if len(unit.kind.ports) < 2 or not modes:
        return "single"
    if unit.ports in modes:
        return unit.ports
    if len(nets_of(show)) == 2 and "pair" in modes and not unit.net:
        return "pair"
    return "chain" if modes == ("chain",) else "single"


def unit_nets(show: Show, unit: Unit, network: Network | None = None) -> tuple[str, ...]:
    """Give the nets that a unit is on; a switch is on the one that show or plan give it."""
    if unit.kind.does is Does.SWITCH:
        net = unit.net or (network.switch_nets.get(unit.name, "") if network else "")
        return (net,) if net else nets_of(show)[:1] if len(nets_of(show)) == 1 else ()
    if not unit.kind.ports:
        return ()
    if unit.net:
        return (unit.net,)
    return nets_of(show) if port_mode(show, unit) == "pair" else nets_of(show)[:1]


def ports_by_net(show: Show, unit: Unit, network: Network | None = None) -> Mapping[str, list[int]]:
    """Give a unit's port numbers by net, in order.

    In a pair the first port is on net a and the second on b; in a chain all are on one net.
    """
    nets = unit_nets(show, unit, network)
    numbers = [port.number for port in unit.kind.ports]
    if unit.kind.does is not Does.SWITCH and port_mode(show, unit) == "pair" and len(nets) == 2:
        return {net: [number] for net, number in zip(nets, numbers, strict=False)}
    if unit.kind.does is not Does.SWITCH and port_mode(show, unit) == "single":
        numbers = numbers[:1]
    return {net: list(numbers) for net in nets}
