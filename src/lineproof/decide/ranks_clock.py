"""Who leads the clock: what every unit that can be grandmaster announces."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lineproof.base.names import natural
from lineproof.decide.ranks import Risks, nets_here
from lineproof.graph.ports import nets_of
from lineproof.kit.kinds import ClockFacts
from lineproof.plan.network import ClockRank, Network
from lineproof.show.build_addresses import Asked
from lineproof.show.model import Show, Unit

#: priority1 of the first and second grandmaster; all others keep 128 (IEEE 1588: 0 to 255, lower
#: wins; common practice, low enough to stand below what equipment is delivered with).
GRANDMASTER_PRIORITIES = (10, 20)
REST_PRIORITY1 = 128
PRIORITY2 = 128

#: Up to this class a clock follows a source outside and never another clock (IEEE 1588, from
#: memory): two such of class 6 are in step wherever they stand.
_PRIMARY = 6


def plan_clock(
    show: Show, network: Network, wishes: Asked, earlier: Network | None
) -> tuple[ClockRank, ...]:
    """Give what every unit that can be grandmaster announces, by net and name.

    First the better clock (class, accuracy), on two nets one unit that is on both, then the
    better fed; the second likewise, apart from the first. Who was first stays so among clocks
    of one class. Units of others, and those not there all night, are never planned for it.
    """
    by_net = {net: clock_units(show, network, net) for net in nets_of(show)}
    risks = Risks(show)
    firsts = _firsts(by_net, wishes, earlier, risks)
    ranks: list[ClockRank] = []
    for net, units in by_net.items():
        first = firsts.get(net)
        second = _second(by_net, net, first, wishes, earlier, risks) if first else None
        order = {name: n for n, name in enumerate((first, second), start=1) if name}
        ranks += [_rank(unit, net, order.get(unit.name, 0)) for unit in units]
    return tuple(ranks)


def _rank(unit: Unit, net: str, rank: int) -> ClockRank:
    facts = unit.kind.clock
    if unit.theirs and facts is not None:
        # Nobody sets up a guest's unit: it announces what it was delivered with.
        priority1, priority2 = facts.priority1, facts.priority2
    else:
        priority1 = GRANDMASTER_PRIORITIES[rank - 1] if rank else REST_PRIORITY1
        priority2 = PRIORITY2
    return ClockRank(unit=unit.name, net=net, priority1=priority1, priority2=priority2, rank=rank)


def clock_units(show: Show, network: Network, net: str) -> tuple[Unit, ...]:
    """Give the units on a net that can be grandmaster, by name."""
    return tuple(
        unit
        for unit in sorted(show.units.values(), key=lambda u: natural(u.name))
        if unit.kind.clock is not None and net in nets_here(show, unit, network)
    )


_Clocks = Mapping[str, tuple[Unit, ...]]


def _able(units: Iterable[Unit]) -> list[Unit]:
    return [unit for unit in units if not unit.theirs and not unit.here]


def _quality(unit: Unit) -> tuple[int, int]:
    """Give clock class and accuracy, lower the better, as IEEE 1588 compares them."""
    facts = unit.kind.clock
    assert isinstance(facts, ClockFacts)
    return (facts.clock_class, int(facts.accuracy, 16))


def _firsts(
    by_net: _Clocks, wishes: Asked, earlier: Network | None, risks: Risks
) -> Mapping[str, str]:
    """Give the first grandmaster by net: one unit on all nets, unless each has its own source."""
    best = {net: _best(_able(units), net, wishes, earlier, risks) for net, units in by_net.items()}
    found = {net: unit for net, unit in best.items() if unit is not None}
    everywhere = _everywhere(by_net)
    home = next(iter(by_net))
    on_all = [unit for unit in _able(by_net[home]) if unit.name in everywhere]
    if len(found) == len(by_net) and all(_quality(u)[0] == _PRIMARY for u in found.values()):
        # Each net has its own source, and all are in step; one on all of them is simpler still.
        on_all = [unit for unit in on_all if _quality(unit)[0] == _PRIMARY]
    asked = any(unit.name in wishes.grandmasters[:1] for unit in found.values())
    one = None if asked else _best(on_all, home, wishes, earlier, risks)
    if one is not None:
        return dict.fromkeys(by_net, one.name)
    return {net: unit.name for net, unit in found.items()}


def _everywhere(by_net: _Clocks) -> frozenset[str]:
    """Give the units that are on all nets."""
    first, *others = ({unit.name for unit in units} for units in by_net.values())
    return frozenset(first.intersection(*others))


def _best(
    units: list[Unit],
    net: str,
    wishes: Asked,
    earlier: Network | None,
    risks: Risks,
) -> Unit | None:
    # Where the first is gone the second, which took over, goes on leading.
    before = (_before(earlier, net, 1), _before(earlier, net, 2))
    asked = wishes.grandmasters[:1]

    def against(unit: Unit) -> tuple[object, ...]:
        clock_class, accuracy = _quality(unit)
        seat = before.index(unit.name) if unit.name in before else len(before)
        power = risks.power(unit.name)
        return (unit.name not in asked, clock_class, seat, accuracy, power, natural(unit.name))

    return min(units, key=against, default=None)


def _before(earlier: Network | None, net: str, rank: int) -> str:
    if earlier is None:
        return ""
    return next((c.unit for c in earlier.clock if c.net == net and c.rank == rank), "")


def _second(
    by_net: _Clocks, net: str, first: str, wishes: Asked, earlier: Network | None, risks: Risks
) -> str | None:
    units = [unit for unit in _able(by_net[net]) if unit.name != first]
    asked = wishes.grandmasters[1:2]
    before = _before(earlier, net, 2)
    everywhere = _everywhere(by_net)

    def against(unit: Unit) -> tuple[object, ...]:
        clock_class, accuracy = _quality(unit)
        return (
            unit.name not in asked,
            unit.name not in everywhere,
            clock_class,
            unit.name != before,
            *risks.shared(first, unit.name),
            accuracy,
            risks.power(unit.name),
            natural(unit.name),
        )

    best = min(units, key=against, default=None)
    return best.name if best is not None else None
