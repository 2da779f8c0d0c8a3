"""The IPv4 address of every unit on every net it is on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from ipaddress import IPv4Network

from lineproof.base.names import natural
from lineproof.decide.addresses_ranges import host, number_in
from lineproof.decide.ranks import nets_here
from lineproof.graph.ports import nets_of
from lineproof.kit.kinds import Does
from lineproof.plan.network import Address, NetPlan, Network
from lineproof.show.build_addresses import Asked
from lineproof.show.model import Show, Unit

#: The first address is left to a router, where the house has one (common practice).
_FIRST = 2
#: Units begin after an eighth of the range, switches before: a glance tells them apart.
_SWITCHES_PART = 8


def plan_units(
    show: Show,
    network: Network,
    nets: Mapping[str, NetPlan],
    wishes: Asked,
    earlier: Network | None,
) -> tuple[Address, ...]:
    """Give the addresses, by net and then by unit.

    Given by hand first, then what each had, then what is retired for it, then the lowest free
    number, one and the same on all its nets where that can be. Queriers take the lowest numbers,
    for the lowest address wins (RFC 3376 6.6.2).
    """
    slots = Slots(nets, wishes, earlier)
    order = _order(show, network, nets)
    for unit, on in order:
        slots.keep(unit.name, on)
    for unit, on in order:
        slots.add(unit.name, on, switch=unit.kind.does is Does.SWITCH)
    return tuple(
        Address(
            unit=unit,
            net=net,
            ip=slots.ip(net, number),
            given=(unit, net) in wishes.units,
        )
        for net in nets_of(show)
        for unit, number in sorted(slots.taken[net].items(), key=lambda item: natural(item[0]))
    )


def _order(
    show: Show, network: Network, nets: Mapping[str, NetPlan]
) -> list[tuple[Unit, tuple[str, ...]]]:
    leading = {name: n for plan in nets.values() for n, name in enumerate(plan.queriers)}
    units = [
        (unit, nets_here(show, unit, network))
        for unit in show.units.values()
        if unit.kind.does is not Does.SWITCH or unit.kind.managed
    ]
    return sorted(
        units,
        key=lambda x: (
            x[0].kind.does is not Does.SWITCH,
            leading.get(x[0].name, len(leading)),
            natural(x[0].name),
        ),
    )


class Slots:
    """The numbers of each net's range, and who has which; a number outside it stands as text."""

    def __init__(self, nets: Mapping[str, NetPlan], wishes: Asked, earlier: Network | None) -> None:
        self.ranges = {net: IPv4Network(plan.range) for net, plan in nets.items()}
        self.taken: dict[str, dict[str, int]] = {net: {} for net in nets}
        self._used: dict[str, set[int]] = {net: set() for net in nets}
        #: From where to look on, by nets, where the looking began, and whether retired ones count.
        self._next: dict[tuple[tuple[str, ...], int, bool], int] = {}
        self._wishes = wishes
        given = wishes.units.items()
        self._given = {(net, self._number(net, str(ip))) for (_, net), ip in given if net in nets}
        held = earlier.addresses if earlier else ()
        retired = [r for r in earlier.retired if r.what == "address"] if earlier else []
        self._held = {(a.unit, a.net): a.ip for a in held}
        self._retired_for = {(r.of, r.net): r.value for r in retired}
        #: Numbers that stay with somebody who has them, or had them once.
        self._kept: dict[str, set[int]] = {net: set() for net in nets}
        for net, ip in [*((a.net, a.ip) for a in held), *((r.net, r.value) for r in retired)]:
            number = self._inside(net, ip) if net in nets else None
            if number is not None:
                self._kept[net].add(number)

    def ip(self, net: str, number: int) -> str:
        """Give the address of a number."""
        return host(self.ranges[net], number)

    def _number(self, net: str, ip: str) -> int:
        """Give an address's distance from the range's beginning, outside of it too."""
        return int(IPv4Network(ip).network_address) - int(self.ranges[net].network_address)

    def _inside(self, net: str, ip: str) -> int | None:
        number = number_in(self.ranges[net], ip)
        last = self.ranges[net].num_addresses - 1
        return number if number is not None and 0 < number < last else None

    def keep(self, unit: str, nets: Iterable[str]) -> None:
        """Give a unit what is given by hand, what it had, or what is retired for it."""
        for net in nets:
            if (unit, net) in self._wishes.units:
                self._take(unit, net, self._number(net, str(self._wishes.units[unit, net])))
                continue
            for known in (self._held, self._retired_for):
                ip = known.get((unit, net))
                number = self._inside(net, ip) if ip else None
                if number is not None and self._free(net, number):
                    self._take(unit, net, number)
                    break

    def _free(self, net: str, number: int) -> bool:
        return number not in self._used[net] and (net, number) not in self._given

    def _take(self, unit: str, net: str, number: int) -> None:
        self.taken[net][unit] = number
        self._used[net].add(number)

    def add(self, unit: str, nets: tuple[str, ...], *, switch: bool) -> None:
        """Give a unit a number on each net where it has none, alike where that can be."""
        lacking = [net for net in nets if unit not in self.taken[net]]
        if not lacking:
            return
        own = [self.taken[net][unit] for net in nets if net not in lacking]
        for number in own:
            lacking = [net for net in lacking if not self._add(unit, net, number)]
        alike = self._lowest(lacking, switch=switch)
        for net in lacking:
            number_here = alike if alike is not None else self._lowest([net], switch=switch)
            if number_here is not None:
                self._take(unit, net, number_here)

    def _add(self, unit: str, net: str, number: int) -> bool:
        if not self._good(net, number, retired=False):
            return False
        self._take(unit, net, number)
        return True

    def _good(self, net: str, number: int, *, retired: bool) -> bool:
        inside = _FIRST <= number < self.ranges[net].num_addresses - 1
        free = inside and self._free(net, number)
        return free and (retired or number not in self._kept[net])

    def _lowest(self, nets: list[str], *, switch: bool) -> int | None:
        """Give the lowest number free on all these nets; one that was others' only if all are."""
        if not nets:
            return None
        size = min(self.ranges[net].num_addresses for net in nets)
        begin = _FIRST if switch else max(_FIRST, size // _SWITCHES_PART)
        for retired in (False, True):
            for first, last in ((begin, size - 1), (_FIRST, begin)):
                key = (tuple(nets), first, retired)
                for number in range(max(first, self._next.get(key, 0)), last):
                    # What is not free now will not be: nobody gives a number back.
                    self._next[key] = number
                    if all(self._good(net, number, retired=retired) for net in nets):
                        return number
        return None
