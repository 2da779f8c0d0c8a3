"""One edition of the papers: an outcome, the words, who reads it, and what to mark as new."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.finding import Finding, in_order
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.check.accept import matches
from lineproof.graph.signal import By, carried_by
from lineproof.outcome import Outcome
from lineproof.paper import rules
from lineproof.paper.readers import CREW, For, Reader
from lineproof.paper.translate import Words
from lineproof.plan.model import Issued, LinePlan, Plan
from lineproof.plan.network import ClockRank, Network, PlannedRun, Stream
from lineproof.reckon.figures import Lead
from lineproof.show.model import Act, Line, Show, Unit


@dataclass(frozen=True, kw_only=True)
class Edition:
    """What all sheets are made from. Nothing is worked out here, only looked up and put in words.

    `before` is the revision against which rows are marked as new, None to mark nothing.
    """

    outcome: Outcome
    words: Words
    reader: Reader = CREW
    before: Issued | None = None

    @property
    def show(self) -> Show:
        """Give the show."""
        return self.outcome.show

    @property
    def for_crew(self) -> bool:
        """Say whether the crew reads it."""
        return self.reader.kind is For.CREW

    @property
    def status(self) -> str:
        """Give what every sheet says: DRAFT, ISSUED 3, or ISSUED 3 + 2 CHANGES, in its language."""
        outcome = self.outcome
        if outcome.is_draft or outcome.issued is None:
            return self.words("said.draft")
        if not outcome.changes:
            return self.words("said.issued", revision=outcome.issued.revision)
        many = len(outcome.changes) > 1
        key = "said.issued-changes" if many else "said.issued-change"
        return self.words(key, revision=outcome.issued.revision, count=len(outcome.changes))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Give the outcome's findings and those about the paper itself, in order."""
        own = [_accepted(self.show, finding) for finding in rules.find_all(self.show)]
        return in_order([*self.outcome.findings, *own])

    @property
    def drilled(self) -> tuple[Finding, ...]:
        """Give what single faults do, none before rescues were worked out: no grade stands then."""
        return self.outcome.drilled if self.outcome.rescued is not None else ()

    # -- lines and what was decided for them ----------------------------------------------------

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Give the lines this reader gets, in the list's order, acts in running order."""
        acts = {act.name: n for n, act in enumerate(self.show.acts)}
        seen = [x for x in self.show.lines if self.reader.may_see(x, self.outcome.plan, self.show)]
        return tuple(sorted(seen, key=lambda x: (acts.get(x.key.act, -1), x.key.sort_key())))

    @cached_property
    def by_key(self) -> Mapping[tuple[str, str], Line]:
        """Give the same lines by key, without case."""
        return {line.key.same(): line for line in self.lines}

    @cached_property
    def _decided(self) -> Mapping[tuple[str, str], LinePlan]:
        return {decided.key.same(): decided for decided in self.outcome.plan.lines}

    def line(self, key: LineKey) -> Line | None:
        """Give the line of a key if this reader gets it."""
        return self.by_key.get(key.same())

    def decided(self, line: Line) -> LinePlan:
        """Give what was decided for a line; nothing yet is an empty decision."""
        nothing = LinePlan(key=line.key, name=line.name, starts_at="")
        return self._decided.get(line.key.same(), nothing)

    def plugs(self, line: Line) -> tuple[Spot, ...]:
        """Give the sockets into which a line is plugged by hand at its start, each once.

        What a multicore joins hangs already: the socket behind a drop box is none of them.
        """
        found: dict[Spot, None] = {}
        for spots in self.decided(line).start.values():
            for before, spot in zip((None, *spots), spots, strict=False):
                by = carried_by(before, spot) if before is not None else By.LEAD
                if spot.side is Side.IN and by is not By.MULTICORE:
                    found[spot] = None
        return tuple(found)

    def lead(self, line: Line, spot: Spot) -> Lead | None:
        """Give the lead of a line at a socket, or None where it has none."""
        return self._leads.get((line.key, spot))

    def tie_text(self, lead: Lead | None) -> str:
        """Give the line of a tie that a lead goes over, as in `wall:3`; "" for one without."""
        if lead is None or lead.over is None:
            return ""
        tie = self.show.ties.get(lead.over.unit)
        name = (tie.label or tie.name) if tie is not None else lead.over.unit
        return f"{name}:{lead.over.number}"

    @cached_property
    def leads_over_ties(self) -> Mapping[LineKey, tuple[Lead, ...]]:
        """Give the leads of each line that go over a tie; no line that has none."""
        found: dict[LineKey, tuple[Lead, ...]] = {}
        for lead in self.outcome.figures.leads:
            if lead.over is not None:
                found[lead.line] = (*found.get(lead.line, ()), lead)
        return found

    @cached_property
    def leads_between(self) -> Mapping[tuple[str, Spot, Spot | None], Lead]:
        """Give the first lead of every cable: by place, socket and far end."""
        leads = reversed(self.outcome.figures.leads)
        return {(lead.place, lead.spot, lead.far): lead for lead in leads}

    @cached_property
    def _leads(self) -> Mapping[tuple[LineKey, Spot], Lead]:
        return {(lead.line, lead.spot): lead for lead in self.outcome.figures.leads}

    @cached_property
    def by_spot(self) -> Mapping[Spot, tuple[Line, ...]]:
        """Give the lines on every spot in use, as far as this reader gets them."""
        found: dict[Spot, list[Line]] = {}
        for line in self.lines:
            for spot in dict.fromkeys(self.decided(line).spots()):
                found.setdefault(spot, []).append(line)
        return {spot: tuple(lines) for spot, lines in found.items()}

    @cached_property
    def sent(self) -> Mapping[Spot, tuple[LineKey, ...]]:
        """Give the lines on every channel that is sent, those that its socket implies included."""
        found: dict[Spot, list[LineKey]] = {}
        for route in self.outcome.figures.routes:
            found.setdefault(route.send, []).extend(route.lines)
        return {spot: tuple(dict.fromkeys(keys)) for spot, keys in found.items()}

    def spots_of(self, unit: str, side: Side) -> tuple[Spot, ...]:
        """Give the spots in use on one side of a unit, by number."""
        found = self._spots.get((unit, side), ())
        return tuple(sorted(found, key=lambda spot: spot.number))

    @cached_property
    def _spots(self) -> Mapping[tuple[str, Side], tuple[Spot, ...]]:
        found: dict[tuple[str, Side], tuple[Spot, ...]] = {}
        for spot in self.by_spot:
            at = (spot.unit, spot.side)
            found[at] = (*found.get(at, ()), spot)
        return found

    @cached_property
    def units(self) -> tuple[Unit, ...]:
        """Give the units of which this reader gets a sheet, by name."""
        return tuple(unit for unit in self.show.units.values() if self.reader.gets_unit(unit))

    # -- what is new ----------------------------------------------------------------------------

    @cached_property
    def _then(self) -> Mapping[tuple[str, str], LinePlan] | None:
        if self.before is None:
            return None
        return {decided.key.same(): decided for decided in self.before.plan.lines}

    @cached_property
    def _reworded(self) -> frozenset[str]:
        return frozenset(c.what for c in self.outcome.changes if c.how == "changed")

    def change_of(self, line: Line) -> str:
        """Give the word for what is new about a line since `before`: new, moved, reworded or ""."""
        if self._then is None:
            return ""
        then = self._then.get(line.key.same())
        if then is None:
            return self.words("change.new")
        if set(then.spots()) != set(self.decided(line).spots()):
            return self.words("change.moved")
        return self._other_words(line)

    def change_at(self, line: Line, *spots: Spot) -> str:
        """Give the same, looking only at the given spots of the line."""
        if self._then is None:
            return ""
        then = self._then.get(line.key.same())
        if then is None:
            return self.words("change.new")
        if not set(spots) <= set(then.spots()):
            return self.words("change.moved")
        return self._other_words(line)

    def _other_words(self, line: Line) -> str:
        changed = f"line {line.key}" in self._reworded
        return self.words("change.reworded") if changed else ""

    def left_empty(self, spot: Spot) -> str:
        """Give the word for a spot that was in use at `before` and isn't now, else ""."""
        if spot in self._used_then and spot not in self.by_spot:
            return self.words("change.empty")
        return ""

    @cached_property
    def _used_then(self) -> frozenset[Spot]:
        plan = self.before.plan if self.before and self.for_crew else Plan()
        return frozenset(plan.by_spot())

    @property
    def network_then(self) -> Network:
        """Give what was decided about the network at `before`; nothing where nothing is marked."""
        return self.before.plan.network if self.before is not None else Network()

    @cached_property
    def runs_then(self) -> Mapping[str, PlannedRun]:
        """Give the runs of the revision before, by name."""
        return {run.name: run for run in self.network_then.runs}

    @cached_property
    def addresses_then(self) -> Mapping[tuple[str, str], str]:
        """Give the addresses of the revision before, by unit and net."""
        return {(a.unit, a.net): a.ip for a in self.network_then.addresses}

    @cached_property
    def streams_then(self) -> Mapping[str, Stream]:
        """Give the streams of the revision before, by name."""
        return {stream.name: stream for stream in self.network_then.streams}

    @cached_property
    def clock_then(self) -> Mapping[tuple[str, str], ClockRank]:
        """Give the clock ranks of the revision before, by unit and net."""
        return {(rank.unit, rank.net): rank for rank in self.network_then.clock}

    # -- acts -----------------------------------------------------------------------------------

    @property
    def has_acts(self) -> bool:
        """Say whether the show is in acts, so that a line must say in which it plays."""
        return bool(self.show.acts)

    def acts_of(self, lines: Iterable[Line]) -> str:
        """Give the acts in which lines play, in words."""
        names = dict.fromkeys(line.key.act for line in lines)
        if "" in names:
            return self.words("said.every-act")
        titles = {act.name: title_of_act(act) for act in self.show.acts}
        return ", ".join(titles.get(name, name) for name in names)

    def by_act(self) -> tuple[tuple[str, tuple[Line, ...]], ...]:
        """Give the lines act by act in running order, those of every act first."""
        found: dict[str, list[Line]] = {}
        for line in self.lines:
            found.setdefault(line.key.act, []).append(line)
        return tuple((self.acts_of(lines), tuple(lines)) for lines in found.values())


def title_of_act(act: Act) -> str:
    """Give what papers print for an act."""
    return act.label or act.name


def _accepted(show: Show, finding: Finding) -> Finding:
    for accepted in show.accepted:
        if matches(accepted, finding):
            return rules.taken_on(finding, accepted)
    return finding
