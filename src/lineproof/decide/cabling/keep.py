"""Runs that stay: those given in the show, and those planned earlier that are still possible."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lineproof.decide.cabling.given import (
    MULTICORE,
    Given,
    place_of,
    port_at,
    way_along,
)
from lineproof.decide.cabling.ground import (
    COPPER,
    FIBRE,
    Ground,
    feed_dw,
    feeds_dw,
    hangs,
    medium_of,
)
from lineproof.decide.cabling.reach import copper_reach_m, fibre_for, run_length_m
from lineproof.graph.ducts import Way
from lineproof.graph.ports import ports_by_net
from lineproof.kit.kinds import Does
from lineproof.plan.network import Network, PlannedRun, PortAt


class Kept:
    """Runs that stand, by name, and the ports they take."""

    def __init__(self, ground: Ground, switch_nets: Mapping[str, str]) -> None:
        self.ground = ground
        self.show = ground.show
        self.switch_nets = switch_nets
        self.runs: dict[str, PlannedRun] = {}
        self.taken: dict[PortAt, str] = {}

    def add(self, run: PlannedRun) -> None:
        """Take a run in, and its ports."""
        self.runs[run.name] = run
        for end in run.ends:
            if end.number is not None:
                self.taken.setdefault(end, run.name)

    def net_at(self, end: PortAt) -> str:
        """Give the net of a port, "" where it has none."""
        unit = self.show.units.get(end.unit)
        if unit is None:
            return ""
        if unit.kind.does is Does.SWITCH:
            return self.switch_nets.get(unit.name, "")
        by_net = ports_by_net(self.show, unit) if hangs(unit) else {}
        return next((net for net, numbers in by_net.items() if end.number in numbers), "")

    # -- given ---------------------------------------------------------------------------------

    def take_given(self, given: Sequence[Given], earlier: Network | None) -> None:
        """Take in the given runs: ports that are named first, then those left open."""
        before = {run.name: run for run in earlier.runs} if earlier else {}
        whole = [g for g in given if g.ends is not None]
        open_ended = [g for g in whole if g.ends and any(e.number is None for e in g.ends)]
        for one in (*(g for g in whole if g not in open_ended), *open_ended):
            run = self._given_run(one, before.get(one.run.name))
            if run is not None:
                self.add(run)

    def _given_run(self, given: Given, before: PlannedRun | None) -> PlannedRun | None:
        assert given.ends is not None
        first, second = given.ends
        start, end = place_of(self.show, first), place_of(self.show, second)
        way = way_along(self.show, start, end, given.ducts) if given.ducts else None
        way = way or self.ground.ways.shortest(start, end) or Way()
        length = float(run_length_m(self.show, way))
        if given.run.length_m is not None:
            length = given.run.length_m
        if given.cable == MULTICORE:
            ends, medium, net = given.ends, MULTICORE, ""
        else:
            sort = medium_of(given.cable) or (FIBRE if given.cable == FIBRE else "")
            sort = sort or self._medium(given, way, length)
            found = self._numbered(given.ends, sort, before)
            if found is None:
                return None
            ends = found
            medium = given.cable if given.cable not in ("", FIBRE) else self._cable(sort, length)
            net = self.net_at(ends[0]) or self.net_at(ends[1])
        return PlannedRun(
            name=given.run.name,
            net=net,
            ends=ends,
            ducts=way.ducts,
            medium=medium,
            length_m=length,
            given=True,
        )

    def _medium(self, given: Given, way: Way, length_m: float) -> str:
        """Give the medium of a run whose cable nobody wrote: its ports', else what reaches."""
        assert given.ends is not None
        ports = [port_at(self.show, end) for end in given.ends]
        media = [port.medium for port in ports if port is not None]
        if media:
            return media[0]
        units = [self.show.units[end.unit] for end in given.ends]
        both = [m for m in (COPPER, FIBRE) if all(_has(u.kind.ports, m) for u in units)]
        apart = self.ground.supplies.apart(units[0].place, units[1].place)
        reach = copper_reach_m(self.show, way.ducts, given.run.couplers)
        if FIBRE in both and (COPPER not in both or apart or length_m > reach):
            return FIBRE
        return COPPER

    def _cable(self, medium: str, length_m: float) -> str:
        return COPPER if medium == COPPER else fibre_for(length_m, 1000) or "single-mode"

    def _numbered(
        self, ends: tuple[PortAt, PortAt], medium: str, before: PlannedRun | None
    ) -> tuple[PortAt, PortAt] | None:
        found = []
        for end in ends:
            number = end.number
            if number is None and before is not None:
                kept = next((e for e in before.ends if e.unit == end.unit), None)
                fits = kept is not None and (at := port_at(self.show, kept)) is not None
                if fits and kept not in self.taken and at is not None and at.medium == medium:
                    number = kept.number if kept is not None else None
            number = number or next(self._open_ports(end.unit, medium), None)
            if number is None:
                return None
            found.append(PortAt(unit=end.unit, number=number))
        return found[0], found[1]

    def _open_ports(self, name: str, medium: str) -> Iterator[int]:
        for port in self.show.units[name].kind.ports:
            at = PortAt(unit=name, number=port.number)
            if port.medium == medium and at not in self.taken and self.net_at(at):
                yield port.number

    # -- earlier -------------------------------------------------------------------------------

    def keep(self, earlier: Network) -> None:
        """Take in every run planned earlier that is still possible."""
        for run in earlier.runs:
            if run.name not in self.runs and run.name not in self.show.runs:
                kept = self._still(run)
                if kept is not None:
                    self.add(kept)

    def _still(self, run: PlannedRun) -> PlannedRun | None:
        """Give the run as it is now, or None where it can't stay."""
        if any(end.unit not in self.show.units for end in run.ends):
            return None
        if run.medium == MULTICORE:
            return self._still_multicore(run)
        way = self._way(run)
        if way is None or not all(self._may_take(end, run) for end in run.ends):
            return None
        medium = medium_of(run.medium)
        start, end = (place_of(self.show, e) for e in run.ends)
        apart = medium == COPPER and self.ground.supplies.apart(start, end)
        ports = [port_at(self.show, e) for e in run.ends]
        speed = min(port.speed_mbit for port in ports if port is not None)
        cable = self.ground.cable(way, medium, speed)
        if apart or cable is None:
            return None
        # What is laid stays what it is as long as it reaches: single-mode reaches wherever
        # multi-mode does. Its way may have been measured again.
        stays = cable.cable if cable.cable == "single-mode" else run.medium
        return PlannedRun(
            name=run.name,
            net=run.net,
            ends=run.ends,
            ducts=way.ducts,
            medium=stays,
            length_m=float(cable.length_m),
            stock=run.stock,
        )

    def _still_multicore(self, run: PlannedRun) -> PlannedRun | None:
        way = self._way(run)
        drops = [self.show.units[end.unit].sockets_of for end in run.ends]
        if way is None or not any(drops):
            return None
        return PlannedRun(
            name=run.name,
            net="",
            ends=run.ends,
            ducts=way.ducts,
            medium=run.medium,
            length_m=float(run_length_m(self.show, way)),
            stock=run.stock,
        )

    def _way(self, run: PlannedRun) -> Way | None:
        start, end = (place_of(self.show, e) for e in run.ends)
        if run.ducts:
            way = way_along(self.show, start, end, run.ducts)
            if way is not None:
                return way
        near = self.ground.ways.between(start, end)
        return next((way for way in near if way.ducts == run.ducts), None)

    def _may_take(self, end: PortAt, run: PlannedRun) -> bool:
        port = port_at(self.show, end)
        unit = self.show.units[end.unit]
        is_switch = unit.kind.does is Does.SWITCH
        feed = feed_dw(unit) if run.net == self.ground.nets[0] else 0
        other = next(e for e in run.ends if e != end)
        feeder = port_at(self.show, other)
        return (
            (is_switch or unit.name in self.ground.used)
            and port is not None
            and (not feed or (feeder is not None and feeds_dw(feeder) >= feed))
            and port.medium == medium_of(run.medium)
            and end not in self.taken
            and self.net_at(end) == run.net
        )


def _has(ports: Sequence[object], medium: str) -> bool:
    return any(getattr(port, "medium", "") == medium for port in ports)
