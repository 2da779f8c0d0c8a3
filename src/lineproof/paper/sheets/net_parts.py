"""What the network's sheets have in common: nets, runs, ports and figures in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Cell
from lineproof.paper.sheets.parts import title_of
from lineproof.paper.translate import Words
from lineproof.plan.network import Network, PlannedRun, PortAt
from lineproof.reckon.delay import UNBOUNDED
from lineproof.reckon.delay_figures import NetFigures
from lineproof.reckon.loads import Load


def network_of(edition: Edition) -> Network:
    """Give what is decided about the network."""
    return edition.outcome.plan.network


def figures_by_net(edition: Edition) -> Mapping[str, NetFigures]:
    """Give the figures of every net, none where nobody worked them out."""
    network = edition.outcome.network
    return network.nets if network is not None else {}


def net_title(words: Words, net: str) -> str:
    """Give how a net is called; what is on no net is a multicore."""
    return words("said.net", net=net) if net else words("part.multicores")


def place_of(edition: Edition, unit: str) -> str:
    """Give what papers print for the place where a unit stands; "" for a unit that is gone."""
    found = edition.show.units.get(unit)
    return title_of(edition, found.place) if found is not None else ""


def port_text(edition: Edition, port: PortAt) -> str:
    """Give one end of a run with its place, as in `sw-1:8 (Wings)`."""
    place = place_of(edition, port.unit)
    return f"{port} ({place})" if place else str(port)


def run_title(edition: Edition, name: str) -> str:
    """Give what papers print for a run: the label the show gives it, else its name."""
    given = edition.show.runs.get(name)
    return (given.label or name) if given is not None else name


def medium_text(words: Words, medium: str) -> str:
    """Give of what a cable or a socket is made."""
    return words(f"medium.{medium}")


def stock_text(edition: Edition, run: PlannedRun) -> str:
    """Give which cable of the show's stock is taken, "" where it has none."""
    stock = edition.show.stock.get(run.stock)
    return (stock.label or stock.name) if stock is not None else run.stock


def ducts_text(edition: Edition, run: PlannedRun) -> str:
    """Give the ducts of a run, from its first end to its second."""
    return ", ".join(duct_title(edition, name) for name in run.ducts)


def duct_title(edition: Edition, name: str) -> str:
    """Give what papers print for a duct."""
    duct = edition.show.ducts.get(name)
    return (duct.label or duct.name) if duct is not None else name


def metres(length_m: float) -> Cell:
    """Give a length in whole metres, rounded up; a question mark where nobody knows it."""
    if length_m <= 0:
        return Cell(text="?")
    whole = float(-(-length_m // 1))
    return Cell(text=f"{whole:.0f} m", figure=whole)


def mbit(bits_s: int) -> str:
    """Give bits a second in Mbit/s, rounded up to a tenth.

    >>> mbit(12_345_678), mbit(0)
    ('12.4', '0')
    """
    tenths = -(-bits_s // 100_000)
    return f"{tenths / 10:.1f}" if tenths else "0"


def speed_text(speed_mbit: int) -> str:
    """Give the speed of a port.

    >>> speed_text(100), speed_text(10000)
    ('100 Mbit/s', '10 Gbit/s')
    """
    return f"{speed_mbit / 1000:g} Gbit/s" if speed_mbit >= 1000 else f"{speed_mbit} Mbit/s"


def milliseconds(words: Words, time_ns: int | None) -> str:
    """Give a time in ms, rounded up to a hundredth; a word where there is no bound."""
    if time_ns is None or time_ns == UNBOUNDED:
        return words("said.no-bound")
    return f"{-(-time_ns // 10_000) / 100:.2f} ms"


def fault_text(edition: Edition, fault: str) -> str:
    """Give what fails in words, from `duct:floor` or the bare name of a unit or run."""
    if not fault:
        return ""
    what, colon, name = fault.partition(":")
    if not colon:
        runs = {run.name for run in network_of(edition).runs}
        what, name = ("run" if fault in runs else "unit"), fault
    return edition.words(f"thing.{what}", name=name)


def most_bps(figures: NetFigures, load: Load) -> int:
    """Give what a run carries in one direction after the worst fault; what is no stream stays."""
    worst = figures.swept.rate_bps.get(load.way)
    return load.total_bps if worst is None else load.total_bps - load.streams_bps + worst.worst


@dataclass(frozen=True, kw_only=True)
class Plug:
    """What is plugged into a switch's port: the run, its far end, and the speed both can do.

    `way` is the way out of the port in the net's graph.
    """

    run: PlannedRun
    far: PortAt
    speed_mbit: int
    way: int


def plugs_of(edition: Edition, net: NetFigures) -> Mapping[tuple[str, int], Plug]:
    """Give what is plugged into every port of a net, by unit and port number."""
    fabric = net.fabric
    runs = {run.name: run for run in network_of(edition).runs}
    found = {}
    for r, run in enumerate(fabric.runs):
        for side, way in enumerate((2 * r, 2 * r + 1)):
            far = PortAt(unit=fabric.nodes[fabric.head[way]].name, number=fabric.port(way ^ 1))
            here = fabric.nodes[run.ends[side]].name
            plug = Plug(run=runs[run.name], far=far, speed_mbit=run.speed_mbit, way=way)
            found[here, fabric.port(way)] = plug
    return found


def names_text(names: Iterable[str]) -> str:
    """Give names one behind the other, three and more that count on as the show writes them.

    >>> names_text(["amp-08", "amp-09", "amp-10", "desk", "rec-1", "rec-2"])
    'amp-08..amp-10, desk, rec-1, rec-2'
    """
    return ", ".join(name_ranges(names))


def name_ranges(names: Iterable[str]) -> tuple[str, ...]:
    """Give the names, those that count on as one: `amp-01..amp-24`."""
    together: list[list[str]] = []
    for name in names:
        if together and _next_name(together[-1][-1]) == name:
            together[-1].append(name)
        else:
            together.append([name])
    return tuple(
        text
        for found in together
        for text in (found if len(found) < 3 else [f"{found[0]}..{found[-1]}"])
    )


def _next_name(name: str) -> str:
    """Give the name that counts on from this one, "" for one without a number at its end."""
    bare = name.rstrip("0123456789")
    digits = name[len(bare) :]
    return f"{bare}{int(digits) + 1:0{len(digits)}d}" if digits else ""


def runs_in_order(edition: Edition) -> tuple[PlannedRun, ...]:
    """Give all runs, net a, net b, then multicores, each by name."""
    runs = network_of(edition).runs
    return tuple(sorted(runs, key=lambda run: (not run.net, run.net, natural(run.name))))
