"""The clock: streams between two rates, and what is heard when the grandmaster goes."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, Facts, some
from lineproof.check.net_facts import each_net, on_figures
from lineproof.reckon.clock import HandOver
from lineproof.reckon.delay_figures import NetworkFigures
from lineproof.show.model import Show

_RECORDER = "rec-1: {kind: computer-128, place: front, circuit: house"
_AT_96 = Example(
    show=EXAMPLE_SHOW.replace(
        "rec-1: {kind: computer-32, place: front, circuit: house", _RECORDER
    ).replace(f"{_RECORDER}}}", f"{_RECORDER}, rate: 96 kHz}}")
)
_AT_48 = Example(show=_AT_96.show.replace(", rate: 96 kHz", ""))


def _with_clocks(count: int) -> Example:
    row = "  clock-{n}: {{kind: grandmaster-clock, place: front, circuit: house}}\n"
    rows = "".join(row.format(n=n) for n in range(1, count + 1))
    return Example(show=EXAMPLE_SHOW.replace("  sw-1:", f"{rows}  sw-1:"))


CROSSING = Rule(
    name="rate-crossing",
    grade=Grade.STOP,
    why="A stream of another rate is silent, or plays at the wrong pitch.",
    do="set both to one rate, or send it through a rate converter",
    source="AES67 7.1: sender and receiver work at one rate (from memory)",
    fails=_AT_96,
    passes=_AT_48,
)
HAND_OVER = Rule(
    name="hand-over-audible",
    grade=Grade.RISK,
    why=(
        "When the grandmaster goes, units run on by themselves and then follow a clock that is "
        "not in step with the old one: some mute while they lock, some click."
    ),
    do="bring a second clock as good as the first, on another circuit",
    source="IEEE 1588-2008 7.6.2.4, 9.3; AES67 media profile: noticed after 3 x 2 s (from memory)",
    fails=_with_clocks(1),
    passes=_with_clocks(2),
)


def crossing(facts: Facts) -> Iterator[Finding]:
    """Find streams between units of two rates, told once for each two units."""
    if facts.network is None:
        return
    show = facts.show
    senders = {stream.name: stream.sender for stream in facts.plan.network.streams}
    found: dict[tuple[str, str], list[str]] = {}
    for stream, receiver in facts.network.crossings:
        found.setdefault((senders[stream], receiver), []).append(stream)
    for (sender, receiver), streams in found.items():
        rates = [show.unit_rate_hz(show.units[name]) / 1000 for name in (sender, receiver)]
        what = f"{sender} sends at {rates[0]:g} kHz, {receiver} hears at {rates[1]:g} kHz"
        what += f" ({some(tuple(streams))})"
        where = tuple(show.units[name].where for name in (receiver, sender))
        yield CROSSING.finding(what=what, where=where, of=(sender, receiver))


def hand_over(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find nets where nobody as good follows the grandmaster; once where one is both nets'."""
    told: set[tuple[str, str]] = set()
    for net, each in each_net(figures):
        hands = each.hand_over
        listen = any(reign.follow for reign in each.reigns)
        if hands is None or not hands.worse or not listen or (hands.gone, hands.next) in told:
            continue
        told.add((hands.gone, hands.next))
        what = f"when {hands.gone} goes on net {net}, {_after(hands)}"
        yield HAND_OVER.finding(
            what=what,
            where=show.units[hands.gone].where,
            of=(hands.gone,),
            grade=Grade.NOTE if hands.next else Grade.RISK,
        )


def _after(hands: HandOver) -> str:
    if not hands.next:
        return f"nobody follows; noticed within {hands.noticed_s:g} s"
    follows = f"{hands.next} follows, a lesser clock: noticed within {hands.noticed_s:g} s"
    return f"{follows}, all in step again within {hands.locked_s:g} s"


CHECKS: tuple[Check, ...] = (
    Check(rule=CROSSING, find=crossing),
    Check(rule=HAND_OVER, find=on_figures(hand_over)),
)
