"""The spanning tree: loops, who is trusted on one, what decides by chance, how far it reaches."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, some
from lineproof.check.net_facts import each_net, on_figures, ring, with_switches
from lineproof.kit.kinds import Does
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures
from lineproof.reckon.tree_reach import MOST_ACROSS, MOST_AGE
from lineproof.show.model import Show

_FOUR = with_switches(4, ring("sw-1", "sw-2", "sw-3", "sw-4"), addresses="root-a: sw-1 sw-3")
_KNOWN = _FOUR.replace(
    "sw-2: {kind: switch-8,", "sw-2: {kind: switch-8, mac: '02:00:5E:00:53:02',"
).replace("sw-4: {kind: switch-8,", "sw-4: {kind: switch-8, mac: '02:00:5E:00:53:04',")
_PLAIN_ON_RING = with_switches(3, ring("sw-1", "sw-2", "sw-3")).replace(
    "sw-3: {kind: switch-8,", "sw-3: {kind: switch-8-plain,"
)
_TWICE_JOINED = with_switches(
    2, "x: {from: 'sw-1:7', to: 'sw-2:7'}, y: {from: 'sw-1:8', to: 'sw-2:8'}"
)


_PAIR = EXAMPLE_SHOW.replace(
    "  sw-1:", "  pb: {kind: powered-loudspeaker, place: stage, circuit: house}\n  sw-1:"
).replace("pa: {kind: powered-loudspeaker, ", "pa: {kind: powered-loudspeaker, ports: chain, ")
_CHAINED = "runs: {c: {from: 'pa:2', to: 'pb:1'}}\nlines:"
_HUNG = "runs: {c: {from: 'pa:2', to: 'pb:1'}, p: {from: 'pa:1', to: 'sw-1:8'}}\nlines:"


def _chain(count: int) -> Example:
    """Give the little show with a chain of switches, its root at one end."""
    runs = ", ".join(f"t{n}: {{from: 'sw-{n}:7', to: 'sw-{n + 1}:8'}}" for n in range(1, count))
    return Example(show=with_switches(count, runs, addresses="root-a: sw-1"))


NAMES_FOR_MACS = Rule(
    name="names-for-macs",
    grade=Grade.NOTE,
    why=(
        "Equal priorities are settled by hardware addresses; unknown ones may settle otherwise, "
        "so another run may be blocked than the paper says, or another unit keep the time."
    ),
    do="fill in `mac` as it stands on their labels, or give one of them a rank in `addresses`",
    source="IEEE 802.1D-2004 17.6; IEEE 1588-2008 9.3.4",
    fails=Example(show=_FOUR),
    passes=Example(show=_KNOWN),
)
TRUSTED = Rule(
    name="trusted-on-loop",
    grade=Grade.RISK,
    why=(
        "A unit without a spanning tree that lies on a loop must pass the others' messages on. "
        "Many don't: then nothing blocks, and frames go round until the net stands still."
    ),
    do="take one of its runs away, or put a switch that can be set up in its place",
    source="IEEE 802.1D-2004 7.12.6: a bridge keeps such messages to itself (from memory)",
    fails=Example(show=_PLAIN_ON_RING),
    passes=Example(show=with_switches(3, ring("sw-1", "sw-2", "sw-3"))),
)
LOOP = Rule(
    name="loop-unbroken",
    grade=Grade.STOP,
    why="On a loop that no switch breaks frames go round for ever: the whole net stands still.",
    do="pull one of the runs named, or put a switch that can be set up in the place of one",
    source="IEEE 802.1D-2004 17.1: what the spanning tree is for",
    fails=Example(show=_TWICE_JOINED.replace("kind: switch-8,", "kind: switch-8-plain,")),
    passes=Example(show=_TWICE_JOINED),
)
CUT_OFF = Rule(
    name="stream-cut-off",
    grade=Grade.STOP,
    why="A chain that hangs on no switch has cables and lights, and hears nothing.",
    do="give the run from the first of the chain to a switch under `runs`",
    source="Lineproof",
    fails=Example(show=_PAIR.replace("lines:", _CHAINED)),
    passes=Example(show=_PAIR.replace("lines:", _HUNG)),
)
TOO_DEEP = Rule(
    name="tree-beyond-age",
    grade=Grade.STOP,
    why="Switches beyond the root's reach take themselves for a root of their own: loops follow.",
    do=f"make the root a switch in the middle, or join the chain's ends: {MOST_AGE} is the most",
    source="IEEE 802.1D-2004 17.13.8, table 17-1: maximum age 20 (from memory)",
    fails=_chain(MOST_AGE + 2),
    passes=_chain(MOST_AGE + 1),
)
WIDE = Rule(
    name="many-switches-across",
    grade=Grade.NOTE,
    why="The tree heals the slower, and the delay is the larger, the more switches are in a row.",
    do="hang the far switches nearer to the middle, or have all of them heal the rapid way",
    source=f"IEEE 802.1D-1998 8.10.2: times are made for {MOST_ACROSS} (from memory)",
    fails=_chain(MOST_ACROSS + 1),
    passes=_chain(MOST_ACROSS),
)


def names_for_macs(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find switches and clocks between which only the order of names could decide."""
    for net, each in each_net(figures):
        sets = [("the tree", each.by_name)]
        sets += [("the clock", reign.by_name) for reign in each.reigns]
        for what, names in sets:
            unknown = tuple(name for name in names if not show.units[name].mac)
            if unknown:
                told = (
                    f"on net {net} hardware addresses decide {what} between {some(names)}; "
                    f"the order of names stood in for that of {some(unknown)}"
                )
                where = tuple(show.units[name].where for name in unknown[:1])
                yield NAMES_FOR_MACS.finding(what=told, where=where, of=(net, *names))


