"""Delay bounds and receive buffers: what has no bound, what no buffer holds, what is close."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.finding import Finding, Grade
from lineproof.base.rule import EXAMPLE_LINES, EXAMPLE_SHOW, Example, Rule
from lineproof.check.check import Check, Facts, some
from lineproof.check.net_facts import each_net, on_figures
from lineproof.plan.network import Network
from lineproof.reckon.delay import UNBOUNDED
from lineproof.reckon.delay_buffers import Buffer
from lineproof.reckon.delay_figures import NetworkFigures
from lineproof.show.model import Show

#: Common practice: a quarter of the packet time for senders that are not quite on time.
THIN = 0.25


def _kinds(kinds: str, *changes: tuple[str, str]) -> str:
    show = EXAMPLE_SHOW.replace("lines:", f"kinds: {{{kinds}}}\nlines:")
    for old, new in changes:
        show = show.replace(old, new)
    return show


def _recorder(kind: str) -> str:
    return _kinds(f"odd: {{like: computer-32, {kind}}}", ("kind: computer-32,", "kind: odd,"))


_MANY = "number,name,from,source,to\n" + "".join(
    f"{n},Voice {n},stage,dynamic mic,desk rec-1\n" for n in range(1, 17)
)
_PORT = "ports: [{{medium: copper, speed-mbit: {speed}}}]"
_PAIR = EXAMPLE_LINES.replace(
    "41,Main,desk,main mix,pa\n",
    "41,Main left,desk,main mix,pa\n42,Main right,desk,main mix,pb\n",
)


def _two_loudspeakers(buffers_ms: str) -> str:
    row = "  pb: {kind: odd, place: stage, circuit: house}\n  sw-1:"
    return _kinds(f"odd: {{like: powered-loudspeaker, buffers-ms: {buffers_ms}}}", ("  sw-1:", row))


NO_BOUND = Rule(
    name="no-delay-bound",
    grade=Grade.STOP,
    why="Where more sound comes than a port can give out, its queue grows until packets are lost.",
    do="take a faster port, or send fewer channels there",
    source="network calculus: the rate of arrivals must stay below the port's (Le Boudec, Thiran)",
    fails=Example(show=_recorder(_PORT.format(speed=10)), lines=_MANY),
    passes=Example(show=_recorder(_PORT.format(speed=100)), lines=_MANY),
)
NO_BUFFER = Rule(
    name="no-buffer-fits",
    grade=Grade.STOP,
    why="Packets that come after their time are thrown away: it crackles, or is silent.",
    do="shorten `packet`, take a faster way, or a kind that can wait longer",
    source="AES67 7.5: the link offset exceeds packet time and delay (from memory)",
    fails=Example(show=_recorder("buffers-ms: [1]")),
    passes=Example(show=_recorder("buffers-ms: [1, 2]")),
)
DIFFER = Rule(
    name="buffers-differ",
    grade=Grade.RISK,
    why="Loudspeakers that are heard together and wait differently pull the image to one side.",
    do="take kinds that share a buffer long enough, or add the difference as delay by hand",
    source="AES67 7.5: one link offset for all that are to be in step (from memory)",
    fails=Example(show=_two_loudspeakers("[4]"), lines=_PAIR),
    passes=Example(show=_two_loudspeakers("[2, 4]"), lines=_PAIR),
)
MARGIN_THIN = Rule(
    name="buffer-margin-thin",
    grade=Grade.NOTE,
    why="A computer that sends a little late uses up what is left, and it crackles now and then.",
    do="take the next longer buffer if a few milliseconds can be spared",
    source="common practice: a quarter of the packet time",
    fails=Example(show=_recorder("buffers-ms: [1.3, 3]")),
    passes=Example(show=_recorder("buffers-ms: [2, 3]")),
)


def no_bound(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find receivers to which some stream has no bound, as it is or after a fault."""
    for net, each in each_net(figures):
        found: dict[tuple[str, str], list[str]] = {}
        for (flow, receiver), delay in each.swept.delay_ns.items():
            if delay.worst == UNBOUNDED:
                fault = "" if delay.undisturbed == UNBOUNDED else delay.fault
                name = each.fabric.nodes[receiver].name
                found.setdefault((fault, name), []).append(each.swept.flows[flow].name)
        for (fault, name), streams in sorted(found.items()):
            when = f" once {fault} is lost" if fault else ""
            told = some(tuple(streams))
            what = f"on net {net} nothing bounds the delay to {name}{when}, in {told}"
            yield NO_BOUND.finding(
                what=what,
                where=show.units[name].where,
                of=tuple(x for x in (name, fault) if x),
                grade=Grade.RISK if fault else Grade.STOP,
            )


