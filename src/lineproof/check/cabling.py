"""Runs as they lie: between supplies, over the floor, over their power, without a cable."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check import cabling_given, cabling_joined
from lineproof.check.cabling_given import TWO_NETS, where_of, with_runs
from lineproof.check.cabling_joined import is_planned
from lineproof.check.check import Check, Facts, some
from lineproof.decide.cabling.given import place_of, port_at
from lineproof.decide.cabling.ground import COPPER, Ground, feed_dw, feeds_dw
from lineproof.decide.cabling.hang import shared
from lineproof.decide.cabling.model import RESCUE_PORTS, rescue_medium
from lineproof.decide.cabling.plan import drawn_dw
from lineproof.decide.cabling.reach import Supplies
from lineproof.graph.ducts import LOOSE_M
from lineproof.plan.network import PortAt
from lineproof.show.model import Show

#: The front on a supply of its own, with a run given by hand.
_TWO_SUPPLIES = (
    ("house: {supply: 230 V, limit: 16 A}", "house: {supply: 230 V}\n  van: {supply: 230 V}"),
    ("place: stage, number: 1, circuit: house", "place: stage, number: 1, circuit: van"),
    (
        "pa: {kind: powered-loudspeaker, place: stage, circuit: house}",
        "pa: {kind: powered-loudspeaker, place: stage, circuit: van}",
    ),
)
_NO_DUCT = EXAMPLE_SHOW.replace("[0, 20, 0]", "[0, 8, 0]").replace(
    "ducts:\n  floor: {between: [stage, front], length: 25 m}\n", ""
)
_CALLER = "  talk: {kind: paging-station, place: front, power: network}\n"
_FED = EXAMPLE_SHOW.replace("kind: switch-8,", "kind: switch-8-poe,").replace(
    "lines:", f"{_CALLER}lines:"
)

BETWEEN_SUPPLIES = Rule(
    name="copper-between-supplies",
    grade=Grade.STOP,
    why=(
        "Between two supplies or buildings a fault, or lightning near by, drives current through "
        "the cable's screen: into units, and into whoever holds the plug."
    ),
    do="lay fibre here; ask whoever answers for the mains, local codes decide",
    source="common practice; ISO/IEC 30129 on bonding (from memory)",
    fails=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: copper}", *_TWO_SUPPLIES),
    passes=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: copper}"),
)
LOOSE = Rule(
    name="run-loose",
    grade=Grade.RISK,
    why="A cable across the floor is trodden on and tripped over.",
    do="cover it, or write the way it should take under `ducts`",
    source="Lineproof",
    fails=Example(show=_NO_DUCT),
    passes=Example(),
)
OVER_BUDGET = Rule(
    name="feed-over-budget",
    grade=Grade.STOP,
    why="A switch asked for more than it can feed leaves units dark, and not always the same ones.",
    do="hang some of them on another switch that feeds, or on the mains",
    source="IEEE 802.3: watts set aside for each class; the budget is the kind's",
    fails=Example(
        show=_FED.replace(
            _CALLER, "".join(_CALLER.replace("talk", f"talk-{n}") for n in range(1, 4))
        )
        .replace(
            "lines:",
            "kinds: {weak: {like: switch-8-poe, poe-budget-w: 40}}\n"
            "runs: {a: {from: 'talk-1:1', to: 'sw-1:1'}, b: {from: 'talk-2:1', to: 'sw-1:2'}, "
            "c: {from: 'talk-3:1', to: 'sw-1:3'}}\nlines:",
        )
        .replace("kind: switch-8-poe, place", "kind: weak, place")
    ),
    passes=Example(show=_FED),
)
FEEDS_NOT = Rule(
    name="port-feeds-not",
    grade=Grade.STOP,
    why="A unit that lives on its network cable stays dark on a port that feeds nothing.",
    do="plug it into a port that feeds enough, or give the unit a `circuit`",
    source="IEEE 802.3: watts of each class",
    fails=Example(
        show=_FED.replace("kind: switch-8-poe,", "kind: switch-8,").replace(
            "lines:", "runs: {a: {from: 'talk:1', to: 'sw-1:1'}}\nlines:"
        )
    ),
    passes=Example(show=_FED),
)
STOCK_SHORT = Rule(
    name="stock-short",
    grade=Grade.RISK,
    why="A run for which no cable is on the truck is found out when the truck is empty.",
    do="hire or make the cables named, or correct `stock`",
    source="Lineproof",
    fails=Example.changed(("lines:", "stock: {reel: {length: 50 m, count: 1}}\nlines:")),
    passes=Example.changed(("lines:", "stock: {reel: {length: 50 m, count: 9}}\nlines:")),
)
FEW_RESCUE = Rule(
    name="no-rescue-port",
    grade=Grade.NOTE,
    why="With no port open, what loses its switch can be plugged nowhere.",
    do="take a larger switch, or decide now what would be pulled",
    source="common practice: two open ports a switch",
    fails=Example.changed(("sw-1: {kind: switch-8,", "sw-1: {kind: switch-5-slow,")),
    passes=Example(),
)
SHARED = Rule(
    name="nets-share",
    grade=Grade.NOTE,
    why="One cut, or one breaker, takes both nets from the unit: the second net is then no help.",
    do="nothing, if it can't be helped; else another duct, rack or circuit for one of the switches",
    source="common practice",
    fails=Example(show=TWO_NETS),
    passes=Example(),
)


def between_supplies(facts: Facts) -> Iterator[Finding]:
    """Find copper runs between places of different supplies or buildings."""
    show = facts.show
    supplies = Supplies(show)
    for run in facts.plan.network.runs:
        one, other = (place_of(show, end) for end in run.ends)
        known = one in show.places and other in show.places
        if run.medium == COPPER and known and supplies.apart(one, other):
            feeds = [", ".join(sorted(supplies.at(p))) or "unknown" for p in (one, other)]
            what = f"run {run.name} is copper from {one} ({feeds[0]}) to {other} ({feeds[1]})"
            of = (run.name, one, other)
            yield BETWEEN_SUPPLIES.finding(what=what, where=where_of(show, run), of=of)


def loose(facts: Facts) -> Iterator[Finding]:
    """Find runs that lie, in part, where no duct leads."""
    show = facts.show
    for run in facts.plan.network.runs:
        one, other = (place_of(show, end) for end in run.ends)
        at: set[str] = {one}
        for duct in run.ducts:
            at ^= set(show.ducts[duct].between) if duct in show.ducts else set()
        if one != other and at != {other}:
            what = f"run {run.name} from {one} to {other} lies loose for up to {LOOSE_M:g} m"
            yield LOOSE.finding(what=what, where=where_of(show, run), of=(run.name, one, other))


def over_budget(facts: Facts) -> Iterator[Finding]:
    """Find switches that must feed more than they can."""
    show = facts.show
    for name, drawn in drawn_dw(show, facts.plan.network.runs).items():
        switch = show.units[name]
        if drawn > round(switch.kind.poe_budget_w * 10):
            what = (
                f"{name} ({switch.kind.label}) can feed {switch.kind.poe_budget_w:g} W; "
                f"what hangs on it takes {drawn / 10:g} W"
            )
            yield OVER_BUDGET.finding(what=what, where=switch.where, of=(name,))


def feeds_not(facts: Facts) -> Iterator[Finding]:
    """Find units fed over their cable whose every port feeds too little."""
    show = facts.show
    fed: dict[str, list[int]] = {}
    for run in facts.plan.network.runs:
        for end, other in (run.ends, run.ends[::-1]):
            port = port_at(show, other)
            if end.unit in show.units and port is not None:
                fed.setdefault(end.unit, []).append(feeds_dw(port))
    for unit in show.units.values():
        asked = feed_dw(unit)
        if asked and unit.name in fed and max(fed[unit.name]) < asked:
            most = max(fed[unit.name]) / 10
            what = f"{unit.name} takes {asked / 10:g} W over its cable; its port feeds {most:g} W"
            yield FEEDS_NOT.finding(what=what, where=unit.where, of=(unit.name,))


def stock_short(facts: Facts) -> Iterator[Finding]:
    """Find runs for which the stock holds no cable, told by sort of cable."""
    show, runs = facts.show, facts.plan.network.runs
    if not show.stock:
        return
    for medium in dict.fromkeys(run.medium for run in runs):
        lacking = [run for run in runs if run.medium == medium and not run.stock]
        if lacking:
            told = some(tuple(f"{run.name} ({run.length_m:g} m)" for run in lacking))
            what = f"the stock has no {medium} cable for {told}"
            where = tuple(stock.where for stock in show.stock.values())[:1]
            yield STOCK_SHORT.finding(what=what, where=where, of=tuple(r.name for r in lacking))


def few_rescue(facts: Facts) -> Iterator[Finding]:
    """Find switches with fewer open ports than a rescue wants."""
    show, network = facts.show, facts.plan.network
    taken = {end for run in network.runs for end in run.ends}
    for name in network.switch_nets:
        unit = show.units.get(name)
        if unit is None:
            continue
        medium = rescue_medium(unit.kind.ports)
        ports = [p for p in unit.kind.ports if p.medium == medium]
        left = sum(PortAt(unit=name, number=p.number) not in taken for p in ports)
        if left < RESCUE_PORTS:
            ports_left = f"1 {medium} port" if left == 1 else f"{left or 'no'} {medium} ports"
            what = f"{name} ({unit.kind.label}) has {ports_left} open"
            yield FEW_RESCUE.finding(what=what, where=unit.where, of=(name,))


def nets_share(facts: Facts) -> Iterator[Finding]:
    """Find what both nets of a unit go through, told once for each with all its units."""
    found = _shared_by(facts)
    for thing, units in found.items():
        what = f"{thing} carries both nets of {some(units)}"
        where = tuple(facts.show.units[name].where for name in units[:1])
        of = (thing.partition(" ")[2], *units)
        yield SHARED.finding(what=what, where=where, of=of)


def _shared_by(facts: Facts) -> dict[str, tuple[str, ...]]:
    show, network = facts.show, facts.plan.network
    if not is_planned(network):
        return {}
    ground = Ground(show)
    runs: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
    for run in network.runs:
        for end in run.ends:
            other = run.other_end(end.unit).unit
            if end.unit in ground.used and other in network.switch_nets and other in show.units:
                runs.setdefault(end.unit, []).append((other, run.ducts))
    found: dict[str, tuple[str, ...]] = {}
    for unit in ground.units:
        if len(its := runs.get(unit.name, [])) == 2:
            (one, ducts), (other, other_ducts) = its
            things = [f"duct {duct}" for duct in ducts if duct in other_ducts]
            racks = _racks(show, one, other)
            things += racks
            things += [f"circuit {c}" for c in shared(ground, unit, one, other)[len(racks) :]]
            for thing in things:
                found[thing] = (*found.get(thing, ()), unit.name)
    return found


def _racks(show: Show, one: str, other: str) -> list[str]:
    first, second = show.units[one].rack, show.units[other].rack
    return [f"rack {first}"] if first and first == second else []


CHECKS: tuple[Check, ...] = (
    *cabling_given.CHECKS,
    *cabling_joined.CHECKS,
    Check(rule=BETWEEN_SUPPLIES, find=between_supplies),
    Check(rule=LOOSE, find=loose),
    Check(rule=OVER_BUDGET, find=over_budget),
    Check(rule=FEEDS_NOT, find=feeds_not),
    Check(rule=STOCK_SHORT, find=stock_short),
    Check(rule=FEW_RESCUE, find=few_rescue),
    Check(rule=SHARED, find=nets_share),
)
