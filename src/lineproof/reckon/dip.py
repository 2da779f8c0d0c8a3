"""What a feed that is off for a second restarts, and how long each path takes to sound again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace

from lineproof.base.names import natural
from lineproof.graph.faults import Fault, dead_units
from lineproof.plan.network import Network
from lineproof.reckon.clock import Timing
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures
from lineproof.reckon.gap import Habits, restored_gap, tree_gap
from lineproof.reckon.poe import fed_units, wants_feed
from lineproof.reckon.tree import Tree, spanning_tree
from lineproof.show.model import Show

#: A host that starts says at once what it wants to hear, and once more within 10 s in case the
#: first was lost (RFC 2236 8.10; facts 02).
_SAYS_AGAIN_S = 10.0


@dataclass(frozen=True, kw_only=True)
class Restart:
    """A unit that starts anew: in how many seconds it is up, and the switches that feed it.

    One fed over its cable starts at the earliest with the switch, at the latest once that is up.
    """

    unit: str
    least_s: float
    most_s: float
    fed_by: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Resounds:
    """When a stream is heard again at a receiver, in seconds after the dip; `parts` of the most.

    The least: all that restarts on its way is up, or the tree leads round it, and nothing else
    takes time. The most: one after the other, start-up, tree, clock, membership.
    """

    stream: str
    receiver: str
    net: str
    least_s: float
    most_s: float
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Dip:
    """What one circuit's dip does: units by name; paths the longest first.

    A path that the other net keeps up is not among them.
    """

    circuit: str
    restarts: tuple[Restart, ...]
    paths: tuple[Resounds, ...]
    assumed: tuple[str, ...] = field(default=())

    @property
    def longest_s(self) -> float:
        """Give the seconds after which all is heard again, at the most; 0 where nothing fell."""
        return max((path.most_s for path in self.paths), default=0.0)


def restarts(show: Show, network: Network, circuit: str) -> tuple[Restart, ...]:
    """Give all that restarts with a circuit, its feeds' own included, and what hangs on them.

    A unit fed over its network cable restarts when every switch that feeds it does.
    """
    return _restarts(show, _feeders(show, network), circuit)


def _restarts(
    show: Show, feeders: Mapping[str, AbstractSet[str]], circuit: str
) -> tuple[Restart, ...]:
    found = {
        name: Restart(
            unit=name, least_s=show.units[name].kind.start_s, most_s=show.units[name].kind.start_s
        )
        for name in dead_units(show, Fault(what="circuit", name=circuit))
    }
    waiting = [name for name in feeders if name not in found]
    while ready := [name for name in waiting if feeders[name] <= found.keys()]:
        for name in ready:
            start = show.units[name].kind.start_s
            found[name] = Restart(
                unit=name,
                least_s=start,
                most_s=start + min(found[by].most_s for by in feeders[name]),
                fed_by=tuple(sorted(feeders[name], key=natural)),
            )
        waiting = [name for name in waiting if name not in found]
    return tuple(found[name] for name in sorted(found, key=natural))


def _feeders(show: Show, network: Network) -> Mapping[str, AbstractSet[str]]:
    """Give the switches that feed each unit fed over its cable."""
    found: dict[str, set[str]] = {}
    for fed in fed_units(show, network):
        if fed.enough and wants_feed(show.units[fed.unit]):
            found.setdefault(fed.unit, set()).add(fed.port.unit)
    return found


def dips(
    show: Show, network: Network, figures: NetworkFigures, habits: Habits | None = None
) -> tuple[Dip, ...]:
    """Give what a dip of every circuit does, in the order of the show; only where units restart.

    A dip is too short for the tree or the querier to be given up; each is so only while what
    carries it starts.
    """
    habits, feeders = habits or Habits(), _feeders(show, network)
    nets = [_Net.of(show, figures.nets[net]) for net in sorted(figures.nets)]
    found = []
    for circuit in show.circuits:
        up = _restarts(show, feeders, circuit)
        if up:
            found.append(
                Dip(
                    circuit=circuit,
                    restarts=up,
                    paths=_paths(show, nets, {each.unit: each for each in up}, habits),
                    assumed=restored_gap(habits).assumed,
                )
            )
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class _Net:
    """A net's streams: (stream, receiver) with all units on the way, sender and receiver too."""

    figures: NetFigures
    ways: tuple[tuple[int, int, frozenset[str]], ...]

    @classmethod
    def of(cls, show: Show, figures: NetFigures) -> _Net:
        fabric, tree, found = figures.fabric, figures.tree, []
        for i, flow in enumerate(figures.swept.flows):
            for receiver in flow.receivers:
                path = tree.path(flow.sender, receiver)
                if path:
                    ends = {
                        fabric.nodes[fabric.head[way ^ side]].name
                        for way in path
                        for side in (0, 1)
                    }
                    found.append((i, receiver, frozenset(ends & show.units.keys())))
        return cls(figures=figures, ways=tuple(found))


_Up = Mapping[str, Restart]


