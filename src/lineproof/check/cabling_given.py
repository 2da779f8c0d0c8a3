"""Runs given in the show: what they name and isn't there, ports taken twice, nets joined."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.base.where import Where
from lineproof.check.check import Check, Facts
from lineproof.decide.cabling.given import Slip, port_at, read_given
from lineproof.decide.cabling.ground import COPPER, Ground, medium_of
from lineproof.decide.cabling.keep import Kept
from lineproof.decide.cabling.reach import copper_reach_m, fibre_reach_m
from lineproof.plan.network import PlannedRun, PortAt
from lineproof.show.model import Show


def with_runs(runs: str, *changes: tuple[str, str]) -> Example:
    """Give the little show with given runs, and further changes."""
    return Example.changed(("lines: lines.csv", f"runs: {{{runs}}}\nlines: lines.csv"), *changes)


#: Two nets, with a switch of each at the front.
TWO_NETS = EXAMPLE_SHOW.replace("nets: one", "nets: two").replace(
    "  sw-1: {kind: switch-8, place: front, circuit: house}",
    "  sw-1: {kind: switch-8, place: front, circuit: house, net: a}\n"
    "  sw-2: {kind: switch-8, place: front, circuit: house, net: b}",
)

RUN_UNKNOWN = Rule(
    name="run-unknown",
    grade=Grade.STOP,
    why="A run to a unit, port or duct that isn't there is pulled to nowhere, or not at all.",
    do="write ends as 'unit:port', ducts as under `ducts`, and the cable as one we know",
    source="Lineproof",
    fails=with_runs("up: {from: 'box-1:1', to: 'sw-1:9', along: [floor]}"),
    passes=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', along: [floor]}"),
)
PORT_TWICE = Rule(
    name="port-twice",
    grade=Grade.STOP,
    why="Two plugs for one port: one of the two runs stays dead.",
    do="give one of them another port",
    source="Lineproof",
    fails=with_runs("up: {from: 'box-1:1', to: 'sw-1:3'}, down: {from: 'desk:1', to: 'sw-1:3'}"),
    passes=with_runs("up: {from: 'box-1:1', to: 'sw-1:3'}, down: {from: 'desk:1', to: 'sw-1:4'}"),
)
NETS_JOINED = Rule(
    name="nets-joined",
    grade=Grade.STOP,
    why="One cable between the nets makes them one: what kills net a then kills net b.",
    do="plug the run into a port of the same net at both ends",
    source="common practice",
    fails=Example(
        show=TWO_NETS.replace("lines:", "runs: {x: {from: 'sw-1:8', to: 'sw-2:8'}}\nlines:")
    ),
    passes=Example(show=TWO_NETS),
)
WRONG_PORT = Rule(
    name="run-does-not-fit",
    grade=Grade.STOP,
    why="Fibre goes into no copper port: on site somebody looks for a converter.",
    do="name ports of the cable's own sort, or another cable",
    source="Lineproof",
    fails=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: single-mode}"),
    passes=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: copper}"),
)
TOO_LONG = Rule(
    name="run-too-long",
    grade=Grade.STOP,
    why="Beyond its reach a link drops out now and then, most of all when it gets warm.",
    do="lay fibre (both ends need a port for it), or put a switch between",
    source=(
        "ISO/IEC 11801-1: 100 m installed; 75 m rolled out and 2 m a coupler are common practice; "
        "fibre: IEEE 802.3"
    ),
    fails=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: copper, length: 90 m}"),
    passes=with_runs("up: {from: 'box-1:1', to: 'sw-1:3', cable: copper, length: 70 m}"),
)


def run_unknown(facts: Facts) -> Iterator[Finding]:
    """Find given runs with an end, a port, a duct or a cable that isn't there."""
    for given in read_given(facts.show):
        for slip in given.slips:
            what = f"run {given.run.name}: {_slip(facts.show, given.run.ends, slip)}"
            of = (given.run.name, slip.said)
            yield RUN_UNKNOWN.finding(what=what, where=given.run.where, of=of)


