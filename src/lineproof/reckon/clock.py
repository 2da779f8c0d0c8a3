"""Who keeps the time on each net (IEEE 1588), who follows, and what stands on its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lineproof.base.names import natural
from lineproof.graph.net import Fabric, mac_number
from lineproof.kit.kinds import Does
from lineproof.plan.network import ClockRank, Network
from lineproof.reckon.sessions import mac_on
from lineproof.reckon.tree import Tree
from lineproof.show.model import Show, Unit

#: IEEE 1588-2008 7.6.2.4 and facts: 1 to 127 never becomes a slave, 255 only ever is one.
_NEVER_SLAVE, _SLAVE_ONLY = 127, 255
#: In step with a primary source such as a satellite (facts; IEEE 1588-2008 table 5, from memory).
_TRACEABLE = 6
#: IEEE 1588-2008: no figure known.
_NO_VARIANCE = 0xFFFF
#: The default of both priorities (IEEE 1588-2008, AES67 media profile).
_PRIORITY = 128


@dataclass(frozen=True, kw_only=True)
class Timing:
    """How often a grandmaster announces itself, and after how many silences it counts as gone.

    The default is the AES67 media profile's: 2 s and 3 (from memory).
    """

    announce_s: float = 2.0
    receipt_timeout: int = 3

    @property
    def noticed_s(self) -> float:
        """Give the seconds after which its loss is noticed at the latest."""
        return self.announce_s * self.receipt_timeout


@dataclass(frozen=True, kw_only=True)
class Announced:
    """What a clock says of itself, in the order in which it is compared; lower wins.

    `identity`: made from the hardware address; None where none is known: then the order of names
    stands in.
    """

    name: str
    priority1: int
    clock_class: int
    accuracy: int
    variance: int
    priority2: int
    identity: int | None

    def rank(self) -> tuple[int, int, int, int, int, bool, int, object]:
        """Give the key of the comparison (IEEE 1588-2008 9.3.4, figure 27)."""
        return (
            self.priority1,
            self.clock_class,
            self.accuracy,
            self.variance,
            self.priority2,
            self.identity is None,
            self.identity or 0,
            natural(self.name),
        )


def clock_identity(mac: int) -> int:
    """Give the clock identity of a hardware address: FF-FE in its middle, no bit changed.

    >>> f"{clock_identity(0x001A2B3C4D5E):016X}"
    '001A2BFFFE3C4D5E'
    """
    return (mac >> 24) << 40 | 0xFFFE << 24 | mac & 0xFFFFFF


def elect(clocks: Iterable[Announced]) -> tuple[Announced, ...]:
    """Give the clocks in the order in which they win: the first is grandmaster.

    One that can only be a slave is left out.
    """
    able = (clock for clock in clocks if clock.clock_class != _SLAVE_ONLY)
    return tuple(sorted(able, key=Announced.rank))


def announced(show: Show, network: Network, net: str, names: Iterable[str]) -> list[Announced]:
    """Give what the units among `names` that can be grandmaster announce on a net.

    Priorities as planned, else as the kind has them.
    """
    ranks = {rank.unit: rank for rank in network.clock if rank.net == net}
    found = []
    for name in names:
        unit = show.units[name]
        if unit.kind.clock is not None:
            found.append(_announced(unit, net, ranks.get(name)))
    return found


def _announced(unit: Unit, net: str, rank: ClockRank | None) -> Announced:
    facts = unit.kind.clock
    assert facts is not None
    mac = mac_number(mac_on(unit, net))
    return Announced(
        name=unit.name,
        priority1=rank.priority1 if rank else facts.priority1,
        clock_class=facts.clock_class,
        accuracy=int(facts.accuracy, 16),
        variance=_NO_VARIANCE,
        priority2=rank.priority2 if rank else facts.priority2,
        identity=None if mac is None else clock_identity(mac),
    )


@dataclass(frozen=True, kw_only=True)
class Reign:
    """Who keeps the time in one part of a net.

    `order`: first, second and so on; none where nobody there can. `follow`: the others there that
    carry audio. `by_name`: clocks that only their unknown identities could tell apart.
    `passive`: clocks that lose and yet never follow (classes up to 127).
    """

    net: str
    order: tuple[str, ...]
    follow: tuple[str, ...]
    passive: tuple[str, ...] = ()
    by_name: tuple[str, ...] = ()

    @property
    def grandmaster(self) -> str:
        """Give the first, "" where nobody can."""
        return self.order[0] if self.order else ""


def reigns(show: Show, network: Network, tree: Tree) -> tuple[Reign, ...]:
    """Give who keeps the time in each part of a net, as it is with that tree."""
    fabric = tree.fabric
    parts: dict[int, list[str]] = {}
    for i, root in enumerate(tree.root):
        unit = show.units[fabric.nodes[i].name]
        if root >= 0 and unit.kind.does is not Does.SWITCH:
            parts.setdefault(root, []).append(unit.name)
    return tuple(_reign(show, network, fabric, parts[root]) for root in sorted(parts))


def _reign(show: Show, network: Network, fabric: Fabric, names: Sequence[str]) -> Reign:
    order = elect(announced(show, network, fabric.net, names))
    first = order[0].name if order else ""
    return Reign(
        net=fabric.net,
        order=tuple(clock.name for clock in order),
        follow=tuple(n for n in names if n != first and show.units[n].kind.networked),
        passive=tuple(c.name for c in order[1:] if c.clock_class <= _NEVER_SLAVE),
        by_name=_by_name(order),
    )


def _by_name(order: Sequence[Announced]) -> tuple[str, ...]:
    """Give the clocks level with the first in all but an identity that one of them hasn't."""
    level = [clock for clock in order if clock.rank()[:5] == order[0].rank()[:5]]
    unknown = any(clock.identity is None for clock in level)
    return tuple(clock.name for clock in level) if len(level) > 1 and unknown else ()