def _needs(buffer: Buffer) -> str:
    """Say what a buffer is needed for, and after which fault."""
    need = buffer.need
    ms = "?" if need.ns is None else f"{need.ns / 1e6:.2f} ms"
    after = f" once {need.fault} is lost" if need.fault else ""
    return f"{ms} for {need.stream} on net {need.net}{after}"


def _alone_ms(show: Show, name: str, need_ns: int) -> float | None:
    """Give the least buffer that a unit's own kind offers and that is enough."""
    fit = (ms for ms in sorted(show.units[name].kind.buffers_ms) if ms * 1_000_000 >= need_ns)
    return next(fit, None)


def no_buffer(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find units none of whose buffers is long enough, as it is or after a fault."""
    for buffer in figures.buffers:
        need = buffer.need
        if buffer.offset_ms is not None or need.ns is None:
            continue
        short = tuple(
            name
            for name in buffer.units
            if name not in buffer.unknown and _alone_ms(show, name, need.ns) is None
        )
        if not short:
            continue
        calm = need.undisturbed_ns
        fits = calm is not None and all(_alone_ms(show, n, calm) is not None for n in short)
        longest = max(max(show.units[name].kind.buffers_ms) for name in short)
        what = f"{some(short)} can wait {longest:g} ms at most; needed are {_needs(buffer)}"
        yield NO_BUFFER.finding(
            what=what,
            where=show.units[short[0]].where,
            of=short,
            grade=Grade.RISK if fits else Grade.STOP,
        )


def differ(show: Show, figures: NetworkFigures) -> Iterator[Finding]:
    """Find units heard together that can each wait long enough, but share no such buffer."""
    for buffer in figures.buffers:
        need = buffer.need
        if buffer.offset_ms is not None or need.ns is None or len(buffer.units) < 2:
            continue
        known = [name for name in buffer.units if name not in buffer.unknown]
        alone = {name: _alone_ms(show, name, need.ns) for name in known}
        fit = {name: ms for name, ms in alone.items() if ms is not None}
        if len(fit) > 1 and len(fit) == len(known):
            told = some(tuple(f"{name} {ms:g} ms" for name, ms in fit.items()))
            what = f"these are heard together and share no buffer of {_needs(buffer)}: {told}"
            yield DIFFER.finding(what=what, where=show.units[known[0]].where, of=tuple(fit))


def margin_thin(facts: Facts) -> Iterator[Finding]:
    """Find units whose buffer leaves little for senders that are late; once for each set."""
    if facts.network is None:
        return
    packets = _packets_us(facts.plan.network)
    for buffer in facts.network.buffers:
        margin, packet_us = buffer.margin_ns, packets.get(buffer.need.stream)
        if margin is not None and packet_us is not None and margin < THIN * packet_us * 1000:
            what = f"of {buffer.offset_ms:g} ms {margin / 1e6:.2f} ms are left at"
            what += f" {some(buffer.units)}; needed are {_needs(buffer)}"
            where = facts.show.units[buffer.units[0]].where
            yield MARGIN_THIN.finding(what=what, where=where, of=buffer.units)


def _packets_us(network: Network) -> dict[str, int]:
    return {stream.name: stream.packet_us for stream in network.streams}


CHECKS: tuple[Check, ...] = (
    Check(rule=NO_BOUND, find=on_figures(no_bound)),
    Check(rule=NO_BUFFER, find=on_figures(no_buffer)),
    Check(rule=DIFFER, find=on_figures(differ)),
    Check(rule=MARGIN_THIN, find=margin_thin),
)
