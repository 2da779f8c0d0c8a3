"""Mistakes people make with a network, each worked out by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from lineproof.drill.after import Clocks, NetAfter, nets_after
from lineproof.drill.bearing import Course
from lineproof.drill.calm import Calm, calm, leaders
from lineproof.drill.dead import Dead
from lineproof.drill.lose import After, after_faults, lose, verdict
from lineproof.drill.verdict import Drilled
from lineproof.graph.faults import (
    LOOP,
    MISTAKE,
    NO_SNOOPING,
    QUERIER_OFF,
    RIVAL_CLOCK,
    RUN,
    SAME_NUMBER,
    WRONG_DESK,
    WRONG_NET,
    Fault,
    shared_boxes,
)
from lineproof.graph.net import Fabric
from lineproof.plan.model import Plan
from lineproof.reckon.delay import Bounds, bounds
from lineproof.reckon.tree import spanning_tree
from lineproof.reckon.tree_paths import paths
from lineproof.show.model import Show

#: What the rival is called: nobody knows its name.
RIVAL = "a rival clock"


def blunder(show: Show, plan: Plan, fault: Fault, *, ready: Calm | None = None) -> Drilled:
    """Give what one mistake does to every planned line; nothing is broken besides."""
    known = ready or calm(show, plan)
    after = AFTER[fault.mistake[0]](known, fault.mistake[1])
    verdicts = tuple(verdict(line, after) for line in known.lines)
    return Drilled(faults=(fault,), verdicts=verdicts)


def _with_net(known: Calm, net: str, change: Callable[[NetAfter], NetAfter]) -> After:
    """Give everything as it is, but one net changed."""
    nets = dict(nets_after(known, Dead()))
    if net in nets:
        nets[net] = change(nets[net])
    return _after(known, nets)


def _after(
    known: Calm, nets: Mapping[str, NetAfter], doubts: Callable[[Course], str] | None = None
) -> After:
    clocks = Clocks(calm=known, nets=nets)
    if doubts is None:
        return After(calm=known, dead=Dead(), nets=nets, clocks=clocks)
    return After(calm=known, dead=Dead(), nets=nets, clocks=clocks, doubts=doubts)


def wrong_net(known: Calm, run: str) -> After:
    """Give what follows when a unit's cable is plugged into the other net.

    It has an address of the one net and hears the other: what it had on the first is gone, and
    on the second it has nothing new, as nobody there is asked by it with an address of that net.
    """
    return after_faults(known, (Fault(what=RUN, name=run),))


def loop(known: Calm, unit: str) -> After:
    """Give what follows when a chained unit's second port goes back to a switch.

    Where a switch there runs the spanning tree the loop is broken, if the unit passes its messages
    on, which nobody promises; where none does the net is full at once.
    """
    net = next((name for name, each in known.nets.items() if unit in each.tree.fabric.index), "")
    if not net:
        return _after(known, nets_after(known, Dead()))
    elects = any(node.elects for node in known.nets[net].tree.fabric.nodes)
    if not elects:
        full = f"net {net} is full of frames that go round and round"
        return _with_net(known, net, lambda each: replace(each, down=full, clock={}))
    maybe = f"net {net} is full unless {unit} passes the spanning tree's messages on"
    return _with_net(known, net, lambda each: replace(each, doubt=maybe))


def no_snooping(known: Calm, switch: str) -> After:
    """Give what follows when a switch without snooping stands in one's place, or beside it.

    It gives every stream that comes to it out of all its ports: loads and delays are worked out.
    """
    nets = dict(nets_after(known, Dead()))
    for name, each in nets.items():
        fabric = each.tree.fabric
        if switch in fabric.index:
            nets[name] = replace(each, bounds=_flooding(each, _deaf(fabric, switch)))
    return _after(known, nets)


def _deaf(fabric: Fabric, switch: str) -> Fabric:
    at = fabric.index[switch]
    nodes = (*fabric.nodes[:at], replace(fabric.nodes[at], snoops=False), *fabric.nodes[at + 1 :])
    return replace(fabric, nodes=nodes)


def _flooding(net: NetAfter, fabric: Fabric) -> Bounds:
    before = net.calm.bounds
    return bounds(paths(spanning_tree(fabric), before.paths.flows), before.ahead)


def querier_off(known: Calm, net: str) -> After:
    """Give what follows minutes after the first querier of a net has stopped asking.

    The next takes over after 255 s at the latest, before memberships end at 260 s; where there is
    none multicast stops then (RFC 3376 8, RFC 2236 8; facts).
    """
    if net not in known.nets:
        return _after(known, nets_after(known, Dead()))
    fabric = known.nets[net].tree.fabric
    if len(fabric.queriers) > 1 or not any(node.snoops for node in fabric.nodes):
        return _after(known, nets_after(known, Dead()))
    why = f"nobody asks on net {net}: multicast stops 260 to 270 s after the last query"
    return _with_net(known, net, lambda each: replace(each, mute=why))


def rival_clock(known: Calm, net: str) -> After:
    """Give what follows when a unit with a better priority turns up on a net.

    All that are on it follow the rival; those on the other net alone do not.
    """
    nets = dict(nets_after(known, Dead()))
    if net not in nets:
        return _after(known, nets)
    after = nets[net]
    heard = leaders(known.show, known.network, after.tree)
    nets = {
        name: replace(each, clock={u: c for u, c in each.clock.items() if u not in heard})
        for name, each in nets.items()
    }
    nets[net] = replace(nets[net], clock=dict.fromkeys(heard, RIVAL))
    return _after(known, nets)


def same_number(known: Calm, names: str) -> After:
    """Give what follows when a box is set to the number of another: nobody knows which is heard."""
    boxes = names.split("/")

    def doubts(course: Course) -> str:
        heard = {unit for leg in course.legs for unit in (leg.sender, leg.receiver)}
        if heard.isdisjoint(boxes):
            return ""
        return f"{' and '.join(boxes)} answer to one number, and either may be heard"

    return _after(known, nets_after(known, Dead()), doubts)


def wrong_desk(known: Calm, box: str) -> After:
    """Give what follows when one mixer changes gain, pad or 48 V that others hear as well."""
    mixers = shared_boxes(known.show, known.plan).get(box, ())

    def doubts(course: Course) -> str:
        heard = any(leg.sender == box and leg.receiver in mixers for leg in course.legs)
        if not heard:
            return ""
        names = " and ".join(mixers)
        return f"gain or 48 V at {box} is changed by one of {names}, and the level jumps at all"

    return _after(known, nets_after(known, Dead()), doubts)


AFTER: Mapping[str, Callable[[Calm, str], After]] = MappingProxyType(
    {
        WRONG_NET: wrong_net,
        LOOP: loop,
        NO_SNOOPING: no_snooping,
        QUERIER_OFF: querier_off,
        RIVAL_CLOCK: rival_clock,
        SAME_NUMBER: same_number,
        WRONG_DESK: wrong_desk,
    }
)


def drill(show: Show, plan: Plan, faults: tuple[Fault, ...], *, ready: Calm) -> Drilled:
    """Give what faults do together, or one mistake by itself."""
    if len(faults) == 1 and faults[0].what == MISTAKE:
        return blunder(show, plan, faults[0], ready=ready)
    return lose(show, plan, faults, ready=ready)
