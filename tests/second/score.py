"""What the wishes come to, in the order of the design, for one placing of all leads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.show.model import Show
from tests.second.running import previous
from tests.second.standing import Standing
from tests.second.wires import Ident, Lead, Wire

#: Which socket every lead is in (None: not plugged), and which wanted ends are left out.
Placing = Mapping[Ident, Spot | None]
LeftOut = frozenset[tuple[LineKey, str]]
#: Each line's receive channel by strand and unit.
Channels = Mapping[tuple[LineKey, str, str], int]
Role = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Score:
    """What the wishes come to, the first counting for more than all after it.

    Nobody prints `roles_apart`: lines of one role want one socket, as far as what stands above lets
    them; how much more lead or how many moves that is worth the design does not say.
    """

    left_out: int
    moved: int
    apart: int
    bunched: int
    roles_apart: int = 0
    leads_mm: int
    groups_mm: int
    off_number_mm: int
    moves_mm: int = 0

    @property
    def metres_mm(self) -> int:
        return self.leads_mm + self.groups_mm + self.off_number_mm + self.moves_mm

    def order(self) -> tuple[int, ...]:
        return (*self.wishes(), self.roles_apart, self.metres_mm)

    def wishes(self) -> tuple[int, ...]:
        return (self.left_out, self.moved, self.apart, self.bunched)


@dataclass(kw_only=True)
class Wishes:
    """The wishes of one show, after what hangs already.

    Lines of different acts with one role at one place, in one socket, are one lead that stays:
    it is one lead, one label, one pair, and lands once.
    """

    standing: Standing
    wires: list[Wire] = field(init=False)
    leads: list[Lead] = field(init=False)
    pairs: list[tuple[Lead, Lead]] = field(init=False)
    near: list[list[Lead]] = field(init=False)
    order: list[tuple[bool, list[Lead]]] = field(init=False)

    def __post_init__(self) -> None:
        self.wires = self.standing.wiring.wires
        self.leads = [lead for wire in self.wires for lead in wire.leads]
        self.pairs = [pair for left in self.wires for pair in self._halves(left)]
        self.near = self._spreads_that_count()
        self.order = [
            (
                previous(self.show, act) is not None,
                [lead for lead in self.leads if lead.line.act in ("", act.name)],
            )
            for act in self.show.acts
        ]

    @property
    def show(self) -> Show:
        return self.standing.show

    def score(self, placing: Placing, gone: LeftOut, channels: Channels | None = None) -> Score:
        """Give what the wishes come to; `channels` is each line's receive channel by mixer.

        Without `channels` each line gets the channel of its box's number where nothing stands
        against it.
        """
        return Score(
            left_out=self.left_out(gone),
            moved=self._moved(placing, gone),
            apart=self._apart(placing),
            bunched=self._bunched(placing),
            roles_apart=self._roles_apart(placing),
            leads_mm=self._leads(placing),
            groups_mm=self._groups(placing),
            off_number_mm=self._off_number(placing, gone, channels),
            moves_mm=round(self.show.weights.move_m * 1000) * self.moves(placing),
        )

    def left_out(self, gone: LeftOut) -> int:
        spare = {w.line.key for w in self.wires if w.line.need.value == "spare"}
        return sum(1 if key in spare else 1000 for key, _ in gone)

    def _moved(self, placing: Placing, gone: LeftOut) -> int:
        role = {lead.ident: lead.role for lead in self.leads}
        kept = self.standing.kept.items()
        labels = {(role[ident], spot) for ident, spot in kept if placing[ident] != spot}
        freed = self.standing.freed
        taken = {
            (role[ident], spot)
            for ident, spot in placing.items()
            if spot in freed and freed[spot] != ident[0]
        }
        back = {(role[i], s) for i, s in placing.items() if s in freed and freed[s] == i[0]}
        return 1000 * (len(labels) + self.standing.lost(gone)) + len(taken - back)

    def _leads(self, placing: Placing) -> int:
        there = {(x.role, s): x for x in self.leads if (s := placing[x.ident])}
        return sum(self.standing.wiring.length_mm(lead, spot) for (_, spot), lead in there.items())

    # -- pairs and spreading -----------------------------------------------------------------

    def _halves(self, left: Wire) -> list[tuple[Lead, Lead]]:
        if not (left.line.pair and left.line.left):
            return []
        right = next(
            (w for w in self.wires if (w.line.key, w.strand) == (left.line.pair, left.strand)),
            None,
        )
        if right is None:
            return []
        halves = []
        if left.start and right.start and left.start.at == right.start.at:
            halves.append((left.start, right.start))
        rest = list(right.outs)
        for a in left.outs:
            b = next((b for b in rest if b.at == a.at), None)
            if b is not None:
                rest.remove(b)
                halves.append((a, b))
        return halves

    def _apart(self, placing: Placing) -> int:
        apart = set()
        for a, b in self.pairs:
            odd, even = placing[a.ident], placing[b.ident]
            if odd is not None and even is not None:
                beside = odd.unit == even.unit and even.number == odd.number + 1
                if not (beside and odd.number % 2 == 1):
                    apart.add((a.role, odd, b.role, even))
        return len(apart)

    def _spreads_that_count(self) -> list[list[Lead]]:
        sets: dict[tuple[str, str], list[Lead]] = defaultdict(list)
        for w in self.wires:
            if w.start is None or w.strand:
                continue
            content = w.line.content or (w.line.source.content if w.line.source else "")
            if w.line.spread:
                sets["spread", w.line.spread].append(w.start)
            elif w.line.group and content == "speech":
                sets["speech", w.line.group].append(w.start)
        return [x for x in sets.values() if len(x) > 1 and any(map(self._second_is_near, x))]

    def _second_is_near(self, lead: Lead) -> bool:
        length_mm = self.standing.wiring.length_mm
        near = sorted({s.unit: length_mm(lead, s) for s in lead.sockets}.values())
        return len(near) > 1 and near[1] - near[0] <= self.show.weights.spread_within_m * 1000

    def _bunched(self, placing: Placing) -> int:
        bunched = 0
        for leads in self.near:
            there = {(x.role, s) for x in leads if (s := placing[x.ident])}
            bunched += len(there) > 1 and len({s.unit for _, s in there}) == 1
        return bunched

    def _roles_apart(self, placing: Placing) -> int:
        """Give how many more sockets the roles are in than need be: as many as act at once."""
        there: dict[Role, list[Lead]] = defaultdict(list)
        for lead in self.leads if self.show.acts else ():
            if placing[lead.ident]:
                there[lead.role].append(lead)
        apart = 0
        for leads in there.values():
            at_once = [
                sum(1 for lead in leads if lead.line.act in moment)
                for moment in self.standing.time.moments
            ]
            apart += len({placing[lead.ident] for lead in leads}) - max(at_once)
        return apart

    # -- metres ------------------------------------------------------------------------------

    def _groups(self, placing: Placing) -> int:
        used: dict[tuple[str, Side], set[str]] = defaultdict(set)
        for wire in self.wires:
            for lead in wire.leads if wire.line.group else ():
                if spot := placing[lead.ident]:
                    used[wire.line.group, lead.side].add(spot.unit)
        return round(self.show.weights.group_m * 1000) * sum(len(u) - 1 for u in used.values())

    def _off_number(self, placing: Placing, gone: LeftOut, channels: Channels | None) -> int:
        """Give 3 m for each receive channel that hears a socket whose number implies another."""
        off: set[tuple[str, int, Spot]] = set()
        for w in self.wires:
            spot = placing[w.start.ident] if w.start else None
            unit = self.show.units[spot.unit] if spot else None
            if spot is None or unit is None or unit.kind.numbering is None or unit.number is None:
                continue
            # Unit n's socket i lands on channel inputs x (n - 1) + i (common practice, facts 12).
            lands = unit.kind.numbering.inputs * (unit.number - 1) + spot.number
            for part, mixer in w.arrivals:
                follows = self.show.units[mixer].kind.follows_numbers and mixer != unit.name
                if not follows or (w.line.key, part) in gone:
                    continue
                if channels is not None:
                    on = channels[w.line.key, w.strand, mixer] == lands
                else:
                    there = {
                        x.line for x in self.leads if x.side is Side.IN and placing[x.ident] == spot
                    }
                    on = self._can_land(w.line.key, there, mixer, lands)
                if not on:
                    off.add((mixer, lands, spot))
        return round(self.show.weights.off_number_m * 1000) * len(off)

    def _can_land(self, key: LineKey, there: set[LineKey], mixer: str, channel: int) -> bool:
        """Say whether the channel is free, or settled for a line that is in that socket too."""
        fixed = self.standing.channels
        if (mixer, channel) in fixed:
            return bool(there & fixed[mixer, channel])
        if any(u == mixer and key in keys for (u, _), keys in fixed.items()):
            return False
        spot = Spot(unit=mixer, side=Side.RECEIVE, number=channel)
        count = self.standing.wiring.count(self.show.units[mixer], Side.RECEIVE)
        return spot not in self.standing.freed and channel <= count

    def moves(self, placing: Placing) -> int:
        """Give how often something is moved before an act that follows another on its stage.

        A plug, where its socket last held another role, in whichever act that was; 48 V, where the
        plug stays and the other act wants it otherwise.
        """
        role: dict[Spot, Role] = {}
        phantom: dict[Spot, bool] = {}
        count = 0
        for follows, leads in self.order:
            now = {s: x for x in leads if (s := placing[x.ident])}
            for spot, lead in now.items() if follows else ():
                plug = role.get(spot, lead.role) != lead.role
                count += plug or phantom.get(spot, lead.phantom) != lead.phantom
            role.update({s: x.role for s, x in now.items()})
            phantom.update({s: x.phantom for s, x in now.items()})
        return count
