"""A rescue carried out: the moves in words, and the show and plan as they are afterwards."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.graph.signal import By, ways
from lineproof.kit.kinds import Does
from lineproof.plan.model import LinePlan, Plan
from lineproof.rescue.cabled import recabled
from lineproof.rescue.chance import Chance, StandIn
from lineproof.rescue.choose import Chosen
from lineproof.rescue.hurt import EndAt, Hurt
from lineproof.rescue.leads import Lead, main_start
from lineproof.rescue.moves import Do, Move
from lineproof.rescue.row import Row, first_start, member_at, standing_in, with_member
from lineproof.rescue.streamed import with_streams
from lineproof.show.model import Line, Show, Target


@dataclass(frozen=True, kw_only=True)
class Applied:
    """What is to be done, in the order in which it was decided, and what follows.

    `show` differs where a unit stands in for another; `plan` in spots, runs and streams.
    """

    moves: tuple[Move, ...]
    show: Show
    plan: Plan


def applied(hurt: Hurt, chosen: Chosen) -> Applied:
    """Carry out what was chosen: give every socket, port and channel its number."""
    return _Rig(hurt, chosen).rig()


class _Rig:
    def __init__(self, hurt: Hurt, chosen: Chosen) -> None:
        self.hurt = hurt
        self.hand = hurt.hand
        self.show = hurt.hand.show
        self.chosen = chosen
        self.moves: list[Move] = []
        self.given: set[Spot] = set()
        self.emptied: set[str] = set()
        self.sockets: dict[Lead, Spot] = {}
        self.sends: dict[object, Spot] = {}
        self.receives: dict[object, Spot] = {}
        self.rows: dict[int, Row] = {}
        self.routes: dict[tuple[Spot, Spot], tuple[Spot | None, dict[LineKey, None]]] = {}
        self.patches: dict[tuple[str, str, str], dict[LineKey, None]] = {}

    def rig(self) -> Applied:
        network, moves = recabled(self.hand, self.chosen.joins)
        self.moves += moves
        self._plug()
        for end, chance in sorted(self.chosen.ends.items(), key=lambda found: found[0]):
            if isinstance(chance.end, StandIn):
                self._outputs(chance.end)
            if chance.course is None and chance.beside is None:
                self._change(end, chance)
            elif isinstance(chance.end, StandIn):
                row, part = self._row(end[0]), chance.part
                there = member_at(row.line, chance.end.unit)
                row.line = replace(row.line, ends=with_member(row.line, part, there))
        self._tell_routes()
        routes = {route: keys for route, (_, keys) in self.routes.items()}
        network = with_streams(self.show, network, routes)
        plan = replace(self.hand.plan, lines=self._lines(), network=network)
        return Applied(moves=tuple(self.moves), show=self._show(), plan=plan)

    def _move(
        self,
        do: Do,
        place: str,
        unit: str,
        what: str,
        old: str,
        new: str,
        lines: Iterable[LineKey] = (),
    ) -> None:
        keys = tuple(sorted(set(lines), key=LineKey.sort_key))
        self.moves.append(
            Move(do=do, place=place, unit=unit, what=what, old=old, new=new, lines=keys)
        )

    # -- leads -----------------------------------------------------------------------------------

    def _plug(self) -> None:
        """Give every moved lead its socket: one of its own number where that is free."""
        leads = sorted(self.chosen.leads.items(), key=lambda found: found[0].spot.sort_key())
        for lead, n in leads:
            same = [s for s in lead.perches[n].alike.spots if s.number == lead.spot.number]
            if same and self._is_open(same[0]):
                self._give(lead, same[0])
        for lead, n in leads:
            if lead not in self.sockets:
                spots = lead.perches[n].alike.spots
                self._give(lead, next(spot for spot in spots if self._is_open(spot)))

    def _is_open(self, spot: Spot) -> bool:
        return spot not in self.given and self._real(spot) not in self.given

    def _real(self, spot: Spot) -> Spot:
        return self.hand.problem.cores.real(spot)

    def _give(self, lead: Lead, spot: Spot) -> None:
        self.given.update((spot, self._real(spot)))
        self.sockets[lead] = spot
        lines = [self.hurt.lines[at].line for at in lead.lines]
        what = " or ".join(dict.fromkeys(_titled(line) for line in lines))
        place = self.hand.place(spot.unit)
        keys = [line.key for line in lines]
        self._move(Do.PLUG, place, spot.unit, f"lead of {what}", str(lead.spot), str(spot), keys)

    def _chain(self, lead: Lead) -> tuple[Spot, ...]:
        """Give the spots at a moved lead, in the order of the signal."""
        spot = self.sockets[lead]
        real = self._real(spot)
        chain = (spot,) if real == spot else (spot, real)
        return chain if spot.side is Side.IN else chain[::-1]

    def _number(self, unit: str, side: Side, wish: int) -> Spot:
        """Give a free channel or strip: the one wished for if it is free, else the first."""
        free = self.hand.free(unit, side)
        open_ = [n for n in free if Spot(unit=unit, side=side, number=n) not in self.given]
        number = wish if wish in open_ else open_[0]
        spot = Spot(unit=unit, side=side, number=number)
        self.given.add(spot)
        return spot

    # -- lines -----------------------------------------------------------------------------------

    def _row(self, at: int) -> Row:
        if at not in self.rows:
            resting = self.hurt.lines[at]
            decided = resting.decided
            self.rows[at] = Row(
                line=resting.line,
                start=dict(decided.start),
                ends=dict(decided.ends),
                ties=dict(decided.ties),
            )
        return self.rows[at]

    def _change(self, end: EndAt, chance: Chance) -> None:
        at, part = end[0], chance.part
        row, decided = self._row(at), self.hurt.lines[at].decided
        main = main_start(decided)
        assert main is not None
        send = self._start(at, main, chance, row)
        receive, old = self._end(end, part, chance, row)
        if send is not None and receive is not None:
            was = decided.start[main][-1]
            before = was if was.side is Side.SEND else _sent_by(decided.start[main])
            known = self.routes.setdefault((send, receive), (before if old else None, {}))
            known[1][row.line.key] = None

    def _start(self, at: int, main: str, chance: Chance, row: Row) -> Spot | None:
        """Change a line's start, and give the send channel that its route begins at."""
        chain = self.hurt.lines[at].decided.start[main]
        lead = self.hurt.start_lead(at)
        if isinstance(chance.start, StandIn):
            return self._stand_in_start(at, main, chance.start, chain, row)
        if chance.start is None:
            last = chain[-1]
            return last if last.side is Side.SEND else _sent_by(chain)
        assert lead is not None
        plugged = self._chain(lead)
        before = chain[:1] if chain[0].side is Side.OUT else ()
        unit = plugged[-1].unit
        patched = self.show.units[unit].kind.inside_patch
        needs_send = bool(chance.legs)
        sent = self._sent(lead, plugged[-1], chain) if patched and needs_send else None
        now = next(iter(row.start.values()))
        old_sent = [s for s in now if s.side is Side.SEND and s.unit == unit]
        sends = (sent,) if sent is not None else tuple(old_sent)
        self._plugged_at(row, main, plugged[0].unit, (*before, *plugged, *sends))
        if sent is not None:
            self._patch(unit, plugged[-1], sent, row.line.key)
            return sent
        return None if not needs_send else _sent_by(plugged)

    def _plugged_at(self, row: Row, main: str, front: str, chain: tuple[Spot, ...]) -> None:
        """Let a line's start be plugged elsewhere; a row that names the box names another then."""
        row.ties.pop(main, None)
        if not self.hurt.is_door(main.partition(":")[0]) or main not in row.start:
            row.start[main if main in row.start else front] = chain
            return
        later = {start: spots for start, spots in row.start.items() if start != main}
        row.start = {front: chain, **later}
        row.line = replace(row.line, starts=first_start(row.line, front))

    def _sent(self, lead: Lead, socket: Spot, chain: tuple[Spot, ...]) -> Spot:
        if lead not in self.sends:
            wish = next((s.number for s in chain if s.side is Side.SEND), socket.number)
            self.sends[lead] = self._number(socket.unit, Side.SEND, wish)
        return self.sends[lead]

    def _patch(self, unit: str, old: Spot, new: Spot, key: LineKey) -> None:
        self.patches.setdefault((unit, str(old), str(new)), {})[key] = None

    def _stand_in_start(
        self, at: int, main: str, stand_in: StandIn, chain: tuple[Spot, ...], row: Row
    ) -> Spot:
        known = row.start.get(stand_in.unit)
        ident = (at, stand_in.unit)
        if ident not in self.sends:
            had = known[-1] if known and known[-1].side is Side.SEND else None
            self.sends[ident] = had or self._number(stand_in.unit, Side.SEND, chain[-1].number)
            mix = row.line.source is not None and bool(row.line.source.mix)
            what = f"{'mix' if mix else 'play'} {_titled(row.line)}"
            new, place = str(self.sends[ident]), self.hand.place(stand_in.unit)
            self._move(Do.START, place, stand_in.unit, what, stand_in.dead, new, [row.line.key])
        spot = self.sends[ident]
        row.start.pop(main, None)
        row.start = {stand_in.unit: (spot,), **row.start}
        row.line = replace(row.line, starts=first_start(row.line, stand_in.unit))
        return spot

    def _end(self, end: EndAt, part: str, chance: Chance, row: Row) -> tuple[Spot | None, bool]:
        """Change an end, and give the receive channel of its route; says if it heard one before."""
        chain = self.hurt.lines[end[0]].decided.ends[part]
        lead = self.hurt.end_lead(end[0], part)
        if isinstance(chance.end, StandIn) and chance.swapped:
            part, chain = self._swap(part, chance.end, lead, chain, row)
            if chance.start is None:
                return None, False  # up to its lead all is as it was
        elif isinstance(chance.end, StandIn):
            return self._stand_in_end(end[0], part, chance, chain, row)
        if isinstance(chance.end, int):
            assert lead is not None
            return self._other_socket(part, chance, lead, chain, row), False
        return self._lands(end[0], part, chance, chain, row)

    def _lands(
        self, at: int, part: str, chance: Chance, chain: tuple[Spot, ...], row: Row
    ) -> tuple[Spot | None, bool]:
        """Give the receive channel at which a line arrives in an end that is left as it was."""
        had = next((s for s in chain if s.side is Side.RECEIVE), None)
        if not chance.legs:
            # Now it comes in where it is wanted: its channel is not needed any more.
            row.ends[part] = tuple(s for s in chain if s.side is not Side.RECEIVE)
            self._patch_in(chance.receiver, row, chain)
            return None, False
        if had is not None:
            return had, True
        if not chance.receives:
            return _heard_by(chain), True
        key = (self._begins(at), part)
        if key not in self.receives:
            self.receives[key] = self._number(chance.receives, Side.RECEIVE, 0)
        spot = self.receives[key]
        row.ends[part] = (spot, *chain)
        for after in chain[:1]:
            self._patch(chance.receiver, spot, after, row.line.key)
        return spot, False

    def _begins(self, at: int) -> object:
        lead = self.hurt.start_lead(at)
        return lead.spot if lead is not None else at

    def _patch_in(self, unit: str, row: Row, chain: tuple[Spot, ...]) -> None:
        """Patch a lead that is plugged in where the line ends to its strip or its output."""
        came = next((s for found in row.start.values() for s in found if s.unit == unit), None)
        last = next((s for s in chain if s.side in (Side.STRIP, Side.OUT)), None)
        if came is not None and last is not None:
            self._patch(unit, came, last, row.line.key)

    def _other_socket(
        self, part: str, chance: Chance, lead: Lead, chain: tuple[Spot, ...], row: Row
    ) -> Spot | None:
        plugged = self._chain(lead)
        beyond = chain[chain.index(lead.spot) + 1 :]
        unit = plugged[0].unit
        row.ties.pop(part, None)
        if self.hurt.is_door(part.partition(":")[0]):
            row.ends.pop(part)
            front = Target(name=plugged[-1].unit)
            row.line = replace(row.line, ends=with_member(row.line, part, front))
            part = front.name
        if not self.show.units[unit].kind.inside_patch:
            row.ends[part] = (*plugged, *beyond)
            return _heard_by(plugged)
        if not chance.legs:
            row.ends[part] = (*plugged, *beyond)
            self._patch_in(unit, row, plugged)
            return None
        if lead not in self.receives:
            self.receives[lead] = self._number(unit, Side.RECEIVE, plugged[0].number)
        spot = self.receives[lead]
        row.ends[part] = (spot, *plugged, *beyond)
        self._patch(unit, spot, plugged[0], row.line.key)
        return spot

    def _stand_in_end(
        self, at: int, part: str, chance: Chance, chain: tuple[Spot, ...], row: Row
    ) -> tuple[Spot | None, bool]:
        assert isinstance(chance.end, StandIn)
        other = chance.end.unit
        strip: tuple[Spot, ...] = ()
        if chance.strips:
            strip = (self._instead(at, other, Side.STRIP, chain),)
        spot = None
        if chance.receives:
            spot = self._instead(at, chance.receives, Side.RECEIVE, chain)
        row.ends.pop(part, None)
        there = standing_in(row.line, part, other)
        row.ends[str(there)] = (*((spot,) if spot is not None else ()), *strip)
        row.line = replace(row.line, ends=with_member(row.line, part, there))
        if spot is None:
            self._patch_in(other, row, strip)  # its lead hangs in what stands in
            return None, False
        for after in strip:
            self._patch(other, spot, after, row.line.key)
        return spot, False

    def _swap(
        self, part: str, stand_in: StandIn, lead: Lead | None, chain: tuple[Spot, ...], row: Row
    ) -> tuple[str, tuple[Spot, ...]]:
        """Plug an end's lead into what stands in; give the end and its spots as they are now."""
        assert lead is not None
        other = stand_in.unit
        ident = ("swap", lead.spot, other)
        if ident not in self.receives:
            spot = self.receives[ident] = self._number(other, Side.IN, chain[-1].number)
            lines = [self.hurt.lines[at].line for at in lead.lines]
            what = f"lead of {' or '.join(dict.fromkeys(_titled(line) for line in lines))}"
            keys = [line.key for line in lines]
            self._move(
                Do.PLUG, self.hand.place(other), other, what, str(chain[-1]), str(spot), keys
            )
        changed = (*chain[:-1], self.receives[ident])
        row.ends.pop(part)
        there = standing_in(row.line, part, other)
        row.ends[str(there)] = changed
        row.line = replace(row.line, ends=with_member(row.line, part, there))
        return str(there), changed

    def _outputs(self, stand_in: StandIn) -> None:
        """Tell that what hangs on a dead amplifier goes over to the one that stands in."""
        dead, other = stand_in.dead, stand_in.unit
        if self.show.units[dead].kind.does is Does.AMPLIFIER and dead not in self.emptied:
            self.emptied.add(dead)
            what, new = f"loudspeaker leads of {dead}", f"the same outputs of {other}"
            self._move(Do.PLUG, self.hand.place(other), other, what, f"outputs of {dead}", new)

    def _instead(self, at: int, unit: str, side: Side, chain: tuple[Spot, ...]) -> Spot:
        """Give a channel or strip at what stands in; lines that shared theirs share this one."""
        had = next((spot for spot in chain if spot.side is side), None)
        if had is not None and self.show.units[unit].kind.does is Does.AMPLIFIER:
            return replace(had, unit=unit)  # its loudspeakers hang on the same outputs
        ident = (self._begins(at), unit, side, had or (at, chain))
        if ident not in self.receives:
            self.receives[ident] = self._number(unit, side, had.number if had else 1)
        return self.receives[ident]

    # -- what is told and what follows -------------------------------------------------------------

    def _tell_routes(self) -> None:
        for (unit, old, new), keys in self.patches.items():
            what = f"{old.partition(':')[2]} of {unit}"
            self._move(Do.PATCH, self.hand.place(unit), unit, what, "", new, keys)
        for (send, receive), (before, keys) in self.routes.items():
            place = self.hand.place(receive.unit)
            old = "" if before is None or before == send else str(before)
            self._move(Do.ROUTE, place, receive.unit, str(send), old, str(receive), keys)

    def _lines(self) -> tuple[LinePlan, ...]:
        changed = {self.hurt.lines[at].decided.key: row for at, row in self.rows.items()}
        return tuple(
            self._fed(
                replace(
                    decided,
                    start=changed[decided.key].start,
                    ends=changed[decided.key].ends,
                    ties=changed[decided.key].ties,
                )
            )
            if decided.key in changed
            else decided
            for decided in self.hand.plan.lines
        )

    def _fed(self, decided: LinePlan) -> LinePlan:
        """Give a line without the ends to which nobody makes the route that it needs now."""
        unfed = {
            way.end
            for way in ways(self.show, decided)
            for hop in way.hops()
            if hop.by is By.NETWORK and not self._is_routed(hop.from_spot, hop.to_spot)
        }
        ends = {part: spots for part, spots in decided.ends.items() if part not in unfed}
        return replace(decided, ends=ends)

    def _is_routed(self, send: Spot, receive: Spot) -> bool:
        return (send, receive) in self.hand.routes or (send, receive) in self.routes

    def _show(self) -> Show:
        rows = {row.line.key: row.line for row in self.rows.values()}
        if all(rows[key] is self.show.line(key) for key in rows):
            return self.show
        return replace(self.show, lines=tuple(rows.get(line.key, line) for line in self.show.lines))


def _titled(line: Line) -> str:
    return f"line {line.key} ({line.title})"


def _sent_by(chain: tuple[Spot, ...]) -> Spot:
    """Give the send channel that the last input of a chain implies."""
    return Spot(unit=chain[-1].unit, side=Side.SEND, number=chain[-1].number)


def _heard_by(chain: tuple[Spot, ...]) -> Spot:
    """Give the receive channel that the first output of a chain implies."""
    return Spot(unit=chain[0].unit, side=Side.RECEIVE, number=chain[0].number)
