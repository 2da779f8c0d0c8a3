"""Who papers are for, and what is left out of theirs."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass

from lineproof.base.names import folded, natural
from lineproof.plan.model import Plan
from lineproof.show.model import Line, Show, Unit


class For(enum.Enum):
    """Who reads: everybody who rigs, one performer, or a guest who brings equipment."""

    CREW = "crew"
    PERFORMER = "performer"
    GUEST = "guest"


#: Headings under which lists name who plays or sings (practice); else the group names them.
PLAYER_HEADINGS = frozenset(
    ["player", "players", "musician", "musicians", "who", "singer", "spieler", "musiker", "wer"]
)


def player_of(line: Line) -> str:
    """Give who plays a line: a column of the list's own that says so, else its group, or ""."""
    for heading, text in line.extra.items():
        if folded(heading) in PLAYER_HEADINGS and text:
            return text
    return line.group


def players(show: Show) -> Mapping[str, tuple[Line, ...]]:
    """Give everybody who plays, sorted as people do, with the lines that are theirs."""
    found: dict[str, list[Line]] = {}
    for line in show.lines:
        if who := player_of(line):
            found.setdefault(who, []).append(line)
    return {who: tuple(found[who]) for who in sorted(found, key=natural)}


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Who gets the papers; `name` is a performer's: a player, a group or an act."""

    kind: For = For.CREW
    name: str = ""

    def is_theirs(self, line: Line) -> bool:
        """Say whether a line is this performer's own, or their act's."""
        return folded(self.name) in (folded(player_of(line)), folded(line.key.act))

    def may_see(self, line: Line, plan: Plan, show: Show) -> bool:
        """Say whether a line stands on this reader's papers.

        The crew rigs everything, private lines too. A performer gets what is theirs; what is
        private in their act only when they play it. A guest gets what touches the guest's own
        equipment; a private line that does is the guest's own.
        """
        match self.kind:
            case For.CREW:
                return True
            case For.PERFORMER:
                own = folded(self.name) == folded(player_of(line))
                return own or (self.is_theirs(line) and not line.private)
            case For.GUEST:
                decided = plan.line(line.key)
                units = {spot.unit for spot in decided.spots()} if decided else set()
                return any(name in units and show.units[name].theirs for name in show.units)

    def may_see_end(self, line: Line, unit: Unit, show: Show) -> bool:
        """Say whether an end of a line is told to this reader.

        Performers aren't told what a guest has brought; guests aren't told what the house has,
        but where their own signals arrive.
        """
        match self.kind:
            case For.CREW:
                return True
            case For.PERFORMER:
                return not unit.theirs
            case For.GUEST:
                starts = [show.units.get(start.name) for start in line.starts]
                return unit.theirs or any(start and start.theirs for start in starts)

    def gets_unit(self, unit: Unit) -> bool:
        """Say whether this reader gets the sheet of a unit."""
        return self.kind is For.CREW or (self.kind is For.GUEST and unit.theirs)


#: Who gets everything.
CREW = Reader()


def knows(show: Show, name: str) -> bool:
    """Say whether there is a performer of that name in a show: a player, a group or an act."""
    return folded(name) in map(folded, performers(show))


def performers(show: Show) -> tuple[str, ...]:
    """Give every name `--for performer` understands, players and groups first, then acts."""
    return (*players(show), *(act.name for act in show.acts))
