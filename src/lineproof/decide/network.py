"""The network after the spots: runs, then streams over the tree they make, then addresses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from lineproof.decide.addresses import plan_addresses
from lineproof.decide.cabling.plan import plan_runs
from lineproof.decide.streams.needs import needs_of
from lineproof.decide.streams.pack import pack
from lineproof.decide.streams.packing import Packing, Told
from lineproof.decide.streams.repack import repack
from lineproof.decide.streams.ways import hops_of
from lineproof.decide.terms import Term
from lineproof.plan.model import Plan
from lineproof.plan.network import Network, Retired, Stream
from lineproof.show.model import Show


@dataclass(frozen=True, kw_only=True)
class NetworkDecision:
    """The network with what its wishes came to, and what listeners will notice of a change."""

    network: Network
    terms: tuple[Term, ...] = ()
    told: tuple[Told, ...] = ()


def _quiet(_: str) -> None:
    """Say nothing."""


def plan_network(
    show: Show,
    plan: Plan,
    earlier: Network | None = None,
    *,
    revision: int = 0,
    progress: Callable[[str], None] = _quiet,
) -> NetworkDecision:
    """Give the network that carries the plan's routes; what `earlier` decided stays if it can.

    `earlier` is the network of the last issued `revision`; None plans afresh.
    """
    if not any(unit.kind.ports for unit in show.units.values()):
        return NetworkDecision(network=Network())
    if earlier is not None and not earlier.nets:
        earlier = None
    progress("laying the runs")
    cabling = plan_runs(show, earlier)
    bare = cabling.network()

    def addressed(network: Network) -> Network:
        return plan_addresses(show, network, earlier, revision=revision)

    progress("packing the streams")
    # Who is root is known before there is a stream; the tree says what a stream costs.
    laid = addressed(bare)
    needs = needs_of(show, replace(plan, network=laid), hops_of(show, laid))
    last = _last_numbers(earlier)
    packing = repack(needs, earlier.streams, last=last) if earlier else pack(needs, last=last)
    retired = (*bare.retired, *_retired_streams(earlier, packing, revision))
    network = addressed(replace(bare, streams=packing.streams, retired=retired))
    terms = (*map(_of_runs, cabling.terms), *_terms(packing))
    return NetworkDecision(network=network, terms=terms, told=packing.told)


def _last_numbers(earlier: Network | None) -> Mapping[str, int]:
    """Give the highest number that a stream of each sender ever had."""
    found: dict[str, int] = {}
    names = [(s.sender, s.name) for s in earlier.streams] if earlier else []
    names += [(r.of, r.value) for r in earlier.retired if r.what == "stream"] if earlier else []
    for sender, name in names:
        number = name.rpartition("/")[2]
        if number.isdecimal():
            found[sender] = max(found.get(sender, 0), int(number))
    return found


def _retired_streams(
    earlier: Network | None, packing: Packing, revision: int
) -> tuple[Retired, ...]:
    """Give the streams that are no more, those that went before included."""
    if earlier is None:
        return ()
    now = {stream.name for stream in packing.streams}
    before = [r for r in earlier.retired if r.what == "stream" and r.value not in now]
    gone = [s for s in earlier.streams if s.name not in now]
    return (*before, *(_retired(stream, revision) for stream in gone))


def _retired(stream: Stream, revision: int) -> Retired:
    return Retired(what="stream", value=stream.name, of=stream.sender, revision=revision)


def _of_runs(term: Term) -> Term:
    """Give a wish of the runs under a name that no wish of the spots can be taken for."""
    names = {"metres": "metres of run", "left without": "left without a run"}
    return replace(term, name=names.get(term.name, term.name))


def _terms(packing: Packing) -> tuple[Term, ...]:
    """Give what the streams came to: limits exceeded, megabits x runs, how many."""
    mega = 1_000_000
    return (
        Term(name="streams over", value=packing.over, bound=packing.least_over, unit=""),
        Term(
            name="stream load",
            value=packing.cost / mega,
            bound=packing.bound / mega,
            unit="Mbit/s x runs",
        ),
        Term(name="streams", value=len(packing.streams), bound=None, unit=""),
    )