def _paths(show: Show, nets: Iterable[_Net], up: _Up, habits: Habits) -> tuple[Resounds, ...]:
    """Give the paths that fall silent on every net they take, by the net that is back first."""
    best: dict[tuple[str, str], Resounds] = {}
    kept: set[tuple[str, str]] = set()
    down = frozenset(up)
    for net in nets:
        masters = _masters(net, up)
        meanwhile = _meanwhile(net.figures, up)
        for flow, receiver, units in net.ways:
            key = (net.figures.swept.flows[flow].name, net.figures.fabric.nodes[receiver].name)
            hit = frozenset() if units.isdisjoint(down) else units & down
            if not hit and not masters:
                kept.add(key)
                continue
            each = _resounds(show, net.figures, key, flow, (hit, masters), up, habits)
            sender = net.figures.swept.flows[flow].sender
            if meanwhile is not None and meanwhile.path(sender, receiver):
                # Another way leads round what restarts, as soon as the tree has found it.
                each = replace(each, least_s=min(each.least_s, tree_gap(habits).least_s))
            if key not in best or each.most_s < best[key].most_s:
                best[key] = each
    lost = (each for key, each in best.items() if key not in kept and each.most_s > 0)
    order = sorted(lost, key=lambda e: (-e.most_s, natural(e.stream), natural(e.receiver)))
    return tuple(order)


def _meanwhile(figures: NetFigures, up: _Up) -> Tree | None:
    """Give the tree while units restart, None where no bridge does: then no way leads elsewhere."""
    nodes, index = figures.fabric.nodes, figures.fabric.index
    if any(name in index and nodes[index[name]].bridge for name in up):
        return spanning_tree(figures.fabric.without(units=up))
    return None


def _masters(net: _Net, up: _Up) -> tuple[str, str] | None:
    """Give the grandmaster that restarts, and who leads meanwhile; None where it stays up."""
    hands = net.figures.hand_over
    if hands is None or hands.gone not in up:
        return None
    order = next((r.order for r in net.figures.reigns if r.grandmaster == hands.gone), ())
    return hands.gone, next((name for name in order if name not in up), "")


def _resounds(
    show: Show,
    figures: NetFigures,
    key: tuple[str, str],
    flow: int,
    hits: tuple[AbstractSet[str], tuple[str, str] | None],
    up: _Up,
    habits: Habits,
) -> Resounds:
    """Work out one path on one net; `hits`: what restarts on its way, and of the clock."""
    hit, masters = hits
    sender = figures.fabric.nodes[figures.swept.flows[flow].sender].name
    ends = (sender, key[1])
    waits = [(up[name].least_s, up[name].most_s, f"{name} starts") for name in sorted(hit)]
    least = max((low for low, _, _ in waits), default=0.0)
    most, why = max(((high, why) for _, high, why in waits), default=(0.0, ""))
    parts = [f"{why} {most:g} s"] if why else []
    more = (
        *_tree_wait(figures, hit, habits),
        *_clock_wait(show, ends, hit, masters, up),
        *_member_wait(figures, flow, key[1], hit, habits),
    )
    parts += [f"{what} {seconds:g} s" for what, seconds in more if seconds]
    return Resounds(
        stream=key[0],
        receiver=key[1],
        net=figures.fabric.net,
        least_s=least,
        most_s=most + sum(seconds for _, seconds in more),
        parts=tuple(parts),
    )


def _bridges(figures: NetFigures, hit: AbstractSet[str]) -> list[str]:
    nodes, index = figures.fabric.nodes, figures.fabric.index
    return sorted(name for name in hit if nodes[index[name]].bridge)


def _tree_wait(
    figures: NetFigures, hit: AbstractSet[str], habits: Habits
) -> Iterator[tuple[str, float]]:
    """Give how long the tree takes where a switch on the way comes back."""
    nodes, index = figures.fabric.nodes, figures.fabric.index
    if any(nodes[index[name]].elects for name in _bridges(figures, hit)):
        yield "the tree", restored_gap(habits).most_s


def _clock_wait(
    show: Show,
    ends: tuple[str, str],
    hit: AbstractSet[str],
    masters: tuple[str, str] | None,
    up: _Up,
) -> Iterator[tuple[str, float]]:
    """Give how long sender and receiver take to be in step with the clock again."""
    locking = [name for name in ends if name in hit]
    if masters is not None:
        gone, meanwhile = masters
        locking = [name for name in ends if name != (meanwhile or gone)]
        waits = Timing().noticed_s if meanwhile else up[gone].most_s
        yield (f"the clock of {meanwhile or gone}", waits)
    lock = max((show.units[name].kind.clock_lock_s for name in locking), default=0.0)
    yield "clock lock", lock


def _member_wait(
    figures: NetFigures, flow: int, receiver: str, hit: AbstractSet[str], habits: Habits
) -> Iterator[tuple[str, float]]:
    """Give how long until the switches know again who listens."""
    each = figures.swept.flows[flow]
    querier = figures.swept.calm.paths.querier[each.sender]
    if not each.multicast or querier < 0:
        return
    nodes, index = figures.fabric.nodes, figures.fabric.index
    asks = nodes[querier].name
    forgot = [name for name in _bridges(figures, hit) if nodes[index[name]].snoops]
    if [name for name in forgot if name != asks]:
        yield "until the next query", habits.query_interval_s
    if forgot:
        # One that asks does so as soon as it is up (RFC 3376 8.6, 8.7).
        yield "answers to the query", habits.query_response_s
    elif receiver in hit:
        yield "membership said again", _SAYS_AGAIN_S