def _slip(show: Show, ends: tuple[str, str], slip: Slip) -> str:
    hint = f"; did you mean {slip.near!r}?" if slip.near else ""
    match slip.what:
        case "end":
            return f"{slip.said!r} is no port of a unit{hint}"
        case "port":
            unit = show.units.get(slip.said.partition(":")[0])
            count = len(unit.kind.ports) if unit is not None else 0
            return f"there is no port {slip.said!r}: it has {count or 'none'}"
        case "duct":
            return f"{slip.said!r} is no duct{hint}"
        case "way":
            return f"the ducts {slip.said} do not lead from {ends[0]} to {ends[1]}"
        case _:
            return f"{slip.said!r} is no cable we know{hint}"


def port_twice(facts: Facts) -> Iterator[Finding]:
    """Find ports that two given runs name, and given runs for which no port is left."""
    first: dict[PortAt, str] = {}
    given = [g for g in read_given(facts.show) if g.ends]
    for one in given:
        for end in one.ends or ():
            if end.number is None:
                continue
            other = first.setdefault(end, one.run.name)
            if other != one.run.name:
                where = (one.run.where, facts.show.runs[other].where)
                what = f"runs {other} and {one.run.name} both end at {end}"
                yield PORT_TWICE.finding(what=what, where=where, of=(str(end), other, one.run.name))
    planned = {run.name for run in facts.plan.network.runs}
    for one in given:
        if planned and one.run.name not in planned:
            what = f"run {one.run.name}: no port is left for it at {' or '.join(one.run.ends)}"
            yield PORT_TWICE.finding(what=what, where=one.run.where, of=(one.run.name,))


def nets_joined(facts: Facts) -> Iterator[Finding]:
    """Find runs whose two ends are on different nets."""
    network = facts.plan.network
    ports = Kept(Ground(facts.show), network.switch_nets)
    for run in network.runs:
        nets = [ports.net_at(end) for end in run.ends]
        if run.net and nets[0] and nets[1] and nets[0] != nets[1]:
            first, second = run.ends
            what = f"run {run.name} joins {first} on net {nets[0]} to {second} on net {nets[1]}"
            of = (run.name, first.unit, second.unit)
            yield NETS_JOINED.finding(what=what, where=where_of(facts.show, run), of=of)


def wrong_port(facts: Facts) -> Iterator[Finding]:
    """Find runs of a cable that does not go into a port at their ends."""
    for run in facts.plan.network.runs:
        for end in run.ends:
            port = port_at(facts.show, end)
            if run.net and port is not None and port.medium != medium_of(run.medium):
                what = f"run {run.name} is {run.medium}, but port {end} is for {port.medium}"
                where = where_of(facts.show, run)
                yield WRONG_PORT.finding(what=what, where=where, of=(run.name, end.unit))


def too_long(facts: Facts) -> Iterator[Finding]:
    """Find runs that are longer than their cable reaches."""
    show = facts.show
    for run in facts.plan.network.runs:
        reach = _reach_m(show, run)
        if reach is not None and run.length_m > reach:
            what = f"run {run.name} ({run.medium}) is {run.length_m:g} m long; it reaches {reach} m"
            yield TOO_LONG.finding(what=what, where=where_of(show, run), of=(run.name,))


def _reach_m(show: Show, run: PlannedRun) -> int | None:
    if not run.net:
        return None
    if run.medium == COPPER:
        given = show.runs.get(run.name)
        return copper_reach_m(show, run.ducts, given.couplers if given is not None else 0)
    speeds = [p.speed_mbit for p in (port_at(show, end) for end in run.ends) if p is not None]
    return fibre_reach_m(run.medium, min(speeds)) if speeds else None


def where_of(show: Show, run: PlannedRun) -> tuple[Where, ...]:
    """Give the rows that speak of a run: its own, or those of the units it joins."""
    if run.name in show.runs:
        return (show.runs[run.name].where,)
    return tuple(show.units[end.unit].where for end in run.ends if end.unit in show.units)


CHECKS: tuple[Check, ...] = (
    Check(rule=RUN_UNKNOWN, find=run_unknown),
    Check(rule=PORT_TWICE, find=port_twice),
    Check(rule=NETS_JOINED, find=nets_joined),
    Check(rule=WRONG_PORT, find=wrong_port),
    Check(rule=TOO_LONG, find=too_long),
)