@dataclass(frozen=True, kw_only=True)
class HandOver:
    """What happens when the grandmaster goes: who follows, and in what time (seconds).

    Until it is noticed, and while they lock again, units run on by themselves. `noticed_s`: when
    the loss is noticed at the latest; `locked_s`: when the slowest unit has locked again.
    `lock_s` by unit that must follow another. `worse`: the new one is of a higher class than the
    old, or there is none.
    """

    gone: str
    next: str
    noticed_s: float
    locked_s: float
    lock_s: Mapping[str, float]
    worse: bool


def hand_over(show: Show, reign: Reign, timing: Timing | None = None) -> HandOver | None:
    """Give what follows on the loss of the grandmaster; None where there is none to lose."""
    if not reign.order:
        return None
    noticed = (timing or Timing()).noticed_s
    first, second = (*reign.order, "")[:2]
    lock = {n: show.units[n].kind.clock_lock_s for n in reign.follow if n != second}
    return HandOver(
        gone=first,
        next=second,
        noticed_s=noticed,
        locked_s=noticed + max(lock.values(), default=0.0),
        lock_s=lock,
        worse=not second or _class_of(show, second) > _class_of(show, first),
    )


def _class_of(show: Show, name: str) -> int:
    clock = show.units[name].kind.clock
    return clock.clock_class if clock is not None else _SLAVE_ONLY


@dataclass(frozen=True, kw_only=True)
class RateIsland:
    """The networked units that work at one sample rate; `converters` among them change rates."""

    rate_hz: int
    units: tuple[str, ...]
    converters: tuple[str, ...] = ()


def rate_islands(show: Show) -> tuple[RateIsland, ...]:
    """Give the units by sample rate, the show's own rate first, then upwards."""
    found: dict[int, list[Unit]] = {}
    for unit in show.units.values():
        if unit.kind.networked:
            found.setdefault(show.unit_rate_hz(unit), []).append(unit)
    rates = sorted(found, key=lambda rate: (rate != show.rate_hz, rate))
    return tuple(
        RateIsland(
            rate_hz=rate,
            units=tuple(unit.name for unit in found[rate]),
            converters=tuple(u.name for u in found[rate] if u.kind.converts_rate),
        )
        for rate in rates
    )


def rate_crossings(show: Show, network: Network) -> tuple[tuple[str, str], ...]:
    """Give every (stream, receiver) that goes between two rates without a converter at one end."""
    found = []
    for stream in network.streams:
        sender = show.units.get(stream.sender)
        for name in stream.receivers:
            receiver = show.units.get(name)
            if sender is None or receiver is None:
                continue  # gone from the show since it was planned
            if show.unit_rate_hz(sender) != show.unit_rate_hz(receiver) and not (
                sender.kind.converts_rate or receiver.kind.converts_rate
            ):
                found.append((stream.name, name))
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class Oneness:
    """Whether the nets keep one time, and why: by one unit, or by one source."""

    one: bool
    why: str


def one_clock(show: Show, grandmasters: Mapping[str, str]) -> Oneness:
    """Say whether the grandmasters of all nets, by net, keep one time.

    They do where one unit is grandmaster of all, or each is locked to a primary source: class 6
    is traceable to one (IEEE 1588-2008 table 5, from memory).
    """
    names = [grandmasters[net] for net in sorted(grandmasters)]
    if any(not name for name in names):
        lacking = [net for net in sorted(grandmasters) if not grandmasters[net]]
        return Oneness(one=False, why=f"net {' and '.join(lacking)} has no grandmaster")
    if len(set(names)) <= 1:
        return Oneness(one=True, why=f"{names[0]} keeps the time of all" if names else "no net")
    if all(_class_of(show, name) == _TRACEABLE for name in names):
        return Oneness(one=True, why=f"{' and '.join(names)} are each locked to a primary source")
    return Oneness(one=False, why=f"{' and '.join(names)} each keep a time of their own")
