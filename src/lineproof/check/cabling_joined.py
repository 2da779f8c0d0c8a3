"""Units and switches that no run joins, and nets that one cut duct parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, Facts, some
from lineproof.decide.cabling.fabric import links_of, parts
from lineproof.decide.cabling.ground import COPPER, FIBRE, Ground, Need, feeds_dw
from lineproof.decide.cabling.reach import copper_reach_m, run_length_m
from lineproof.kit.kinds import Kind
from lineproof.plan.network import Network, PortAt
from lineproof.show.model import Show, Unit

_SWITCH = "  sw-1: {kind: switch-8, place: front, circuit: house}\n"
_SECOND_SWITCH = (_SWITCH, f"{_SWITCH}  sw-2: {{kind: switch-8, place: stage, circuit: house}}\n")
_FAR = Example.changed(("length: 25 m", "length: 80 m"))
#: Two ways between two switches.
_TWO_WAYS = EXAMPLE_SHOW.replace(
    "circuits:", "  wall: {between: [stage, front], length: 40 m}\ncircuits:"
).replace(_SWITCH, _SECOND_SWITCH[1])

NOT_JOINED = Rule(
    name="not-joined",
    grade=Grade.STOP,
    why="A unit without a network cable is silent, whatever is patched to it.",
    do="add a switch with a free port within reach, or give the run by hand under `runs`",
    source="common practice",
    fails=_FAR,
    passes=Example(),
)
PARTED = Rule(
    name="net-parted",
    grade=Grade.STOP,
    why="Between two parts of a net that no run joins passes no sound and no clock.",
    do="add a duct, a switch or a fibre port between the parts, or give the run by hand",
    source="common practice",
    fails=Example.changed(("length: 25 m", "length: 80 m"), _SECOND_SWITCH),
    passes=Example.changed(_SECOND_SWITCH),
)
ONE_DUCT = Rule(
    name="one-duct",
    grade=Grade.RISK,
    why="Whoever cuts that duct cuts the net in two, and another duct leads there.",
    do="lay a second run through the other duct; if ports are short, take a larger switch",
    source="common practice",
    fails=Example(
        show=_TWO_WAYS.replace("kind: switch-8,", "kind: tiny,").replace(
            "lines:",
            "kinds:\n  tiny:\n    like: switch-8\n    ports:\n"
            "      - {count: 3, medium: copper, speed-mbit: 1000}\nlines:",
        )
    ),
    passes=Example(show=_TWO_WAYS),
)


def not_joined(facts: Facts) -> Iterator[Finding]:
    """Find ports of units, one for each net, that no run reaches, and say why none can."""
    network = facts.plan.network
    if not is_planned(network):
        return
    ground = Ground(facts.show)
    feeding = feeding_nets(ground, network)
    joined = {(end.unit, run.net) for run in network.runs for end in run.ends}
    for unit in ground.units:
        needs = ground.needs(unit, feeding)
        lacking = [need for need in needs if (unit.name, need.net) not in joined]
        for need in lacking:
            why, do = _Why(ground, network).told(unit, need)
            what = f"{unit.name} ({unit.kind.label}) is not joined to net {need.net}: {why}"
            # With its other net it works, but no longer survives a fault of it.
            grade = Grade.STOP if len(lacking) == len(needs) else Grade.RISK
            yield NOT_JOINED.finding(
                what=what, where=unit.where, of=(unit.name,), do=do or None, grade=grade
            )


class _Why:
    """Says why a unit has no run on a net, and what would help."""

    def __init__(self, ground: Ground, network: Network) -> None:
        self.ground = ground
        self.show = ground.show
        self.network = network
        self.taken = {end for run in network.runs for end in run.ends}

    def told(self, unit: Unit, need: Need) -> tuple[str, str]:
        on_net = [s for s in self.ground.switches if self._net(s) == need.net]
        if not on_net:
            return f"net {need.net} has no switch", ""
        ways = [(self.ground.ways.shortest(unit.place, s.place), s) for s in on_net]
        reached = [(way.length_mm, way, s) for way, s in ways if way is not None]
        if not reached:
            return (
                f"no duct leads from {unit.place} to a switch of it",
                "write the way under `ducts`",
            )
        _, way, near = min(reached, key=lambda x: (x[0], x[2].name))
        fits = [s for _, _, s in reached if self._cabled(unit, s, need)]
        if fits:
            return self._full(fits, need), ""
        length = run_length_m(self.show, way)
        if need.medium == COPPER and self.ground.supplies.apart(unit.place, near.place):
            why = f"copper to {near.name} would join two supplies or buildings"
        elif need.medium == COPPER:
            reach = copper_reach_m(self.show, way.ducts)
            why = f"the run to {near.name} would be {length} m; copper reaches {reach} m there"
        else:
            why = f"the run to {near.name} would be {length} m, and no fibre reaches so far"
        return why, self._would_do(unit, need, near)

    def _net(self, switch: Unit) -> str:
        return self.network.switch_nets.get(switch.name, "")

    def _cabled(self, unit: Unit, switch: Unit, need: Need) -> bool:
        places = (unit.place, switch.place)
        return bool(self.ground.cables(*places, need.medium, need.speed_mbit))

    def _full(self, switches: Sequence[Unit], need: Need) -> str:
        names = some(tuple(s.name for s in switches))
        has = [s for s in switches if any(p.medium == need.medium for p in s.kind.ports)]
        if not has:
            return f"it needs a {need.medium} port, and {names} has none"
        free = [
            p
            for s in has
            for p in s.kind.ports
            if p.medium == need.medium and PortAt(unit=s.name, number=p.number) not in self.taken
        ]
        if need.feed_dw and not any(feeds_dw(p) >= need.feed_dw for p in free):
            return f"no free port within reach feeds {need.feed_dw / 10:g} W ({names})"
        if need.feed_dw and free:
            feeding = tuple(s.name for s in has if any(p.feeds_w for p in s.kind.ports))
            return f"what {some(feeding)} can feed is given out"
        return f"no {need.medium} port is free within reach ({names})"

    def _would_do(self, unit: Unit, need: Need, near: Unit) -> str:
        if need.medium != COPPER:
            return "put a switch between"
        kinds = [k.name for k in self.show.kit.kinds.values() if _like_with_fibre(k, unit.kind)]
        switch = "put a switch with fibre (such as switch-8-fibre) at " + unit.place
        own = f"take kind {kinds[0]} instead, or " if kinds else ""
        there = any(p.medium == FIBRE for p in near.kind.ports)
        more = "" if there else f", and one with fibre ports for {near.name}"
        return f"{own}{switch}{more}"


def _like_with_fibre(kind: Kind, wanted: Kind) -> bool:
    return (
        kind.does is wanted.does
        and any(p.medium == FIBRE for p in kind.ports)
        and len(kind.sockets) == len(wanted.sockets)
        and kind.send == wanted.send
        and kind.receive == wanted.receive
    )


def parted(facts: Facts) -> Iterator[Finding]:
    """Find nets whose switches are not all joined to one another."""
    network = facts.plan.network
    for net, switches in _by_net(facts.show, network).items():
        found = parts(switches, links_of(network.runs_on(net), switches))
        if len(found) > 1:
            told = "; ".join(some(tuple(s for s in switches if s in part)) for part in found)
            what = f"net {net} is in {len(found)} parts that no run joins: {told}"
            where = tuple(facts.show.units[name].where for name in switches)
            yield PARTED.finding(what=what, where=where, of=tuple(switches))


def one_duct(facts: Facts) -> Iterator[Finding]:
    """Find ducts whose cut parts a net, though another way leads to what is cut off."""
    show, network = facts.show, facts.plan.network
    ground = Ground(show)
    for net, switches in _by_net(show, network).items():
        links = links_of(network.runs_on(net), switches)
        whole = len(parts(switches, links))
        for duct in show.ducts.values():
            found = parts(switches, links, duct.name)
            if len(found) == whole:
                continue
            least = min(found, key=lambda part: (len(part), sorted(part)))
            rest = [name for name in switches if name not in least]
            if _other_way(ground, sorted(least), rest, duct.name):
                cut_off = some(tuple(s for s in switches if s in least))
                what = f"a cut of duct {duct.name} parts {cut_off} from net {net}"
                yield ONE_DUCT.finding(what=what, where=duct.where, of=(duct.name, *sorted(least)))


def _other_way(ground: Ground, part: Sequence[str], rest: Sequence[str], duct: str) -> bool:
    """Say whether some cable would reach from one part to the other without the duct."""
    units = ground.show.units
    media = {name: {p.medium for p in units[name].kind.ports} for name in (*part, *rest)}
    tried = {
        (units[one].place, units[other].place, medium): None
        for one in part
        for other in rest
        for medium in sorted(media[one] & media[other])
    }
    for start, end, medium in tried:
        apart = medium == COPPER and ground.supplies.apart(start, end)
        way = None if apart else ground.ways.shortest(start, end, avoid=[duct])
        if way is not None and ground.cable(way, medium, 1000) is not None:
            return True
    return False


def _by_net(show: Show, network: Network) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, net in network.switch_nets.items():
        if name in show.units:
            found.setdefault(net, []).append(name)
    return found


def is_planned(network: Network) -> bool:
    """Say whether anything is decided about runs yet; before, nothing is missing."""
    return bool(network.runs or network.switch_nets)


def feeding_nets(ground: Ground, network: Network) -> frozenset[str]:
    """Give the nets that have a port which feeds."""
    return frozenset(
        network.switch_nets[s.name]
        for s in ground.switches
        if s.name in network.switch_nets and any(p.feeds_w for p in s.kind.ports)
    )


CHECKS: tuple[Check, ...] = (
    Check(rule=NOT_JOINED, find=not_joined),
    Check(rule=PARTED, find=parted),
    Check(rule=ONE_DUCT, find=one_duct),
)
