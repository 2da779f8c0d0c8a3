"""Which port a run takes, and what it is called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lineproof.base.names import LONGEST_NAME, folded, natural
from lineproof.decide.cabling.ground import Cable, Need, feeds_dw
from lineproof.kit.kinds import Port
from lineproof.plan.network import Network, PlannedRun, PortAt, RescuePort, Retired

#: A run's name is never given again: what of `Retired`.
RUN = "run"


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A run that is decided but for its switch's port and its name."""

    need: Need
    switch: str
    cable: Cable


class Desk:
    """Gives out ports and names. `avoid`: ports kept open for a rescue, taken last."""

    def __init__(
        self,
        free: Mapping[str, Sequence[Port]],
        names: frozenset[str],
        retired: Mapping[str, str],
        avoid: frozenset[PortAt],
    ) -> None:
        self.free = {switch: list(ports) for switch, ports in free.items()}
        self.names = {folded(name) for name in names}
        self.retired = retired
        self.avoid = avoid

    def trunk_port(self, switch: str, medium: str) -> PortAt:
        """Give the fastest port of a medium, one that feeds nothing before others, the last."""
        ports = [p for p in self.free[switch] if p.medium == medium]
        return self._take(
            switch,
            max(
                ports,
                key=lambda p: (
                    p.speed_mbit,
                    PortAt(unit=switch, number=p.number) not in self.avoid,
                    -p.feeds_w,
                    p.number,
                ),
            ),
        )

    def unit_port(self, switch: str, need: Need) -> PortAt | None:
        """Give the port that fits a unit best and wastes least speed and power; None if none does.

        One as fast as the unit before a slower one, then one not kept for a rescue, the first.
        """
        ports = [
            p for p in self.free[switch] if p.medium == need.medium and feeds_dw(p) >= need.feed_dw
        ]
        if not ports:
            return None

        def key(port: Port) -> tuple[object, ...]:
            slow = port.speed_mbit < need.speed_mbit
            speed = -port.speed_mbit if slow else port.speed_mbit
            kept = PortAt(unit=switch, number=port.number) in self.avoid
            return (slow, kept, feeds_dw(port), speed, port.number)

        return self._take(switch, min(ports, key=key))

    def _take(self, switch: str, port: Port) -> PortAt:
        self.free[switch].remove(port)
        return PortAt(unit=switch, number=port.number)

    def name(self, stem: str, ends: tuple[PortAt, PortAt], ducts: tuple[str, ...] = ()) -> str:
        """Give a name that no run ever had, but one that joined the same ports by the same way.

        >>> desk = Desk({}, frozenset({"box-1-a"}), {}, frozenset())
        >>> desk.name("box-1-a", (PortAt(unit="box-1", number=1), PortAt(unit="sw-1", number=3)))
        'box-1-a-2'
        """
        told = cable_told(ends, ducts)
        at = 1
        while True:
            tail = "" if at == 1 else f"-{at}"
            name = stem[: LONGEST_NAME - len(tail)] + tail
            again = self.retired.get(folded(name))
            if folded(name) not in self.names and again in (None, told):
                self.names.add(folded(name))
                return name
            at += 1


def cable_told(ends: tuple[PortAt, PortAt], ducts: tuple[str, ...]) -> str:
    """Give the ends of a run and the ducts between as one text, the same from either end.

    >>> ports = (PortAt(unit="sw-1", number=3), PortAt(unit="box-1", number=1))
    >>> cable_told(ports, ("floor", "wall"))
    'box-1:1 wall floor sw-1:3'
    """
    first, second = sorted(ends, key=PortAt.sort_key)
    between = ducts if ends[0] == first else ducts[::-1]
    return " ".join((str(first), *between, str(second)))


def retired_names(
    earlier: Network | None, runs: Sequence[PlannedRun]
) -> tuple[Mapping[str, str], tuple[Retired, ...]]:
    """Give the names that stand no more, with the ends and ducts each had; and as values."""
    if earlier is None:
        return {}, ()
    standing = {folded(run.name) for run in runs}
    told = {r.value: r for r in earlier.retired if r.what == RUN}
    for run in earlier.runs:
        if folded(run.name) not in standing:
            told[run.name] = Retired(
                what=RUN, value=run.name, of=cable_told(run.ends, run.ducts), net=run.net
            )
    names = sorted(told, key=natural)
    return {folded(name): told[name].of for name in names}, tuple(told[name] for name in names)


def rescue_ports(
    free: Mapping[str, Sequence[Port]],
    switch_nets: Mapping[str, str],
    earlier: Network | None,
    count: int,
) -> tuple[RescuePort, ...]:
    """Give the ports of each switch that stay open: those of before, else the last copper ones."""
    before = {r.port for r in earlier.rescue_ports} if earlier else set()
    found: list[RescuePort] = []
    for switch in sorted(free, key=natural):

        def order(port: Port, switch: str = switch) -> tuple[object, ...]:
            at = PortAt(unit=switch, number=port.number)
            return (at not in before, port.medium != "copper", -port.feeds_w, -port.number)

        kept = sorted(free[switch], key=order)[:count]
        found += [
            RescuePort(
                name=f"{switch}-rescue-{port.number}",
                port=PortAt(unit=switch, number=port.number),
                net=switch_nets[switch],
            )
            for port in sorted(kept, key=lambda p: p.number)
        ]
    return tuple(found)
