"""What runs carry against what they can, and groups against a switch's table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.base.where import Where
from lineproof.check.addresses import SECOND, SWITCH
from lineproof.check.check import Check, some
from lineproof.check.net_facts import each_net, on_figures
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures
from lineproof.reckon.loads import Load
from lineproof.show.model import Show

#: Common practice: the rest is kept for what nobody has thought of.
NEARLY_FULL = 0.75

_TWO = EXAMPLE_SHOW.replace(SWITCH, SECOND)


def _other(mbit: int) -> Example:
    return Example(show=_TWO.replace("lines:", f"other: {mbit} Mbit/s\nlines:"))


#: A unit whose port does 10 Mbit/s, beside streams of many channels that are not for it.
_SLOW = EXAMPLE_SHOW.replace(
    "  sw-1:", "  lamp: {kind: slow, place: stage, circuit: house}\n  sw-1:"
).replace(
    "lines:",
    "kinds: {slow: {like: powered-loudspeaker, ports: [{medium: copper, speed-mbit: 10}]}}\nlines:",
)
_MANY = "number,name,from,source,to\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,desk rec-1\n" for n in range(1, 17)
)
_SMALL_TABLE = EXAMPLE_SHOW.replace("kind: switch-8,", "kind: forgetful,").replace(
    "lines:", "kinds: {forgetful: {like: switch-8, multicast-groups: 1}}\nlines:"
)

OVER_SPEED = Rule(
    name="run-over-speed",
    grade=Grade.STOP,
    why="What does not fit is thrown away, and long packets suffer more than short ones.",
    do="take a faster port or a second way, or send fewer lines over the run",
    source="IEEE 802.3 speeds; preamble and gap counted as in RFC 2544 appendix B",
    fails=_other(1000),
    passes=_other(700),
)
NEARLY = Rule(
    name="run-nearly-full",
    grade=Grade.RISK,
    why="A last-minute stream, or a copy of a large file, fills the run in the middle of the show.",
    do="take a faster port, or keep other traffic off this run",
    source="common practice: no more than 75 %",
    fails=_other(800),
    passes=_other(700),
)
FLOOD_FILLS = Rule(
    name="flood-fills-run",
    grade=Grade.RISK,
    why=(
        "While no switch asks who listens (before one does, or minutes after the last has died) "
        "every multicast stream goes everywhere, and this run is too slow for them."
    ),
    do="have a second switch stand by to ask, and keep slow ports off the switches that carry much",
    source="RFC 4541 2.1.2; seen on the bridges of the Linux kernel",
    fails=Example(show=_SLOW, lines=_MANY),
    passes=Example(show=_SLOW.replace("speed-mbit: 10}", "speed-mbit: 100}"), lines=_MANY),
)
TABLE_FULL = Rule(
    name="group-table-full",
    grade=Grade.RISK,
    why="Groups beyond a switch's table are flooded to every port, or reach nobody.",
    do="take a switch that remembers more, or send fewer streams over this one",
    source="RFC 4541 2.1.2 leaves it to the switch; the kind's limit",
    fails=Example(show=_SMALL_TABLE, lines=_MANY),
    passes=Example(lines=_MANY),
)


def _where(show: Show, names: tuple[str, ...]) -> tuple[Where, ...]:
    return tuple(show.runs[name].where for name in names if name in show.runs)[:1]


def _told(load: Load, bps: int) -> str:
    ends = f"{load.run} ({load.from_unit} to {load.to_unit})"
    return f"{ends} {bps / 1e6:.1f} of {load.speed_bps / 1e6:g} Mbit/s"


def _after_faults(each: NetFigures) -> Mapping[int, tuple[int, str]]:
    """Give by way the most bits a second after any single fault, and the fault."""
    found = {}
    other = max((load.other_bps for load in each.loads), default=0)
    clock = max((load.clock_bps for load in each.loads), default=0)
    for load in each.loads:
        worst = each.swept.rate_bps.get(load.way)
        if worst is not None and worst.fault:
            # A run that is blocked now carries, when it is needed, all that the others do.
            blocked = load.way >> 1 in each.tree.blocked
            rest = other + clock if blocked else load.other_bps + load.clock_bps
            found[load.way] = (rest + worst.worst, worst.fault)
    return found


def over_speed(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find runs that should carry more than they can, as it is and after a fault."""
    for net, each in each_net(figures):
        full = [load for load in each.loads if load.share > 1]
        if full:
            names = tuple(dict.fromkeys(load.run for load in full))
            told = some(tuple(_told(load, load.total_bps) for load in full))
            what = f"on net {net} more is sent than fits: {told}"
            yield OVER_SPEED.finding(what=what, where=_where(show, names), of=names)
        after = _after_faults(each)
        by_fault: dict[str, list[Load]] = {}
        for load in each.loads:
            bps, fault = after.get(load.way, (0, ""))
            if bps > load.speed_bps and load not in full:
                by_fault.setdefault(fault, []).append(load)
        for fault, late in sorted(by_fault.items()):
            names = tuple(dict.fromkeys(load.run for load in late))
            told = some(tuple(_told(load, after[load.way][0]) for load in late))
            what = f"once {fault} is lost, more is sent on net {net} than fits: {told}"
            yield OVER_SPEED.finding(
                what=what, where=_where(show, names), of=(fault, *names), grade=Grade.RISK
            )


def nearly_full(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find runs of which more than three quarters are taken, and not yet all."""
    for net, each in each_net(figures):
        near = [load for load in each.loads if NEARLY_FULL < load.share <= 1]
        if near:
            names = tuple(dict.fromkeys(load.run for load in near))
            told = some(tuple(_told(load, load.total_bps) for load in near))
            what = f"on net {net} runs are more than three quarters full: {told}"
            yield NEARLY.finding(what=what, where=_where(show, names), of=names)


def flood_fills(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find runs that snooping alone keeps from being overfull."""
    for net, each in each_net(figures):
        pairs = zip(each.loads, each.flooded, strict=True)
        full = [wet for dry, wet in pairs if wet.share > 1 >= dry.share]
        if full:
            names = tuple(dict.fromkeys(load.run for load in full))
            told = some(tuple(_told(load, load.total_bps) for load in full))
            what = f"on net {net}, while nobody asks who listens, more is sent than fits: {told}"
            yield FLOOD_FILLS.finding(what=what, where=_where(show, names), of=names)


def table_full(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find switches that should remember more groups than they can."""
    for net, each in each_net(figures):
        for name, groups in each.groups.items():
            unit = show.units[name]
            most = unit.kind.multicast_groups
            if most and groups > most:
                what = f"{name} ({unit.kind.label}) is to remember {groups} groups of net {net}"
                what += f", and can {most}"
                yield TABLE_FULL.finding(what=what, where=unit.where, of=(name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=OVER_SPEED, find=on_figures(over_speed)),
    Check(rule=NEARLY, find=on_figures(nearly_full)),
    Check(rule=FLOOD_FILLS, find=on_figures(flood_fills)),
    Check(rule=TABLE_FULL, find=on_figures(table_full)),
)
