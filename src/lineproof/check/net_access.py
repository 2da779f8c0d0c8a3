"""Who may plug in where: switches that keep nothing apart, and what is not ours on our ports."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, some
from lineproof.check.net_facts import each_net, on_figures
from lineproof.kit.kinds import Does
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures
from lineproof.show.model import Show, Unit

_PLAIN = EXAMPLE_SHOW.replace("kind: switch-8,", "kind: switch-8-plain,")
_UPLINK = EXAMPLE_SHOW.replace(
    "  sw-1:", "  net-out: {kind: internet-uplink, place: front, circuit: house}\n  sw-1:"
).replace("lines:", "runs: {out: {from: 'net-out:1', to: 'sw-1:8'}}\nlines:")
_GUEST = EXAMPLE_SHOW.replace(
    "rec-1: {kind: computer-32, place: front, circuit: house}",
    "rec-1: {kind: computer-32, place: front, circuit: house, theirs: yes}",
)

PLAIN_SWITCH = Rule(
    name="plain-switch-on-audio",
    grade=Grade.RISK,
    why=(
        "A switch that can't be set up lets a large file go before sound and clock: the delays "
        "on paper do not hold, and nobody can see what it does."
    ),
    do="put a managed switch there, or let only sound pass it, and count on nothing",
    source="IEEE 802.1Q 8.6.8: strict priority, which the bounds rest on",
    fails=Example(show=_PLAIN),
    passes=Example(),
)
NOT_APART = Rule(
    name="guests-not-kept-apart",
    grade=Grade.RISK,
    why="What guests and control send floods the ports that carry sound, and reaches all of them.",
    do="plug it into a managed switch, in the VLAN that the plan has for guests or control",
    source="IEEE 802.1Q: VLANs; common practice",
    fails=Example(show=_UPLINK.replace("kind: switch-8,", "kind: switch-8-plain,")),
    passes=Example(show=_UPLINK),
)
THEIRS_ON_AUDIO = Rule(
    name="theirs-on-audio-port",
    grade=Grade.NOTE,
    why="A unit set up by others can bring a wrong address, a better clock or another querier.",
    do="agree address, rate, clock ranks and queries with its people before it is plugged in",
    source="common practice",
    fails=Example(show=_GUEST),
    passes=Example(),
)


def _carried(each: NetFigures) -> dict[str, tuple[str, ...]]:
    """Give the streams that pass each unit of a net, by name."""
    found: dict[str, dict[str, None]] = {}
    for load in each.loads:
        for unit in (load.from_unit, load.to_unit):
            found.setdefault(unit, {}).update(dict.fromkeys(load.streams))
    return {unit: tuple(streams) for unit, streams in found.items()}


def plain_switch(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find switches that can't be set up on the way of streams."""
    for net, each in each_net(figures):
        for name, streams in _carried(each).items():
            unit = show.units[name]
            if unit.kind.does is Does.SWITCH and not unit.kind.managed and streams:
                s = "" if len(streams) == 1 else "s"
                what = f"{name} ({unit.kind.label}) carries {len(streams)} stream{s} of net {net}"
                yield PLAIN_SWITCH.finding(what=what, where=unit.where, of=(name,))


def not_apart(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find what carries no sound of ours on a switch that can't keep it apart from what does."""
    for net, each in each_net(figures):
        carried = _carried(each)
        for name, others in _on_plain_switches(show, each).items():
            if carried.get(name):
                unit = show.units[name]
                what = f"{some(tuple(others))} and sound of net {net} share"
                what += f" {name} ({unit.kind.label})"
                yield NOT_APART.finding(what=what, where=unit.where, of=(name, *others))


def _on_plain_switches(show: Show, each: NetFigures) -> dict[str, list[str]]:
    """Give, for each switch that can't be set up, the units without sound that hang on it."""
    found: dict[str, list[str]] = {}
    for load in each.loads:
        switch, unit = show.units[load.from_unit], show.units[load.to_unit]
        plain = switch.kind.does is Does.SWITCH and not switch.kind.managed
        if plain and _silent(unit):
            found.setdefault(switch.name, []).append(unit.name)
    return found


def _silent(unit: Unit) -> bool:
    return not unit.kind.networked and unit.kind.does not in (Does.SWITCH, Does.CLOCK)


def theirs(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find units that others set up and that take part in the sound; once for all nets."""
    found: dict[str, list[str]] = {}
    for net, each in each_net(figures):
        for name, streams in _carried(each).items():
            if show.units[name].theirs and streams:
                found.setdefault(name, []).append(net)
    for name, nets in found.items():
        unit = show.units[name]
        what = f"{name} ({unit.kind.label}) is not ours and takes part on net {' and '.join(nets)}"
        yield THEIRS_ON_AUDIO.finding(what=what, where=unit.where, of=(name,))


CHECKS: tuple[Check, ...] = (
    Check(rule=PLAIN_SWITCH, find=on_figures(plain_switch)),
    Check(rule=NOT_APART, find=on_figures(not_apart)),
    Check(rule=THEIRS_ON_AUDIO, find=on_figures(theirs)),
)
