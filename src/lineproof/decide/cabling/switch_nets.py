"""Which net every switch is on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lineproof.base.names import natural
from lineproof.decide.cabling.given import Given
from lineproof.decide.cabling.ground import Ground, hangs
from lineproof.graph.ports import ports_by_net
from lineproof.plan.network import Network
from lineproof.show.model import Unit


def decide_switch_nets(
    ground: Ground, given: Sequence[Given], earlier: Network | None
) -> dict[str, str]:
    """Give the net of every switch, by name.

    What the show says wins, then what was planned; then a given run carries the net of its one
    end to the other. The rest are shared out: where fewest stand at the place, then over all,
    then with the circuits that its own net's switches there use, so that one supply takes one net.
    """
    nets = {s.name: s.net for s in ground.switches if s.net}
    for switch in ground.switches:
        before = earlier.switch_nets.get(switch.name, "") if earlier else ""
        if before in ground.nets:
            nets.setdefault(switch.name, before)
    _carry(ground, given, nets)
    for switch in ground.switches:
        if switch.name not in nets:
            nets[switch.name] = min(ground.nets, key=lambda net: _crowd(ground, switch, net, nets))
            _carry(ground, given, nets)
    return {name: nets[name] for name in sorted(nets, key=natural)}


def _carry(ground: Ground, given: Sequence[Given], nets: dict[str, str]) -> None:
    """Carry nets along given runs, to switches that have none yet."""
    names = {switch.name for switch in ground.switches}
    changed = True
    while changed:
        changed = False
        for run in given:
            for mine, other in (run.ends, run.ends[::-1]) if run.ends else ():
                if mine.unit in names and mine.unit not in nets:
                    net = nets.get(other.unit, "") or _net_at(ground, other.unit, other.number)
                    if net:
                        nets[mine.unit] = net
                        changed = True


def _net_at(ground: Ground, name: str, number: int | None) -> str:
    """Give the net of a unit's port, "" for a switch's or where both are possible."""
    unit = ground.show.units.get(name)
    if unit is None or not hangs(unit):
        return ""
    found = [
        net
        for net, numbers in ports_by_net(ground.show, unit).items()
        if number is None or number in numbers
    ]
    return found[0] if len(found) == 1 else ""


def _crowd(
    ground: Ground, switch: Unit, net: str, nets: Mapping[str, str]
) -> tuple[int, int, int, int]:
    same = [s for s in ground.switches if nets.get(s.name) == net]
    here = [s for s in same if s.place == switch.place]
    others = [s for s in ground.switches if nets.get(s.name) not in (net, None)]
    shared = sum(bool(set(s.circuits) & set(switch.circuits)) for s in others)
    return len(here), len(same), shared, ground.nets.index(net)
