"""The choice of trunks and hangs as one small exact model, with its wishes in their order."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from lineproof.decide.cabling.cuts import Cut, Net, first_cuts, open_cuts
from lineproof.decide.cabling.fabric import Trunk
from lineproof.decide.cabling.ground import COPPER, FIBRE, feeds_dw
from lineproof.decide.cabling.hang import Choice, Group
from lineproof.decide.cabling.whole import WholeModel
from lineproof.decide.terms import Term
from lineproof.kit.kinds import Port

#: Rounds of cuts at most; the checks tell what is then still open.
MOST_ROUNDS = 60
#: Variables up to which one best is singled out among equals. Beyond (a campus) that takes minutes:
#: which of equals is taken is then the solver's habit, the same on every run of the same release.
MOST_TIED = 12_000
#: Ports that each switch keeps open for a rescue.
RESCUE_PORTS = 2

#: A variable and its weight in a sum.
Weighted = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Task:
    """All that is to be chosen, and what it must keep to.

    `free`: each switch's open ports; `budget_dw`: what it may still feed, in tenths of a watt,
    None where it feeds nothing.
    """

    nets: tuple[Net, ...]
    groups: tuple[Group, ...]
    free: Mapping[str, Sequence[Port]]
    budget_dw: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """What was chosen: trunks, how many units of each group take which choice, and the terms."""

    trunks: tuple[Trunk, ...]
    hung: tuple[tuple[tuple[Choice, int], ...], ...]
    terms: tuple[Term, ...]


#: The wishes, the strongest first.
LEFT, SECOND, RISKS, RESCUE, METRES = (
    "left without",
    "no second way",
    "shared risks",
    "rescue ports short",
    "metres",
)
WISHES = (LEFT, SECOND, RISKS, RESCUE, METRES)
_UNITS = MappingProxyType({METRES: "m"})
#: How large the numbers are that settle which of equals is taken.
_DRAWN_BITS = 14


def choose(task: Task) -> Chosen:
    """Give the best choice, wish by wish.

    Fewest units and switches left without a run; fewest ducts whose cut parts a net that need not
    be parted; fewest things that both nets of a unit share; fewest rescue ports short; fewest
    metres; then faster trunks, and names. Cuts come in rounds, as parts of a net are found apart.
    """
    cuts: dict[Cut, None] = {}
    for net in task.nets:
        cuts.update(dict.fromkeys(first_cuts(net)))
    terms: tuple[Term, ...] = ()
    for _ in range(MOST_ROUNDS):
        values, terms = _settled(task, tuple(cuts), terms)
        more = [cut for net in task.nets for cut in open_cuts(net, values) if cut not in cuts]
        if not more:
            break
        cuts.update(dict.fromkeys(more))
    hung = tuple(
        tuple(
            (choice, values[_count_name(at, n)])
            for n, choice in enumerate(group.choices)
            if values[_count_name(at, n)]
        )
        for at, group in enumerate(task.groups)
    )
    trunks = tuple(t for net in task.nets for t in net.trunks if values[t.name])
    return Chosen(trunks=trunks, hung=hung, terms=terms)


def _settled(
    task: Task, cuts: Sequence[Cut], before: Sequence[Term]
) -> tuple[dict[str, int], tuple[Term, ...]]:
    """Give the values at the best, first as if the two strongest wishes could be granted.

    `before`: the terms with fewer cuts. What was best then is best now if it can still be had.
    """
    known = {term.name: term for term in before if term.name in (RISKS, RESCUE)}
    tries = [((LEFT, SECOND), known)] if known else []
    for granted, kept in (*tries, ((LEFT, SECOND), {}), ((), {})):
        model = _Model(task, cuts)
        if model.settle(granted, kept):
            return model.values, tuple(model.terms)
    raise AssertionError("leaving everything out is always possible")


class _Model:
    def __init__(self, task: Task, cuts: Sequence[Cut]) -> None:
        self.task = task
        self.whole = WholeModel()
        self.vars: dict[str, int] = {}
        self.wishes: dict[str, list[Weighted]] = {name: [] for name in WISHES}
        self.tie: list[Weighted] = []
        self.values: dict[str, int] = {}
        self.terms: list[Term] = []
        self.uses: dict[tuple[str, str], list[int]] = {}
        self.feeds: dict[tuple[str, int], list[int]] = {}
        speeds = {trunk.speed_mbit for net in task.nets for trunk in net.trunks}
        self.speeds = sorted(speeds, reverse=True)
        for net in task.nets:
            self._add_trunks(net)
        for at, group in enumerate(task.groups):
            self._add_group(at, group)
        for switch, ports in task.free.items():
            self._add_switch(switch, ports)
        for cut in cuts:
            self._add_cut(cut)

    # -- what is chosen ------------------------------------------------------------------------

    def _var(self, name: str, most: int) -> int:
        if name not in self.vars:
            self.vars[name] = self.whole.var(most)
        return self.vars[name]

    def _add_trunks(self, net: Net) -> None:
        for trunk in net.trunks:
            var = self._var(trunk.name, 1)
            for switch in trunk.link.ends:
                self.uses.setdefault((switch, trunk.cable.medium), []).append(var)
            self.wishes[METRES].append((var, trunk.cable.length_m))
            # The faster, then copper, and both long before what is drawn.
            rank = 2 * self.speeds.index(trunk.speed_mbit) + (trunk.cable.medium == FIBRE)
            self.tie.append((var, (rank << _DRAWN_BITS + 2) + _drawn(trunk.name)))
            if trunk.copy:
                first = self.vars[trunk.name.removesuffix(str(trunk.copy)) + "0"]
                self.whole.add([(var, 1), (first, -1)], most=0)

    def _add_group(self, at: int, group: Group) -> None:
        counts = []
        for n, choice in enumerate(group.choices):
            var = self._var(_count_name(at, n), len(group.units))
            counts.append((var, 1))
            self.wishes[LEFT].append((var, choice.missing))
            self.wishes[RISKS].append((var, choice.risks))
            self.wishes[METRES].append((var, choice.metres))
            self.tie.append((var, _drawn(f"{group.units[0]} {_told(choice)}")))
            for need, hang in zip(group.needs, choice.hangs, strict=True):
                if hang is not None:
                    self.uses.setdefault((hang.switch, need.medium), []).append(var)
                    if need.feed_dw:
                        key = (hang.switch, need.feed_dw)
                        self.feeds.setdefault(key, []).append(var)
        self.whole.add(counts, least=len(group.units), most=len(group.units))

    # -- what it must keep to ------------------------------------------------------------------

    def _add_switch(self, switch: str, ports: Sequence[Port]) -> None:
        for medium in (COPPER, FIBRE):
            count = sum(port.medium == medium for port in ports)
            used = [(var, 1) for var in self.uses.get((switch, medium), ())]
            if used:
                self.whole.add(used, most=count)
            if medium == rescue_medium(ports):
                short = self._var(f"rescue {switch}", RESCUE_PORTS)
                self.whole.add(
                    [(short, 1), *((v, -w) for v, w in used)], least=RESCUE_PORTS - count
                )
                self.wishes[RESCUE].append((short, 1))
        fed = sorted(dw for name, dw in self.feeds if name == switch)
        for least in fed:
            asked = [(v, 1) for dw in fed if dw >= least for v in self.feeds[switch, dw]]
            self.whole.add(asked, most=sum(feeds_dw(port) >= least for port in ports))
        if fed:
            drawn = [(v, dw) for dw in fed for v in self.feeds[switch, dw]]
            self.whole.add(drawn, most=self.task.budget_dw.get(switch, 0))

    def _add_cut(self, cut: Cut) -> None:
        if cut.failed:
            # One for each duct: told is how many cuts of ducts part a net, not how often.
            name, wish = f"second {cut.net} {cut.failed}", SECOND
        else:
            name, wish = f"left {cut.net} {','.join(sorted(cut.inside))}", LEFT
        if name not in self.vars:
            self.wishes[wish].append((self._var(name, 1), 1))
        crossing = [(self.vars[over], 1) for over in cut.crossing]
        self.whole.add([*crossing, (self.vars[name], 1)], least=1)

    # -- solving -------------------------------------------------------------------------------

    def settle(self, granted: Iterable[str], known: Mapping[str, Term]) -> bool:
        """Make wish after wish best; False where those taken for granted, or known, can't be."""
        for name in granted:
            self.whole.add(self.wishes[name], most=0)
        for name in WISHES:
            bound = 0.0
            if name in known:
                bound = known[name].bound or 0.0
                self.whole.add(self.wishes[name], most=round(known[name].value))
            elif name not in granted and self.wishes[name]:
                found = self._best(self.wishes[name])
                if found is None:
                    return False
                bound = found
            self.terms.append(Term(name=name, value=0.0, bound=bound, unit=_UNITS.get(name, "")))
        if len(self.vars) <= MOST_TIED and self._best(self.tie) is None:
            return False
        self.terms = [
            replace(term, value=float(self._value(self.wishes[term.name]))) for term in self.terms
        ]
        return True

    def _best(self, terms: Sequence[Weighted]) -> float | None:
        if self.whole.hint and self._value(terms) == 0:
            # No term is below 0.
            self.whole.add(terms, most=0)
            return 0.0
        best = self.whole.minimise(terms)
        if best is None:
            return None
        self.values = {name: best.values[at] for name, at in self.vars.items()}
        self.whole.add(terms, most=sum(weight * best.values[at] for at, weight in terms))
        return best.bound

    def _value(self, terms: Sequence[Weighted]) -> int:
        values = self.whole.hint
        return sum(weight * values[at] for at, weight in terms)


def rescue_medium(ports: Sequence[Port]) -> str:
    """Give the medium of rescue ports on a switch: copper where it has any."""
    return COPPER if any(p.medium == COPPER for p in ports) or not ports else FIBRE


def _count_name(group: int, choice: int) -> str:
    return f"hang {group} {choice}"


def _told(choice: Choice) -> str:
    return " ".join(
        f"{h.switch} {h.cable.medium} {','.join(h.cable.way.ducts)}" if h else "-"
        for h in choice.hangs
    )


def _drawn(name: str) -> int:
    """Give a number drawn from a name, to leave one best among equals."""
    return zlib.crc32(name.encode()) >> (32 - _DRAWN_BITS)
