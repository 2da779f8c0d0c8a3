"""The drill of a whole show: all that can fail, by itself and in pairs; one frozen result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

from lineproof.drill.calm import Calm
from lineproof.drill.draws import Triples, triples
from lineproof.drill.odds import Assumed, Odds, odds
from lineproof.drill.pairs import Pairs, all_pairs
from lineproof.drill.planes import places_of
from lineproof.drill.sweep import Swept, swept
from lineproof.drill.verdict import Drilled, Standing, State, Verdict
from lineproof.graph.faults import Fault


@dataclass(frozen=True, kw_only=True)
class Whole:
    """What was found: `pairs`, `odds` and `triples` are None where nobody asked for pairs."""

    swept: Swept
    pairs: Pairs | None = None
    odds: Odds | None = None
    triples: Triples | None = None

    @property
    def calm(self) -> Calm:
        """Give the show as it was made ready."""
        return self.swept.calm

    @property
    def tried(self) -> int:
        """Give how many single faults were tried."""
        return sum(map(len, self.swept.classes.members))

    @cached_property
    def lost_lines(self) -> tuple[int, ...]:
        """Give by class of faults how many lines it takes at some end."""
        lines_of = self.swept.lines_of
        return tuple(
            len({line for shape in lost for line in lines_of[shape]})
            for lost in self.swept.lost_alone
        )

    @property
    def worst(self) -> tuple[Fault, ...]:
        """Give the class of faults that takes most lines at some end, none where none takes any."""
        most = max(self.lost_lines, default=0)
        return self.swept.classes.members[self.lost_lines.index(most)] if most else ()

    @cached_property
    def singles(self) -> tuple[Drilled, ...]:
        """Give every single fault with states and lost ends, as the sweep has them: without gaps.

        `lose` tells more of each.
        """
        verdicts = _verdicts(self.swept)
        return tuple(
            Drilled(faults=(fault,), verdicts=verdicts[at])
            for at, members in enumerate(self.swept.classes.members)
            for fault in members
        )


def _verdicts(known: Swept) -> list[tuple[Verdict, ...]]:
    """Give the verdicts of every class of faults; lines that are untouched share one."""
    untouched = [Verdict(line=key) for key in known.keys]
    found = [list(untouched) for _ in range(len(known.classes))]
    # A large show has some sixty thousand; what is equal in them is held once.
    shared: dict[tuple[str, ...], tuple[str, ...]] = {}
    for line, (lost_at, stands) in enumerate(
        zip(_lost_ends(known), known.alone.lines(), strict=True)
    ):
        for at in places_of(stands[0]):
            state = _STATES[sum(plane >> at & 1 for plane in stands)]
            lost = tuple(end for end, plane in lost_at if plane >> at & 1)
            found[at][line] = Verdict(
                line=known.keys[line], standing=_STANDING[state], lost=shared.setdefault(lost, lost)
            )
    return [tuple(each) for each in found]


_STATES = tuple(State)
_STANDING = MappingProxyType(
    {state: Standing(state=state, must_act=state in (State.LOST, State.UNKNOWN)) for state in State}
)


def _lost_ends(known: Swept) -> list[list[tuple[str, int]]]:
    """Give by line its ends, each with the classes that lose it."""
    shapes = known.alone.shapes
    return [
        [
            (str(arrival.end), shapes[shape][4])
            for arrival, shape in zip(resting.arrivals, mine, strict=True)
        ]
        for resting, mine in zip(known.calm.lines, known.line_shapes, strict=True)
    ]


def drill_all(
    calm: Calm,
    *,
    pairs: bool = False,
    assumed: Assumed | None = None,
    progress: Callable[[str], None] | None = None,
) -> Whole:
    """Give what every single fault does; with `pairs` all pairs, odds and threes too."""
    say = progress or (lambda _: None)
    say("single faults")
    known = swept(calm)
    whole = Whole(swept=known)
    if not pairs:
        return whole
    found = all_pairs(known, say)
    say("likelihood")
    likely = odds(known, found, assumed)
    say("threes, drawn")
    return replace(whole, pairs=found, odds=likely, triples=triples(known, found))
