"""What differs between two planned networks, thing by thing: to pull, to set up, to listen to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lineproof.base.names import natural
from lineproof.plan.network import Network, PlannedRun, Stream


@dataclass(frozen=True, kw_only=True)
class NetworkDifference:
    """One thing of the network before and after; "" on the side where it isn't.

    `what`: run, stream, address, root, querier or clock.
    """

    what: str
    name: str
    before: str
    after: str

    @property
    def how(self) -> str:
        """Say what happened: new, gone or changed."""
        return "new" if not self.before else "gone" if not self.after else "changed"

    def __str__(self) -> str:
        was, now = self.before or "-", self.after or "-"
        return f"{self.how:<8}{self.what:<8} {self.name:<26} {was} -> {now}"


def network_differences(before: Network, after: Network) -> tuple[NetworkDifference, ...]:
    """Give every difference that somebody has to cable, set up or listen to.

    A stream's version is no difference of its own: it follows from the others.
    """
    if not before.nets and not before.runs:
        return ()
    pairs: tuple[tuple[str, Mapping[str, str], Mapping[str, str]], ...] = (
        ("run", _runs(before), _runs(after)),
        ("stream", _streams(before), _streams(after)),
        ("address", _addresses(before), _addresses(after)),
        ("root", _leaders(before, "roots"), _leaders(after, "roots")),
        ("querier", _leaders(before, "queriers"), _leaders(after, "queriers")),
        ("clock", _ranks(before), _ranks(after)),
    )
    return tuple(d for what, old, new in pairs for d in _of(what, old, new))


def _of(what: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[NetworkDifference]:
    for name in sorted({*old, *new}, key=natural):
        was, now = old.get(name, ""), new.get(name, "")
        if was != now:
            yield NetworkDifference(what=what, name=name, before=was, after=now)


def _runs(network: Network) -> dict[str, str]:
    return {run.name: _run(run) for run in network.runs}


def _run(run: PlannedRun) -> str:
    along = f" along {' '.join(run.ducts)}" if run.ducts else ""
    return f"{run.ends[0]} {run.ends[1]} {run.medium} {run.length_m:g} m{along}"


def _streams(network: Network) -> dict[str, str]:
    return {stream.name: _stream(stream) for stream in network.streams}


def _stream(stream: Stream) -> str:
    to = " ".join(f"{net}:{ip}" for net, ip in sorted(stream.to.items()))
    channels = ",".join(map(str, stream.channels))
    return f"channels {channels} to {' '.join(stream.receivers)} at {to}"


def _addresses(network: Network) -> dict[str, str]:
    return {f"{a.unit} {a.net}": a.ip for a in network.addresses}


def _leaders(network: Network, what: str) -> dict[str, str]:
    return {f"net {name}": " ".join(getattr(net, what)) for name, net in network.nets.items()}


def _ranks(network: Network) -> dict[str, str]:
    return {f"{r.unit} {r.net}": f"priority1 {r.priority1}" for r in network.clock}


def network_difference_data(difference: NetworkDifference) -> dict[str, Any]:
    """Give a difference as JSON."""
    return {
        "what": difference.what,
        "name": difference.name,
        "how": difference.how,
        "before": difference.before,
        "after": difference.after,
    }
