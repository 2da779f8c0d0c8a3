"""From a show and the network planned earlier to its runs and rescue ports."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lineproof.base.names import natural
from lineproof.decide.cabling.chains import Joint, hang_chains
from lineproof.decide.cabling.cuts import Net
from lineproof.decide.cabling.fabric import links_of, trunks_for
from lineproof.decide.cabling.given import MULTICORE, read_given
from lineproof.decide.cabling.ground import Cable, Ground, Need, feed_dw, feeds_dw
from lineproof.decide.cabling.hang import Choice, Group, groups_of
from lineproof.decide.cabling.keep import Kept
from lineproof.decide.cabling.model import RESCUE_PORTS, Chosen, Task, choose
from lineproof.decide.cabling.multicores import multicore_runs
from lineproof.decide.cabling.ports import Desk, Wanted, rescue_ports, retired_names
from lineproof.decide.cabling.stock import from_stock
from lineproof.decide.cabling.switch_nets import decide_switch_nets
from lineproof.decide.terms import Term
from lineproof.kit.kinds import Does, Port
from lineproof.plan.network import Network, PlannedRun, PortAt, RescuePort, Retired
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class Cabling:
    """What is decided about cables, runs by name; goes into `Network` field by field.

    `retired`: names of runs that stand no more and are given to none else (earlier ones
    included). `terms`: each wish beside its proven bound.
    """

    switch_nets: Mapping[str, str] = field(default_factory=dict)
    runs: tuple[PlannedRun, ...] = ()
    rescue_ports: tuple[RescuePort, ...] = ()
    retired: tuple[Retired, ...] = ()
    terms: tuple[Term, ...] = ()

    def network(self) -> Network:
        """Give a network with nothing in it but these decisions."""
        return Network(
            switch_nets=self.switch_nets,
            runs=self.runs,
            rescue_ports=self.rescue_ports,
            retired=self.retired,
        )


def plan_runs(
    show: Show, earlier: Network | None = None, *, used: frozenset[str] | None = None
) -> Cabling:
    """Give the runs of a show: every unit joined to a switch of each of its nets.

    Given runs are kept, and so is every run of `earlier` that is still possible. `used` names the
    units that the show uses, None for all. What can't be joined is left out; the checks find it.
    """
    ground = Ground(show, used)
    given = read_given(show)
    nets = decide_switch_nets(ground, given, earlier)
    kept = Kept(ground, nets)
    kept.take_given(given, earlier)
    if earlier is not None:
        kept.keep(earlier)
    planner = _Planner(ground, nets, kept, earlier)
    planner.plan()
    runs = from_stock(show, sorted(planner.runs, key=lambda r: natural(r.name)))
    return Cabling(
        switch_nets=nets,
        runs=runs,
        rescue_ports=rescue_ports(planner.desk.free, nets, earlier, RESCUE_PORTS),
        retired=planner.retired,
        terms=planner.terms,
    )


class _Planner:
    def __init__(
        self,
        ground: Ground,
        switch_nets: Mapping[str, str],
        kept: Kept,
        earlier: Network | None,
    ) -> None:
        self.ground = ground
        self.switch_nets = switch_nets
        self.kept = kept
        self.runs = list(kept.runs.values())
        self.terms: tuple[Term, ...] = ()
        free = free_ports(ground, kept)
        standing, self.retired = retired_names(earlier, self.runs)
        avoid = frozenset(r.port for r in earlier.rescue_ports) if earlier else frozenset()
        self.desk = Desk(free, frozenset(kept.runs), standing, avoid)

    def plan(self) -> None:
        """Choose, number and name all runs that are not there yet."""
        groups = groups_of(self.ground, self.switch_nets, self.desk.free, self.runs)
        chosen = choose(self._task(groups))
        self.terms = chosen.terms
        wanted = self._wanted(groups, chosen)
        self._hang([w for w in wanted if w.need.feed_dw])
        for trunk in sorted(chosen.trunks, key=lambda t: tuple(map(natural, t.link.ends))):
            one, other = trunk.link.ends
            medium = trunk.cable.medium
            ends = (self.desk.trunk_port(one, medium), self.desk.trunk_port(other, medium))
            self._lay(f"{one}-{other}-{trunk.link.net}", trunk.link.net, ends, trunk.cable)
        self._hang([w for w in wanted if not w.need.feed_dw])
        for joint in hang_chains(self.ground, self.switch_nets, self.desk, self.runs):
            self._lay(self._stem(joint), joint.net, joint.ends, joint.cable)
        for ends, cable in list(multicore_runs(self.ground, self.runs)):
            self._lay(f"{ends[0].unit}-{ends[1].unit}-multicore", "", ends, cable)

    def _stem(self, joint: Joint) -> str:
        first, second = (self.ground.show.units[end.unit] for end in joint.ends)
        if second.kind.does is Does.SWITCH:
            return f"{first.name}-{joint.net}"
        return f"{first.name}-{second.name}-{joint.net}"

    def _task(self, groups: Sequence[Group]) -> Task:
        nets = []
        for name in self.ground.nets:
            switches = [s for s in self.ground.switches if self.switch_nets[s.name] == name]
            names = tuple(s.name for s in switches)
            nets.append(
                Net(
                    name=name,
                    switches=names,
                    links=tuple(links_of(self.runs, names)),
                    trunks=tuple(trunks_for(self.ground, name, switches, self.desk.free)),
                )
            )
        return Task(
            nets=tuple(nets),
            groups=tuple(groups),
            free=self.desk.free,
            budget_dw=self._budgets(),
        )

    def _budgets(self) -> dict[str, int]:
        left = {s.name: round(s.kind.poe_budget_w * 10) for s in self.ground.switches}
        for switch, drawn in drawn_dw(self.ground.show, self.runs).items():
            left[switch] = max(0, left[switch] - drawn)
        return left

    def _wanted(self, groups: Sequence[Group], chosen: Chosen) -> list[Wanted]:
        found = []
        for group, hung in zip(groups, chosen.hung, strict=True):
            each: list[Choice] = [choice for choice, count in hung for _ in range(count)]
            for unit, choice in zip(group.units, each, strict=True):
                for need, hang in zip(group.needs, choice.hangs, strict=True):
                    if hang is not None:
                        its = Need(
                            unit=unit,
                            net=need.net,
                            port=need.port,
                            medium=need.medium,
                            speed_mbit=need.speed_mbit,
                            feed_dw=need.feed_dw,
                        )
                        found.append(Wanted(need=its, switch=hang.switch, cable=hang.cable))
        # Most power first, then the fast ones: what is left fits whoever comes last.
        return sorted(
            found,
            key=lambda w: (-w.need.feed_dw, -w.need.speed_mbit, natural(w.need.unit), w.need.net),
        )

    def _hang(self, wanted: Sequence[Wanted]) -> None:
        for one in wanted:
            port = self.desk.unit_port(one.switch, one.need)
            if port is not None:
                need = one.need
                ends = (PortAt(unit=need.unit, number=need.port), port)
                self._lay(f"{need.unit}-{need.net}", need.net, ends, one.cable)

    def _lay(self, stem: str, net: str, ends: tuple[PortAt, PortAt], cable: Cable) -> None:
        self.runs.append(
            PlannedRun(
                name=self.desk.name(stem, ends, cable.way.ducts),
                net=net,
                ends=ends,
                ducts=cable.way.ducts,
                medium=cable.cable if net else MULTICORE,
                length_m=float(cable.length_m),
            )
        )


def free_ports(ground: Ground, kept: Kept) -> dict[str, list[Port]]:
    """Give the ports of each switch that no run takes."""
    return {
        switch.name: [
            port
            for port in switch.kind.ports
            if PortAt(unit=switch.name, number=port.number) not in kept.taken
        ]
        for switch in ground.switches
    }


def drawn_dw(show: Show, runs: Sequence[PlannedRun]) -> dict[str, int]:
    """Give what each switch feeds over these runs, in tenths of a watt."""
    drawn: dict[str, int] = {}
    for run in runs:
        for end, other in (run.ends, run.ends[::-1]):
            unit, feeder = show.units.get(end.unit), show.units.get(other.unit)
            if unit is None or feeder is None or not run.net:
                continue
            port = next((p for p in feeder.kind.ports if p.number == other.number), None)
            if port is not None and feeds_dw(port):
                drawn[feeder.name] = drawn.get(feeder.name, 0) + feed_dw(unit)
    return drawn
