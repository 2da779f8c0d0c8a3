"""What can fail, and what people do wrong: one name for each fault, with its parser and printer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from lineproof.base.names import folded, natural, nearest, normal
from lineproof.graph.ports import nets_of, port_mode
from lineproof.graph.signal import By, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import Plan
from lineproof.plan.network import Network, PortAt
from lineproof.show.model import Show, Unit

UNIT, SUPPLY, PORT, RUN, CIRCUIT, DIP, DUCT, RACK, PLACE, NET, MISTAKE = THINGS = (
    "unit",
    "supply",
    "port",
    "run",
    "circuit",
    "dip",
    "duct",
    "rack",
    "place",
    "net",
    "mistake",
)
WRONG_NET, LOOP, NO_SNOOPING, QUERIER_OFF, RIVAL_CLOCK, SAME_NUMBER, WRONG_DESK = MISTAKES = (
    "wrong-net",
    "loop",
    "no-snooping",
    "querier-off",
    "rival-clock",
    "same-number",
    "wrong-desk",
)


class FaultError(ValueError):
    """A text that names no fault; the message says why and what was perhaps meant."""


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing that fails, or one mistake someone makes; `what` is one of THINGS.

    `name`: `box-1`; a supply `desk/2`; a port `sw-1:8`; a mistake `loop:amp-1`.

    >>> str(Fault(what="unit", name="box-1")), str(Fault(what="supply", name="desk/2"))
    ('box-1', 'supply:desk/2')
    """

    what: str
    name: str

    def __str__(self) -> str:
        return self.name if self.what == UNIT else f"{self.what}:{self.name}"

    @property
    def mistake(self) -> tuple[str, str]:
        """Give which mistake it is, and what it is made with."""
        kind, _, rest = self.name.partition(":")
        return kind, rest


def faults(show: Show, network: Network | None = None) -> tuple[Fault, ...]:
    """Give everything that can fail by itself, by what it is and by name; mistakes apart.

    Supplies only of units that have two or more; ports only where a run is plugged in.
    """
    names = _names(show, network or Network())
    kinds = (UNIT, SUPPLY, PORT, RUN, CIRCUIT, DIP, DUCT, RACK, PLACE, NET)
    return tuple(Fault(what=what, name=name) for what in kinds for name in names[what])


def things(show: Show, network: Network | None = None) -> tuple[Fault, ...]:
    """Give the same without dips: what stays broken until someone mends it."""
    return tuple(fault for fault in faults(show, network) if fault.what != DIP)


def _names(show: Show, network: Network) -> Mapping[str, tuple[str, ...]]:
    runs = sorted(network.runs, key=lambda run: natural(run.name))
    ports = {end for run in runs for end in run.ends if end.number is not None}
    units = show.units.values()
    return MappingProxyType(
        {
            UNIT: tuple(show.units),
            SUPPLY: tuple(name for unit in units for name in supplies(unit)),
            PORT: tuple(str(port) for port in sorted(ports, key=PortAt.sort_key)),
            RUN: tuple(run.name for run in runs),
            CIRCUIT: tuple(show.circuits),
            DIP: tuple(show.circuits),
            DUCT: tuple(show.ducts),
            RACK: tuple(sorted({u.rack for u in units if u.rack}, key=natural)),
            PLACE: tuple(show.places),
            NET: tuple(sorted({run.net for run in runs if run.net})),
        }
    )


def supplies(unit: Unit) -> tuple[str, ...]:
    """Give the supplies of a unit that has two or more, as `desk/1`, `desk/2`."""
    count = len(unit.circuits)
    return tuple(f"{unit.name}/{n}" for n in range(1, count + 1)) if count > 1 else ()


def mistakes(show: Show, plan: Plan) -> tuple[Fault, ...]:
    """Give the mistakes that people can make with this show, in a fixed order.

    Of all boxes whose numbers could be confused, each with the next one only.
    """
    network = plan.network
    two = len({run.net for run in network.runs if run.net}) > 1
    units, nets = show.units, tuple(n for n in nets_of(show) if network.runs_on(n))
    leaves = [r.name for r in network.runs if two and r.net and not _between_switches(show, r.ends)]
    chained = [u.name for u in units.values() if port_mode(show, u) == "chain" and network.runs]
    plain = [name for name in network.switch_nets if name in units and units[name].kind.snooping]
    boxes = [u for u in units.values() if u.kind.numbering is not None and u.number is not None]
    boxes.sort(key=lambda unit: (unit.number or 0, natural(unit.name)))
    found = {
        WRONG_NET: sorted(leaves, key=natural),
        LOOP: chained,
        NO_SNOOPING: sorted(plain, key=natural),
        QUERIER_OFF: [n for n in nets if n in network.nets and network.nets[n].queriers],
        RIVAL_CLOCK: [net for net in nets if network.grandmaster(net)],
        SAME_NUMBER: [f"{b.name}/{a.name}" for a, b in pairwise(boxes)],
        WRONG_DESK: sorted(shared_boxes(show, plan), key=natural),
    }
    return tuple(
        Fault(what=MISTAKE, name=f"{kind}:{name}")
        for kind, names in found.items()
        for name in names
    )


