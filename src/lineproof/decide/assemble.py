"""From sockets to whole decisions: channels, strips and sends, and what became free."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.channels import Numbers, Request, always, give_numbers
from lineproof.decide.classes import FixedChannels, PlugId, implied_channel, plug_id
from lineproof.decide.fixed import kept_number, pinned_number
from lineproof.decide.problem import Arrival, Job, Plug, Problem
from lineproof.plan.model import LinePlan


@dataclass(frozen=True, kw_only=True)
class Placed:
    """Where every lead is plugged, and which wanted ends were left out."""

    spots: Mapping[PlugId, Spot]
    left_out: frozenset[tuple[LineKey, str]]


@dataclass(frozen=True, kw_only=True)
class _Wanted:
    """One number wanted in a unit: by which job, for which part of it."""

    job: Job
    part: str
    implied: int | None = None
    wish: int | None = None


#: Wants that get one number, because their lines share what they start from.
Sharers = list[_Wanted]

#: A number given: unit, side, line and part of the line.
Given = dict[tuple[str, Side, LineKey, str], int]


def assemble(problem: Problem, fixed: FixedChannels, placed: Placed) -> tuple[LinePlan, ...]:
    """Give the decisions of every line that could be planned."""
    return _Assembler(problem, fixed, placed).plans()


class _Assembler:
    def __init__(self, problem: Problem, fixed: FixedChannels, placed: Placed) -> None:
        self.problem = problem
        self.show = problem.show
        self.fixed = fixed
        self.placed = placed
        self.given: Given = {}
        self.wanted: dict[tuple[str, Side], list[_Wanted]] = {}

    def plans(self) -> tuple[LinePlan, ...]:
        for job in self.problem.jobs:
            self._want(job)
        for (unit, side), wanted in self.wanted.items():
            self._give(unit, side, wanted)
        return tuple(self._plan(job) for job in self.problem.jobs)

    # -- what is there -----------------------------------------------------------------------

    def spot(self, plug: Plug | None) -> Spot | None:
        return self.placed.spots.get(plug_id(plug)) if plug is not None else None

    def start_unit(self, job: Job) -> str:
        spot = self.spot(job.plug)
        return job.inside or (spot.unit if spot else "")

    def there(self, arrivals: Iterable[Arrival]) -> list[Arrival]:
        return [a for a in arrivals if (a.line, a.part) not in self.placed.left_out]

    def inside_patch(self, unit: str) -> bool:
        return self.show.units[unit].kind.inside_patch

    # -- what is wanted ----------------------------------------------------------------------

    def _want(self, job: Job) -> None:
        start = self.start_unit(job)
        if not start and not job.own_out:
            return
        routed = False
        heard: set[str] = set()
        for a in self.there(job.arrivals):
            if a.unit != start:
                routed = True
                heard.add(a.unit)
                self._want_receive(job, a)
            if a.strip:
                wish = _own_number(job)
                self._add(a.unit, Side.STRIP, _Wanted(job=job, part=a.part, wish=wish))
        routed = self._want_outs(job, start, heard) or routed
        if routed and start and (job.inside or self.inside_patch(start)):
            implied = self._implied_send(job, start)
            self._add(start, Side.SEND, _Wanted(job=job, part=job.start_part, implied=implied))
        if job.own_out and start:
            self._add(job.own_out, Side.OUT, _Wanted(job=job, part=job.start_part))

    def _want_outs(self, job: Job, start: str, heard: set[str]) -> bool:
        """Want what the ends by lead need; says whether one is reached by a route."""
        routed = False
        for plug in job.outs:
            spot = self.spot(plug)
            if spot is None:
                continue
            if spot.unit != start:
                routed = True
                if self.inside_patch(spot.unit) and spot.unit not in heard:
                    heard.add(spot.unit)
                    self._add(spot.unit, Side.RECEIVE, _Wanted(job=job, part=plug.part))
            if plug.beyond:
                self._add(plug.beyond, Side.IN, _Wanted(job=job, part=plug.part))
        return routed

    def _add(self, unit: str, side: Side, wanted: _Wanted) -> None:
        self.wanted.setdefault((unit, side), []).append(wanted)

    def _want_receive(self, job: Job, a: Arrival) -> None:
        implied, wish = None, None
        if self.show.units[a.unit].kind.follows_numbers:
            spot = self.spot(job.plug)
            implied = implied_channel(self.problem, spot.unit, spot.number) if spot else None
        elif self.show.count(self.show.units[a.unit], Side.RECEIVE) > 2 and not self.show.acts:
            # Tracks of a recorder follow the list, as its operator will look for them. Several
            # lists can't all be followed: there the tracks go in the order of the sockets.
            wish = _own_number(job)
        self._add(a.unit, Side.RECEIVE, _Wanted(job=job, part=a.part, implied=implied, wish=wish))

    def _implied_send(self, job: Job, start: str) -> int | None:
        """Give the send channel from which a numbered box feeds its output by itself."""
        if not self.show.units[start].kind.follows_numbers:
            return None
        for plug in job.outs:
            spot = self.spot(plug)
            unit = self.show.units.get(spot.unit) if spot else None
            if spot and unit and unit.kind.numbering and unit.number is not None:
                numbering = unit.kind.numbering
                return numbering.send_channel(unit_number=unit.number, socket=spot.number)
        return None

    # -- what is given -----------------------------------------------------------------------

    def _give(self, unit: str, side: Side, wanted: list[_Wanted]) -> None:
        sharers = _halves_together(self._in_order(side, self._sharers(unit, side, wanted)))
        mates = _mates(sharers)
        requests = [self._request(unit, side, s, mates) for s in sharers]
        all_night = self.show.routes != "per-act" and side in (Side.RECEIVE, Side.SEND)
        numbers = Numbers(
            count=self.show.count(self.show.units[unit], side),
            held=self._numbers(self.problem.held, unit, side),
            freed=self._numbers(self.problem.freed, unit, side),
            claimed=self._claimed(unit, side),
            clash=always if all_night else self.problem.running.clash,
        )
        given = give_numbers(requests, numbers)
        for request, sharer in zip(requests, sharers, strict=True):
            for w in sharer:
                self.given[unit, side, w.job.line.key, w.part] = given[request.ident]

    def _sharers(self, unit: str, side: Side, wanted: list[_Wanted]) -> list[Sharers]:
        """Give the wants that get one number: of lines that share a spot, unless fixed apart."""
        found: dict[object, Sharers] = {}
        for w in wanted:
            found.setdefault(self._who(w, side, found), []).append(w)
        apart: list[Sharers] = []
        for sharers in found.values():
            numbers = {n for w in sharers if (n := self._fixed(unit, side, w)) is not None}
            apart += [sharers] if len(numbers) <= 1 else [[w] for w in sharers]
        return apart

    def _in_order(self, side: Side, sharers: list[Sharers]) -> list[Sharers]:
        """Give list order, but the order of the sockets where several acts are heard."""
        if not (self.show.acts and side is Side.RECEIVE):
            return sharers

        def socket(one: Sharers) -> tuple[bool, object]:
            spot = self.spot(one[0].job.plug)
            return (spot is None, spot.sort_key() if spot else ())

        return sorted(sharers, key=socket)

    def _who(self, w: _Wanted, side: Side, found: dict[object, Sharers]) -> object:
        if side in (Side.RECEIVE, Side.SEND):
            who: object = self.spot(w.job.plug) or w.job.line.key
        else:
            plug = next((p for p in w.job.outs if p.part == w.part), w.job.plug)
            who = plug_id(plug) if plug else w.job.line.key
        # A line that arrives twice at a unit gets a number for each.
        mine = [o for o in found.get(who, []) if o.job is w.job]
        return (who, w.part) if mine else who

    def _fixed(self, unit: str, side: Side, w: _Wanted) -> int | None:
        pinned = pinned_number(self.problem, w.job, w.part, unit, side)
        return pinned if pinned is not None else kept_number(w.job, w.part, unit, side)

    def _request(
        self, unit: str, side: Side, sharers: Sharers, mates: Mapping[str, str]
    ) -> Request:
        pinned = [pinned_number(self.problem, w.job, w.part, unit, side) for w in sharers]
        kept = [kept_number(w.job, w.part, unit, side) for w in sharers]
        return Request(
            ident=_ident(sharers),
            pinned=next((n for n in pinned if n is not None), None),
            kept=next((n for n in kept if n is not None), None),
            implied=next((w.implied for w in sharers if w.implied is not None), None),
            wishes=tuple(dict.fromkeys(w.wish for w in sharers if w.wish is not None)),
            pair=mates.get(_ident(sharers)),
            acts=frozenset(w.job.line.act_name for w in sharers),
        )

    def _numbers(self, spots: Iterable[Spot], unit: str, side: Side) -> set[int]:
        return {s.number for s in spots if s.unit == unit and s.side is side}

    def _claimed(self, unit: str, side: Side) -> set[int]:
        """Give the channels that the numbers of boxes imply on a mixer."""
        if side not in (Side.RECEIVE, Side.SEND) or not self.show.units[unit].kind.follows_numbers:
            return set()
        claimed = set()
        for box in self.show.units.values():
            numbering = box.kind.numbering
            if numbering is None or box.number is None:
                continue
            plugged = Side.IN if side is Side.RECEIVE else Side.OUT
            channel = numbering.receive_channel if side is Side.RECEIVE else numbering.send_channel
            for socket in box.kind.sockets_on(plugged):
                claimed.add(channel(unit_number=box.number, socket=socket.number))
        return claimed

    # -- the decisions -----------------------------------------------------------------------

    def _plan(self, job: Job) -> LinePlan:
        line = job.line
        left_out = tuple(
            p for key, p in sorted(self.placed.left_out, key=lambda x: x[1]) if key == line.key
        )
        ends: dict[str, tuple[Spot, ...]] = {}
        start = self._start_spots(job)
        if start is not None:
            for a in self.there(job.arrivals):
                ends[a.part] = self._arrival_spots(job, a)
            for plug in job.outs:
                if (spot := self.spot(plug)) is not None:
                    ends[plug.part] = self._out_spots(job, plug, spot)
        parts = [str(member) for _, member in line.end_members()]
        return LinePlan(
            key=line.key,
            name=line.name,
            starts_at="|".join(str(s) for s in line.starts),
            start={job.start_part: start} if start is not None else {},
            ends={part: ends[part] for part in parts if part in ends},
            left_out=left_out,
        )

    def _number(self, unit: str, side: Side, job: Job, part: str) -> tuple[Spot, ...]:
        number = self.given.get((unit, side, job.line.key, part))
        return (Spot(unit=unit, side=side, number=number),) if number is not None else ()

    def _start_spots(self, job: Job) -> tuple[Spot, ...] | None:
        if job.inside:
            return self._number(job.inside, Side.SEND, job, job.start_part)
        spot = self.spot(job.plug)
        if spot is None:
            return None
        own = self._number(job.own_out, Side.OUT, job, job.start_part) if job.own_out else ()
        return (*own, spot, *self._number(spot.unit, Side.SEND, job, job.start_part))

    def _arrival_spots(self, job: Job, a: Arrival) -> tuple[Spot, ...]:
        receive = self._number(a.unit, Side.RECEIVE, job, a.part)
        return (*receive, *self._number(a.unit, Side.STRIP, job, a.part))

    def _out_spots(self, job: Job, plug: Plug, spot: Spot) -> tuple[Spot, ...]:
        receive: tuple[Spot, ...] = ()
        if spot.unit != self.start_unit(job) and self.inside_patch(spot.unit):
            receive = self._received(job, spot.unit)
        own = self._number(plug.beyond, Side.IN, job, plug.part) if plug.beyond else ()
        return (*receive, spot, *own)

    def _received(self, job: Job, unit: str) -> tuple[Spot, ...]:
        """Give the channel on which the unit hears the line, by whichever end asked for it."""
        parts = (*(a.part for a in job.arrivals), *(p.part for p in job.outs))
        found = (self._number(unit, Side.RECEIVE, job, part) for part in parts)
        return next((spots for spots in found if spots), ())


def _own_number(job: Job) -> int | None:
    number = job.line.key.number
    return int(number) if number.isdecimal() and number.isascii() else None


def _ident(sharers: Sharers) -> str:
    return f"{sharers[0].job.line.key} {sharers[0].part}"


def _halves_together(every: list[Sharers]) -> list[Sharers]:
    """Give the same, list order, with the right half of a pair directly behind its left."""
    of_line: dict[LineKey, list[Sharers]] = {}
    for one in every:
        of_line.setdefault(one[0].job.line.key, []).append(one)
    placed: dict[int, Sharers] = {}
    for one in every:
        if id(one) in placed:
            continue
        pair = one[0].job.line.pair
        others = of_line.get(pair, ()) if pair else ()
        mates = (o for o in others if id(o) not in placed and _are_halves(one, o))
        both = [one, *itertools.islice(mates, 1)]
        placed.update({id(x): x for x in sorted(both, key=lambda x: not x[0].job.line.left)})
    return list(placed.values())


def _are_halves(a: Sharers, b: Sharers) -> bool:
    one, other = a[0].job.line, b[0].job.line
    return one is not other and one.pair == other.key and other.pair == one.key


def _mates(every: list[Sharers]) -> dict[str, str]:
    """Give, by the ident of a left half's request, that of the right half directly behind it."""
    halves = (
        (a, b) for a, b in itertools.pairwise(every) if a[0].job.line.left and _are_halves(a, b)
    )
    return {_ident(a): _ident(b) for a, b in halves}
