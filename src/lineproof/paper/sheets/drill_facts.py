"""What the sheets of the drill look up: per rescue the needed lines, per fault its grade."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lineproof.base.finding import Finding, Grade
from lineproof.drill.bearing import Arrival
from lineproof.drill.group import PairGroup, pair_groups
from lineproof.drill.whole import Whole
from lineproof.graph.faults import Fault
from lineproof.paper.edition import Edition
from lineproof.rescue.harm import needed
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.rules import RECORDING_LOST
from lineproof.rescue.taken import Grades
from lineproof.rescue.whole import Rescued
from lineproof.show.model import Line

_WORST = {grade: n for n, grade in enumerate((Grade.STOP, Grade.RISK, Grade.NOTE))}


@dataclass(frozen=True, kw_only=True)
class Toll:
    """Faults with one rescue, and what they do to the lines an act can't go on without.

    `lost` are the ends that those lines must reach and lose, `stays` those of them that the
    rescue doesn't bring back. `findings` tell of these faults, the worst first.
    """

    faults: tuple[Fault, ...]
    rescue: Rescue
    lost: tuple[EndAt, ...]
    stays: tuple[EndAt, ...]
    findings: tuple[Finding, ...]

    @property
    def lines(self) -> tuple[int, ...]:
        """Give the lines, by place in the plan."""
        return lines_of(self.lost)

    @property
    def stay_lines(self) -> tuple[int, ...]:
        """Give those lines of which some end stays lost."""
        return lines_of(self.stays)

    @property
    def grade(self) -> Grade | None:
        """Give the worst grade, None where nothing was found."""
        return self.findings[0].grade if self.findings else None

    def sort_key(self) -> tuple[int, int, int, tuple[str, ...]]:
        """Order by what is lost, the worst first."""
        names = tuple(map(str, self.faults))
        return (-len(self.lines), -len(self.stay_lines), -len(self.lost), names)


def lines_of(ends: Iterable[EndAt]) -> tuple[int, ...]:
    """Give the lines of ends, each once."""
    return tuple(sorted({line for line, _ in ends}))


@dataclass(frozen=True, kw_only=True)
class Facts:
    """A drill with its rescues, looked at for paper."""

    edition: Edition
    drill: Whole
    rescued: Rescued

    @cached_property
    def tolls(self) -> tuple[Toll, ...]:
        """Give what each rescue is for, where needed lines are hurt; in the faults' order."""
        found = []
        for card in self.rescued.cards:
            lost = self._needed(card.rescue.lost)
            if lost:
                toll = Toll(
                    faults=card.faults,
                    rescue=card.rescue,
                    lost=lost,
                    stays=self._needed(card.rescue.stays),
                    findings=self._findings(card.faults),
                )
                found.append(toll)
        return tuple(found)

    def _needed(self, ends: Iterable[EndAt]) -> tuple[EndAt, ...]:
        return tuple(end for end in ends if self.needs(end))

    def needs(self, end: EndAt) -> bool:
        """Say whether the act can't go on without that end of that line."""
        return end in self._needed_ends

    @cached_property
    def _needed_ends(self) -> frozenset[EndAt]:
        return frozenset(
            (at, n)
            for at, resting in enumerate(self.drill.calm.lines)
            for n, arrival in enumerate(resting.arrivals)
            if needed(resting.line) and not arrival.end.want
        )

    def line(self, at: int) -> Line:
        """Give a line by its place in the plan."""
        return self.drill.calm.lines[at].line

    def lines(self, ends: Iterable[EndAt]) -> tuple[Line, ...]:
        """Give the lines of ends, each once."""
        return tuple(self.line(at) for at in lines_of(ends))

    def arrival(self, end: EndAt) -> Arrival:
        """Give an end of a line by its place."""
        return self.drill.calm.lines[end[0]].arrivals[end[1]]

    @cached_property
    def _by_first(self) -> Mapping[str, tuple[Finding, ...]]:
        """Give the findings by the fault that each names first."""
        found: dict[str, list[Finding]] = {}
        for finding in self.edition.outcome.drilled:
            if finding.of:
                found.setdefault(finding.of[0], []).append(finding)
        return {name: tuple(each) for name, each in found.items()}

    @cached_property
    def _told_by(self) -> Mapping[Fault, Fault]:
        """Give by fault the one that findings name first for all that take the same."""
        taken = Grades(swept=self.drill.swept, rescued=self.rescued).taken()
        return {fault: each.faults[0] for each in taken for fault in each.faults}

    @cached_property
    def _class_of(self) -> Mapping[Fault, Fault]:
        members = self.drill.swept.classes.members
        return {fault: faults[0] for faults in members for fault in faults}

    def _findings(self, faults: Iterable[Fault]) -> tuple[Finding, ...]:
        """Give the findings about faults: recordings are told by class, all else by what is lost.

        One note may tell of several faults, by the name of the first.
        """
        found: dict[Finding, None] = {}
        for fault in faults:
            mine = self._by_first.get(str(self._told_by.get(fault, fault)), ())
            found |= dict.fromkeys(f for f in mine if f.rule != RECORDING_LOST.name)
            alike = self._by_first.get(str(self._class_of[fault]), ())
            found |= dict.fromkeys(f for f in alike if f.rule == RECORDING_LOST.name)
        return tuple(sorted(found, key=lambda f: (_WORST[f.grade], f.rule)))

    @cached_property
    def groups(self) -> tuple[PairGroup, ...]:
        """Give what two faults take together and neither alone, none where no pairs were tried."""
        drill = self.drill
        return pair_groups(drill.swept, drill.pairs) if drill.pairs is not None else ()

    def said(self, toll: Toll) -> str:
        """Give the grade in a word: one line alone is a note where nothing else says so."""
        words = self.edition.words
        told = words(f"grade.{(toll.grade or Grade.NOTE).value}")
        worst = [f for f in toll.findings if f.grade is toll.grade]
        if worst and all(f.accepted for f in worst):
            return words("drill.accepted", grade=told)
        return told

    def what(self, toll: Toll) -> str:
        """Give what it means for the show, by the rules of the worst findings."""
        words = self.edition.words
        rules = dict.fromkeys(f.rule for f in toll.findings if f.grade is toll.grade)
        return ", ".join(words(f"means.{rule}") for rule in rules) or words("means.must-lost")


def facts_of(edition: Edition) -> Facts | None:
    """Give what is looked up, None where no rescues were worked out."""
    outcome = edition.outcome
    if outcome.drill is None or outcome.rescued is None:
        return None
    return Facts(edition=edition, drill=outcome.drill, rescued=outcome.rescued)