def _between_switches(show: Show, ends: Iterable[PortAt]) -> bool:
    units = [show.units.get(end.unit) for end in ends]
    return all(unit is not None and unit.kind.does is Does.SWITCH for unit in units)


def shared_boxes(show: Show, plan: Plan) -> Mapping[str, tuple[str, ...]]:
    """Give the boxes whose preamplifiers two mixers or more hear over the network, with these."""
    heard: dict[str, dict[str, None]] = {}
    for decided in plan.lines:
        if any(spot.unit not in show.units for spot in decided.spots()):
            continue
        for way in ways(show, decided):
            for hop in way.hops():
                box, mixer = show.units[hop.from_spot.unit], show.units[hop.to_spot.unit]
                if hop.by is By.NETWORK and box.kind.does is Does.BOX and mixer.kind.strips:
                    heard.setdefault(box.name, {})[mixer.name] = None
    return {box: tuple(mixers) for box, mixers in heard.items() if len(mixers) > 1}


def parse_fault(text: str, show: Show, plan: Plan) -> Fault:
    """Read a fault's name; FaultError says what was perhaps meant.

    Names are compared without case. `unit:box-1` is `box-1`.
    """
    what, colon, name = normal(text).partition(":")
    if not colon:
        what, name = UNIT, what
    if folded(what) not in THINGS:
        raise FaultError(_unknown_what(text, what))
    what = folded(what)
    known = _known(show, plan)
    for each in known[what]:
        if folded(each) == folded(name):
            return Fault(what=what, name=each)
    if what == MISTAKE and (swapped := _swapped(name, show)) is not None:
        return swapped
    raise FaultError(_unknown_name(what, name, known))


def _known(show: Show, plan: Plan) -> Mapping[str, tuple[str, ...]]:
    made = tuple(fault.name for fault in mistakes(show, plan))
    return {**_names(show, plan.network), MISTAKE: made}


def _swapped(name: str, show: Show) -> Fault | None:
    """Give any two numbered boxes with one number; only neighbours stand in the list."""
    kind, _, rest = name.partition(":")
    names = rest.split("/")
    units = [show.find_unit(each) for each in names]
    numbered = [u.name for u in units if u is not None and u.number is not None]
    if folded(kind) != SAME_NUMBER or len(numbered) != 2 or numbered[0] == numbered[1]:
        return None
    return Fault(what=MISTAKE, name=f"{SAME_NUMBER}:{numbered[0]}/{numbered[1]}")


def _unknown_what(text: str, what: str) -> str:
    near = nearest(what, THINGS)
    hint = f"; did you mean {near!r}?" if near else f": one of {', '.join(THINGS)}"
    return f"{text!r} is no fault: {what!r} is nothing that fails{hint}"


def _unknown_name(what: str, name: str, known: Mapping[str, tuple[str, ...]]) -> str:
    elsewhere = [
        str(Fault(what=other, name=each))
        for other in (UNIT, CIRCUIT, RUN, DUCT, PLACE, RACK, NET)
        for each in known[other]
        if folded(each) == folded(name)
    ]
    if elsewhere:
        return f"there is no {what} {name!r}; did you mean {' or '.join(elsewhere)}?"
    if not known[what]:
        return f"there is no {what} {name!r}: the plan has none"
    near = nearest(name, known[what])
    hint = f"did you mean {str(Fault(what=what, name=near))!r}?" if near else _a_few(known[what])
    return f"there is no {what} {name!r}; {hint}"


def _a_few(names: tuple[str, ...]) -> str:
    more = " and others" if len(names) > 8 else ""
    return f"there are {', '.join(names[:8])}{more}"


def dead_units(show: Show, fault: Fault) -> frozenset[str]:
    """Give the units that die with a unit or a circuit, whatever feeds over network cables.

    A circuit takes along all that it feeds. A unit with two supplies dies only with both; one on
    no circuit, or fed over its network cable, does not die with any circuit.
    """
    if fault.what == UNIT:
        return frozenset({fault.name})
    dead = all_fed_from(show, fault.name)
    return frozenset(u.name for u in show.units.values() if _without_power(u, dead))


def all_fed_from(show: Show, name: str) -> frozenset[str]:
    """Give the circuit and all that it feeds, directly or through others."""
    dead = {name}
    while more := {c.name for c in show.circuits.values() if c.fed_by in dead} - dead:
        dead |= more
    return frozenset(dead)


def _without_power(unit: Unit, dead: frozenset[str]) -> bool:
    fed = set(unit.circuits)
    return bool(fed) and unit.power != "network" and fed <= dead