def trusted(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find units on a loop that only pass the spanning tree's messages on."""
    for net, each in each_net(figures):
        for name in each.trusted:
            unit = show.units[name]
            what = f"{name} ({unit.kind.label}) lies on a loop of net {net} and can't break it"
            yield TRUSTED.finding(what=what, where=unit.where, of=(name,))


def loops(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find loops on which no switch has a spanning tree."""
    for net, each in each_net(figures):
        names = tuple(each.fabric.runs[r].name for r in each.tree.loops)
        if names:
            what = f"net {net} has a loop that nothing breaks, closed by {some(names)}"
            where = tuple(show.runs[name].where for name in names if name in show.runs)
            yield LOOP.finding(what=what, where=where, of=names)


def cut_off(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find receivers with a run that a stream reaches on no net, as one of the two is on no switch.

    Those without a run, and nets in parts, are told with the runs.
    """
    reached: set[tuple[str, str]] = set()
    missed: dict[str, dict[str, None]] = {}
    pairs = [(each, flow) for _, each in each_net(figures) for flow in each.swept.flows]
    for each, flow in pairs:
        for receiver in flow.receivers:
            if each.tree.path(flow.sender, receiver) is not None:
                reached.add((flow.name, each.fabric.nodes[receiver].name))
    for each, flow in pairs:
        for receiver in flow.receivers:
            name = each.fabric.nodes[receiver].name
            if (flow.name, name) in reached:
                continue
            lone = [end for end in (receiver, flow.sender) if _without_switch(show, each, end)]
            if lone:
                missed.setdefault(each.fabric.nodes[lone[0]].name, {})[flow.name] = None
    for name, streams in missed.items():
        what = f"{name} has a run, but it leads to no switch: no way for {some(tuple(streams))}"
        yield CUT_OFF.finding(what=what, where=show.units[name].where, of=(name,))


def _without_switch(show: Show, each: NetFigures, end: int) -> bool:
    """Say whether a node has a run, and its part of the net no switch."""
    fabric, root = each.fabric, each.tree.root
    part = [fabric.nodes[i].name for i in range(len(root)) if root[i] == root[end]]
    return len(part) > 1 and not any(show.units[n].kind.does is Does.SWITCH for n in part)


def too_deep(_: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find nets whose root does not reach all switches, as they are or after a fault."""
    for net, each in each_net(figures):
        age = each.swept.age
        if age.undisturbed is not None and age.undisturbed > MOST_AGE:
            what = f"on net {net} the farthest switch is {age.undisturbed} from the root"
            yield TOO_DEEP.finding(what=what, of=(net,))
        elif age.worst > MOST_AGE:
            what = f"on net {net} the farthest switch is {age.worst} from the root"
            what += f" once {age.fault} is lost"
            yield TOO_DEEP.finding(what=what, of=(net, age.fault), grade=Grade.RISK)


def wide(_: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find nets on which a frame passes many switches, as they are or after a fault."""
    for net, each in each_net(figures):
        most = each.swept.across
        if most.worst > MOST_ACROSS:
            after = f" once {most.fault} is lost" if most.fault else ""
            what = f"on net {net} up to {most.worst} switches lie in a row{after}"
            yield WIDE.finding(what=what, of=(net,))


CHECKS: tuple[Check, ...] = (
    Check(rule=NAMES_FOR_MACS, find=on_figures(names_for_macs)),
    Check(rule=TRUSTED, find=on_figures(trusted)),
    Check(rule=LOOP, find=on_figures(loops)),
    Check(rule=CUT_OFF, find=on_figures(cut_off)),
    Check(rule=TOO_DEEP, find=on_figures(too_deep)),
    Check(rule=WIDE, find=on_figures(wide)),
)
