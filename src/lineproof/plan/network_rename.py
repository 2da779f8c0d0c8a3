"""New names for units in a planned network; cables keep the names on their labels."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from lineproof.base.names import natural
from lineproof.plan.network import Network, PlannedRun, PortAt, Retired, Stream

T = TypeVar("T")

#: Gives the new name of a unit, or the name itself.
NewName = Callable[[str], str]


def unit_names(network: Network) -> frozenset[str]:
    """Give the names of all units that the network speaks of."""
    names = {end.unit for run in network.runs for end in run.ends}
    names |= {name for stream in network.streams for name in (stream.sender, *stream.receivers)}
    names |= {rescue.port.unit for rescue in network.rescue_ports}
    names |= {address.unit for address in network.addresses}
    names |= {rank.unit for rank in network.clock} | set(network.switch_nets)
    return frozenset(names)


def with_units_renamed(network: Network, new: NewName) -> Network:
    """Give the network with `new` applied to every name of a unit."""
    return replace(
        network,
        switch_nets={new(name): net for name, net in network.switch_nets.items()},
        runs=tuple(_run(run, new) for run in network.runs),
        rescue_ports=tuple(replace(r, port=_port(r.port, new)) for r in network.rescue_ports),
        streams=_by_name((_stream(s, new) for s in network.streams), lambda s: ("", s.name)),
        addresses=_by_name(
            (replace(a, unit=new(a.unit)) for a in network.addresses), lambda a: (a.net, a.unit)
        ),
        nets={
            name: replace(
                net,
                roots=tuple(map(new, net.roots)),
                queriers=tuple(map(new, net.queriers)),
            )
            for name, net in network.nets.items()
        },
        clock=_by_name(
            (replace(rank, unit=new(rank.unit)) for rank in network.clock),
            lambda rank: (rank.net, rank.unit),
        ),
        retired=tuple(_retired(retired, new) for retired in network.retired),
    )


def _by_name(things: Iterable[T], key: Callable[[T], tuple[str, str]]) -> tuple[T, ...]:
    """Give the things as the planner sorts them: by net, then by name as people do."""
    return tuple(sorted(things, key=lambda thing: (key(thing)[0], natural(key(thing)[1]))))


def _port(port: PortAt, new: NewName) -> PortAt:
    return replace(port, unit=new(port.unit))


def _run(run: PlannedRun, new: NewName) -> PlannedRun:
    first, second = run.ends
    return replace(run, ends=(_port(first, new), _port(second, new)))


def _stream(stream: Stream, new: NewName) -> Stream:
    return replace(
        stream,
        name=_stream_name(stream.name, stream.sender, new),
        sender=new(stream.sender),
        receivers=tuple(sorted(map(new, stream.receivers), key=natural)),
    )


def _retired(retired: Retired, new: NewName) -> Retired:
    """Give what was given once under the new name; groups and sessions belong to a stream."""
    if retired.what == "stream":
        value = _stream_name(retired.value, retired.of, new)
        return replace(retired, value=value, of=new(retired.of))
    sender = retired.of.rpartition("/")[0]
    of = _stream_name(retired.of, sender, new) if sender else new(retired.of)
    return replace(retired, of=of)


def _stream_name(name: str, sender: str, new: NewName) -> str:
    """Give the stream's name: its sender's and the number that stays."""
    head, slash, number = name.rpartition("/")
    return f"{new(sender)}/{number}" if slash and head == sender else name
