"""What the rules on the network's figures share: their way in, and names in their sentences."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from lineproof.base.finding import Finding
from lineproof.base.rule import EXAMPLE_SHOW
from lineproof.check.addresses import SWITCH
from lineproof.check.check import Facts
from lineproof.reckon.delay_figures import NetFigures, NetworkFigures
from lineproof.show.model import Show

Find = Callable[[Show, NetworkFigures], Iterator[Finding]]


def on_figures(find: Find) -> Callable[[Facts], Iterable[Finding]]:
    """Give a check's function from one over show and network figures; nothing where none are."""

    def found(facts: Facts) -> Iterable[Finding]:
        return () if facts.network is None else find(facts.show, facts.network)

    return found


def each_net(figures: NetworkFigures) -> Iterator[tuple[str, NetFigures]]:
    """Give the nets by name, each with what follows for it."""
    for net in sorted(figures.nets):
        yield net, figures.nets[net]


def with_switches(count: int, runs: str, *, more: str = "", addresses: str = "") -> str:
    """Give the little show with so many switches at the front, joined by the runs given."""
    rows = "\n".join(SWITCH.replace("sw-1", f"sw-{n}") for n in range(1, count + 1))
    named = f"addresses: {{{addresses}}}\n" if addresses else ""
    show = EXAMPLE_SHOW.replace(SWITCH, f"{rows}\n{more}".rstrip("\n"))
    return show.replace("lines:", f"runs: {{{runs}}}\n{named}lines:")


def ring(*names: str) -> str:
    """Give runs from each switch's port 7 to the next one's port 8, the last to the first."""
    pairs = zip(names, (*names[1:], names[0]), strict=True)
    return ", ".join(
        f"t{n}: {{from: '{one}:7', to: '{other}:8'}}" for n, (one, other) in enumerate(pairs, 1)
    )
