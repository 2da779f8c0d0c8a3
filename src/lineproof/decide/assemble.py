"""From sockets to numbers: channels, strips, sends and own sockets of every line."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.chains import Numbered, line_plans
from lineproof.decide.channels import NoNumber, Numbers, Request, always, give_numbers
from lineproof.decide.classes import FixedChannels, implied_channel
from lineproof.decide.fixed import kept_number, pinned_number
from lineproof.decide.problem import Arrival, Job, Plug, PlugId, Problem, plug_id
from lineproof.plan.model import LinePlan


@dataclass(frozen=True, kw_only=True)
class Placed:
    """Where every lead is plugged, and which wanted ends were left out."""

    spots: Mapping[PlugId, Spot]
    left_out: frozenset[tuple[LineKey, str]]


@dataclass(frozen=True, kw_only=True)
class _After:
    """A number that follows another's: that of a job's part, on a side of a unit."""

    unit: str
    side: Side
    job: tuple[LineKey, str]
    part: str
    plus: int = 0
    firmly: bool = False


@dataclass(frozen=True, kw_only=True)
class _Wanted:
    """One number wanted in a unit: by which job, for which part of it.

    `after`: the number that must be known first, and what is added to it; then it is implied
    (`firmly`: by a change-over unit) or wished for.
    """

    job: Job
    part: str
    implied: int | None = None
    wish: int | None = None
    after: _After | None = None


#: Wants that get one number, because their lines share what they start from.
Sharers = list[_Wanted]


def assemble(problem: Problem, fixed: FixedChannels, placed: Placed) -> tuple[LinePlan, ...]:
    """Give the decisions of every line that could be planned."""
    return _Assembler(problem, fixed, placed).plans()


class _Assembler:
    def __init__(self, problem: Problem, fixed: FixedChannels, placed: Placed) -> None:
        self.problem = problem
        self.show = problem.show
        self.fixed = fixed
        self.placed = placed
        self.given: dict[tuple[str, Side, tuple[LineKey, str], str], int] = {}
        self.mains = {job.line.key: job for job in problem.jobs if not job.strand}
        self.changed = {job.line.key: job for job in problem.jobs if job.change and not job.strand}
        self.wanted: dict[tuple[str, Side], list[_Wanted]] = {}

    def plans(self) -> tuple[LinePlan, ...]:
        for job in self.problem.jobs:
            self._want(job)
        for unit, side in self._in_turn():
            self._give(unit, side, self.wanted[unit, side])
        numbered = Numbered(problem=self.problem, spots=self.placed.spots, given=self.given)
        return line_plans(numbered, self.placed.left_out)

    def _in_turn(self) -> list[tuple[str, Side]]:
        """Give the rows of numbers, those that others follow first; circles in list order."""
        done: list[tuple[str, Side]] = []
        waiting = list(self.wanted)
        while waiting:
            ready = [key for key in waiting if not self._waits(key, waiting)]
            for key in ready or waiting[:1]:
                done.append(key)
                waiting.remove(key)
        return done

    def _waits(self, key: tuple[str, Side], waiting: list[tuple[str, Side]]) -> bool:
        after = (w.after for w in self.wanted[key] if w.after is not None)
        return any((a.unit, a.side) != key and (a.unit, a.side) in waiting for a in after)

    # -- what is there -----------------------------------------------------------------------

    def spot(self, plug: Plug | None) -> Spot | None:
        """Give the socket behind a plug: where it is plugged, or what the drop box brings it to."""
        found = self.placed.spots.get(plug_id(plug)) if plug is not None else None
        return self.problem.cores.real(found) if found is not None else None

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
        if job.direct:
            self._want_direct(job)
            return
        for part, unit in job.straight:
            self._add(unit, Side.IN, _Wanted(job=job, part=part))
        if job.straight and job.plug is None:
            after = self._as_main(job, Side.OUT)
            self._add(job.own_out, Side.OUT, _Wanted(job=job, part=job.start_part, after=after))
        if not start and not job.own_out:
            return
        routed = job.reserve
        heard: set[str] = set()
        for a in self.there(job.arrivals):
            if a.unit != start and a.unit not in job.split_units:
                routed = True
                heard.add(a.unit)
                self._want_receive(job, a)
            if a.strip:
                wish = _own_number(job)
                self._add(a.unit, Side.STRIP, _Wanted(job=job, part=a.part, wish=wish))
        routed = self._want_outs(job, start, heard) or routed
        if routed and start and (job.inside or self.inside_patch(start)):
            implied = self._implied_send(job, start)
            after = self._as_main(job, Side.SEND)
            wanted = _Wanted(job=job, part=job.start_part, implied=implied, after=after)
            self._add(start, Side.SEND, wanted)
        if job.own_out and start:
            after = self._as_main(job, Side.OUT)
            self._add(job.own_out, Side.OUT, _Wanted(job=job, part=job.start_part, after=after))

    def _want_direct(self, job: Job) -> None:
        """Want the two sockets of a lead between units that have sockets only."""
        assert job.change is not None
        self._add(job.own_out, Side.OUT, _Wanted(job=job, part=job.start_part))
        after = self._of_output(job)
        self._add(job.change.unit, Side.IN, _Wanted(job=job, part=job.change.unit, after=after))

    def _as_main(self, job: Job, side: Side) -> _After | None:
        """Give the number a standby starts from: the same as what it stands in for."""
        main = self.mains.get(job.line.key)
        if main is None or not job.strand.startswith("from "):
            return None
        unit = main.inside if side is Side.SEND else main.own_out
        return _After(unit=unit, side=side, job=main.ident, part=main.start_part)

    def _of_output(self, job: Job) -> _After | None:
        """Give the input of a change-over unit: that of its line's output, first or second."""
        change = job.change
        main = self.changed.get(change.of) if change else None
        if change is None or main is None:
            return None
        out = Side.SEND if main.inside else Side.OUT
        there = self.show.count(self.show.units[change.unit], out)
        return _After(
            unit=change.unit,
            side=out,
            job=main.ident,
            part=main.start_part,
            plus=there if change.second else 0,
            firmly=True,
        )

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
                after = self._of_output(job) if job.strand else None
                self._add(plug.beyond, Side.IN, _Wanted(job=job, part=plug.part, after=after))
        return routed

    def _add(self, unit: str, side: Side, wanted: _Wanted) -> None:
        self.wanted.setdefault((unit, side), []).append(wanted)

    def _want_receive(self, job: Job, a: Arrival) -> None:
        if job.strand.startswith("feed ") and job.change and a.unit == job.change.unit:
            after = self._of_output(job)
            self._add(a.unit, Side.RECEIVE, _Wanted(job=job, part=a.part, after=after))
            return
        implied, wish = None, None
        if self.show.units[a.unit].kind.follows_numbers:
            spot = self.spot(job.plug)
            implied = implied_channel(self.problem, spot.unit, spot.number) if spot else None
        elif self._follows_list(a.unit) and not job.strand:
            # Tracks of a recorder follow the list, as its operator will look for them. Several
            # lists can't all be followed: there the tracks go in the order of the sockets.
            wish = _own_number(job)
        self._add(a.unit, Side.RECEIVE, _Wanted(job=job, part=a.part, implied=implied, wish=wish))

    def _follows_list(self, unit: str) -> bool:
        acts = self.show.acts or self.show.arrangements
        return self.show.count(self.show.units[unit], Side.RECEIVE) > 2 and not acts

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

        def numbers() -> Numbers:
            return Numbers(
                count=self.show.count(self.show.units[unit], side),
                held=self._numbers(self.problem.held, unit, side),
                freed=self._numbers(self.problem.freed, unit, side),
                claimed=self._claimed(unit, side),
                clash=always if all_night else self.problem.running.clash,
            )

        try:
            given = give_numbers(requests, numbers())
        except NoNumber:
            # Own numbers took up what lines of all acts need: without them, act by act, it fits.
            plain = [replace(r, implied=None, wishes=()) for r in requests]
            given = give_numbers(sorted(plain, key=self._by_beginning), numbers())
        for request, sharer in zip(requests, sharers, strict=True):
            for w in sharer:
                self.given[unit, side, w.job.ident, w.part] = given[request.ident]

    def _by_beginning(self, request: Request) -> float:
        """Give when what asks is first needed; what is needed in every act comes first."""
        spans = self.problem.running.spans
        return min((spans[act][0] if act in spans else -1.0 for act in request.acts), default=-1.0)

    def _sharers(self, unit: str, side: Side, wanted: list[_Wanted]) -> list[Sharers]:
        """Give the wants that get one number: of lines that share a spot, unless fixed apart."""
        found: dict[object, Sharers] = {}
        for w in wanted:
            found.setdefault(self._who(w, side, found), []).append(w)
        apart: list[Sharers] = []
        for sharers in found.values():
            fixed = [(w, self._fixed(unit, side, w)) for w in sharers]
            numbers: list[int | None] = list(dict.fromkeys(n for _, n in fixed if n is not None))
            # Lines with one number keep it together; who has none yet joins the first.
            first = numbers[0] if numbers else None
            apart += [
                [w for w, n in fixed if (first if n is None else n) == number]
                for number in numbers or [None]
            ]
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
            who: object = self.spot(w.job.plug) or self._inside(w.job)
        else:
            plug = next((p for p in w.job.outs if p.part == w.part), w.job.plug)
            who = plug_id(plug) if plug else self._inside(w.job)
        # A line that arrives twice at a unit gets a number for each.
        mine = [o for o in found.get(who, []) if o.job is w.job]
        return (who, w.part) if mine else who

    def _inside(self, job: Job) -> object:
        return (job.inside, job.same_inside) if job.role else job.ident

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
            implied=next((n for w in sharers if (n := self._implied(w)) is not None), None),
            wishes=tuple(dict.fromkeys(n for w in sharers if (n := self._wish(w)) is not None)),
            pair=mates.get(_ident(sharers)),
            acts=frozenset(w.job.line.act_name for w in sharers),
        )

    def _followed(self, after: _After) -> int | None:
        number = self.given.get((after.unit, after.side, after.job, after.part))
        return None if number is None else number + after.plus

    def _implied(self, w: _Wanted) -> int | None:
        return self._followed(w.after) if w.after and w.after.firmly else w.implied

    def _wish(self, w: _Wanted) -> int | None:
        return self._followed(w.after) if w.after and not w.after.firmly else w.wish

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


def _own_number(job: Job) -> int | None:
    number = job.line.key.number
    return int(number) if number.isdecimal() and number.isascii() else None


def _ident(sharers: Sharers) -> str:
    first = sharers[0]
    return " ".join((str(first.job.line.key), first.part, first.job.strand)).rstrip()


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
    strands = {x[0].job.strand.partition(":")[0] for x in (a, b)}
    are_pair = one is not other and one.pair == other.key and other.pair == one.key
    return are_pair and len(strands) == 1


def _mates(every: list[Sharers]) -> dict[str, str]:
    """Give, by the ident of a left half's request, that of the right half directly behind it."""
    halves = (
        (a, b) for a, b in itertools.pairwise(every) if a[0].job.line.left and _are_halves(a, b)
    )
    return {_ident(a): _ident(b) for a, b in halves}
